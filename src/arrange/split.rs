//! Cuts the drawn lines of all views into pieces between nodes.
//!
//! Ends were snapped before; here crossings find their places, shared between the views along each axis, so that a
//! corner seen as a crossing in one view and as an end in another has one coordinate.

use super::bows::{Bow, bows};
use super::meet::{Coordinate, Meeting, meetings};
use super::strips::{Strip, strips};
use super::touch::{self, Other};
use super::{Arrangement, Node, Piece, Run, Slope};
use crate::geom::arena::{Arena, Id};
use crate::geom::axis::Axes;
use crate::geom::carrier::Carrier;
use crate::geom::crowded::CrowdedError;
use crate::geom::pairs::overlapping;
use crate::geom::{Few, P2};
use crate::sheet::{Arc, Drawing, Segment, View};
use rustc_hash::FxHashMap;

/// The arrangements of the three views, by [`View::index`], and the axes with all places of their nodes.
///
/// # Errors
/// If the lines meet at too many places.
pub(crate) fn arrange(drawing: &Drawing) -> Result<([Arrangement; 3], Axes), CrowdedError> {
    let mut axes = Axes::new(drawing.axes.clone(), drawing.tolerance);
    let [front, top, right] = View::ALL.map(|view| CutView::new(drawing, view));
    let cut = [front?, top?, right?];
    for axis in 0..3 {
        let (sampled, exact): (Vec<_>, Vec<_>) = cut
            .iter()
            .flat_map(|c| c.computed(axis))
            .partition(|(_, sampled)| *sampled);
        let values = |list: Vec<(f64, bool)>| list.into_iter().map(|c| c.0).collect();
        axes.add_clusters(axis, values(exact), drawing.crossings);
        axes.add_clusters(axis, values(sampled), drawing.tolerance);
    }
    let arrangements = cut.map(|c| c.arrange(drawing, &axes));
    Ok((arrangements, axes))
}

/// More steps than this along curves are never taken, so that a hostile drawing cannot take all day.
const MOST_STEPS: usize = 20_000_000;

/// The strips and bows of a view, with the meeting points on each.
struct CutView<'d> {
    view: View,
    strips: Vec<Strip>,
    bows: Vec<Bow<'d>>,
    /// First those of the strips, then those of the bows.
    meetings: Vec<Few<Meeting, 8>>,
}

impl<'d> CutView<'d> {
    fn new(drawing: &'d Drawing, view: View) -> Result<Self, CrowdedError> {
        let strips = strips(drawing, view)?;
        let bows = bows(drawing, view);
        let mut boxes: Vec<_> = strips.iter().map(|s| s.bounds(drawing.tolerance)).collect();
        // Every element of a bow is cut by itself; its meetings belong to the bow.
        let mut elements = Vec::new();
        for (owner, bow) in (strips.len()..).zip(&bows) {
            elements.extend(bow.elements.iter().map(|element| (owner, element)));
        }
        boxes.extend(elements.iter().map(|(_, e)| e.bounds(drawing.tolerance)));
        let mut meetings_on = vec![Few::new(); strips.len() + bows.len()];
        let mut steps = 0;
        for (i, j) in overlapping(&boxes)? {
            let (i, j) = (i as usize, j as usize);
            let curved = |i: usize| elements[i - strips.len()];
            let (on, met) = if j < strips.len() {
                ([i, j], meetings(&strips[i], &strips[j], drawing.tolerance))
            } else {
                let (owner, arc) = curved(j);
                let (first, other) = match i < strips.len() {
                    true => (i, Other::Strip(&strips[i])),
                    false => (curved(i).0, Other::Element(curved(i).1)),
                };
                if matches!(other, Other::Element(e) if e.which == arc.which) {
                    continue;
                }
                steps += arc.steps.len();
                if steps > MOST_STEPS {
                    return Err(CrowdedError::Meetings { most: MOST_STEPS });
                }
                (
                    [first, owner],
                    touch::meetings(arc, other, drawing.tolerance),
                )
            };
            for meeting in met {
                meetings_on[on[0]].push(meeting);
                meetings_on[on[1]].push(meeting);
            }
        }
        Ok(CutView {
            view,
            strips,
            bows,
            meetings: meetings_on,
        })
    }

    /// The computed coordinates of meeting points along an object axis, and whether they come from sampled curves.
    fn computed(&self, axis: usize) -> impl Iterator<Item = (f64, bool)> + '_ {
        let which = self.view.axes().iter().position(|&a| a == axis);
        let all = which.map(|k| self.meetings.iter().flatten().map(move |m| m[k]));
        all.into_iter().flatten().filter_map(|c| match c {
            Coordinate::Computed(value) => Some((value, false)),
            Coordinate::Sampled(value) => Some((value, true)),
            Coordinate::Known(_) => None,
        })
    }

    fn arrange(self, drawing: &Drawing, axes: &Axes) -> Arrangement {
        let segments = &drawing.views[self.view.index()];
        let mut arrangement = Arrangement {
            view: self.view,
            nodes: Arena::default(),
            pieces: Arena::default(),
            runs: Arena::default(),
            carriers: drawing.carriers[self.view.index()].clone(),
            node_at: FxHashMap::default(),
        };
        for (strip, meetings) in self.strips.iter().zip(&self.meetings) {
            let nodes = nodes_along(&mut arrangement, axes, strip, meetings, segments);
            add_run(&mut arrangement, strip, nodes, segments);
        }
        let arcs = &drawing.arcs[self.view.index()];
        for (bow, meetings) in self.bows.iter().zip(&self.meetings[self.strips.len()..]) {
            let nodes = nodes_on_bow(&mut arrangement, axes, bow, meetings);
            add_curved_run(&mut arrangement, bow, nodes, arcs);
        }
        arrangement
    }
}

/// The nodes on a strip in order along it.
fn nodes_along(
    arrangement: &mut Arrangement,
    axes: &Axes,
    strip: &Strip,
    meetings: &[Meeting],
    segments: &[Segment],
) -> Vec<Id<Node>> {
    let view_axes = arrangement.view.axes();
    let ends = strip.segments.iter().flat_map(|&s| {
        let segment = segments[s as usize];
        [segment.from, segment.to]
    });
    let met = meetings.iter().map(|m| places(axes, view_axes, m));
    let direction = strip.at[1] - strip.at[0];
    let mut along: Vec<(f64, Id<Node>)> = ends
        .chain(met)
        .map(|ids| {
            let node = intern(arrangement, axes, ids);
            let at = arrangement.nodes[node].at;
            (direction.dot(&(at - strip.at[0])), node)
        })
        .collect();
    along.sort_unstable_by(|a, b| a.0.total_cmp(&b.0).then(a.1.cmp(&b.1)));
    along.dedup_by_key(|(_, node)| *node);
    along.into_iter().map(|(_, node)| node).collect()
}

/// The axis places of a meeting. Where many crossings follow one another closely, the mean of them that became a place may
/// be more than the tolerance away from the outer ones.
fn places(axes: &Axes, view_axes: [usize; 2], meeting: &Meeting) -> [u32; 2] {
    [0, 1].map(|k| match meeting[k] {
        Coordinate::Known(place) => place,
        Coordinate::Computed(value) | Coordinate::Sampled(value) => axes
            .nearest(view_axes[k], value)
            .expect("every crossing was given a place"),
    })
}

/// The nodes on a bow in order along it; the first comes again at the end of a closed one.
fn nodes_on_bow(
    arrangement: &mut Arrangement,
    axes: &Axes,
    bow: &Bow,
    meetings: &[Meeting],
) -> Vec<Id<Node>> {
    let view_axes = arrangement.view.axes();
    let mut along: Vec<(f64, Id<Node>)> = Vec::new();
    let first = &bow.elements[0];
    for element in &bow.elements {
        let start = first.carrier.onward(first.span[0], element.span[0]) - first.span[0];
        let ends = [start, start + element.span[1] - element.span[0]];
        for (reach, ids) in ends.into_iter().zip(element.ends) {
            along.push((reach, intern(arrangement, axes, ids)));
        }
    }
    if bow.closed {
        // The end of the last element is the start of the first.
        let start = along[0].1;
        along.retain(|(reach, node)| *reach == 0.0 || *node != start);
    }
    let known = along.len();
    let end = along.iter().map(|a| a.0).fold(0.0, f64::max);
    for meeting in meetings {
        let node = intern(arrangement, axes, places(axes, view_axes, meeting));
        if along[..known].iter().all(|(_, end)| *end != node) {
            let on = first.carrier.parameter(&arrangement.nodes[node].at);
            let on = first.carrier.onward(first.span[0], on) - first.span[0];
            along.push((
                if bow.closed {
                    on
                } else {
                    inside(first.carrier, on, end)
                },
                node,
            ));
        }
    }
    along.sort_unstable_by(|a, b| a.0.total_cmp(&b.0).then(a.1.cmp(&b.1)));
    along.dedup_by_key(|(_, node)| *node);
    let mut nodes: Vec<Id<Node>> = along.into_iter().map(|(_, node)| node).collect();
    if bow.closed {
        nodes.push(nodes[0]);
    }
    nodes
}

/// A reach along an open bow as one between its start and its end; a node may have been moved a little beyond either.
fn inside(carrier: &Carrier, reach: f64, end: f64) -> f64 {
    let before = carrier.period().is_some_and(|p| reach > 0.5 * (p + end));
    let reach = if before { 0.0 } else { reach };
    reach.clamp(f64::MIN_POSITIVE, end.next_down().max(f64::MIN_POSITIVE))
}

/// Adds the run of a bow with its pieces, each with the line type that counts.
fn add_curved_run(arrangement: &mut Arrangement, bow: &Bow, nodes: Vec<Id<Node>>, arcs: &[Arc]) {
    let count = nodes.len() - 1;
    let place = |node: Id<Node>| nodes.iter().position(|n| *n == node);
    let mut pieces: Vec<Piece> = nodes
        .windows(2)
        .map(|pair| Piece {
            ends: [pair[0], pair[1]],
            hidden: true,
            lines: Few::new(),
            carrier: Some(bow.carrier),
        })
        .collect();
    for hidden in [false, true] {
        for arc in bow.arcs.iter().map(|&i| &arcs[i as usize]) {
            let ends = [arc.from, arc.to].map(|end| place(arrangement.node_at[&end]));
            let ([Some(from), Some(to)], true) = (ends, arc.hidden == hidden) else {
                continue;
            };
            // The start of a run that goes all the way round is its end too.
            let to = if to <= from { to + count } else { to };
            (from..to).for_each(|i| note(&mut pieces[i % count], arc.hidden, arc.line));
        }
    }
    let run = Id::<Run>::new(arrangement.runs.len());
    for (position, &node) in (0..).zip(&nodes) {
        if arrangement.position(run, node).is_none() {
            arrangement.nodes[node].runs.push((run, position));
        }
    }
    let pieces = pieces
        .into_iter()
        .map(|piece| arrangement.pieces.push(piece))
        .collect();
    arrangement.runs.push(Run {
        slope: Slope::Curved,
        nodes,
        pieces,
        carrier: Some(bow.carrier),
    });
}

fn intern(arrangement: &mut Arrangement, axes: &Axes, ids: [u32; 2]) -> Id<Node> {
    let [right, up] = arrangement.view.axes();
    let nodes = &mut arrangement.nodes;
    *arrangement.node_at.entry(ids).or_insert_with(|| {
        nodes.push(Node {
            ids,
            at: P2::new(axes.value(right, ids[0]), axes.value(up, ids[1])),
            runs: Few::new(),
        })
    })
}

/// Adds the run of a strip with its pieces, each with the line type that counts.
fn add_run(
    arrangement: &mut Arrangement,
    strip: &Strip,
    nodes: Vec<Id<Node>>,
    segments: &[Segment],
) {
    let run = Id::<Run>::new(arrangement.runs.len());
    for (position, &node) in (0..).zip(&nodes) {
        arrangement.nodes[node].runs.push((run, position));
    }
    let mut pieces: Vec<Piece> = nodes
        .windows(2)
        .map(|pair| Piece {
            ends: [pair[0], pair[1]],
            hidden: true,
            lines: Few::new(),
            carrier: None,
        })
        .collect();
    for hidden in [false, true] {
        for segment in strip.segments.iter().map(|&s| &segments[s as usize]) {
            if segment.hidden == hidden {
                cover(arrangement, run, &mut pieces, segment);
            }
        }
    }
    let pieces = pieces
        .into_iter()
        .map(|piece| arrangement.pieces.push(piece))
        .collect();
    arrangement.runs.push(Run {
        slope: strip.slope,
        nodes,
        pieces,
        carrier: None,
    });
}

/// Notes `segment` on the pieces under it; visible segments come first and take precedence.
fn cover(arrangement: &Arrangement, run: Id<Run>, pieces: &mut [Piece], segment: &Segment) {
    let place = |end| {
        let node = arrangement.node_at[&end];
        arrangement
            .position(run, node)
            .expect("an end is on its run")
    };
    let (a, b) = (place(segment.from), place(segment.to));
    for piece in &mut pieces[a.min(b)..a.max(b)] {
        note(piece, segment.hidden, segment.line);
    }
}

/// Notes a line on a piece under it.
fn note(piece: &mut Piece, hidden: bool, line: u32) {
    if !hidden {
        piece.hidden = false;
    }
    if piece.hidden == hidden && !piece.lines.contains(&line) {
        piece.lines.push(line);
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::solid::shapes::sheet_of;

    type Stroke = ([f64; 2], [f64; 2], bool);

    /// The arrangement of a front view with these lines.
    fn front(lines: &[Stroke]) -> Arrangement {
        let drawing = sheet_of(&[lines.to_vec(), Vec::new(), Vec::new()], 0.01);
        let ([front, ..], _) = arrange(&drawing).unwrap();
        front
    }

    /// Lengths of the pieces of one type, ascending.
    fn lengths(view: &Arrangement, hidden: bool) -> Vec<f64> {
        let pieces = view.pieces.iter().filter(|p| p.hidden == hidden);
        let mut lengths: Vec<f64> = pieces
            .map(|p| (view.nodes[p.ends[1]].at - view.nodes[p.ends[0]].at).norm())
            .collect();
        lengths.sort_by(f64::total_cmp);
        lengths
    }

    #[test]
    fn visible_takes_precedence_where_lines_coincide() {
        // ISO 128-2: of lines that coincide, the visible one is drawn.
        let view = front(&[
            ([0.0, 0.0], [10.0, 0.0], true),
            ([4.0, 0.0], [7.0, 0.0], false),
        ]);
        assert_eq!(lengths(&view, false), [3.0]);
        assert_eq!(lengths(&view, true), [3.0, 4.0]);
        assert_eq!(view.runs.len(), 1);
    }

    #[test]
    fn a_line_that_ends_on_another_cuts_it() {
        let view = front(&[
            ([0.0, 0.0], [8.0, 4.0], false),
            ([4.0, 2.0], [4.0, 9.0], false),
        ]);
        assert_eq!((view.nodes.len(), view.pieces.len()), (4, 3));
    }

    #[test]
    fn three_lines_through_one_point_meet_in_one_node() {
        let view = front(&[
            ([0.0, 0.0], [6.0, 6.0], false),
            ([0.0, 6.0], [6.0, 0.0], false),
            ([0.0, 3.0], [6.0, 3.0], false),
        ]);
        assert_eq!((view.nodes.len(), view.pieces.len()), (7, 6));
    }

    #[test]
    fn a_line_drawn_twice_and_in_parts_is_one_run() {
        let view = front(&[
            ([0.0, 0.0], [9.0, 3.0], false),
            ([3.0, 1.0], [9.0, 3.0], false),
            ([9.0, 3.0], [12.0, 4.0], false),
        ]);
        assert_eq!((view.runs.len(), view.pieces.len()), (1, 3));
        let drawn: Vec<usize> = view.pieces.iter().map(|p| p.lines.len()).collect();
        assert_eq!(drawn, [1, 2, 1]);
    }

    #[test]
    fn a_gap_ends_a_run() {
        let view = front(&[
            ([0.0, 0.0], [4.0, 0.0], false),
            ([5.0, 0.0], [9.0, 0.0], false),
        ]);
        assert_eq!((view.runs.len(), view.pieces.len()), (2, 2));
    }
}

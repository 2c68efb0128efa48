//! Cuts the drawn lines of all views into pieces between nodes.
//!
//! Ends were snapped before; here crossings find their places, shared between the views along each axis, so that a
//! corner seen as a crossing in one view and as an end in another has one coordinate.

use super::meet::{Coordinate, Meeting, meetings};
use super::strips::{Strip, strips};
use super::{Arrangement, Node, Piece, Run};
use crate::geom::arena::{Arena, Id};
use crate::geom::axis::Axes;
use crate::geom::crowded::CrowdedError;
use crate::geom::pairs::overlapping;
use crate::geom::{Few, P2};
use crate::sheet::{Drawing, Segment, View};
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
        let computed = cut.iter().flat_map(|c| c.computed(axis)).collect();
        axes.add_clusters(axis, computed);
    }
    let arrangements = cut.map(|c| c.arrange(drawing, &axes));
    Ok((arrangements, axes))
}

/// The strips of a view, with the meeting points on each.
struct CutView {
    view: View,
    strips: Vec<Strip>,
    meetings: Vec<Few<Meeting, 8>>,
}

impl CutView {
    fn new(drawing: &Drawing, view: View) -> Result<Self, CrowdedError> {
        let strips = strips(drawing, view)?;
        let boxes: Vec<_> = strips.iter().map(|s| s.bounds(drawing.tolerance)).collect();
        let mut on_strip = vec![Few::new(); strips.len()];
        for (i, j) in overlapping(&boxes)? {
            let (i, j) = (i as usize, j as usize);
            for meeting in meetings(&strips[i], &strips[j], drawing.tolerance) {
                on_strip[i].push(meeting);
                on_strip[j].push(meeting);
            }
        }
        Ok(CutView {
            view,
            strips,
            meetings: on_strip,
        })
    }

    /// The computed coordinates of meeting points along an object axis.
    fn computed(&self, axis: usize) -> impl Iterator<Item = f64> + '_ {
        let which = self.view.axes().iter().position(|&a| a == axis);
        let all = which.map(|k| self.meetings.iter().flatten().map(move |m| m[k]));
        all.into_iter().flatten().filter_map(|c| match c {
            Coordinate::Computed(value) => Some(value),
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
            node_at: FxHashMap::default(),
        };
        for (strip, meetings) in self.strips.iter().zip(&self.meetings) {
            let nodes = nodes_along(&mut arrangement, axes, strip, meetings, segments);
            add_run(&mut arrangement, strip, nodes, segments);
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
    let met = meetings.iter().map(|meeting| {
        [0, 1].map(|k| match meeting[k] {
            Coordinate::Known(place) => place,
            Coordinate::Computed(value) => axes
                .find(view_axes[k], value)
                .expect("every crossing was given a place"),
        })
    });
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
        if !segment.hidden {
            piece.hidden = false;
        }
        if piece.hidden == segment.hidden && !piece.lines.contains(&segment.line) {
            piece.lines.push(segment.line);
        }
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

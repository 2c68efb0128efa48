//! Draws a curved solid in a principal view, hidden lines included.
//!
//! It works from edges and patches alone and shares nothing with the search for solids, so that it can prove the search's
//! answers. Every sharp edge is drawn, and every smooth edge along which the surface turns away from the viewer: a
//! contour. Tangent edges, between two different faces, are drawn if the sheet draws them. A drawn edge is cut where it crosses, touches or leaves others in the view; what lies between two cuts is
//! visible or hidden as its middle is.
//!
//! The middle is looked at a little to the left and to the right of the line. It is hidden if material stands strictly in
//! front of both places: a line along the border of nearer material is that material's own edge, but a line behind a seam
//! between two faces that face the viewer is hidden. The edge's own patches never cover it, for each lies one-to-one over
//! the view.

use super::inside::{Caster, Viewer};
use super::trace::{Trace, crossings, ends_on};
use super::{CurvedEdge, CurvedSolid, faces};
use crate::geom::pairs::{Bounds, BoxIndex};
use crate::geom::path::Path;
use crate::geom::{Few, V3};
use crate::options::TangentEdges;
use crate::sheet::View;
use rustc_hash::FxHashMap;

/// Places nearer than this share of the solid's size are one.
const ONE_PLACE: f64 = 1e-7;

/// Cuts nearer than this share of an edge are one, without a closer look.
const ONE_SHARE: f64 = 1e-9;

/// How far beside a line it is looked, as a share of the solid's size; well below the tolerance that suits this size.
const BESIDE: f64 = 2e-5;

/// And no farther than this share of the tolerance, which may be finer: lines are apart by more.
const BESIDE_FINE: f64 = 0.08;

/// And no farther than this share of the stretch's length.
const BESIDE_SHORT: f64 = 0.02;

/// A normal within this of perpendicular to the view, in radians, is perpendicular.
const EDGE_ON: f64 = 0.01;

/// A drawn piece of an edge that is visible or hidden all along.
#[derive(Clone, Debug)]
pub(crate) struct Stroke {
    /// Its part of the edge's path, in object axes.
    pub(crate) path: Path,
    /// Whether no material stands in front of it; where strokes coincide, visible ones take precedence.
    pub(crate) visible: bool,
    /// Whether a sheet may leave it out: part of a tangent edge where those may be drawn or not.
    pub(crate) optional: bool,
}

/// The drawing of a sound solid in one view, edge by edge; edges seen end-on give nothing.
///
/// Time grows about linearly with the number of edges and of their meetings in the view.
#[cfg(test)]
pub(crate) fn drawn(solid: &CurvedSolid, view: View) -> Vec<Stroke> {
    let usual = (view, f64::INFINITY);
    drawn_by(&Caster::new(solid), solid, usual, TangentEdges::Omitted)
}

/// The same with a caster that serves all views, with tangent edges treated as wanted, for a sheet that keeps lines apart which
/// are farther from each other than a tolerance in millimetres.
pub(crate) fn drawn_by(
    caster: &Caster,
    solid: &CurvedSolid,
    (view, tolerance): (View, f64),
    tangent_edges: TangentEdges,
) -> Vec<Stroke> {
    let slack = caster.size() * ONE_PLACE;
    let axes = view.axes();
    let tangent = match tangent_edges {
        TangentEdges::Omitted => vec![false; solid.edges.len()],
        TangentEdges::Drawn | TangentEdges::Either => faces::tangent_edges(solid),
    };
    let lines: Vec<Line> = solid
        .edges
        .iter()
        .zip(tangent)
        .filter_map(|(edge, tangent)| {
            let always = is_drawn(solid, edge, view.depth_axis());
            (always || tangent).then(|| Line {
                edge,
                trace: Trace::new(&edge.path, axes),
                optional: !always && tangent_edges == TangentEdges::Either,
            })
        })
        .filter(|line| line.trace.extent().amax() > slack)
        .collect();
    let lines = without_covered(lines, view, slack);
    let cuts = cuts(&lines, view, slack);
    let picture = Picture {
        caster,
        axes,
        viewer: (view.depth_axis(), view.nearness(1.0)),
        slack,
        beside: (caster.size() * BESIDE).min(tolerance * BESIDE_FINE),
    };
    let mut strokes = Vec::with_capacity(lines.len());
    for (line, cuts) in lines.iter().zip(cuts) {
        picture.add(line, cuts, &mut strokes);
    }
    strokes
}

/// Whether an edge shows in views along an axis whatever becomes of tangent edges: it is sharp, or a contour there.
fn is_drawn(solid: &CurvedSolid, edge: &CurvedEdge, axis: usize) -> bool {
    if !edge.smooth {
        return true;
    }
    let faces = edge.faces.map(|f| &solid.faces[f as usize]);
    let [f, g] = faces.map(|face| face.facing()[axis]);
    let level = |share: f64| {
        let at = edge.path.point(share);
        let along = |face: &super::Patch| face.outward(&at)[axis].abs();
        faces.iter().any(|face| along(face) <= EDGE_ON)
    };
    // A surface that goes on with its normal to the same side has no contour, however steep it is.
    let goes_on = faces[0].surface == faces[1].surface;
    f != g || f == 0 || !goes_on && [0.25, 0.5, 0.75].into_iter().all(level)
}

/// A drawn edge.
struct Line<'s> {
    edge: &'s CurvedEdge,
    trace: Trace<'s>,
    optional: bool,
}

/// Leaves out lines that lie right behind others: what hides the nearer one hides them too, so they add nothing to the
/// drawing, unless the sheet may do without the nearer one.
fn without_covered<'s>(lines: Vec<Line<'s>>, view: View, slack: f64) -> Vec<Line<'s>> {
    let axis = view.depth_axis();
    let nearness = |line: &Line| line.edge.path.ends.map(|end| view.nearness(end[axis]));
    let mut order: Vec<usize> = (0..lines.len()).collect();
    let nearest: Vec<f64> = (lines.iter())
        .map(|line| nearness(line).into_iter().fold(f64::MAX, f64::min))
        .collect();
    order.sort_by(|a, b| nearest[*b].total_cmp(&nearest[*a]));
    let mut known: FxHashMap<[[u64; 2]; 2], Few<usize, 2>> = FxHashMap::default();
    let mut kept = vec![true; lines.len()];
    for k in order {
        let line = &lines[k];
        let mut ends = line
            .trace
            .ends()
            .map(|end| [end.x.to_bits(), end.y.to_bits()]);
        ends.sort_unstable();
        let farthest = nearness(line).into_iter().fold(f64::MIN, f64::max);
        let covers = |other: &usize| {
            let nearer = &lines[*other];
            !nearer.optional
                && nearest[*other] >= farthest - slack
                && (nearer.trace.point(0.5) - line.trace.point(0.5)).norm() <= slack
        };
        let same = known.entry(ends).or_default();
        kept[k] = !same.iter().any(covers);
        if kept[k] {
            same.push(k);
        }
    }
    let mut kept = kept.into_iter();
    lines
        .into_iter()
        .filter(|_| kept.next() == Some(true))
        .collect()
}

/// For each line the shares of its way at which it meets others that are not behind it: only there what is hidden may change.
fn cuts(lines: &[Line], view: View, slack: f64) -> Vec<Few<f64, 8>> {
    let boxes: Vec<Bounds<2>> = lines.iter().map(|line| line.trace.bounds(slack)).collect();
    let index = BoxIndex::new(&boxes);
    let mut cuts = vec![Few::new(); lines.len()];
    let axis = view.depth_axis();
    let nearness = |trace: &Trace, share: f64| view.nearness(trace.place(share)[axis]);
    for (j, bounds) in boxes.iter().enumerate() {
        index.touching(bounds, |i| {
            let i = i as usize;
            if i < j {
                let (a, b) = (&lines[i].trace, &lines[j].trace);
                for (line, one, other) in [(i, a, b), (j, b, a)] {
                    ends_on(one, other, slack, &mut |share, end| {
                        let there = view.nearness(end[axis]);
                        if there >= nearness(one, share) - slack {
                            cuts[line].push(share);
                        }
                    });
                }
                crossings(a, b, slack, &mut |s, t| {
                    let (here, there) = (nearness(a, s), nearness(b, t));
                    if there >= here - slack {
                        cuts[i].push(s);
                    }
                    if here >= there - slack {
                        cuts[j].push(t);
                    }
                });
            }
        });
    }
    cuts
}

/// A view in the making.
struct Picture<'c> {
    caster: &'c Caster<'c>,
    axes: [usize; 2],
    viewer: Viewer,
    slack: f64,
    /// How far beside a line it is looked at most.
    beside: f64,
}

impl Picture<'_> {
    /// Cuts an edge into pieces and adds them, neighbours of one kind joined.
    fn add(&self, line: &Line, mut cuts: Few<f64, 8>, strokes: &mut Vec<Stroke>) {
        cuts.sort_unstable_by(f64::total_cmp);
        cuts.push(1.0);
        cuts.dedup_by(|a, b| *a - *b < ONE_SHARE && *a < 1.0);
        // Shares at which visibility may change, and the visibility after each.
        let mut pieces: Vec<(f64, bool)> = Vec::new();
        let mut start = 0.0;
        for end in cuts {
            let [a, b] = [start, end].map(|share| line.trace.point(share));
            if (b - a).norm() <= self.slack {
                continue;
            }
            let visible = self.is_visible(line, [start, end], (b - a).norm());
            if pieces.last().is_none_or(|(_, before)| *before != visible) {
                pieces.push((start, visible));
            }
            start = end;
        }
        for (k, (from, visible)) in pieces.iter().enumerate() {
            let to = pieces.get(k + 1).map_or(1.0, |(next, _)| *next);
            let path = &line.edge.path;
            strokes.push(Stroke {
                path: path.part([*from, to], [*from, to].map(|share| path.point(share))),
                visible: *visible,
                optional: line.optional,
            });
        }
    }

    /// Whether the middle of a piece has no material in front of it on one side at least.
    fn is_visible(&self, line: &Line, [from, to]: [f64; 2], length: f64) -> bool {
        let share = 0.5 * (from + to);
        let path = &line.edge.path;
        let (at, along) = path.place(share);
        let [i, j] = self.axes;
        let mut aside = V3::zeros();
        (aside[i], aside[j]) = (-along[j], along[i]);
        let off = self.beside.min(length * BESIDE_SHORT);
        let Some(aside) = aside.try_normalize(1e-12) else {
            return true;
        };
        [-off, off].iter().any(|off| {
            let beside = at + aside * *off;
            !(self.caster).covered_along(&beside, self.viewer, &line.edge.faces)
        })
    }
}

#[cfg(test)]
mod tests {
    use super::super::shapes::*;
    use super::*;
    use crate::geom::P3;
    use crate::geom::num::Diagonal;

    /// Whether material stands in front of a place, found by walking towards the viewer in small steps.
    fn walked(holds: &impl Fn(&P3) -> bool, from: &P3, towards: &V3) -> bool {
        (1..1200).any(|k| holds(&(from + towards * (0.05 * f64::from(k)))))
    }

    /// Every place of every stroke must be visible exactly if, on one side of it at least, nothing is met on the way to
    /// the viewer.
    fn agrees(solid: &CurvedSolid, holds: impl Fn(&P3) -> bool) {
        let mut count = [0, 0];
        for view in View::ALL {
            let towards = V3::ith(view.depth_axis(), view.nearness(1.0));
            for stroke in drawn(solid, view) {
                for k in 1..8 {
                    let share = f64::from(k) / 8.0;
                    let aside = stroke.path.direction(share).cross(&towards);
                    let Some(aside) = aside.try_normalize(1e-6) else {
                        continue;
                    };
                    // So far in front that the face of a contour has fallen away behind.
                    let at = stroke.path.point(share) + towards * 0.5;
                    let visible = [-1e-3, 1e-3]
                        .iter()
                        .any(|off| !walked(&holds, &(at + aside * *off), &towards));
                    assert_eq!(stroke.visible, visible, "{view:?} {at:?} {stroke:?}");
                    count[usize::from(visible)] += 1;
                }
            }
        }
        assert!(count[1] > 50, "{count:?}");
    }

    #[test]
    fn strokes_are_visible_where_nothing_is_met_on_the_way_to_the_viewer() {
        agrees(&plate_with_hole(), |p| {
            let within = |c: f64, most: f64| c > 0.0 && c < most;
            let in_block = within(p.x, 40.0) && within(p.y, 30.0) && within(p.z, 10.0);
            in_block && (p.x - 20.0).diagonal(p.y - 15.0) > 10.0
        });
        agrees(&cross_drilled(), |p| {
            p.coords.amax() < 20.0 && p.x.diagonal(p.y) > 10.0 && p.y.diagonal(p.z) > 6.0
        });
        agrees(&holes(2), |p| {
            let off = |c: f64| c.rem_euclid(20.0) - 10.0;
            let in_block = p.x.min(p.y).min(p.z) > 0.0 && p.x.max(p.y) < 40.0 && p.z < 10.0;
            in_block && off(p.x).diagonal(off(p.y)) > 5.0
        });
    }

    /// A vase with a waist, lying: contours of the waist pass behind the rims.
    #[test]
    fn a_turned_part_is_drawn_as_it_is_seen_from_any_side() {
        let profile = [
            Bend::line([0.0, 0.0], [12.0, 0.0]),
            Bend::arc([12.0, 0.0], [6.0, 6.0], [12.0, 6.0], false),
            Bend::arc([6.0, 6.0], [12.0, 12.0], [12.0, 6.0], false),
            Bend::line([12.0, 12.0], [15.0, 18.0]),
            Bend::line([15.0, 18.0], [5.0, 18.0]),
            Bend::arc([5.0, 18.0], [0.0, 13.0], [0.0, 18.0], false),
        ];
        for axis in 0..3 {
            let solid = turned_solid(axis, &profile);
            agrees(&solid, |p| {
                let (h, [i, j]) = (p[axis], super::super::inside::across(axis));
                let r = p[i].diagonal(p[j]);
                let waist = (r - 12.0).diagonal(h - 6.0) > 6.0 && r < 12.0 && h <= 12.0;
                let rim = h > 12.0 && r < 12.0 + (h - 12.0) / 2.0 && r.diagonal(h - 18.0) > 5.0;
                h > 0.0 && h < 18.0 && (waist || rim)
            });
        }
    }
}

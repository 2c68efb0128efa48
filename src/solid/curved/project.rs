//! Draws a curved solid in a principal view, hidden lines included.
//!
//! It works from edges and patches alone and shares nothing with the search for solids, so that it can prove the search's
//! answers. Every sharp edge is drawn, and every smooth edge along which the surface turns away from the viewer: a
//! contour. A drawn edge is cut where it crosses, touches or leaves others in the view; what lies between two cuts is
//! visible or hidden as its middle is.
//!
//! The middle is looked at a little to the left and to the right of the line. It is hidden if material stands strictly in
//! front of both places: a line along the border of nearer material is that material's own edge, but a line behind a seam
//! between two faces that face the viewer is hidden. The edge's own patches never cover it, for each lies one-to-one over
//! the view.

use super::inside::Caster;
use super::trace::{Trace, meetings};
use super::{CurvedEdge, CurvedSolid};
use crate::geom::pairs::{Bounds, BoxIndex};
use crate::geom::path::Path;
use crate::geom::{P2, V3};
use crate::sheet::View;

/// Places nearer than this share of the solid's size are one.
const ONE_PLACE: f64 = 1e-7;

/// How far beside a line it is looked, as a share of the solid's size; well below the tolerance that keeps lines apart.
const BESIDE: f64 = 2e-5;

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
    /// The edge it is part of, a place in [`CurvedSolid::edges`].
    pub(crate) edge: u32,
}

/// The drawing of a sound solid in one view, edge by edge; edges seen end-on give nothing.
///
/// Time grows about linearly with the number of edges and of their meetings in the view.
pub(crate) fn drawn(solid: &CurvedSolid, view: View) -> Vec<Stroke> {
    drawn_by(&Caster::new(solid), solid, view)
}

/// The same with a caster that serves all views.
pub(crate) fn drawn_by(caster: &Caster, solid: &CurvedSolid, view: View) -> Vec<Stroke> {
    let slack = caster.size() * ONE_PLACE;
    let axes = view.axes();
    let lines: Vec<Line> = (0_u32..)
        .zip(&solid.edges)
        .filter(|(_, edge)| is_drawn(solid, edge, view.depth_axis()))
        .map(|(place, edge)| Line {
            place,
            edge,
            trace: Trace::new(&edge.path, axes),
        })
        .filter(|line| line.trace.extent().amax() > slack)
        .collect();
    let cuts = cuts(&lines, slack);
    let picture = Picture {
        caster,
        axes,
        towards: V3::ith(view.depth_axis(), view.nearness(1.0)),
        slack,
    };
    let mut strokes = Vec::with_capacity(lines.len());
    for (line, cuts) in lines.iter().zip(cuts) {
        picture.add(line, cuts, &mut strokes);
    }
    strokes
}

/// Whether an edge shows in views along an axis: it is sharp, or a contour there.
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
    f != g || f == 0 || [0.25, 0.5, 0.75].into_iter().all(level)
}

/// A drawn edge.
struct Line<'s> {
    place: u32,
    edge: &'s CurvedEdge,
    trace: Trace<'s>,
}

/// For each line the shares of its way at which it meets others.
fn cuts(lines: &[Line], slack: f64) -> Vec<Vec<f64>> {
    let boxes: Vec<Bounds<2>> = lines.iter().map(|line| line.trace.bounds(slack)).collect();
    let index = BoxIndex::new(&boxes);
    let mut cuts = vec![Vec::new(); lines.len()];
    for (j, bounds) in boxes.iter().enumerate() {
        index.touching(bounds, |i| {
            let i = i as usize;
            if i < j {
                meetings(&lines[i].trace, &lines[j].trace, slack, &mut |s, t| {
                    cuts[i].push(s);
                    cuts[j].push(t);
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
    towards: V3,
    slack: f64,
}

impl Picture<'_> {
    /// Cuts an edge into pieces and adds them, neighbours of one kind joined.
    fn add(&self, line: &Line, mut cuts: Vec<f64>, strokes: &mut Vec<Stroke>) {
        cuts.sort_unstable_by(f64::total_cmp);
        cuts.push(1.0);
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
                edge: line.place,
            });
        }
    }

    /// Whether the middle of a piece has no material in front of it on one side at least.
    fn is_visible(&self, line: &Line, [from, to]: [f64; 2], length: f64) -> bool {
        let share = 0.5 * (from + to);
        let path = &line.edge.path;
        let (at, along) = (path.point(share), path.direction(share));
        let [i, j] = self.axes;
        let mut aside = V3::zeros();
        (aside[i], aside[j]) = (-along[j], along[i]);
        let off = (self.caster.size() * BESIDE).min(length * BESIDE_SHORT);
        let Some(aside) = aside.try_normalize(1e-12) else {
            return true;
        };
        [-off, off].iter().any(|off| {
            let beside = at + aside * *off;
            !self
                .caster
                .covered(&beside, &self.towards, &line.edge.faces)
        })
    }
}

/// The place of a point in a view.
pub(crate) fn seen(axes: [usize; 2], at: &crate::geom::P3) -> P2 {
    P2::new(at[axes[0]], at[axes[1]])
}

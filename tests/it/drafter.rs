//! A drafter of the tests' own: solids put together from simple pieces, drawn in three views by means that share
//! nothing with the engine.
//!
//! Candidate curves (crossings of two surfaces, contours) are cut wherever another surface meets them. Around the
//! middle of each stretch it is looked where material is: that tells sharp edges from smooth ones and from none. A
//! stretch is hidden if rays to the viewer meet material on both sides of it.

mod body;
mod candidates;
mod compare;
mod curve;
mod edges;
mod space;
mod spans;
mod strokes;
mod surface;
mod trace;
mod view;
mod volume;

use foldback::{Line, Projection, Shape, Sheet, View};

use crate::cells::{Point, grid, minus};
use crate::layout::Layout;

pub(crate) use body::{Body, ball, bar, block, frustum, half, moved, prism, ring, rod};
pub(crate) use compare::difference;
pub(crate) use space::{cos_sin, direction};
pub(crate) use surface::Surface;

use edges::{Edge, bounds, edges};
pub(crate) use strokes::Stroke;
use strokes::strokes;
use view::{Sight, pieces};

/// Half an inch between the views, in millimetres.
const GAP: f64 = 12.7;

/// A solid and its drawing.
#[derive(Clone, Debug)]
pub(crate) struct Drafting {
    body: Body,
    edges: Vec<Edge>,
    /// The lines of the front, top and right-side view, in the view's own millimetres from the corner of its box.
    pub(crate) strokes: [Vec<Stroke>; 3],
    /// Width, depth and height in millimetres.
    pub(crate) size: Point,
    /// Whether more than two faces meet along some edge: no proper solid.
    pub(crate) touches_itself: bool,
}

/// Draws a solid; it may stand anywhere. Tangent edges are drawn only where they are contours.
pub(crate) fn draft(body: &Body) -> Drafting {
    let [low, high] = bounds(&edges(body).0);
    let body = moved(body, low.map(|c| -c));
    let (edges, touches_itself) = edges(&body);
    Drafting {
        strokes: views(&body, &edges),
        body,
        edges,
        size: minus(high, low),
        touches_itself,
    }
}

fn views(body: &Body, edges: &[Edge]) -> [Vec<Stroke>; 3] {
    [0, 1, 2].map(|view| strokes(&Sight::of(view), &pieces(body, edges, view)))
}

impl Drafting {
    /// The same solid with its tangent edges drawn in every view.
    pub(crate) fn with_tangent_edges(mut self) -> Drafting {
        for edge in self.edges.iter_mut().filter(|edge| edge.tangent) {
            edge.drawn = [true; 3];
        }
        self.strokes = views(&self.body, &self.edges);
        self
    }

    /// The volume in cubic millimetres.
    pub(crate) fn volume(&self) -> f64 {
        volume::volume(&self.body, &self.edges)
    }

    /// Whether a point lies inside.
    pub(crate) fn contains(&self, p: Point) -> bool {
        self.body.contains(p)
    }

    /// Points of the box, clear of every surface, and whether they lie inside.
    pub(crate) fn samples(&self) -> Vec<(Point, bool)> {
        /// Points in each direction.
        const MANY: usize = 11;
        /// How clear of surfaces, in millimetres: more than chords stray.
        const CLEAR: f64 = 0.2;
        let surfaces = self.body.bounded_surfaces();
        let place = |i: usize, k: usize| (i as f64 + 0.47) / MANY as f64 * self.size[k];
        grid([MANY; 3])
            .map(|at| [0, 1, 2].map(|k| place(at[k], k)))
            .filter(|p| surfaces.iter().all(|(s, _)| s.distance(*p).abs() > CLEAR))
            .map(|p| (p, self.contains(p)))
            .collect()
    }

    /// Where edges end or turn on an axis, contours and smooth edges too.
    pub(crate) fn places(&self, axis: usize) -> Vec<f64> {
        let ends = |edge: &Edge| edge.range.map(|t| edge.curve.at(t)[axis]);
        let turns = |edge: &Edge| [-1.0, 1.0].map(|sign| edge.extreme(axis, sign));
        self.edges
            .iter()
            .flat_map(|edge| [ends(edge), turns(edge)])
            .flatten()
            .collect()
    }

    /// The sheet with these views.
    pub(crate) fn sheet(&self, layout: Layout) -> Sheet {
        set_out(&self.strokes, self.size, layout)
    }
}

/// The sheet with these lines of the three views, each in its own millimetres from the corner of its box; `size` is the
/// box of the object.
///
/// Third-angle: top above front, right-side view to the right of it; first-angle the other way round (ISO 5456-2). The
/// near side is at the bottom of the top view either way.
pub(crate) fn set_out(strokes: &[Vec<Stroke>; 3], size: Point, layout: Layout) -> Sheet {
    let [width, depth, height] = size;
    let [x, y] = layout.origin;
    let corners = match layout.projection {
        Projection::ThirdAngle => [[x, y], [x, y + height + GAP], [x + width + GAP, y]],
        Projection::FirstAngle => [[x, y], [x, y - GAP - depth], [x - GAP - depth, y]],
    };
    let scale = layout.unit.millimetres();
    let mut lines = Vec::new();
    for (k, view) in View::ALL.into_iter().enumerate() {
        lines.extend(strokes[k].iter().map(|(line_type, shape)| Line {
            view: layout.said.then_some(view),
            line_type: *line_type,
            shape: placed(shape, corners[k], scale),
        }));
    }
    Sheet {
        unit: layout.unit,
        projection: layout.said.then_some(layout.projection),
        lines,
    }
}

/// A shape moved by millimetres and written in a unit of `scale` millimetres, without the dust of rounding.
fn placed(shape: &Shape, by: [f64; 2], scale: f64) -> Shape {
    let tidy = |c: f64| (c * 1e9).round() / 1e9 + 0.0;
    let put = |p: &[f64; 2]| [0, 1].map(|k| tidy((p[k] + by[k]) / scale));
    let long = |r: f64| tidy(r / scale);
    let all = |points: &[[f64; 2]]| points.iter().map(put).collect();
    match shape {
        Shape::Line { from, to } => Shape::Line {
            from: put(from),
            to: put(to),
        },
        Shape::Polyline(points) => Shape::Polyline(all(points)),
        Shape::Curve(points) => Shape::Curve(all(points)),
        Shape::Circle { center, radius } => Shape::Circle {
            center: put(center),
            radius: long(*radius),
        },
        Shape::Arc {
            center,
            radius,
            start,
            end,
        } => Shape::Arc {
            center: put(center),
            radius: long(*radius),
            start: tidy(*start),
            end: tidy(*end),
        },
        Shape::Ellipse {
            center,
            radii,
            rotation,
        } => Shape::Ellipse {
            center: put(center),
            radii: radii.map(long),
            rotation: tidy(*rotation),
        },
        Shape::EllipticalArc {
            center,
            radii,
            rotation,
            start,
            end,
        } => Shape::EllipticalArc {
            center: put(center),
            radii: radii.map(long),
            rotation: tidy(*rotation),
            start: tidy(*start),
            end: tidy(*end),
        },
    }
}

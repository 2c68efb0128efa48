//! Hidden lines by means of the tests' own: every edge against every other and against every facet.
//!
//! An edge is cut where anything else in the view crosses or ends on it. A piece is hidden if material lies in front of
//! it on both sides; if only on one, the border of that material is drawn along it and takes precedence.

use crate::cells::{Boundary, Point, area_vector, cross, dot, length, minus, unit};
use crate::layout::{Stroke, Views};

/// The axes of each view, front, top and right: right, up, depth, and the sign that makes depth grow toward the viewer.
const VIEWS: [([usize; 3], f64); 3] = [([0, 2, 1], -1.0), ([0, 1, 2], 1.0), ([1, 2, 0], 1.0)];

/// How exact the corners of the tests' own solids are, in millimetres.
pub(crate) const EXACT: f64 = 1e-7;
/// How exact the corners in an STL are (single precision on parts up to 100 mm), in millimetres, with room.
pub(crate) const SINGLE: f64 = 5e-5;

/// The three views of a solid by its boundary; its box must start at the origin.
///
/// `blur` is how exact the boundary is, in millimetres: ends this near are one.
pub(crate) fn project(boundary: &Boundary, blur: f64) -> Views {
    let corners = || boundary.facets.iter().flatten();
    let size = [0, 1, 2].map(|k| corners().map(|p| p[k]).fold(0.0, f64::max));
    Views {
        strokes: [0, 1, 2].map(|view| Scene::new(boundary, view, blur).strokes()),
        size,
    }
}

/// A view of a boundary: points become (right, up, nearness).
struct Scene {
    edges: Vec<[Point; 2]>,
    covers: Vec<Cover>,
    blur: f64,
}

/// A facet as seen in a view, never edge-on.
struct Cover {
    /// Counter-clockwise in the view.
    outline: Vec<[f64; 2]>,
    /// Nearness is `plane · (right, up, 1)`.
    plane: Point,
}

impl Scene {
    fn new(boundary: &Boundary, view: usize, blur: f64) -> Scene {
        let ([right, up, deep], sign) = VIEWS[view];
        let seen = |p: &Point| [p[right], p[up], sign * p[deep]];
        let edges = boundary.edges.iter().map(|ends| ends.each_ref().map(seen));
        let edges = edges
            .filter(|[a, b]| (a[0] - b[0]).hypot(a[1] - b[1]) > 2.0 * blur)
            .collect();
        let facets = boundary
            .facets
            .iter()
            .map(|facet| facet.iter().map(seen).collect::<Vec<_>>());
        Scene {
            edges,
            covers: facets
                .filter_map(|facet| Cover::new(&facet, blur))
                .collect(),
            blur,
        }
    }

    fn strokes(&self) -> Vec<Stroke> {
        let pieces: Vec<Stroke> = self
            .edges
            .iter()
            .flat_map(|edge| self.pieces(edge))
            .collect();
        let mut kept: Vec<Stroke> = Vec::new();
        // Visible ones first, so that hidden ones beneath them and repetitions are dropped.
        for wanted in [false, true] {
            for piece in pieces.iter().filter(|piece| piece.hidden == wanted) {
                let middle = piece.point(0.5);
                if kept.iter().all(|other| other.distance(middle) > self.blur) {
                    kept.push(*piece);
                }
            }
        }
        kept
    }

    /// The pieces of an edge between all crossings, each visible or hidden throughout.
    fn pieces(&self, edge: &[Point; 2]) -> Vec<Stroke> {
        let flat = flat_stroke(edge);
        let mut cuts = vec![0.0, 1.0];
        for other in &self.edges {
            cuts.extend(crossing(&flat, &flat_stroke(other)));
            cuts.extend(other.iter().filter_map(|p| {
                let near = flat.distance([p[0], p[1]]) < self.blur;
                near.then(|| share(&flat, [p[0], p[1]]))
            }));
        }
        cuts.sort_by(f64::total_cmp);
        let least = 2.0 * self.blur / flat.length();
        cuts.dedup_by(|b, a| *b - *a < least);
        let pieces = cuts.windows(2);
        pieces
            .map(|w| {
                let middle = f64::midpoint(w[0], w[1]);
                let point = [0, 1, 2].map(|k| edge[0][k] + middle * (edge[1][k] - edge[0][k]));
                let gap = (w[1] - w[0]) * flat.length();
                Stroke {
                    from: flat.point(w[0]),
                    to: flat.point(w[1]),
                    hidden: self.is_hidden(point, &flat, gap),
                }
            })
            .collect()
    }

    /// Whether material lies in front of a point of an edge on both sides; the piece around it is `gap` long.
    fn is_hidden(&self, point: Point, edge: &Stroke, gap: f64) -> bool {
        let aside = (20.0 * self.blur).min(gap / 20.0).max(2.0 * self.blur);
        let way = [0, 1].map(|k| (edge.to[k] - edge.from[k]) / edge.length());
        [1.0, -1.0].into_iter().all(|side| {
            let beside = [
                point[0] - side * aside * way[1],
                point[1] + side * aside * way[0],
            ];
            self.covers
                .iter()
                .any(|cover| cover.is_in_front(point, beside, 100.0 * self.blur))
        })
    }
}

impl Cover {
    fn new(facet: &[Point], blur: f64) -> Option<Cover> {
        let doubled = area_vector(facet);
        let normal = unit(doubled);
        // Facets that face away have others in front of them; slivers and facets seen edge-on cover nothing.
        let longest = facet
            .iter()
            .map(|p| length(minus(*p, facet[0])))
            .fold(0.0, f64::max);
        if normal[2] * length(doubled) / longest < 0.1 * blur {
            return None;
        }
        let height = dot(normal, facet[0]) / normal[2];
        let plane = [-normal[0] / normal[2], -normal[1] / normal[2], height];
        Some(Cover {
            outline: facet.iter().map(|p| [p[0], p[1]]).collect(),
            plane,
        })
    }

    /// Whether it covers `beside` and its plane passes nearer than `point` by more than `margin`.
    fn is_in_front(&self, point: Point, beside: [f64; 2], margin: f64) -> bool {
        let steep = length([self.plane[0], self.plane[1], 1.0]);
        let next = self.outline.iter().cycle().skip(1);
        dot(self.plane, [point[0], point[1], 1.0]) - point[2] > margin * steep
            && self
                .outline
                .iter()
                .zip(next)
                .all(|(a, b)| turn(*a, *b, beside) >= 0.0)
    }
}

fn flat_stroke([a, b]: &[Point; 2]) -> Stroke {
    Stroke {
        from: [a[0], a[1]],
        to: [b[0], b[1]],
        hidden: false,
    }
}

/// Where along the first stroke the second crosses it.
fn crossing(stroke: &Stroke, other: &Stroke) -> Option<f64> {
    let [a, b] = [other.from, other.to].map(|p| turn(stroke.from, stroke.to, p));
    let [c, d] = [stroke.from, stroke.to].map(|p| turn(other.from, other.to, p));
    (a * b < 0.0 && c * d < 0.0).then(|| c / (c - d))
}

/// How far along a stroke a point on it is.
fn share(stroke: &Stroke, point: [f64; 2]) -> f64 {
    let from = stroke.from;
    let part = (point[0] - from[0]).hypot(point[1] - from[1]) / stroke.length();
    part.clamp(0.0, 1.0)
}

/// Positive if `p` lies to the left of the way from `a` to `b`.
fn turn(a: [f64; 2], b: [f64; 2], p: [f64; 2]) -> f64 {
    cross(
        [b[0] - a[0], b[1] - a[1], 0.0],
        [p[0] - a[0], p[1] - a[1], 0.0],
    )[2]
}

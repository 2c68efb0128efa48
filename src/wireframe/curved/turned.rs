//! The surfaces of revolution that drawn lines may belong to, their axes along x, y or z; `inclined` adds others.
//!
//! Every circle may be a cylinder seen end-on. Two circles in two views, in line with each other, may be two outlines of a
//! sphere, or an outline and a cut; a sloping line beside the centre of a circle the outline of a cone; an arc beside it the
//! section of a torus.

use super::inclined;
use super::rows::{Rows, shared, view_of};
use super::straight::point;
use super::tops;
use crate::arrange::{Arrangement, Slope};
use crate::geom::axis::Axes;
use crate::geom::carrier::Carrier;
use crate::geom::surface::{Profile, Surface, Turned};
use crate::geom::tolerance::Tolerance;
use crate::geom::{P2, P3, V3};
use crate::sheet::View;
use itertools::Itertools;

/// A surface of revolution that the drawing suggests.
#[derive(Clone, Copy, Debug)]
pub(super) struct Candidate {
    /// The object axis along which its own axis runs; none if that is inclined, within a plane across an object axis.
    pub(super) along: Option<usize>,
    pub(super) surface: Turned,
}

/// A drawn circle, or one of which arcs are drawn.
pub(super) struct Ring {
    pub(super) center: P2,
    pub(super) radius: f64,
}

/// What surfaces are guessed from.
pub(super) struct Given<'a> {
    pub(super) views: &'a [Arrangement; 3],
    pub(super) axes: &'a Axes,
    pub(super) rows: &'a Rows,
    rings: [Vec<Ring>; 3],
}

impl Given<'_> {
    /// The circles of a view, whole or not.
    pub(super) fn rings(&self, view: View) -> &[Ring] {
        &self.rings[view.index()]
    }

    /// Whether a side view shows a row at a place along an axis, over some part of the width of a circle there.
    fn shows(
        &self,
        (along, height): (usize, f64),
        (center, radius): (&P3, f64),
        tolerance: f64,
    ) -> bool {
        let Some(place) = self.axes.find(along, height) else {
            return false;
        };
        side_views(along).iter().any(|&(across, side)| {
            let span = [center[across] - radius, center[across] + radius];
            let mut rows = self.rows.at(side, along, place).iter();
            rows.any(|row| shared(row.span, span, tolerance).is_some())
        })
    }
}

/// All surfaces of revolution that the drawing suggests, each once.
pub(super) fn surfaces(
    views: &[Arrangement; 3],
    axes: &Axes,
    rows: &Rows,
    tolerance: Tolerance,
) -> Vec<Candidate> {
    let given = Given {
        views,
        axes,
        rows,
        rings: [0, 1, 2].map(|v| rings(&views[v])),
    };
    let mut found = Found {
        list: Vec::new(),
        tolerance: tolerance.mm(),
    };
    for view in View::ALL {
        for ring in given.rings(view) {
            let along = view.depth_axis();
            let profile = Profile::Cylinder {
                radius: ring.radius,
            };
            let surface = turned(along, lifted(view, ring.center, 0.0), profile);
            found.add(along, surface, [0.0; 2]);
        }
    }
    spheres(&given, &mut found);
    for along in 0..3 {
        cones(&given, along, &mut found);
        tori(&given, along, &mut found);
        tops::tori(&given, along, &mut found);
    }
    let mut list = found.list;
    list.extend(inclined::surfaces(views, axes, rows, tolerance.mm()));
    list
}

fn rings(view: &Arrangement) -> Vec<Ring> {
    let circles = view.carriers.iter().filter_map(|c| match c {
        Carrier::Circle { center, radius } => Some(Ring {
            center: *center,
            radius: *radius,
        }),
        _ => None,
    });
    circles.collect()
}

pub(super) fn lifted(view: View, at: P2, depth: f64) -> P3 {
    let [right, up] = view.axes();
    point([right, up, view.depth_axis()], [at.x, at.y, depth])
}

/// The surfaces so far.
pub(super) struct Found {
    list: Vec<Candidate>,
    pub(super) tolerance: f64,
}

impl Found {
    /// Adds a surface unless there is one of the kind through the same points, its own at the given heights.
    pub(super) fn add(&mut self, along: usize, surface: Turned, heights: [f64; 2]) {
        let [one, other] = [1, 2].map(|k| {
            let mut across = V3::zeros();
            across[(along + k) % 3] = 1.0;
            across
        });
        let axis = surface.axis;
        let point = |out: V3, height: f64| surface.origin + out + axis * height;
        let points: [P3; 4] = match surface.profile {
            Profile::Cylinder { radius } => {
                [one, -one, other, -other].map(|w| point(w * radius, 0.0))
            }
            Profile::Cone { radius, slope } => {
                let [a, b] = heights.map(|h| (radius + slope * h, h));
                [(one, a), (-one, a), (other, b), (-other, b)].map(|(w, (r, h))| point(w * r, h))
            }
            Profile::Sphere { radius } => [one, -one, other, axis].map(|w| point(w * radius, 0.0)),
            Profile::Torus { major, minor } => [
                point(one * (major + minor), 0.0),
                point(-one * (major - minor), 0.0),
                point(other * major, minor),
                point(-other * (major + minor), 0.0),
            ],
        };
        let kind = std::mem::discriminant(&surface.profile);
        let known = self.list.iter().any(|c| {
            let sphere = matches!(surface.profile, Profile::Sphere { .. });
            let alike = std::mem::discriminant(&c.surface.profile) == kind;
            let on = |p: &P3| Surface::Turned(c.surface).distance(p).abs() <= self.tolerance;
            alike && (sphere || c.along == Some(along)) && points.iter().all(on)
        });
        if !known {
            self.list.push(Candidate {
                along: Some(along),
                surface,
            });
        }
    }
}

pub(super) fn turned(along: usize, origin: P3, profile: Profile) -> Turned {
    let mut axis = V3::zeros();
    axis[along] = 1.0;
    Turned {
        origin,
        axis,
        profile,
    }
}

/// Two circles in two views whose centres are in line: of one radius, as two outlines of a sphere, or as its outline and the
/// smaller circle in which a plane cuts it. Those that fit best come first: of two within the tolerance one is kept.
fn spheres(given: &Given, found: &mut Found) {
    let mut fitting: Vec<(f64, P3, f64)> = Vec::new();
    for [one, other] in View::ALL.into_iter().array_combinations() {
        let pairs = given
            .rings(one)
            .iter()
            .cartesian_product(given.rings(other));
        for (a, b) in pairs {
            let (p, q) = (lifted(one, a.center, 0.0), lifted(other, b.center, 0.0));
            let shared = 3 - one.depth_axis() - other.depth_axis();
            let off = (p[shared] - q[shared]).abs();
            if off > found.tolerance {
                continue;
            }
            let mut center = p;
            center[one.depth_axis()] = q[one.depth_axis()];
            let apart = (a.radius - b.radius).abs();
            if apart <= found.tolerance {
                fitting.push((off.max(apart), center, 0.5 * (a.radius + b.radius)));
            }
            let (large, small, cut) = if a.radius > b.radius {
                (a, b, other.depth_axis())
            } else {
                (b, a, one.depth_axis())
            };
            let far = (large.radius - small.radius) * (large.radius + small.radius);
            let shows = [far.sqrt(), -far.sqrt()].iter().any(|far| {
                let at = (cut, center[cut] + far);
                given.shows(at, (&center, small.radius), found.tolerance)
            });
            if apart > found.tolerance && shows {
                fitting.push((found.tolerance + off, center, large.radius));
            }
        }
    }
    fitting.sort_by(|a, b| a.0.total_cmp(&b.0));
    for (_, center, radius) in fitting {
        found.add(2, turned(2, center, Profile::Sphere { radius }), [0.0; 2]);
    }
}

/// The view that sees an axis end-on.
pub(super) fn end_on(along: usize) -> View {
    view_of((along + 1) % 3, (along + 2) % 3)
}

/// The side views of an axis: the object axis across it that each shows, and the view.
pub(super) fn side_views(along: usize) -> [(usize, View); 2] {
    [(along + 1) % 3, (along + 2) % 3].map(|across| (across, view_of(across, along)))
}

/// A sloping line in a side view that passes a circle of the end-on view at its own height: a cone through that circle.
///
/// The circle must be there: a side view shows a row at its height, over some part of its width.
fn cones(given: &Given, along: usize, found: &mut Found) {
    let end_on = end_on(along);
    for (across, side) in side_views(along) {
        let view = &given.views[side.index()];
        let flat = |p: &P2| {
            let at = lifted(side, *p, 0.0);
            (at[across], at[along])
        };
        for run in view.runs.iter().filter(|r| r.slope == Slope::Sloping) {
            let ends = [run.nodes[0], run.nodes[run.nodes.len() - 1]];
            let [(r0, h0), (r1, h1)] = ends.map(|n| flat(&view.nodes[n].at));
            for ring in given.rings(end_on) {
                let center = lifted(end_on, ring.center, 0.0);
                let out = [r0 - center[across], r1 - center[across]];
                let side = if out[0].abs() > out[1].abs() {
                    out[0]
                } else {
                    out[1]
                }
                .signum();
                let [a, b] = out.map(|o| o * side);
                let shows = |height: f64| {
                    let circle = (&center, ring.radius);
                    given.shows((along, height), circle, found.tolerance)
                };
                let fits = |r: f64| (r - ring.radius).abs() <= found.tolerance;
                let inside = a >= -found.tolerance && b >= -found.tolerance;
                if !inside || !(fits(a) && shows(h0) || fits(b) && shows(h1)) {
                    continue;
                }
                let slope = (b - a) / (h1 - h0);
                let mut origin = center;
                origin[along] = if fits(a) { h0 } else { h1 };
                let profile = Profile::Cone {
                    radius: ring.radius,
                    slope,
                };
                let heights = [h0, h1].map(|h| h - origin[along]);
                found.add(along, turned(along, origin, profile), heights);
            }
        }
    }
}

/// An arc in a side view beside the centre of a circle of the end-on view that the torus through that arc would have.
fn tori(given: &Given, along: usize, found: &mut Found) {
    let end_on = end_on(along);
    for (across, side) in side_views(along) {
        for arc in given.rings(side) {
            let section = lifted(side, arc.center, 0.0);
            for ring in given.rings(end_on) {
                let center = lifted(end_on, ring.center, 0.0);
                let (major, minor) = ((section[across] - center[across]).abs(), arc.radius);
                let within = (ring.radius - major).abs() <= minor + found.tolerance;
                if major <= minor || !within {
                    continue;
                }
                let mut origin = center;
                origin[along] = section[along];
                found.add(
                    along,
                    turned(along, origin, Profile::Torus { major, minor }),
                    [0.0; 2],
                );
            }
        }
    }
}

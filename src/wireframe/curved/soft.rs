//! Stretches that a curved surface needs although a view may show nothing of them: where it is split because its normal is
//! perpendicular to an object axis, and where another surface runs into it without a bend.
//!
//! A split line is a contour in some view, so it is there only as far as that view has drawn line. A line along which two
//! surfaces join smoothly shows as a point or a node in the view that sees both end-on, and as nothing in the others.

use super::Stretch;
use super::drawn_parts::arcs;
use super::inclined;
use super::rounds::{bows, within};
use super::rows::{Rows, view_of};
use super::straight::point;
use super::turned::Candidate;
use crate::arrange::{Arrangement, Node, Run, Slope};
use crate::geom::arena::Id;
use crate::geom::axis::Axes;
use crate::geom::carrier::Carrier;
use crate::geom::conic::Conic;
use crate::geom::path::Path;
use crate::geom::surface::{Profile, Turned};
use crate::geom::tolerance::Tolerance;
use crate::geom::{P2, P3, V2, V3};
use crate::sheet::View;
use std::f64::consts::FRAC_PI_2;

/// Two lines join smoothly if the sine of the angle between them is less than this.
const SMOOTH: f64 = 0.02;

/// All such stretches.
pub(super) fn stretches(
    views: &[Arrangement; 3],
    axes: &Axes,
    rows: &Rows,
    turned: &[Candidate],
    tolerance: Tolerance,
) -> Vec<Stretch> {
    let mut finder = Finder {
        views,
        axes,
        rows,
        tolerance: tolerance.mm(),
        found: Vec::new(),
    };
    for candidate in turned {
        finder.split(candidate);
    }
    for view in View::ALL {
        finder.smooth_rulings(view);
    }
    for (i, a) in turned.iter().enumerate() {
        for b in &turned[..i] {
            finder.smooth_rounds(a, b);
        }
    }
    finder.found
}

struct Finder<'a> {
    views: &'a [Arrangement; 3],
    axes: &'a Axes,
    rows: &'a Rows,
    tolerance: f64,
    found: Vec<Stretch>,
}

impl Finder<'_> {
    /// The lines along which a surface is split.
    fn split(&mut self, candidate: &Candidate) {
        let surface = candidate.surface;
        let Some(along) = candidate.along else {
            self.found
                .extend(inclined::contours(self.views, &surface, self.tolerance));
            return;
        };
        match surface.profile {
            Profile::Cylinder { radius } => {
                for across in [(along + 1) % 3, (along + 2) % 3] {
                    for out in [radius, -radius] {
                        self.ruling(along, across, surface.origin, out);
                    }
                }
            }
            Profile::Cone { .. } => self.cone_outlines(along, &surface),
            Profile::Sphere { radius } => {
                for view in View::ALL {
                    self.outline(view, surface.origin, radius);
                }
            }
            Profile::Torus { major, minor } => {
                for across in [(along + 1) % 3, (along + 2) % 3] {
                    let side = view_of(across, along);
                    for out in [major, -major] {
                        let mut center = surface.origin;
                        center[across] += out;
                        self.outline(side, center, minor);
                    }
                }
                let end_on = view_of((along + 1) % 3, (along + 2) % 3);
                for radius in [major - minor, major + minor] {
                    self.outline(end_on, surface.origin, radius);
                }
                for rise in [minor, -minor] {
                    let mut center = surface.origin;
                    center[along] += rise;
                    self.flat_round(along, center, major);
                }
            }
        }
    }

    /// The straight contour of a cylinder on the side `out` millimetres along `across`, as far as it is drawn.
    fn ruling(&mut self, along: usize, across: usize, origin: P3, out: f64) {
        let side = view_of(across, along);
        let Some(place) = self.axes.find(across, origin[across] + out) else {
            return;
        };
        let mut foot = origin;
        foot[across] = self.axes.value(across, place);
        for row in self.rows.at(side, across, place).to_vec() {
            let ends = row.span.map(|height| {
                let mut end = foot;
                end[along] = height;
                end
            });
            let mut runs = [None; 3];
            runs[side.index()] = Some(row.run);
            self.found.push(Stretch {
                path: Path::straight(ends[0], ends[1]),
                runs,
                loose: false,
            });
        }
    }

    /// A circle that is a contour in the view that sees its true shape, as far as it is drawn there.
    fn outline(&mut self, view: View, center: P3, radius: f64) {
        let arrangement = &self.views[view.index()];
        let [right, up] = view.axes();
        let depth = center[view.depth_axis()];
        let flat = P2::new(center[right], center[up]);
        for bow in bows(arrangement) {
            let Carrier::Circle { center, radius: r } = &arrangement.carriers[bow.carrier as usize]
            else {
                continue;
            };
            if (r - radius).abs() <= self.tolerance && (center - flat).amax() <= self.tolerance {
                let mut runs = [None; 3];
                runs[view.index()] = Some(bow.run);
                self.found.push(Stretch {
                    path: bow.path(arrangement, depth),
                    runs,
                    loose: false,
                });
            }
        }
    }

    /// A circle across an axis that both side views see as a contour, as far as they show it.
    fn flat_round(&mut self, along: usize, center: P3, radius: f64) {
        let [one, other] = [(along + 1) % 3, (along + 2) % 3];
        let Some(place) = self.axes.find(along, center[along]) else {
            return;
        };
        let rows = [one, other].map(|across| {
            let rows = self.rows.at(view_of(across, along), along, place);
            rows.iter().map(|row| row.span).collect::<Vec<_>>()
        });
        let mut center = center;
        center[along] = self.axes.value(along, place);
        for quarter in quarters(along, center, radius) {
            for &a in &rows[0] {
                for &b in &rows[1] {
                    let path = within(&quarter, [(one, a), (other, b)], self.tolerance);
                    self.found.extend(path.map(|path| Stretch {
                        path,
                        runs: [None; 3],
                        loose: false,
                    }));
                }
            }
        }
    }

    /// The slanted contours of a cone: sloping lines of its side views that lie on it.
    fn cone_outlines(&mut self, along: usize, cone: &Turned) {
        let Profile::Cone { radius, slope } = cone.profile else {
            return;
        };
        for across in [(along + 1) % 3, (along + 2) % 3] {
            let side = view_of(across, along);
            let view = &self.views[side.index()];
            let [right, up] = side.axes();
            for (run, r) in view
                .runs
                .enumerate()
                .filter(|(_, r)| r.slope == Slope::Sloping)
            {
                let ends = [r.nodes[0], r.nodes[r.nodes.len() - 1]].map(|n| {
                    let at = view.nodes[n].at;
                    point(
                        [right, up, side.depth_axis()],
                        [at.x, at.y, cone.origin[side.depth_axis()]],
                    )
                });
                let sign = (ends[0][across] + ends[1][across] - 2.0 * cone.origin[across]).signum();
                let fits = ends.iter().all(|p| {
                    let there = radius + slope * (p[along] - cone.origin[along]);
                    (sign * (p[across] - cone.origin[across]) - there).abs() <= self.tolerance
                });
                if fits {
                    let mut runs = [None; 3];
                    runs[side.index()] = Some(run);
                    self.found.push(Stretch {
                        path: Path::straight(ends[0], ends[1]),
                        runs,
                        loose: false,
                    });
                }
            }
        }
    }

    /// Rulings over the nodes of a view at which a circle is joined smoothly, at no extreme of it: they run through the
    /// whole depth.
    fn smooth_rulings(&mut self, view: View) {
        let arrangement = &self.views[view.index()];
        let [right, up] = view.axes();
        let depth = view.depth_axis();
        let far = self.axes.reach(depth);
        for (id, node) in arrangement.nodes.enumerate() {
            if !joins_smoothly(arrangement, id) {
                continue;
            }
            let ends = [0.0, far].map(|d| point([right, up, depth], [node.at.x, node.at.y, d]));
            self.found.push(Stretch {
                path: Path::straight(ends[0], ends[1]),
                runs: [None; 3],
                loose: false,
            });
        }
    }

    /// Circles across a common axis along which two surfaces touch.
    fn smooth_rounds(&mut self, a: &Candidate, b: &Candidate) {
        for touch in touches(a, b, self.tolerance) {
            let Touch {
                axis,
                center,
                radius,
            } = touch;
            let within_drawing = (0..3).all(|k| {
                let reach = radius * (1.0 - axis[k] * axis[k]).max(0.0).sqrt();
                let far = self.axes.reach(k) + self.tolerance;
                center[k] + reach >= -self.tolerance && center[k] - reach <= far
            });
            if within_drawing {
                self.found
                    .extend(touch.paths().into_iter().map(|path| Stretch {
                        path,
                        runs: [None; 3],
                        loose: false,
                    }));
            }
        }
    }
}

/// The four quarters of a circle across an axis.
pub(super) fn quarters(along: usize, center: P3, radius: f64) -> impl Iterator<Item = Path> {
    let [u, v] = [1, 2].map(|k| {
        let mut w = V3::zeros();
        w[(along + k) % 3] = radius;
        w
    });
    (0..4).map(move |k| {
        let from = f64::from(k) * FRAC_PI_2;
        let conic = Conic {
            center,
            u,
            v,
            from,
            to: from + FRAC_PI_2,
        };
        let extreme = |k: i32| match k.rem_euclid(4) {
            0 => center + u,
            1 => center + v,
            2 => center - u,
            _ => center - v,
        };
        Path::bent(conic, [extreme(k), extreme(k + 1)])
    })
}

/// A circle along which two surfaces touch.
struct Touch {
    axis: V3,
    center: P3,
    radius: f64,
}

impl Touch {
    /// The circle in pieces between its extremes along the object axes.
    fn paths(&self) -> Vec<Path> {
        if self.axis.amax() == 1.0 {
            return quarters(self.axis.iamax(), self.center, self.radius).collect();
        }
        let one = V3::ith(self.axis.iamin(), 1.0)
            .cross(&self.axis)
            .normalize();
        let [u, v] = [one, self.axis.cross(&one)].map(|way| way * self.radius);
        arcs(self.center, u, v).collect()
    }
}

/// Where two surfaces of revolution about one axis touch without crossing: their profiles are tangent there.
fn touches(a: &Candidate, b: &Candidate, tolerance: f64) -> Vec<Touch> {
    let sphere = |c: &Candidate| matches!(c.surface.profile, Profile::Sphere { .. });
    // The one whose axis counts: a ball has any.
    let lead = match (sphere(a), sphere(b)) {
        (true, true) => return Vec::new(),
        (true, false) => b,
        (false, true) => a,
        _ if a.along != b.along || a.along.is_none() => return Vec::new(),
        _ => a,
    };
    let axis = lead.surface.axis;
    let mut foot = lead.surface;
    if let Some(along) = lead.along {
        foot.origin[along] = 0.0;
    }
    let coaxial = [a, b]
        .iter()
        .all(|c| foot.split(&c.surface.origin).1.amax() <= tolerance);
    if !coaxial {
        return Vec::new();
    }
    let [p, q] = [a, b].map(|c| profile(&c.surface, foot.split(&c.surface.origin).0));
    profile_touches(&p, &q, tolerance)
        .into_iter()
        .filter(|at| at.x > tolerance)
        .map(|at| Touch {
            axis,
            center: foot.origin + axis * at.y,
            radius: at.x,
        })
        .collect()
}

/// Half a section through the axis: distance from the axis right, place along it up.
enum Section {
    Line { at: P2, way: V2 },
    Round { center: P2, radius: f64 },
}

/// The section of a surface whose origin lies at a height along the axis.
fn profile(surface: &Turned, height: f64) -> Section {
    match surface.profile {
        Profile::Cylinder { radius } => Section::Line {
            at: P2::new(radius, height),
            way: V2::y(),
        },
        Profile::Cone { radius, slope } => Section::Line {
            at: P2::new(radius, height),
            way: V2::new(slope, 1.0).normalize(),
        },
        Profile::Sphere { radius } => Section::Round {
            center: P2::new(0.0, height),
            radius,
        },
        Profile::Torus { major, minor } => Section::Round {
            center: P2::new(major, height),
            radius: minor,
        },
    }
}

fn profile_touches(a: &Section, b: &Section, tolerance: f64) -> Vec<P2> {
    use Section::{Line, Round};
    match (a, b) {
        (Line { at, way }, Round { center, radius })
        | (Round { center, radius }, Line { at, way }) => {
            let foot = at + way * way.dot(&(center - at));
            let touches = ((foot - center).norm() - radius).abs() <= tolerance;
            touches.then_some(foot).into_iter().collect()
        }
        (
            Round {
                center: p,
                radius: r,
            },
            Round {
                center: q,
                radius: s,
            },
        ) => {
            let apart = q - p;
            let distance = apart.norm();
            if distance <= tolerance {
                return Vec::new();
            }
            let way = apart / distance;
            let outside = (distance - r - s).abs() <= tolerance;
            let inside = (distance - (r - s).abs()).abs() <= tolerance;
            let sign = if outside || r > s { 1.0 } else { -1.0 };
            (outside || inside)
                .then_some(p + way * (sign * *r))
                .into_iter()
                .collect()
        }
        _ => Vec::new(),
    }
}

/// Whether at a node a circle and another line, or another circle, run into each other without a bend, away from the
/// circle's extremes.
fn joins_smoothly(view: &Arrangement, node: Id<Node>) -> bool {
    let here = &view.nodes[node];
    let runs: Vec<(Id<Run>, V2)> = here
        .runs
        .iter()
        .map(|&(run, _)| {
            let piece = view.runs[run].pieces[0];
            (run, view.direction(piece, &here.at))
        })
        .collect();
    runs.iter().enumerate().any(|(i, (a, v))| {
        runs[..i].iter().any(|(b, w)| {
            let carriers = [a, b].map(|r| view.runs[*r].carrier);
            let round = carriers
                .iter()
                .flatten()
                .any(|c| matches!(view.carriers[*c as usize], Carrier::Circle { .. }));
            let at_extreme = v.amin() < SMOOTH || w.amin() < SMOOTH;
            round && carriers[0] != carriers[1] && !at_extreme && v.perp(w).abs() < SMOOTH
        })
    })
}

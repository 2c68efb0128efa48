//! Stretches where a curved surface meets another surface in a curve that no view need show in true shape: computed from the
//! two surfaces, and kept as far as all three views have drawn line there.
//!
//! One surface of each pair is made of straight lines (a cylinder or cone) or circles (a torus), which meet the other surface
//! in points of the curve (`starts`); from there it is followed step by step, each step brought back onto both surfaces, and cut where it turns
//! along an axis. Plane sections of cylinders and spheres, and two cylinders of one size, give ellipses and circles.

use super::Stretch;
use super::drawn::Drawn;
use super::tapered::cut_of_inclined;
use super::turned::Candidate;
use crate::arrange::{Arrangement, Slope};
use crate::geom::axis::Axes;
use crate::geom::carrier::Carrier;
use crate::geom::num::Diagonal;
use crate::geom::num::{angle, sin_cos};
use crate::geom::path::{Conic, Course, Meeting, Path, settled};
use crate::geom::plane::Plane;
use crate::geom::surface::{Profile, Surface, Turned};
use crate::geom::tolerance::Tolerance;
use crate::geom::{P3, V3};
use crate::sheet::View;
use std::f64::consts::{PI, TAU};

/// How many lines of a surface are tried.
const LINES: u32 = 96;

/// A step along a curve, as a share of the smaller radius.
const STEP: f64 = 0.12;

/// More steps than this no curve takes.
const MOST_STEPS: usize = 4000;

/// A monotone piece of a curve is looked at in this many places.
const LOOKS: u32 = 48;

/// At first, only the box of so many looks is compared with the drawn lines.
const GLANCE: u32 = 6;

/// Into how many parts the way of a plane through a box is cut to see which of them may be drawn.
const PARTS: u32 = 16;

/// A curve is no longer followed after so many steps away from drawn line.
const LOST: u32 = 4;

/// Two surfaces whose normals differ by less (sine of the angle) touch rather than cross.
const TOUCHING: f64 = 1e-3;

/// Inclined axes nearer to parallel than this (sine of the angle) are one if they pass through one point.
const TURNED: f64 = 0.01;

/// The stretches found.
#[derive(Default)]
pub(super) struct Meetings {
    /// Between two places where the curve turns along an axis.
    pub(super) whole: Vec<Stretch>,
    /// Ended by where drawn line ends in some view.
    pub(super) partial: Vec<Stretch>,
}

/// All such stretches.
pub(super) fn stretches(
    views: &[Arrangement; 3],
    axes: &Axes,
    drawn: &[Drawn; 3],
    turned: &[Candidate],
    tolerance: Tolerance,
) -> Meetings {
    let reach = [0, 1, 2].map(|axis| axes.reach(axis));
    let finder = Finder {
        views,
        drawn,
        far: P3::new(reach[0], reach[1], reach[2]),
        tolerance: tolerance.mm(),
        turns: (0..LINES)
            .map(|k| sin_cos((f64::from(k) + 0.31) * TAU / f64::from(LINES)))
            .collect(),
        has_sampled: views.iter().any(|view| {
            let mut carriers = view.carriers.iter();
            carriers.any(|c| matches!(c, Carrier::Free { .. }))
        }),
    };
    let boxes: Vec<[P3; 2]> = turned.iter().map(|c| finder.bounds(c)).collect();
    let mut found = Meetings::default();
    for (i, a) in turned.iter().enumerate() {
        for (b, bounds) in turned[..i].iter().zip(&boxes) {
            let common = [boxes[i][0].sup(&bounds[0]), boxes[i][1].inf(&bounds[1])];
            if finder.may_be_drawn(&common) {
                finder.two_turned(a, b, &common, &mut found);
            }
        }
        for plane in finder
            .slanting_planes(a)
            .chain(finder.planes_along(a, axes))
        {
            if let Some(part) = finder.part_of_plane(&plane, &boxes[i]) {
                finder.section(&a.surface, plane, &part, &mut found);
            }
        }
    }
    found
}

pub(super) struct Finder<'a> {
    views: &'a [Arrangement; 3],
    drawn: &'a [Drawn; 3],
    /// The far corner of the drawing's box.
    far: P3,
    pub(super) tolerance: f64,
    /// Sine and cosine of the angles at which lines of a surface are tried.
    pub(super) turns: Vec<(f64, f64)>,
    /// Whether any view has a curve that is neither circle nor ellipse.
    has_sampled: bool,
}

impl Finder<'_> {
    /// The box around the part of a surface inside the drawing, and the tolerance more.
    fn bounds(&self, of: &Candidate) -> [P3; 2] {
        let margin = V3::repeat(self.tolerance);
        let (mut low, mut high) = (P3::origin() - margin, self.far + margin);
        let origin = of.surface.origin;
        let Some(along) = of.along else {
            // Only across the plane of its axis is a cylinder no wider than itself; more is not needed.
            if let Profile::Cylinder { radius } = of.surface.profile {
                let axis = of.surface.axis.iamin();
                low[axis] = low[axis].max(origin[axis] - radius - self.tolerance);
                high[axis] = high[axis].min(origin[axis] + radius + self.tolerance);
            }
            return [low, high];
        };
        let heights = [low, high].map(|p| p[along] - origin[along]);
        let (out, reach) = match of.surface.profile {
            Profile::Cylinder { radius } => (radius, f64::INFINITY),
            Profile::Cone { radius, slope } => {
                let [a, b] = heights.map(|h| radius + slope * h);
                (a.max(b), f64::INFINITY)
            }
            Profile::Sphere { radius } => (radius, radius),
            Profile::Torus { major, minor } => (major + minor, minor),
        };
        for axis in 0..3 {
            let reach = if axis == along { reach } else { out } + self.tolerance;
            low[axis] = low[axis].max(origin[axis] - reach);
            high[axis] = high[axis].min(origin[axis] + reach);
        }
        [low, high]
    }

    /// Whether all three views may have drawn line below some point of a box; never if it is empty.
    pub(super) fn may_be_drawn(&self, bounds: &[P3; 2]) -> bool {
        (0..3).all(|k| bounds[0][k] <= bounds[1][k])
            && View::ALL
                .iter()
                .all(|view| self.drawn[view.index()].may_touch(&self.views[view.index()], bounds))
    }

    /// Planes seen edge-on as a sloping line, unless they cut the surface in straight lines.
    fn slanting_planes<'a>(&'a self, of: &'a Candidate) -> impl Iterator<Item = Plane> + 'a {
        self.views.iter().flat_map(move |view| {
            let [right, up] = view.view.axes();
            let runs = view.runs.iter().filter(|r| r.slope == Slope::Sloping);
            runs.filter_map(move |run| {
                let ends = [run.nodes[0], run.nodes[run.nodes.len() - 1]];
                let [a, b] = ends.map(|n| view.nodes[n].at);
                let along = (b - a).normalize();
                let (mut normal, mut point) = (V3::zeros(), P3::origin());
                (normal[right], normal[up]) = (-along.y, along.x);
                (point[right], point[up]) = (a.x, a.y);
                // A cylinder is cut along its axis in straight lines.
                let cylinder = matches!(of.surface.profile, Profile::Cylinder { .. });
                let cuts = !cylinder || normal.dot(&of.surface.axis).abs() > TOUCHING;
                cuts.then(|| Plane::through(&point, &normal))
            })
        })
    }

    /// Planes across an axis, along which a cone is cut in a hyperbola and a torus in a curve of the fourth degree.
    fn planes_along<'a>(
        &'a self,
        of: &'a Candidate,
        axes: &'a Axes,
    ) -> impl Iterator<Item = Plane> + 'a {
        let cut = match of.surface.profile {
            Profile::Cone { .. } => true,
            Profile::Torus { .. } => self.has_sampled,
            Profile::Cylinder { .. } => of.along.is_none(),
            Profile::Sphere { .. } => false,
        };
        let across = (0..3).filter(move |axis| cut && Some(*axis) != of.along);
        across.flat_map(move |axis| {
            let places = u32::try_from(axes.len(axis)).expect("fewer than 2^32 places");
            (0..places).filter_map(move |place| {
                let offset = axes.value(axis, place);
                // Through the axis it is a pair of straight lines, or of circles.
                let aside = (offset - of.surface.origin[axis]).abs() > self.tolerance
                    || of.surface.axis[axis].abs() > TOUCHING;
                let mut normal = V3::zeros();
                normal[axis] = 1.0;
                aside.then_some(Plane { normal, offset })
            })
        })
    }

    /// Whether all three views may have drawn line within a step of a point.
    fn may_be_near(&self, point: &P3, step: f64) -> bool {
        let near = V3::repeat(step.min(0.02 * self.far.coords.norm()));
        self.may_be_drawn(&[point - near, point + near])
    }

    /// What of a plane may be drawn inside a box, as a box; none if nothing is.
    ///
    /// A view that sees the plane edge-on must have drawn line somewhere along it.
    fn part_of_plane(&self, plane: &Plane, bounds: &[P3; 2]) -> Option<[P3; 2]> {
        let mut left = *bounds;
        for view in self.views {
            let [right, up] = view.view.axes();
            if plane.normal[view.view.depth_axis()].abs() > 1e-9 {
                continue;
            }
            let (along, across) = if plane.normal[right].abs() < plane.normal[up].abs() {
                (right, up)
            } else {
                (up, right)
            };
            let height = |x: f64| (plane.offset - plane.normal[along] * x) / plane.normal[across];
            let size = bounds[1][along] - bounds[0][along];
            let (mut low, mut high) = (bounds[1], bounds[0]);
            for k in 0..PARTS {
                let mut part = left;
                let [from, to] =
                    [k, k + 1].map(|k| bounds[0][along] + size * f64::from(k) / f64::from(PARTS));
                let [a, b] = [from, to].map(height);
                (part[0][along], part[1][along]) = (from, to);
                part[0][across] = part[0][across].max(a.min(b) - self.tolerance);
                part[1][across] = part[1][across].min(a.max(b) + self.tolerance);
                if self.may_be_drawn(&part) {
                    (low, high) = (low.inf(&part[0]), high.sup(&part[1]));
                }
            }
            left = [left[0].sup(&low), left[1].inf(&high)];
        }
        self.may_be_drawn(&left).then_some(left)
    }

    fn two_turned(&self, a: &Candidate, b: &Candidate, common: &[P3; 2], found: &mut Meetings) {
        let (one, other) = (&a.surface, &b.surface);
        let apart = other.origin - one.origin;
        if self.share_axis(a, b) {
            return; // circles across the axis, which show as rows or lie in planes seen edge-on
        }
        match (one.profile, other.profile) {
            (Profile::Cylinder { radius: r }, Profile::Cylinder { radius: s }) => {
                let across = one.axis.cross(&other.axis);
                let Some(third) = across.try_normalize(TOUCHING) else {
                    return; // straight lines
                };
                let crossing = apart.dot(&third).abs() <= self.tolerance;
                if crossing && (r - s).abs() <= self.tolerance {
                    self.like_cylinders(one, other, 0.5 * (r + s), found);
                } else if r < s {
                    self.follow(one, &Surface::Turned(*other), common, found);
                } else {
                    self.follow(other, &Surface::Turned(*one), common, found);
                }
            }
            (Profile::Sphere { radius: r }, Profile::Sphere { radius: s }) => {
                let distance = apart.norm();
                let forth = (distance * distance + r * r - s * s) / (2.0 * distance);
                let plane = Plane::through(&(one.origin + apart * (forth / distance)), &apart);
                self.section(one, plane, common, found);
            }
            (Profile::Cylinder { .. }, _) => {
                self.follow(one, &Surface::Turned(*other), common, found)
            }
            (_, Profile::Cylinder { .. }) => {
                self.follow(other, &Surface::Turned(*one), common, found)
            }
            (Profile::Cone { .. }, _) => self.follow(one, &Surface::Turned(*other), common, found),
            (_, Profile::Cone { .. }) => self.follow(other, &Surface::Turned(*one), common, found),
            _ if !self.has_sampled => {}
            (Profile::Torus { .. }, _) => self.follow(one, &Surface::Turned(*other), common, found),
            (_, Profile::Torus { .. }) => self.follow(other, &Surface::Turned(*one), common, found),
        }
    }

    /// Whether two surfaces have one axis, along x, y or z or both inclined; two balls always have one.
    fn share_axis(&self, a: &Candidate, b: &Candidate) -> bool {
        if a.along.is_none() && b.along.is_none() {
            let lean = a.surface.axis.cross(&b.surface.axis).norm();
            let (_, off) = a.surface.split(&b.surface.origin);
            return lean < TURNED && off.norm() <= 2.0 * self.tolerance;
        }
        let apart = b.surface.origin - a.surface.origin;
        let off_axis = |along: usize| (0..3).any(|k| k != along && apart[k].abs() > self.tolerance);
        let sphere = |c: &Candidate| matches!(c.surface.profile, Profile::Sphere { .. });
        match (sphere(a), sphere(b)) {
            (true, true) => (0..3).any(|k| !off_axis(k)),
            (true, false) => b.along.is_some_and(|along| !off_axis(along)),
            (false, true) => a.along.is_some_and(|along| !off_axis(along)),
            _ => a.along == b.along && a.along.is_some_and(|along| !off_axis(along)),
        }
    }

    /// Two cylinders of one radius with crossing axes meet in two ellipses, in the planes half-way between their axes.
    fn like_cylinders(&self, a: &Turned, b: &Turned, radius: f64, found: &mut Meetings) {
        let across = a.axis.cross(&b.axis);
        let sine = across.norm();
        let forth = (b.origin - a.origin).cross(&b.axis).dot(&across) / (sine * sine);
        let center = a.origin + a.axis * forth;
        for side in [1.0, -1.0] {
            let v = (a.axis + b.axis * side) * (radius / sine);
            self.ellipse(center, across * (radius / sine), v, found);
        }
    }

    /// Where a plane cuts a surface in a curve that is no circle across the axis and no straight line.
    fn section(&self, surface: &Turned, plane: Plane, common: &[P3; 2], found: &mut Meetings) {
        let lean = plane.normal.dot(&surface.axis);
        match surface.profile {
            Profile::Cylinder { radius } => {
                if lean.abs() < TOUCHING {
                    return;
                }
                let center =
                    surface.origin - surface.axis * (plane.distance(&surface.origin) / lean);
                // Straight across the axis it is a circle, with any direction as good as another.
                let across = surface.axis.cross(&plane.normal);
                let across = across.try_normalize(TOUCHING).unwrap_or_else(|| {
                    let helper = V3::ith(surface.axis.iamin(), 1.0);
                    helper.cross(&plane.normal).normalize()
                });
                let along = across.cross(&plane.normal) / lean;
                self.ellipse(center, across * radius, along * radius, found);
            }
            Profile::Sphere { radius } => {
                let off = plane.distance(&surface.origin);
                let center = surface.origin - plane.normal * off;
                let square = radius * radius - off * off;
                if square <= self.tolerance * self.tolerance {
                    return;
                }
                let size = square.sqrt();
                let helper = V3::ith(plane.normal.iamin(), 1.0);
                let u = helper.cross(&plane.normal).normalize();
                let v = plane.normal.cross(&u);
                self.ellipse(center, u * size, v * size, found);
            }
            Profile::Cone { .. } => match cut_of_inclined(surface, &plane) {
                Some([center, u, v]) => self.ellipse(center.into(), u, v, found),
                None => self.follow(surface, &Surface::Plane(plane), common, found),
            },
            Profile::Torus { .. } if self.has_sampled => {
                self.follow(surface, &Surface::Plane(plane), common, found);
            }
            Profile::Torus { .. } => {}
        }
    }

    /// The drawn parts of an ellipse.
    fn ellipse(&self, center: P3, u: V3, v: V3, found: &mut Meetings) {
        let mut turns: Vec<f64> = (0..3)
            .filter(|&k| u[k].diagonal(v[k]) > 1e-9)
            .flat_map(|k| {
                let t = angle(v[k], u[k]).rem_euclid(PI);
                [t, t + PI]
            })
            .collect();
        turns.sort_unstable_by(f64::total_cmp);
        turns.dedup_by(|a, b| (*a - *b).abs() < 1e-9);
        if turns
            .last()
            .is_some_and(|last| turns[0] + TAU - last < 1e-9)
        {
            turns.pop();
        }
        for k in 0..turns.len() {
            let from = turns[k];
            let to = turns.get(k + 1).copied().unwrap_or(turns[0] + TAU);
            let conic = Conic {
                center,
                u,
                v,
                from,
                to,
            };
            let mut ends = [conic.point(from), conic.point(to)];
            // At an extreme along an axis the coordinate is exact, whatever the angle is rounded to.
            for end in &mut ends {
                for k in 0..3 {
                    let size = u[k].diagonal(v[k]);
                    for extreme in [center[k] - size, center[k] + size, center[k]] {
                        if (end[k] - extreme).abs() < 1e-9 * (1.0 + size) {
                            end[k] = extreme;
                        }
                    }
                }
            }
            self.drawn_parts(Path::bent(conic, ends), found);
        }
    }

    /// The drawn parts of the curves in which a cylinder or cone meets another surface.
    fn follow(&self, ruled: &Turned, other: &Surface, common: &[P3; 2], found: &mut Meetings) {
        let mut starts = self.starts(ruled, other, common);
        if !starts.iter().any(|p| self.is_drawn(p, None)) {
            return;
        }
        let both = [Surface::Turned(*ruled), *other];
        let step = STEP
            * self
                .size(ruled)
                .min(other.turned().map_or(f64::INFINITY, |t| self.size(t)));
        // What no view shows near a line of the surface is not worth following.
        starts.retain(|p| self.may_be_near(p, step));
        let mut traced: Vec<Vec<P3>> = Vec::new();
        for start in starts {
            let known = traced
                .iter()
                .any(|points| passes(&both, points, &start, step));
            if known {
                continue;
            }
            let points = self.trace(&both, start, step);
            if points.len() > 2 {
                for piece in monotone(&both, &points) {
                    let ends = [piece[0], piece[piece.len() - 1]];
                    let meeting = Meeting {
                        surfaces: both,
                        points: piece.into(),
                    };
                    let path = Path {
                        ends,
                        course: Course::Meeting(meeting),
                    };
                    self.drawn_parts(path, found);
                }
                traced.push(points);
            }
        }
    }

    fn size(&self, turned: &Turned) -> f64 {
        match turned.profile {
            Profile::Cylinder { radius } | Profile::Sphere { radius } => radius,
            Profile::Cone { radius, .. } => radius.max(10.0 * self.tolerance),
            Profile::Torus { minor, .. } => minor,
        }
    }

    pub(super) fn in_box(&self, point: &P3, margin: f64) -> bool {
        (0..3).all(|k| point[k] >= -margin && point[k] <= self.far[k] + margin)
    }

    /// Follows a curve both ways from a point on it, until it closes, leaves the drawing or comes to where the surfaces
    /// touch. A closed curve has its first point again at its end.
    fn trace(&self, both: &[Surface; 2], start: P3, step: f64) -> Vec<P3> {
        let mut points = vec![start];
        let Some(first) = tangent(both, &start) else {
            return points;
        };
        for sign in [1.0, -1.0] {
            let mut way = first * sign;
            let mut at = start;
            let mut lost = 0;
            for steps in 0..MOST_STEPS {
                at = settled(both, at + way * step);
                let Some(along) = tangent(both, &at) else {
                    break;
                };
                way = if along.dot(&way) < 0.0 { -along } else { along };
                points.push(at);
                lost = if self.may_be_near(&at, step) {
                    0
                } else {
                    lost + 1
                };
                if lost > LOST || !self.in_box(&at, step) {
                    break;
                }
                if steps > 2 && (at - start).norm() < 0.7 * step {
                    let last = points.len() - 1;
                    points[last] = start;
                    return points;
                }
            }
            points.reverse();
        }
        points
    }

    /// Whether all three views have drawn line at a point, along a direction if one is given.
    fn is_drawn(&self, point: &P3, along: Option<&V3>) -> bool {
        View::ALL
            .iter()
            .all(|view| self.drawn[view.index()].has(&self.views[view.index()], point, along))
    }

    /// The parts of a monotone path over drawn line in all three views.
    fn drawn_parts(&self, path: Path, found: &mut Meetings) {
        let [low, high] = path.bounds();
        let beyond = |k| high[k] < -self.tolerance || low[k] > self.far[k] + self.tolerance;
        if (0..3).any(beyond) || !self.may_be_drawn(&[low, high]) {
            return;
        }
        let share = |k: u32| f64::from(k) / f64::from(LOOKS);
        let there = |s: f64| {
            let at = path.point(s);
            self.may_be_drawn(&[at, at])
                && self.is_drawn(&at, Some(&path.direction(s.clamp(0.01, 0.99))))
        };
        let mut looks = vec![false; LOOKS as usize + 1];
        for k in (0..LOOKS).step_by(GLANCE as usize) {
            // A part of a monotone path lies in the box of its ends.
            let last = k + GLANCE;
            let [a, b] = [k, last].map(|k| path.point(share(k)));
            if self.may_be_drawn(&[a.inf(&b), a.sup(&b)]) {
                (k..=last).for_each(|k| looks[k as usize] = there(share(k)));
            }
        }
        // Where a sampled curve ends a little before the corner that it belongs to, there is a gap of a hair's breadth.
        for k in 1..LOOKS as usize {
            looks[k] |= looks[k - 1] && looks[k + 1];
        }
        let mut from = 0;
        while from <= LOOKS {
            if !looks[from as usize] {
                from += 1;
                continue;
            }
            let mut to = from;
            while to < LOOKS && looks[to as usize + 1] {
                to += 1;
            }
            let low = if from == 0 {
                0.0
            } else {
                border(&there, share(from - 1), share(from))
            };
            let high = if to == LOOKS {
                1.0
            } else {
                border(&there, share(to + 1), share(to))
            };
            if to > from {
                let ends = [low, high].map(|s| path.point(s));
                let whole = (low, high) == (0.0, 1.0);
                let stretch = Stretch {
                    path: path.part([low, high], ends),
                    runs: [None; 3],
                    loose: !whole,
                };
                if whole {
                    found.whole.push(stretch);
                } else {
                    found.partial.push(stretch);
                }
            }
            from = to + 1;
        }
    }
}

/// Between a place where something does not hold and one where it does: the last where it does.
fn border(holds: &impl Fn(f64) -> bool, mut not: f64, mut yes: f64) -> f64 {
    for _ in 0..12 {
        let middle = 0.5 * (not + yes);
        if holds(middle) {
            yes = middle;
        } else {
            not = middle;
        }
    }
    yes
}

/// The unit direction of the curve at a point of it, unless the surfaces touch there.
fn tangent(both: &[Surface; 2], at: &P3) -> Option<V3> {
    let [n, m] = both.map(|s| s.normal(at));
    n.cross(&m).try_normalize(TOUCHING)
}

/// Whether a chain of points a step apart passes a point of the same curve.
fn passes(both: &[Surface; 2], points: &[P3], at: &P3, step: f64) -> bool {
    let far = 2.5 * step;
    points.windows(2).any(|pair| {
        if (pair[0] - at).norm_squared() > far * far {
            return false;
        }
        let along = pair[1] - pair[0];
        let share = (along.dot(&(at - pair[0])) / along.norm_squared()).clamp(0.0, 1.0);
        let foot = pair[0] + along * share;
        (foot - at).norm() <= step && (settled(both, foot) - at).norm() <= 0.02 * step
    })
}

/// Cuts a chain of points on a curve into pieces that are monotone in each coordinate.
fn monotone(both: &[Surface; 2], points: &[P3]) -> Vec<Vec<P3>> {
    let closed = points[0] == points[points.len() - 1];
    let tangents: Vec<Option<V3>> = points.iter().map(|p| tangent(both, p)).collect();
    let mut pieces: Vec<Vec<P3>> = vec![vec![points[0]]];
    for (pair, ways) in points.windows(2).zip(tangents.windows(2)) {
        let step = Step {
            both,
            ends: [pair[0], pair[1]],
        };
        let mut cuts: Vec<(f64, P3)> = Vec::new();
        if let (Some(from), Some(to)) = (ways[0], ways[1]) {
            let leans = [step.forward(from), step.forward(to)];
            cuts.extend((0..3).filter_map(|axis| step.turning(leans, axis)));
        }
        cuts.sort_by(|a, b| a.0.total_cmp(&b.0));
        for (_, at) in cuts {
            let last = pieces.len() - 1;
            let fresh = pieces[last].last().is_none_or(|p| (p - at).norm() > 1e-9);
            if fresh {
                pieces[last].push(at);
            }
            pieces.push(vec![at]);
        }
        let last = pieces.len() - 1;
        if pieces[last]
            .last()
            .is_none_or(|p| (p - pair[1]).norm() > 1e-9)
        {
            pieces[last].push(pair[1]);
        }
    }
    if closed && pieces.len() > 1 {
        // The start of a closed curve is no end of anything.
        let first = pieces.remove(0);
        let last = pieces.len() - 1;
        pieces[last].extend_from_slice(&first[1..]);
    }
    pieces.retain(|piece| piece.len() > 1);
    pieces
}

/// The curve between two neighbouring points of it.
struct Step<'a> {
    both: &'a [Surface; 2],
    ends: [P3; 2],
}

impl Step<'_> {
    /// A direction of the curve, turned towards the second point.
    fn forward(&self, way: V3) -> V3 {
        if way.dot(&(self.ends[1] - self.ends[0])) < 0.0 {
            -way
        } else {
            way
        }
    }

    /// The direction at a share of the way, and the point.
    fn look(&self, share: f64) -> Option<(V3, P3)> {
        let [a, b] = self.ends;
        let at = settled(self.both, a + (b - a) * share);
        Some((self.forward(tangent(self.both, &at)?), at))
    }

    /// Where the curve turns along an axis, as a share of the way, and the point; `ways` are its directions at the ends.
    ///
    /// By the false position method with halved weights (the Illinois method), which closes in from both sides.
    fn turning(&self, ways: [V3; 2], axis: usize) -> Option<(f64, P3)> {
        let [start, end] = ways.map(|way| way[axis]);
        if (start > 0.0) == (end > 0.0) || start.abs().max(end.abs()) < 1e-9 {
            return None;
        }
        let (mut low, mut high) = ((0.0, start), (1.0, end));
        let mut last = None;
        for _ in 0..50 {
            let share = (low.0 * high.1 - high.0 * low.1) / (high.1 - low.1);
            let (way, at) = self.look(share)?;
            let before = (way[axis] > 0.0) == (start > 0.0);
            let (moved, kept) = if before {
                (&mut low, &mut high)
            } else {
                (&mut high, &mut low)
            };
            *moved = (share, way[axis]);
            let same = last.is_some_and(|(was, _, _)| was == before);
            if same {
                kept.1 *= 0.5;
            }
            last = Some((before, share, at));
            if way[axis].abs() < 1e-13 || high.0 - low.0 < 1e-14 {
                break;
            }
        }
        last.map(|(_, share, at)| (share, at))
    }
}

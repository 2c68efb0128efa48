//! Stretches where a curved surface meets another surface in a curve that no view need show in true shape: computed from the
//! two surfaces, and kept as far as all three views have drawn line there.
//!
//! One surface of each pair is made of straight lines (a cylinder or cone) or circles (a torus), which meet the other surface
//! in points of the curve (`starts`); from there it is followed step by step (`follow`). Plane sections of cylinders and
//! spheres, and two cylinders of one size, give ellipses and circles. Of each curve the parts are kept below which line is
//! drawn (`drawn_parts`). Only where two cylinders of one size cross may all three views show straight lines and circles.

use super::Stretch;
use super::drawn::Drawn;
use super::slices::{Slice, TOUCHING, slices};
use super::tapered::cut_of_inclined;
use super::turned::Candidate;
use crate::arrange::Arrangement;
use crate::geom::axis::Axes;
use crate::geom::carrier::Carrier;
use crate::geom::num::sin_cos;
use crate::geom::plane::Plane;
use crate::geom::surface::{Profile, Surface, Turned};
use crate::geom::tolerance::Tolerance;
use crate::geom::{P3, V3};
use crate::sheet::View;
use std::f64::consts::TAU;

/// How many lines of a surface are tried.
pub(super) const LINES: u32 = 96;

/// Into how many parts the way of a plane through a box is cut to see which of them may be drawn.
const PARTS: u32 = 16;

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
    (turned, all_curves): (&[Candidate], bool),
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
        all_curves,
    };
    let boxes: Vec<[P3; 2]> = turned.iter().map(|c| finder.bounds(c)).collect();
    let slices = match all_curves {
        true => slices(views, axes, finder.tolerance),
        false => Vec::new(),
    };
    let mut found = Meetings::default();
    for (i, a) in turned.iter().enumerate() {
        for (b, bounds) in turned[..i].iter().zip(&boxes) {
            let common = [boxes[i][0].sup(&bounds[0]), boxes[i][1].inf(&bounds[1])];
            if finder.may_be_drawn(&common) {
                finder.two_turned(a, b, &common, &mut found);
            }
        }
        let cutting = |slice: &&Slice| slice.cuts(a, finder.has_sampled, finder.tolerance);
        for slice in slices.iter().filter(cutting) {
            if let Some(part) = finder.part_of_plane(slice, &boxes[i]) {
                finder.section(&a.surface, slice.plane, &part, &mut found);
            }
        }
    }
    found
}

pub(super) struct Finder<'a> {
    pub(super) views: &'a [Arrangement; 3],
    pub(super) drawn: &'a [Drawn; 3],
    /// The far corner of the drawing's box.
    pub(super) far: P3,
    pub(super) tolerance: f64,
    /// Sine and cosine of the angles at which lines of a surface are tried.
    pub(super) turns: Vec<(f64, f64)>,
    /// Whether any view has a curve that is neither circle nor ellipse.
    has_sampled: bool,
    /// Whether curves are looked for that some view must show as neither a straight line nor a circle.
    pub(super) all_curves: bool,
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

    /// What of a plane may be drawn inside a box, as a box; none if nothing is.
    ///
    /// A view that sees the plane edge-on must have drawn line somewhere along it.
    fn part_of_plane(&self, slice: &Slice, bounds: &[P3; 2]) -> Option<[P3; 2]> {
        let bounds = &slice.narrowed(bounds, self.tolerance)?;
        let plane = &slice.plane;
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
                    self.like_cylinders(one, other, common, found);
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
    fn like_cylinders(&self, a: &Turned, b: &Turned, common: &[P3; 2], found: &mut Meetings) {
        let radius = 0.5 * (self.size(a) + self.size(b));
        let across = a.axis.cross(&b.axis);
        let sine = across.norm();
        let forth = (b.origin - a.origin).cross(&b.axis).dot(&across) / (sine * sine);
        let center = a.origin + a.axis * forth;
        for side in [1.0, -1.0] {
            let v = (a.axis + b.axis * side) * (radius / sine);
            self.ellipse((center, across * (radius / sine), v), common, found);
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
                self.ellipse((center, across * radius, along * radius), common, found);
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
                self.ellipse((center, u * size, v * size), common, found);
            }
            Profile::Cone { .. } => match cut_of_inclined(surface, &plane) {
                Some([center, u, v]) => self.ellipse((center.into(), u, v), common, found),
                None => self.follow(surface, &Surface::Plane(plane), common, found),
            },
            Profile::Torus { .. } if self.has_sampled => {
                self.follow(surface, &Surface::Plane(plane), common, found);
            }
            Profile::Torus { .. } => {}
        }
    }
}

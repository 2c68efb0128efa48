//! Cones whose axis lies in a plane across an object axis, but not along one: inclined countersinks, spouts and tapered bosses.
//!
//! The view that sees the axis in its true length shows two sloping contours that meet at the apex, the axis half-way between
//! them. How deep the axis lies another view says: by an ellipse in which a plane cuts the cone, or by its two contours
//! there, mirror images about a line along the sheet's axis.
//!
//! Of a part of a cone one contour is enough if a plane cuts it in an ellipse, for the ends of that lie on both.
//!
//! One contour or both may run along an axis of the sheet, as those of a countersink of 90 degrees at 45 degrees do. Most lines
//! run so and are no such contours: then the depth is asked of ellipses only, one of which shows where a cone ends square.

use super::inclined::{round, rulings, straight};
use super::rows::view_of;
use super::straight::point;
use crate::arrange::{Arrangement, Slope};
use crate::geom::axis::Axes;
use crate::geom::carrier::Carrier;
use crate::geom::plane::Plane;
use crate::geom::surface::{Profile, Turned};
use crate::geom::{P2, V2, V3};
use crate::sheet::View;
use itertools::Itertools;

/// A cone whose contours are nearer to parallel than this (tangent of half the angle between them) is a cylinder; one whose
/// contours are nearer to square across the axis than its inverse is a plane.
const NARROW: f64 = 0.005;

/// Directions whose cosines differ from 0 or 1 by less are perpendicular or parallel.
const UPRIGHT: f64 = 1e-6;

/// Pairs of contours along the sheet beyond this number are not looked at.
const MOST_PAIRS: usize = 20_000;

/// The cones with a contour, or both, along an axis of the sheet in a view.
pub(super) fn along_axes(
    views: &[Arrangement; 3],
    view: &Arrangement,
    tolerance: f64,
) -> Vec<Turned> {
    let others = || views.iter().filter(|other| other.view != view.view);
    if !others().any(|other| other.carriers.iter().any(is_ellipse)) {
        return Vec::new();
    }
    let [level, upright, slopes] =
        [Slope::Level, Slope::Upright, Slope::Sloping].map(|slope| straight(view, slope));
    let pairs = (level.iter().cartesian_product(&upright))
        .chain(level.iter().cartesian_product(&slopes))
        .chain(upright.iter().cartesian_product(&slopes));
    pairs
        .take(MOST_PAIRS)
        .filter_map(|(a, b)| Wedge::between(a, b, tolerance))
        .flat_map(|wedge| wedge.cones_at_ellipses(views, view.view, tolerance))
        .collect()
}

/// The depths that both other views say: each is asked with the axis that it shares with `view`, counted in `view`, and its own
/// axis along the depth.
fn in_others(
    views: &[Arrangement; 3],
    view: View,
    depths: impl Fn(&Arrangement, (usize, usize)) -> Vec<f64>,
) -> Vec<f64> {
    let depth = view.depth_axis();
    let axes = view.axes().into_iter().enumerate();
    let asked = axes.map(|(k, axis)| {
        let other = &views[view_of(axis, depth).index()];
        depths(other, (k, usize::from(other.view.axes()[1] == depth)))
    });
    asked.flatten().collect()
}

fn ellipses(view: &Arrangement) -> impl Iterator<Item = &Carrier> {
    view.carriers.iter().filter(|c| is_ellipse(c))
}

fn is_ellipse(carrier: &Carrier) -> bool {
    matches!(carrier, Carrier::Ellipse { .. })
}

/// The cones with a contour in a view that meet a plane across an axis of it in a drawn ellipse.
///
/// The ends of the ellipse along that view lie on the two contours, one of them on the drawn one: that says where the plane is,
/// which must be a known place. The half-width of the ellipse squared is the product of the radii of the cone at its ends.
/// Of a cylinder there is such a cone as well; so another ellipse must fit.
pub(super) fn by_mouths(
    views: &[Arrangement; 3],
    axes: &Axes,
    (view, contour): (View, &[P2; 2]),
    tolerance: f64,
) -> Vec<Turned> {
    let depth = view.depth_axis();
    let way = (contour[1] - contour[0]).normalize();
    let mut found = Vec::new();
    for (k, axis) in view.axes().into_iter().enumerate() {
        let other = &views[view_of(axis, depth).index()];
        let side = usize::from(other.view.axes()[1] == depth);
        for carrier in ellipses(other) {
            let (Some((center, wide)), Some((_, long))) =
                (round(carrier, side), round(carrier, 1 - side))
            else {
                continue;
            };
            for reach in [long, -long] {
                let far = (center[1 - side] + reach - contour[0][k]) / way[k];
                let on_contour = contour[0] + way * far;
                if !far.is_finite() || axes.find(view.axes()[1 - k], on_contour[1 - k]).is_none() {
                    continue;
                }
                let mut across = V2::zeros();
                across[k] = -2.0 * reach;
                let opposite = on_contour + across;
                for apex in apexes(&on_contour, (&way, &across), wide) {
                    let other_contour = [opposite, nalgebra::center(&apex, &opposite)];
                    let wedge = Wedge::between(contour, &other_contour, tolerance);
                    let wedge = wedge.filter(|wedge| {
                        let depths = wedge.depths_of_ellipses(views, view, tolerance);
                        let here = |d: &&f64| (*d - center[side]).abs() <= tolerance;
                        depths.iter().filter(here).count() > 1
                    });
                    found.extend(wedge.map(|wedge| wedge.cone(view, center[side])));
                }
            }
        }
    }
    found
}

/// Where on a contour the apex of a cone may lie that a plane cuts in an ellipse: `across` leads from the contour to the other
/// end of the ellipse, which is `wide` wide from its middle.
///
/// With the apex so far along the contour that `|apex - end| |apex - other end|` less their dot product is twice the square
/// of the half-width; squared, the powers above the second cancel out.
fn apexes(end: &P2, (way, across): (&V2, &V2), wide: f64) -> Vec<P2> {
    let (c, e) = (2.0 * wide * wide, way.dot(across));
    let (a, b) = (across.norm_squared() - e * e - 2.0 * c, e * c);
    let root = (b * b + a * c * c).sqrt();
    let fars = [(-b + root) / a, (-b - root) / a];
    let on_cone = |far: &f64| far.is_finite() && far * far - e * far + c >= 0.0;
    let fars = fars.into_iter().filter(on_cone);
    fars.map(|far| end + way * far).collect()
}

/// Two contours of a cone, from the side.
pub(super) struct Wedge {
    apex: P2,
    /// From the apex along the axis into the cone.
    along: V2,
    /// Tangent of half the angle at the apex.
    slope: f64,
    /// How far from the apex along the axis the drawn contours begin and end.
    heights: [f64; 2],
}

impl Wedge {
    /// Two lines as the contours of a cone with an inclined axis, if they lie on one side of where they meet.
    pub(super) fn between(a: &[P2; 2], b: &[P2; 2], tolerance: f64) -> Option<Self> {
        let [u, v] = [a, b].map(|line| (line[1] - line[0]).normalize());
        let area = u.perp(&v);
        let apex = a[0] + u * ((b[0] - a[0]).perp(&v) / area);
        if !apex.iter().all(|c| c.is_finite()) {
            return None;
        }
        let [u, v] = [outward(&apex, a, tolerance)?, outward(&apex, b, tolerance)?];
        let along = (u + v).try_normalize(NARROW)?;
        let slope = along.perp(&u).abs() / along.dot(&u);
        let reach = a.iter().chain(b).map(|p| along.dot(&(p - apex)));
        let (low, high) = reach.fold((f64::INFINITY, 0.0), |(low, high), h| {
            (f64::min(low, h), f64::max(high, h))
        });
        // An axis along x, y or z is known by the circles about it.
        let inclined = along.amin() * (high - low) > 2.0 * tolerance;
        let tapered = (NARROW..1.0 / NARROW).contains(&slope) && slope * high > 4.0 * tolerance;
        (inclined && tapered).then_some(Wedge {
            apex,
            along,
            slope,
            heights: [low, high],
        })
    }

    /// The cones that have these contours in `view` and fit another view as well.
    pub(super) fn cones(
        &self,
        views: &[Arrangement; 3],
        view: View,
        tolerance: f64,
    ) -> Vec<Turned> {
        let depths = in_others(views, view, |other, (k, side)| {
            let mut depths = self.by_ellipses(other.carriers.iter(), (k, side), tolerance);
            depths.extend(self.by_contours(other, (view, side), tolerance));
            depths
        });
        self.at_depths(view, depths, tolerance)
    }

    /// The cones that have these contours in `view` and of which another view shows a cut or an end as an ellipse.
    fn cones_at_ellipses(
        &self,
        views: &[Arrangement; 3],
        view: View,
        tolerance: f64,
    ) -> Vec<Turned> {
        let depths = in_others(views, view, |other, at| {
            let mut depths = self.by_ellipses(ellipses(other), at, tolerance);
            depths.extend(self.by_ends(ellipses(other), at, tolerance));
            depths
        });
        self.at_depths(view, depths, tolerance)
    }

    /// The depths of the ellipses of both other views in which a plane across an axis cuts the cone.
    fn depths_of_ellipses(&self, views: &[Arrangement; 3], view: View, tolerance: f64) -> Vec<f64> {
        in_others(views, view, |other, at| {
            self.by_ellipses(ellipses(other), at, tolerance)
        })
    }

    fn at_depths(&self, view: View, mut depths: Vec<f64>, tolerance: f64) -> Vec<Turned> {
        depths.sort_unstable_by(f64::total_cmp);
        depths.dedup_by(|a, b| (*a - *b).abs() <= tolerance);
        depths.into_iter().map(|d| self.cone(view, d)).collect()
    }

    /// The cone whose axis lies at a depth of the view, its origin half-way along what is drawn.
    fn cone(&self, view: View, depth: f64) -> Turned {
        let [right, up] = view.axes();
        let axes = [right, up, view.depth_axis()];
        let height = f64::midpoint(self.heights[0], self.heights[1]);
        let at = self.apex + self.along * height;
        Turned {
            origin: point(axes, [at.x, at.y, depth]),
            axis: point(axes, [self.along.x, self.along.y, 0.0]).coords,
            profile: Profile::Cone {
                radius: self.slope * height,
                slope: self.slope,
            },
        }
    }

    /// The depths of ellipses of another view in which a plane seen edge-on cuts the cone: its longer way shows the two
    /// points on the contours, and so how wide the cone is half-way between them.
    ///
    /// `k` is the axis of the wedge's view that both show, `side` the axis of the other view along the depth.
    fn by_ellipses<'c>(
        &self,
        carriers: impl Iterator<Item = &'c Carrier>,
        (k, side): (usize, usize),
        tolerance: f64,
    ) -> Vec<f64> {
        let normal = V2::new(-self.along.y, self.along.x);
        let contours = [1.0, -1.0].map(|sign| self.along + normal * (sign * self.slope));
        let mut found = Vec::new();
        // A contour across the other view shows no place in it.
        if contours.iter().any(|way| way[k].abs() < UPRIGHT) {
            return found;
        }
        for carrier in carriers {
            let (Some((center, wide)), Some((_, long))) =
                (round(carrier, side), round(carrier, 1 - side))
            else {
                continue;
            };
            let fits = [1.0, -1.0].into_iter().any(|sign| {
                let [p, q] = [(0, sign), (1, -sign)].map(|(c, sign)| {
                    let way: V2 = contours[c];
                    let there = center[1 - side] + sign * long - self.apex[k];
                    way * (there / way[k])
                });
                let middle = (p + q) * 0.5;
                let height = self.along.dot(&middle);
                let (radius, off) = (self.slope * height, normal.dot(&middle));
                let square = radius * radius - off * off;
                let cut = self.along.dot(&p) > 0.0 && self.along.dot(&q) > 0.0 && square > 0.0;
                cut && (square.sqrt() - wide).abs() <= 2.0 * tolerance
            });
            if fits {
                found.push(center[side]);
            }
        }
        found
    }

    /// The depths of ellipses of another view that are circles about the axis: how far along the axis their centre says, and
    /// so how wide the cone is there.
    fn by_ends<'c>(
        &self,
        carriers: impl Iterator<Item = &'c Carrier>,
        (k, side): (usize, usize),
        tolerance: f64,
    ) -> Vec<f64> {
        let of = |carrier| Some((round(carrier, side)?, round(carrier, 1 - side)?.1));
        let is_end = |&((center, wide), long): &((P2, f64), f64)| {
            let height = (center[1 - side] - self.apex[k]) / self.along[k];
            let radius = self.slope * height;
            (wide - radius).abs() <= tolerance
                && (long - radius * self.along[1 - k].abs()).abs() <= tolerance
        };
        let ends = carriers.filter_map(of).filter(is_end);
        ends.map(|((center, _), _)| center[side]).collect()
    }

    /// The depths at which both contours of the cone in another view are drawn there.
    fn by_contours(
        &self,
        other: &Arrangement,
        (view, side): (View, usize),
        tolerance: f64,
    ) -> Vec<f64> {
        let cone = self.cone(view, 0.0);
        let [right, up] = other.view.axes();
        let lines = straight(other, Slope::Sloping);
        let towards = V3::ith(other.view.depth_axis(), 1.0);
        let shifts: Vec<Vec<f64>> = rulings(&cone, &towards)
            .into_iter()
            .map(|(from, way)| {
                let from = P2::new(from[right], from[up]);
                let way = V2::new(way[right], way[up]);
                let shift = |p: &P2| {
                    let there = way * ((p - from)[1 - side] / way[1 - side]);
                    (p - from)[side] - there[side]
                };
                let level =
                    |line: &&[P2; 2]| (shift(&line[0]) - shift(&line[1])).abs() <= 2.0 * tolerance;
                let steep = way[1 - side].abs() > NARROW * way.norm();
                let lines = lines.iter().filter(|_| steep).filter(level);
                lines
                    .map(|line| f64::midpoint(shift(&line[0]), shift(&line[1])))
                    .collect()
            })
            .collect();
        let [one, two] = &shifts[..] else {
            return Vec::new();
        };
        let both = |d: &&f64| two.iter().any(|e| (*d - e).abs() <= 2.0 * tolerance);
        one.iter().filter(both).copied().collect()
    }
}

/// The centre and half-axes of the ellipse in which a plane cuts a cone with an inclined axis, if it is one. A cone about
/// x, y or z is left to others: circles across its axis show as rows.
pub(super) fn cut_of_inclined(cone: &Turned, plane: &Plane) -> Option<[V3; 3]> {
    let Profile::Cone { radius, slope } = cone.profile else {
        return None;
    };
    let lean = plane.normal.dot(&cone.axis);
    if cone.axis.amax() > 1.0 - UPRIGHT || lean.abs() < UPRIGHT {
        return None;
    }
    let foot = cone.origin - cone.axis * (plane.distance(&cone.origin) / lean);
    // The line of greatest fall of the plane crosses the axis and, on either side, the cone.
    let fall = (cone.axis - plane.normal * lean)
        .try_normalize(UPRIGHT)
        .unwrap_or_else(|| {
            V3::ith(cone.axis.iamin(), 1.0)
                .cross(&plane.normal)
                .normalize()
        });
    let climb = fall.dot(&cone.axis);
    let aside = (1.0 - climb * climb).sqrt();
    let here = radius + slope * (foot - cone.origin).dot(&cone.axis);
    // Along a contour it is a parabola.
    if aside - slope.abs() * climb.abs() < UPRIGHT {
        return None;
    }
    let ends = [
        here / (aside - slope * climb),
        -here / (aside + slope * climb),
    ];
    let on_cone = |t: &f64| t.is_finite() && here + slope * climb * t > 0.0;
    if ends[0] * ends[1] >= 0.0 || !ends.iter().all(on_cone) {
        return None;
    }
    let middle = f64::midpoint(ends[0], ends[1]);
    let (wide, off) = (here + slope * climb * middle, aside * middle);
    let side = plane.normal.cross(&fall).normalize();
    Some([
        (foot + fall * middle).coords,
        fall * (0.5 * (ends[0] - ends[1]).abs()),
        side * (wide * wide - off * off).max(0.0).sqrt(),
    ])
}

/// The direction of a line away from a point on it; none if the line goes on beyond the point.
fn outward(apex: &P2, line: &[P2; 2], tolerance: f64) -> Option<V2> {
    let [near, far] = line.map(|p| p - apex);
    let (near, far) = if near.norm() <= far.norm() {
        (near, far)
    } else {
        (far, near)
    };
    let way = far.try_normalize(tolerance)?;
    (near.dot(&way) >= -tolerance).then_some(way)
}

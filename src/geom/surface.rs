//! The surfaces that faces lie on: planes and surfaces of revolution.
//!
//! A surface of revolution is given by a point on its axis, the axis and its profile. Distances are true distances with a
//! sign, so that a point moves onto the surface by going back along the normal.

use super::pairs::Bounds;
use super::plane::Plane;
use super::{Few, P3, V3};
use crate::geom::num::Diagonal;

/// A surface; its normal points to the side of positive distance: away from the axis of a cylinder or cone, out of a ball,
/// out of the tube of a torus.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) enum Surface {
    Plane(Plane),
    Turned(Turned),
}

/// A surface of revolution.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Turned {
    /// A point on the axis: any for a cylinder, the centre of a sphere or torus.
    pub(crate) origin: P3,
    /// The axis, a unit vector.
    pub(crate) axis: V3,
    pub(crate) profile: Profile,
}

/// What is turned about the axis; lengths in millimetres.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) enum Profile {
    Cylinder {
        radius: f64,
    },
    /// The radius at the origin, and how much it grows per millimetre along the axis; nothing where it would be negative.
    Cone {
        radius: f64,
        slope: f64,
    },
    Sphere {
        radius: f64,
    },
    /// A circle of radius `minor` turned at the distance `major` from the axis; `major` is the larger.
    Torus {
        major: f64,
        minor: f64,
    },
}

impl Profile {
    /// How far it gets from the origin, a cylinder across its axis; a cone has no end.
    fn far(&self) -> f64 {
        match *self {
            Profile::Cylinder { radius } | Profile::Sphere { radius } => radius,
            Profile::Cone { .. } => f64::INFINITY,
            Profile::Torus { major, minor } => major + minor,
        }
    }
}

/// Below this share of the leading term a quadratic equation is taken for a linear one.
const FLAT: f64 = 1e-14;

impl Surface {
    /// Signed distance of a point in millimetres, positive on the side the normal points to.
    pub(crate) fn distance(&self, point: &P3) -> f64 {
        match self {
            Surface::Plane(plane) => plane.distance(point),
            Surface::Turned(turned) => turned.distance(point),
        }
    }

    /// The unit normal at a point on the surface (near it: at the nearest point). On the axis, where a cone has no normal,
    /// its axis.
    pub(crate) fn normal(&self, point: &P3) -> V3 {
        match self {
            Surface::Plane(plane) => plane.normal,
            Surface::Turned(turned) => turned.normal(point),
        }
    }

    /// Distance and normal at a point.
    #[inline]
    pub(crate) fn off(&self, point: &P3) -> (f64, V3) {
        match self {
            Surface::Plane(plane) => (plane.distance(point), plane.normal),
            Surface::Turned(turned) => turned.off(point),
        }
    }

    /// The point of the surface nearest to a point near it.
    pub(crate) fn nearest(&self, point: &P3) -> P3 {
        let (distance, normal) = self.off(point);
        point - normal * distance
    }

    /// Where the line `from + t * direction` meets the surface, as ascending `t`; none for a line within it. A line that
    /// merely touches may give one, two or no places. `direction` is a unit vector.
    pub(crate) fn hits(&self, from: &P3, direction: &V3) -> Few<f64, 4> {
        match self {
            Surface::Plane(plane) => {
                let lean = plane.normal.dot(direction);
                let t = -plane.distance(from) / lean;
                Few::from_buf_and_len([t, 0.0, 0.0, 0.0], usize::from(t.is_finite()))
            }
            Surface::Turned(turned) => turned.hits(from, direction),
        }
    }

    /// The box around all points within `reach` of it; without an end where the surface has none.
    pub(crate) fn bounds(&self, reach: f64) -> Bounds<3> {
        // How far it gets from a point along each direction across which it is round or flat.
        let (from, far) = match self {
            Surface::Plane(plane) => (P3::from(plane.normal * plane.offset), 0.0),
            Surface::Turned(turned) => (turned.origin, turned.profile.far()),
        };
        let is_bounded = |k: usize| match self {
            Surface::Plane(plane) => plane.normal[k].abs() == 1.0,
            Surface::Turned(turned) => match turned.profile {
                Profile::Cylinder { .. } => turned.axis[k] == 0.0,
                Profile::Cone { .. } => false,
                Profile::Sphere { .. } | Profile::Torus { .. } => true,
            },
        };
        let around = |side: f64, k: usize| {
            if is_bounded(k) {
                from[k] + side * (far + reach)
            } else {
                side * f64::INFINITY
            }
        };
        [-1.0, 1.0].map(|side| [0, 1, 2].map(|k| around(side, k)))
    }

    /// Whether it is flat.
    pub(crate) fn is_plane(&self) -> bool {
        matches!(self, Surface::Plane(_))
    }

    /// The surface of revolution, if it is one.
    pub(crate) fn turned(&self) -> Option<&Turned> {
        match self {
            Surface::Plane(_) => None,
            Surface::Turned(turned) => Some(turned),
        }
    }
}

impl Turned {
    /// Height along the axis above the origin, and the way out from the axis (not a unit vector).
    pub(crate) fn split(&self, point: &P3) -> (f64, V3) {
        let reach = point - self.origin;
        let height = reach.dot(&self.axis);
        (height, reach - self.axis * height)
    }

    fn distance(&self, point: &P3) -> f64 {
        let (height, out) = self.split(point);
        let from_axis = out.norm();
        match self.profile {
            Profile::Cylinder { radius } => from_axis - radius,
            Profile::Cone { radius, slope } => {
                (from_axis - radius - slope * height) / (1.0 + slope * slope).sqrt()
            }
            Profile::Sphere { radius } => (point - self.origin).norm() - radius,
            Profile::Torus { major, minor } => (from_axis - major).diagonal(height) - minor,
        }
    }

    fn normal(&self, point: &P3) -> V3 {
        let (height, out) = self.split(point);
        let outward = out.try_normalize(1e-12);
        let bent = |out: V3, along: f64| (out + self.axis * along).normalize();
        match (self.profile, outward) {
            (Profile::Sphere { .. }, _) => (point - self.origin)
                .try_normalize(0.0)
                .unwrap_or(self.axis),
            (Profile::Cylinder { .. }, Some(out)) => out,
            (Profile::Cone { slope, .. }, Some(out)) => bent(out, -slope),
            (Profile::Cone { slope, .. }, None) => self.axis * -slope.signum(),
            (Profile::Torus { major, .. }, Some(unit)) => (out - unit * major + self.axis * height)
                .try_normalize(0.0)
                .unwrap_or(unit),
            (_, None) => self.axis,
        }
    }

    /// Distance and normal, which have their roots in common for the commonest shapes.
    #[inline]
    fn off(&self, point: &P3) -> (f64, V3) {
        match self.profile {
            Profile::Cylinder { radius } => {
                let (_, out) = self.split(point);
                let from_axis = out.norm();
                if from_axis > 1e-12 {
                    return (from_axis - radius, out / from_axis);
                }
            }
            Profile::Sphere { radius } => {
                let out = point - self.origin;
                let from_center = out.norm();
                if from_center > 0.0 {
                    return (from_center - radius, out / from_center);
                }
            }
            Profile::Cone { radius, slope } => {
                let (height, out) = self.split(point);
                let from_axis = out.norm();
                if from_axis > 1e-12 {
                    let stretch = 1.0 / (1.0 + slope * slope).sqrt();
                    let off = (from_axis - radius - slope * height) * stretch;
                    return (off, (out / from_axis - self.axis * slope) * stretch);
                }
            }
            Profile::Torus { .. } => {}
        }
        (self.distance(point), self.normal(point))
    }

    fn hits(&self, from: &P3, direction: &V3) -> Few<f64, 4> {
        let (height, out) = self.split(from);
        let climb = direction.dot(&self.axis);
        let across = direction - self.axis * climb;
        // |out + t across|^2 = a t^2 + 2 b t + c
        let (a, b, c) = (across.norm_squared(), across.dot(&out), out.norm_squared());
        match self.profile {
            Profile::Cylinder { radius } => quadratic(a, b, c - radius * radius),
            Profile::Sphere { radius } => {
                let (b, c) = (b + height * climb, c + height * height);
                quadratic(1.0, b, c - radius * radius)
            }
            Profile::Cone { radius, slope } => {
                let (at, grow) = (radius + slope * height, slope * climb);
                let mut both = quadratic(a - grow * grow, b - at * grow, c - at * at);
                both.retain(|t| at + grow * *t >= 0.0);
                both
            }
            Profile::Torus { major, minor } => {
                if across.norm_squared() <= FLAT {
                    let off = c.sqrt() - major;
                    return along_axis(minor * minor - off * off, height, climb);
                }
                if climb.abs() <= FLAT {
                    let Some(half) = root(minor * minor - height * height) else {
                        return Few::new();
                    };
                    let mut all: Few<f64, 4> = [major - half, major + half]
                        .into_iter()
                        .flat_map(|r| quadratic(a, b, c - r * r))
                        .collect();
                    all.sort_unstable_by(f64::total_cmp);
                    return all;
                }
                self.pierced(from, direction, [major, minor])
            }
        }
    }

    /// Where a line that is neither along the axis nor across it meets a torus.
    ///
    /// With `p` from the centre and `out` from the axis it does where `(p^2 + major^2 - minor^2)^2 - 4 major^2 out^2` is
    /// nought, of the fourth degree along the line. In Bernstein's form the signs of the coefficients tell where that has no
    /// zero or one; other stretches are halved.
    fn pierced(&self, from: &P3, direction: &V3, [major, minor]: [f64; 2]) -> Few<f64, 4> {
        let mut found = Few::new();
        let (mid, reach) = ((self.origin - from).dot(direction), major + minor);
        let (start, wide) = (mid - reach, 2.0 * reach);
        let (height, out) = self.split(&(from + direction * start));
        let climb = direction.dot(&self.axis);
        let across = (direction - self.axis * climb) * wide;
        let climb = climb * wide;
        let from_axis = [
            out.norm_squared(),
            2.0 * out.dot(&across),
            across.norm_squared(),
        ];
        let k = from_axis[0] + height * height + major * major - minor * minor;
        let l = from_axis[1] + 2.0 * height * climb;
        let m = from_axis[2] + climb * climb;
        let [o, p, q] = from_axis.map(|c| 4.0 * major * major * c);
        let powers = [
            k * k - o,
            2.0 * k * l - p,
            l * l + 2.0 * k * m - q,
            2.0 * l * m,
            m * m,
        ];
        let off = |share: f64| {
            let t = start + wide * share;
            (t, self.distance(&(from + direction * t)))
        };
        let mut todo: Few<([f64; 2], [f64; 5]), 8> = Few::new();
        todo.push(([0.0, 1.0], bernstein(powers)));
        while let Some(([low, high], heights)) = todo.pop() {
            let changes = (heights.windows(2)).filter(|h| (h[0] < 0.0) != (h[1] < 0.0));
            match changes.count() {
                0 => {}
                many if many > 1 && high - low > NARROW => {
                    let middle = 0.5 * (low + high);
                    let [first, second] = halved(heights);
                    todo.push(([middle, high], second));
                    todo.push(([low, middle], first));
                }
                _ => {
                    let (here, there) = (off(low), off(high));
                    if (here.1 < 0.0) != (there.1 < 0.0) {
                        found.push(crossing(
                            &|t| self.distance(&(from + direction * t)),
                            here,
                            there,
                        ));
                    }
                }
            }
        }
        found
    }
}

/// A stretch of a line narrower than this share of the way past a torus is not halved.
const NARROW: f64 = 1e-4;

/// The Bernstein coefficients over `[0, 1]` of a polynomial given by those of its powers, from the constant one on.
fn bernstein([a, b, c, d, e]: [f64; 5]) -> [f64; 5] {
    [
        a,
        a + b / 4.0,
        a + b / 2.0 + c / 6.0,
        a + 0.75 * b + c / 2.0 + d / 4.0,
        a + b + c + d + e,
    ]
}

/// The Bernstein coefficients over either half, by de Casteljau's scheme.
fn halved(mut heights: [f64; 5]) -> [[f64; 5]; 2] {
    let mut first = heights;
    for (k, start) in first.iter_mut().enumerate().skip(1) {
        for j in 0..5 - k {
            heights[j] = 0.5 * (heights[j] + heights[j + 1]);
        }
        *start = heights[0];
    }
    [first, heights]
}

/// Where a function is nought between two places with values of different signs, by the false position method with halved
/// weights (the Illinois method), which closes in from both sides.
pub(crate) fn crossing(f: &impl Fn(f64) -> f64, mut low: (f64, f64), mut high: (f64, f64)) -> f64 {
    let below = low.1 < 0.0;
    let mut moved_low = None;
    for _ in 0..60 {
        let t = (low.0 * high.1 - high.0 * low.1) / (high.1 - low.1);
        let value = f(t);
        let is_low = (value < 0.0) == below;
        let (moved, kept) = if is_low {
            (&mut low, &mut high)
        } else {
            (&mut high, &mut low)
        };
        *moved = (t, value);
        if moved_low == Some(is_low) {
            kept.1 *= 0.5;
        }
        moved_low = Some(is_low);
        if value.abs() < 1e-14 || high.0 - low.0 < 1e-14 {
            return t;
        }
    }
    0.5 * (low.0 + high.0)
}

fn root(square: f64) -> Option<f64> {
    (square >= 0.0).then(|| square.sqrt())
}

/// The heights at a square distance from the middle of a torus tube, as places on a line along its axis.
fn along_axis(square: f64, height: f64, climb: f64) -> Few<f64, 4> {
    let mut both: Few<f64, 4> = root(square)
        .into_iter()
        .flat_map(|half| [(-half - height) / climb, (half - height) / climb])
        .collect();
    both.sort_unstable_by(f64::total_cmp);
    both
}

/// The real roots of `a t^2 + 2 b t + c`, ascending, by the formula that does not cancel.
fn quadratic(a: f64, b: f64, c: f64) -> Few<f64, 4> {
    if a.abs() <= FLAT * (b.abs() + c.abs()).max(1.0) {
        let t = -c / (2.0 * b);
        return Few::from_buf_and_len([t, 0.0, 0.0, 0.0], usize::from(t.is_finite()));
    }
    let Some(half) = root(b * b - a * c) else {
        return Few::new();
    };
    let q = -(b + half.copysign(b));
    let (s, t) = (q / a, if q == 0.0 { 0.0 } else { c / q });
    Few::from_buf_and_len([s.min(t), s.max(t), 0.0, 0.0], 2)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn turned(profile: Profile) -> Surface {
        Surface::Turned(Turned {
            origin: P3::new(1.0, 2.0, 3.0),
            axis: V3::z(),
            profile,
        })
    }

    fn all() -> [Surface; 5] {
        [
            Surface::Plane(Plane::through(
                &P3::new(1.0, 1.0, 1.0),
                &V3::new(1.0, 2.0, 3.0),
            )),
            turned(Profile::Cylinder { radius: 4.0 }),
            turned(Profile::Cone {
                radius: 4.0,
                slope: 0.5,
            }),
            turned(Profile::Sphere { radius: 5.0 }),
            turned(Profile::Torus {
                major: 5.0,
                minor: 2.0,
            }),
        ]
    }

    #[test]
    fn lines_of_sight_end_on_the_surface() {
        let mut count = 0;
        for surface in all() {
            for k in 0..40 {
                let k = f64::from(k);
                let from = P3::new(-6.0 + 0.37 * k, 9.0 - 0.41 * k, 2.2 + 0.07 * k);
                for direction in [
                    V3::x(),
                    V3::y(),
                    V3::z(),
                    V3::new(1.0, 2.0, -0.5).normalize(),
                ] {
                    let hits = surface.hits(&from, &direction);
                    assert!(hits.is_sorted());
                    for t in hits {
                        count += 1;
                        assert!(surface.distance(&(from + direction * t)).abs() < 1e-9);
                    }
                }
            }
        }
        assert!(count > 300, "{count}");
    }

    #[test]
    fn normals_are_the_slope_of_the_distance() {
        let point = P3::new(3.7, 5.1, 3.9);
        for surface in all() {
            let on = surface.nearest(&point);
            assert!(surface.distance(&on).abs() < 1e-9, "{surface:?}");
            let normal = surface.normal(&on);
            for axis in [V3::x(), V3::y(), V3::z()] {
                let rise =
                    surface.distance(&(on + axis * 1e-6)) - surface.distance(&(on - axis * 1e-6));
                assert!((rise / 2e-6 - normal.dot(&axis)).abs() < 1e-6);
            }
        }
    }

    #[test]
    fn a_line_meets_a_torus_wherever_its_distance_changes_sign() {
        let torus = all()[4];
        let mut counts = [0; 5];
        for k in 0..400 {
            let k = f64::from(k);
            let from = P3::new(
                1.0 + (0.7 * k) % 7.3,
                2.0 - (0.31 * k) % 6.1,
                3.0 + (0.13 * k) % 2.3,
            );
            let direction =
                V3::new(1.0, (0.11 * k) % 2.0 - 1.0, (0.017 * k) % 0.9 - 0.45).normalize();
            let off = |step: i32| torus.distance(&(from + direction * (0.003 * f64::from(step))));
            let walked: Vec<f64> = (-7000..7000)
                .filter(|&step| (off(step) < 0.0) != (off(step + 1) < 0.0))
                .map(|step| 0.003 * f64::from(step))
                .collect();
            let hits = torus.hits(&from, &direction);
            assert_eq!(hits.len(), walked.len(), "{from} {direction}");
            let near = |(hit, walked): (&f64, &f64)| (hit - walked - 0.0015).abs() < 0.00151;
            assert!(hits.iter().zip(&walked).all(near), "{hits:?} {walked:?}");
            counts[hits.len()] += 1;
        }
        assert!([0, 2, 4].iter().all(|&n| counts[n] > 20), "{counts:?}");
    }

    #[test]
    fn a_line_through_a_torus_meets_it_four_times() {
        let from = P3::new(-20.0, 2.0, 3.0);
        let torus = all()[4];
        let hits: Vec<f64> = torus.hits(&from, &V3::x()).to_vec();
        let expected = [14.0, 18.0, 24.0, 28.0];
        assert!(
            hits.iter().zip(expected).all(|(a, b)| (a - b).abs() < 1e-9),
            "{hits:?}"
        );
        let askew = V3::new(1.0, 0.0, 1e-3).normalize();
        assert_eq!(torus.hits(&from, &askew).len(), 4);
    }
}

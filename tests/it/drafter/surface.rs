//! The surfaces that bound primitives: distance, normal, and where a ray runs inside.

use super::space::{across, ahead, rejected, times};
use super::spans::{EVERYWHERE, Spans, both, except};
use crate::cells::{Point, dot, length, minus, unit};

/// What lies nearer than this is at the same place, in millimetres.
pub(crate) const SAME: f64 = 1e-7;

/// A straight line that surfaces are turned about.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Axis {
    /// A point on it.
    pub(crate) through: Point,
    /// Its direction, a unit vector.
    pub(crate) way: Point,
}

impl Axis {
    /// How far along the axis a point lies, from [`Axis::through`].
    pub(crate) fn height(&self, p: Point) -> f64 {
        dot(minus(p, self.through), self.way)
    }

    /// The way from the axis straight out to a point.
    pub(crate) fn out(&self, p: Point) -> Point {
        rejected(minus(p, self.through), self.way)
    }

    /// The point on the axis at a height.
    pub(crate) fn at(&self, height: f64) -> Point {
        ahead(self.through, self.way, height)
    }

    /// Whether the other is the same line, in either direction.
    pub(crate) fn is_along(&self, other: &Axis) -> bool {
        length(rejected(self.way, other.way)) < SAME && length(self.out(other.through)) < SAME
    }
}

/// A surface with an inside.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) enum Surface {
    /// Inside is where `normal . p < offset`; the normal is a unit vector.
    Plane { normal: Point, offset: f64 },
    /// Round about its axis.
    Cylinder { axis: Axis, radius: f64 },
    /// Its radius is `radius` where the axis' height is 0 and grows by `slope` for every millimetre along the axis.
    Cone { axis: Axis, radius: f64, slope: f64 },
    /// A ball's surface.
    Sphere { center: Point, radius: f64 },
    /// A ring of radius `major`, its wire of radius `minor`.
    Torus { axis: Axis, major: f64, minor: f64 },
}

impl Surface {
    /// Distance of a point, negative inside.
    pub(crate) fn distance(&self, p: Point) -> f64 {
        match self {
            Surface::Plane { normal, offset } => dot(*normal, p) - offset,
            Surface::Cylinder { axis, radius } => length(axis.out(p)) - radius,
            Surface::Cone {
                axis,
                radius,
                slope,
            } => (length(axis.out(p)) - radius - slope * axis.height(p)) / slope.hypot(1.0),
            Surface::Sphere { center, radius } => length(minus(p, *center)) - radius,
            Surface::Torus { axis, major, minor } => {
                (length(axis.out(p)) - major).hypot(axis.height(p)) - minor
            }
        }
    }

    /// The unit normal at a point, out of the inside.
    pub(crate) fn normal(&self, p: Point) -> Point {
        match self {
            Surface::Plane { normal, .. } => *normal,
            Surface::Cylinder { axis, .. } => outward(axis, p),
            Surface::Cone { axis, slope, .. } => unit(ahead(outward(axis, p), axis.way, -slope)),
            Surface::Sphere { center, .. } => safe_unit(minus(p, *center), [0.0, 0.0, 1.0]),
            Surface::Torus { axis, major, .. } => {
                let out = outward(axis, p);
                let heart = ahead(axis.through, out, *major);
                safe_unit(minus(p, heart), out)
            }
        }
    }

    /// Whether the other has the same points.
    pub(crate) fn is_same(&self, other: &Surface) -> bool {
        let near = |a: f64, b: f64| (a - b).abs() < SAME;
        match (self, other) {
            (
                Surface::Plane { normal, offset },
                Surface::Plane {
                    normal: n,
                    offset: o,
                },
            ) => {
                let turned = dot(*normal, *n).signum();
                length(minus(*normal, times(*n, turned))) < SAME && near(*offset, turned * o)
            }
            (Surface::Cylinder { axis, radius }, Surface::Cylinder { axis: a, radius: r }) => {
                near(*radius, *r) && axis.is_along(a)
            }
            (
                Surface::Cone {
                    axis,
                    radius,
                    slope,
                },
                Surface::Cone {
                    axis: a,
                    radius: r,
                    slope: s,
                },
            ) => {
                let there = a.height(axis.through);
                let turned = dot(axis.way, a.way).signum();
                axis.is_along(a) && near(*slope, turned * s) && near(*radius, r + s * there)
            }
            (
                Surface::Sphere { center, radius },
                Surface::Sphere {
                    center: c,
                    radius: r,
                },
            ) => near(*radius, *r) && length(minus(*center, *c)) < SAME,
            (
                Surface::Torus { axis, major, minor },
                Surface::Torus {
                    axis: a,
                    major: b,
                    minor: c,
                },
            ) => {
                near(*major, *b)
                    && near(*minor, *c)
                    && axis.is_along(a)
                    && length(minus(axis.through, a.through)) < SAME
            }
            _ => false,
        }
    }

    /// Where a ray runs inside; `way` is a unit vector.
    pub(crate) fn spans(&self, from: Point, way: Point) -> Spans {
        match self {
            Surface::Plane { normal, offset } => {
                below(dot(*normal, way), dot(*normal, from) - offset)
            }
            Surface::Cylinder { axis, radius } => {
                let (out, step) = (axis.out(from), rejected(way, axis.way));
                below_zero([
                    dot(step, step),
                    2.0 * dot(out, step),
                    dot(out, out) - radius * radius,
                ])
            }
            Surface::Cone {
                axis,
                radius,
                slope,
            } => {
                let (out, step) = (axis.out(from), rejected(way, axis.way));
                let (here, growth) = (
                    radius + slope * axis.height(from),
                    slope * dot(way, axis.way),
                );
                let within = below_zero([
                    dot(step, step) - growth * growth,
                    2.0 * (dot(out, step) - here * growth),
                    dot(out, out) - here * here,
                ]);
                both(&within, &below(-growth, -here))
            }
            Surface::Sphere { center, radius } => {
                let out = minus(from, *center);
                below_zero([1.0, 2.0 * dot(out, way), dot(out, out) - radius * radius])
            }
            Surface::Torus { axis, major, minor } => ring_spans(axis, [*major, *minor], from, way),
        }
    }
}

/// Where a ray along or across a ring's axis runs inside its wire.
fn ring_spans(axis: &Axis, [major, minor]: [f64; 2], from: Point, way: Point) -> Spans {
    let lean = dot(way, axis.way);
    if lean.abs() > 0.5 {
        assert!(lean.abs() > 1.0 - SAME, "a ray along the ring's axis");
        let half = minor * minor - (length(axis.out(from)) - major).powi(2);
        if half <= 0.0 {
            return Spans::new();
        }
        let middle = -axis.height(from) / lean;
        return vec![[middle - half.sqrt(), middle + half.sqrt()]];
    }
    assert!(lean.abs() < SAME, "a ray across the ring's axis");
    let half = minor * minor - axis.height(from).powi(2);
    if half <= 0.0 {
        return Spans::new();
    }
    let disc = |radius: f64| {
        let out = axis.out(from);
        below_zero([1.0, 2.0 * dot(out, way), dot(out, out) - radius * radius])
    };
    let inner = major - half.sqrt();
    let outer = disc(major + half.sqrt());
    if inner > 0.0 {
        except(&outer, &disc(inner))
    } else {
        outer
    }
}

/// Where `rate t + start < 0`.
fn below(rate: f64, start: f64) -> Spans {
    if rate.abs() < 1e-12 {
        return if start < 0.0 {
            vec![EVERYWHERE]
        } else {
            Spans::new()
        };
    }
    let root = -start / rate;
    if rate > 0.0 {
        vec![[f64::NEG_INFINITY, root]]
    } else {
        vec![[root, f64::INFINITY]]
    }
}

/// Where `a t^2 + b t + c < 0`.
fn below_zero([a, b, c]: [f64; 3]) -> Spans {
    if a.abs() < 1e-12 {
        return below(b, c);
    }
    let inside = b * b - 4.0 * a * c;
    if inside <= 0.0 {
        return if a > 0.0 {
            Spans::new()
        } else {
            vec![EVERYWHERE]
        };
    }
    // The root farther from zero first: no digits are lost.
    let far = -(b + inside.sqrt().copysign(b)) / 2.0;
    let mut roots = [far / a, if far == 0.0 { 0.0 } else { c / far }];
    roots.sort_by(f64::total_cmp);
    if a > 0.0 {
        vec![roots]
    } else {
        vec![[f64::NEG_INFINITY, roots[0]], [roots[1], f64::INFINITY]]
    }
}

fn outward(axis: &Axis, p: Point) -> Point {
    safe_unit(axis.out(p), across(axis.way)[0])
}

fn safe_unit(a: Point, otherwise: Point) -> Point {
    if length(a) < 1e-12 {
        otherwise
    } else {
        unit(a)
    }
}

//! Lays a patch flat, so that it can be cut into triangles there, and takes points of the flat back into space.
//!
//! A cylinder's side is unrolled and a cone is unrolled about its apex; a ball is seen from the far side of the patch's middle
//! (stereographic projection, which keeps angles); a torus is laid out by its two angles. None of these has a pole or a
//! seam within a patch.

use crate::geom::num::{angle, sin_cos};
use crate::geom::plane::Plane;
use crate::geom::surface::{Profile, Surface, Turned};
use crate::geom::{P3, V2, V3};

/// A cylinder's length is pressed together by this, so that triangles become long rather than wide.
const PRESSED: f64 = 0.1;

/// A cone that grows by less than this share of its length is unrolled like a cylinder.
const NARROW: f64 = 1e-3;

/// A way of laying a patch flat; seen from outside the material, right stays right and up stays up.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Flat {
    kind: Kind,
    /// -1 for a patch seen from the side its surface's normal points away from.
    mirror: f64,
}

#[derive(Clone, Copy, Debug)]
enum Kind {
    Plane {
        plane: Plane,
        axes: [V3; 2],
    },
    Turned {
        turned: Turned,
        /// Two directions across the axis, the first towards the middle of the patch.
        across: [V3; 2],
        /// On a torus tube, the direction to the middle of the patch.
        tube: f64,
    },
    Ball {
        center: P3,
        radius: f64,
        /// Two directions across the third, which points to the middle of the patch.
        axes: [V3; 3],
    },
}

impl Flat {
    /// For a patch with the given points on its border.
    pub(crate) fn new(surface: &Surface, outward: bool, border: &[P3]) -> Self {
        let kind = match surface {
            Surface::Plane(plane) => Kind::Plane {
                plane: *plane,
                axes: across(&plane.normal),
            },
            Surface::Turned(turned) => {
                let middle: V3 = border.iter().map(|p| surface.normal(p)).sum();
                if let Profile::Sphere { radius } = turned.profile {
                    let up = middle.normalize();
                    let [a, b] = across(&up);
                    Kind::Ball {
                        center: turned.origin,
                        radius,
                        axes: [a, b, up],
                    }
                } else {
                    let out: V3 = border.iter().map(|p| turned.split(p).1).sum();
                    let out = out.normalize();
                    Kind::Turned {
                        turned: *turned,
                        across: [out, turned.axis.cross(&out)],
                        tube: middle_of_tube(turned, border),
                    }
                }
            }
        };
        Flat {
            kind,
            mirror: if outward { 1.0 } else { -1.0 },
        }
    }

    /// Where a point of the surface lies.
    pub(crate) fn at(&self, point: &P3) -> V2 {
        let at = match &self.kind {
            Kind::Plane { axes, .. } => {
                V2::new(axes[0].dot(&point.coords), axes[1].dot(&point.coords))
            }
            Kind::Turned {
                turned,
                across,
                tube,
            } => {
                let (height, out) = turned.split(point);
                let turn = angle(out.dot(&across[1]), out.dot(&across[0]));
                turned_at(turned, [turn, out.norm(), height], *tube)
            }
            Kind::Ball {
                center,
                radius,
                axes,
            } => {
                let way = (point - center).normalize();
                let scale = 2.0 * radius / (1.0 + way.dot(&axes[2]));
                V2::new(way.dot(&axes[0]), way.dot(&axes[1])) * scale
            }
        };
        V2::new(at.x * self.mirror, at.y)
    }

    /// The point of the surface that lies at a place.
    pub(crate) fn back(&self, at: &V2) -> P3 {
        let at = V2::new(at.x * self.mirror, at.y);
        match &self.kind {
            Kind::Plane { plane, axes } => {
                P3::from(axes[0] * at.x + axes[1] * at.y + plane.normal * plane.offset)
            }
            Kind::Turned {
                turned,
                across,
                tube,
            } => {
                let [turn, radius, height] = turned_back(turned, &at, *tube);
                let (sin, cos) = sin_cos(turn);
                let out = across[0] * cos + across[1] * sin;
                turned.origin + out * radius + turned.axis * height
            }
            Kind::Ball {
                center,
                radius,
                axes,
            } => {
                let near = at / (2.0 * radius);
                let square = near.norm_squared();
                let way =
                    axes[0] * (2.0 * near.x) + axes[1] * (2.0 * near.y) + axes[2] * (1.0 - square);
                center + way * (radius / (1.0 + square))
            }
        }
    }
}

/// Two unit vectors across a unit vector, right-handed with it.
fn across(normal: &V3) -> [V3; 2] {
    let right = V3::ith(normal.iamin(), 1.0).cross(normal).normalize();
    [right, normal.cross(&right)]
}

/// The direction from the middle of a torus tube to the middle of a patch.
fn middle_of_tube(turned: &Turned, border: &[P3]) -> f64 {
    let Profile::Torus { major, .. } = turned.profile else {
        return 0.0;
    };
    let sum = border.iter().fold(V2::zeros(), |sum, point| {
        let (height, out) = turned.split(point);
        sum + V2::new(out.norm() - major, height)
    });
    angle(sum.y, sum.x)
}

/// Of angle about the axis, distance from it and height along it.
fn turned_at(turned: &Turned, [turn, radius, height]: [f64; 3], tube: f64) -> V2 {
    match turned.profile {
        Profile::Cylinder { radius } => V2::new(turn * radius, height * PRESSED),
        Profile::Cone { radius, slope } if slope.abs() < NARROW => {
            V2::new(turn * radius, height * PRESSED)
        }
        Profile::Cone { slope, .. } => {
            // Distance from the apex, and the share of the angle that is left when the cone is unrolled.
            let (stretch, share) = unrolled(slope);
            let (sin, cos) = sin_cos(turn * share);
            V2::new(sin, cos * slope.signum()) * (radius * stretch)
        }
        Profile::Torus { major, minor } => {
            let (sin, cos) = sin_cos(tube);
            let (x, y) = (radius - major, height);
            let turn_of_tube = angle(cos * y - sin * x, cos * x + sin * y);
            V2::new(turn * (major + minor), turn_of_tube * minor)
        }
        // Balls are laid flat otherwise.
        Profile::Sphere { radius } => V2::new(turn * radius, height),
    }
}

/// Angle about the axis, distance from it and height along it.
fn turned_back(turned: &Turned, at: &V2, tube: f64) -> [f64; 3] {
    match turned.profile {
        Profile::Cylinder { radius } => [at.x / radius, radius, at.y / PRESSED],
        Profile::Cone { radius, slope } if slope.abs() < NARROW => {
            let height = at.y / PRESSED;
            [at.x / radius, radius + slope * height, height]
        }
        Profile::Cone { radius, slope } => {
            let (stretch, share) = unrolled(slope);
            let from_axis = at.norm() / stretch;
            let turn = angle(at.x, at.y * slope.signum()) / share;
            [turn, from_axis, (from_axis - radius) / slope]
        }
        Profile::Torus { major, minor } => {
            let (sin, cos) = sin_cos(tube + at.y / minor);
            [at.x / (major + minor), major + minor * cos, minor * sin]
        }
        Profile::Sphere { radius } => [at.x / radius, radius, at.y],
    }
}

/// Distance from a cone's apex per distance from its axis, and the reverse.
fn unrolled(slope: f64) -> (f64, f64) {
    let stretch = (1.0 + slope * slope).sqrt() / slope.abs();
    (stretch, 1.0 / stretch)
}

#[cfg(test)]
mod tests {
    use super::super::shapes::{ball, cylinder, frustum, torus};
    use super::*;

    #[test]
    fn points_laid_flat_come_back() {
        for solid in [
            cylinder(0, 4.0, 9.0),
            frustum(9.0, 4.0, 7.0),
            frustum(4.0, 4.001, 7.0),
            frustum(2.0, 6.0, 3.0),
            ball(5.0),
            torus(1, 9.0, 4.0),
        ] {
            for patch in &solid.faces {
                let border: Vec<P3> = solid.paths(patch).flat_map(|p| p.ends).collect();
                for outward in [true, false] {
                    let flat = Flat::new(&patch.surface, outward, &border);
                    for path in solid.paths(patch) {
                        for share in [0.0, 0.3, 0.5, 1.0] {
                            let point = path.point(share);
                            let back = flat.back(&flat.at(&point));
                            assert!((back - point).norm() < 1e-9, "{point:?} {back:?}");
                        }
                    }
                }
            }
        }
    }
}

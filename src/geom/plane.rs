//! Planes by unit normal and offset.

use super::{P3, V3};

/// The plane of all points `p` with `normal · p = offset`; `normal` is a unit vector, `offset` in millimetres.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Plane {
    pub(crate) normal: V3,
    pub(crate) offset: f64,
}

impl Plane {
    /// The plane through `point` across `normal` (any length but zero).
    pub(crate) fn through(point: &P3, normal: &V3) -> Self {
        let normal = normal.normalize();
        Plane {
            normal,
            offset: normal.dot(&point.coords),
        }
    }

    /// Signed distance of `point`, positive on the side the normal points to.
    pub(crate) fn distance(&self, point: &P3) -> f64 {
        self.normal.dot(&point.coords) - self.offset
    }

    /// The same plane facing the other way.
    pub(crate) fn flipped(&self) -> Self {
        Plane {
            normal: -self.normal,
            offset: -self.offset,
        }
    }
}

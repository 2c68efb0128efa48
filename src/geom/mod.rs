//! Geometry shared by every stage: ids, tolerance, numbers and predicates.
//!
//! Lengths are millimetres. The object axes are right-handed: x to the right of someone facing the front,
//! y away from them, z up.

pub(crate) mod arena;
pub(crate) mod axis;
pub(crate) mod carrier;
pub(crate) mod conic;
pub(crate) mod crowded;
pub(crate) mod integral;
pub(crate) mod meeting;
pub(crate) mod num;
pub(crate) mod pairs;
pub(crate) mod path;
pub(crate) mod plane;
pub(crate) mod seen;
pub(crate) mod surface;
pub(crate) mod tolerance;

pub(crate) use nalgebra::{Point2, Point3, Vector2, Vector3};

/// A list that is usually short: the first few things need no memory of their own.
pub(crate) type Few<T, const N: usize> = smallvec::SmallVec<[T; N]>;

pub(crate) type P2 = Point2<f64>;
pub(crate) type P3 = Point3<f64>;
pub(crate) type V2 = Vector2<f64>;
pub(crate) type V3 = Vector3<f64>;

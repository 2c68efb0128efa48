//! A solid with curved faces by its boundary: patches that each face one way in every view, and the edges between them.
//!
//! Every curved surface is split where its normal is perpendicular to one of the object axes (a cylinder along z into four
//! quarters), so on one patch the signs of the normal's three components never change, every patch is a height field over
//! each view that does not see it edge-on, and a contour in a view is always an edge between two patches.

#[cfg(test)]
mod bores;
pub(crate) mod build;
pub(crate) mod check;
mod closed;
pub(crate) mod contours;
mod crossing;
#[cfg(test)]
pub(crate) mod crossings;
pub(crate) mod cut;
#[cfg(test)]
mod drawings;
pub(crate) mod faces;
mod flatten;
pub(crate) mod inside;
mod join;
pub(crate) mod measure;
pub(crate) mod mesh;
pub(crate) mod project;
#[cfg(test)]
#[allow(
    clippy::cast_possible_truncation,
    reason = "numbers in tests are small"
)]
pub(crate) mod shapes;
pub(crate) mod sight;
mod trace;
mod triangles;
pub(crate) mod verify;

use crate::geom::P3;
use crate::geom::path::Path;
use crate::geom::surface::Surface;

/// A solid with curved faces, in millimetres and object axes (x right, y away, z up).
#[derive(Clone, Debug, Default)]
pub(crate) struct CurvedSolid {
    pub(crate) vertices: Vec<P3>,
    pub(crate) edges: Vec<CurvedEdge>,
    pub(crate) faces: Vec<Patch>,
    /// How many closed shells bound it: one, and one more for each sealed cavity.
    pub(crate) shells: u32,
}

/// An edge between two patches, sharp or smooth.
#[derive(Clone, Debug)]
pub(crate) struct CurvedEdge {
    /// Its ends, places in [`CurvedSolid::vertices`]; the path starts and ends exactly there.
    pub(crate) ends: [u32; 2],
    pub(crate) path: Path,
    /// The two patches along it, places in [`CurvedSolid::faces`]; the first runs along it from `ends[0]` to `ends[1]`.
    pub(crate) faces: [u32; 2],
    /// Whether the two patches share their tangent plane here. A smooth edge is drawn in views that see that plane
    /// edge-on, where it is a contour, and in others only if it is a tangent edge and the sheet draws those.
    pub(crate) smooth: bool,
}

/// A piece of a face.
#[derive(Clone, Debug)]
pub(crate) struct Patch {
    pub(crate) surface: Surface,
    /// Whether the surface's own normal points out of the material.
    pub(crate) outward: bool,
    /// The signs of the surface's own normal along x, y and z inside the patch; 0 where that component is nought all
    /// over it.
    pub(crate) signs: [i8; 3],
    /// Its borders, the outer one first, as steps along edges. Seen from outside the material, it lies to the left of
    /// every border.
    pub(crate) borders: Vec<Vec<Step>>,
    /// The closed shell it belongs to, counted from 0; shell 0 is the outer one.
    pub(crate) shell: u32,
}

/// An edge, run along its own direction or against it.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub(crate) struct Step {
    pub(crate) edge: u32,
    pub(crate) forward: bool,
}

//! Solids by their boundary: a plane-faced one as a [`Polyhedron`], any other as a [`CurvedSolid`].
//!
//! For a polyhedron, `build` makes one from chosen face regions, `check` finds every defect, `measure` weighs it, `mesh`
//! cuts its faces into triangles, `project` draws it with hidden lines by means of its own. `curved` does the same for
//! solids with curved faces.

#[cfg(test)]
#[allow(
    clippy::cast_possible_truncation,
    reason = "numbers in tests are small"
)]
pub(crate) mod blocks;
pub(crate) mod build;
pub(crate) mod check;
mod crossing;
pub(crate) mod curved;
pub(crate) mod differing;
pub(crate) mod lines;
pub(crate) mod measure;
pub(crate) mod mesh;
mod occlusion;
pub(crate) mod project;
mod region;
#[cfg(test)]
#[allow(
    clippy::cast_possible_truncation,
    reason = "numbers in tests are small"
)]
pub(crate) mod shapes;
mod veil;
pub(crate) mod verify;

use crate::geom::P3;
use crate::geom::plane::Plane;

use curved::CurvedSolid;

/// A solid, in millimetres and object axes (x right, y away, z up).
#[derive(Clone, Debug)]
pub struct Solid {
    pub(crate) body: Body,
}

/// What a solid is bounded by.
#[derive(Clone, Debug)]
pub(crate) enum Body {
    /// Plane faces only.
    Flat(Polyhedron),
    /// Some curved face.
    Curved(CurvedSolid),
}

/// A plane-faced solid, in millimetres and object axes (x right, y away, z up).
///
/// Neighbouring faces in one plane are one face; a corner where only two edges meet in a straight line is none.
#[derive(Clone, Debug, Default)]
pub(crate) struct Polyhedron {
    pub(crate) vertices: Vec<P3>,
    pub(crate) edges: Vec<Edge>,
    pub(crate) faces: Vec<Face>,
    /// How many closed shells bound it: one, and one more for each sealed cavity.
    pub(crate) shells: u32,
}

/// A sharp straight edge between two faces.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) struct Edge {
    /// Its ends, places in [`Polyhedron::vertices`].
    pub(crate) ends: [u32; 2],
    /// The two faces along it, places in [`Polyhedron::faces`]; the first runs along it from `ends[0]` to `ends[1]`.
    pub(crate) faces: [u32; 2],
}

/// A plane face.
#[derive(Clone, Debug)]
pub(crate) struct Face {
    /// Its plane; the normal points out of the material.
    pub(crate) plane: Plane,
    /// Its border loops as places in [`Polyhedron::vertices`], the outer one first. Seen from outside, the outer loop runs
    /// counter-clockwise and the others, its holes, clockwise: material lies to the left of every border.
    pub(crate) loops: Vec<Vec<u32>>,
    /// The closed shell it belongs to, counted from 0; shell 0 is the outer one.
    pub(crate) shell: u32,
}

impl Polyhedron {
    /// Corners, as `[x, y, z]` in millimetres.
    pub(crate) fn corners(&self) -> impl Iterator<Item = [f64; 3]> + '_ {
        self.vertices.iter().map(|p| [p.x, p.y, p.z])
    }

    /// The smallest box around it: least and greatest `[x, y, z]` in millimetres.
    pub(crate) fn bounds(&self) -> [P3; 2] {
        let first = self.vertices.first().copied().unwrap_or_else(P3::origin);
        self.vertices
            .iter()
            .fold([first, first], |[lo, hi], p| [lo.inf(p), hi.sup(p)])
    }
}

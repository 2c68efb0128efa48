//! Veils: a few large convex faces that look at the viewer, and what lies wholly behind them.
//!
//! An edge that lies within the outline of such a face and behind it is hidden all along: inside the outline the face
//! covers it, and along the outline the face's own edge is drawn, which decides for all behind it. A face all of whose
//! edges lie behind one veil covers nothing that the veil does not cover. So neither needs to be cut or looked at again,
//! and a view that stacks many lines on one another costs no more than one that does not.

use super::{Edge, Polyhedron};
use crate::geom::plane::Plane;
use crate::geom::{Few, P3, V2};
use itertools::Itertools;

/// How many veils a view has at most: the largest faces cover nearly all that any cover.
const MOST: usize = 3;

/// A veil has at most this many corners, so that a look at it is short.
const CORNERS: usize = 8;

/// A convex face without holes that looks at the viewer.
pub(super) struct Veil {
    face: u32,
    plane: Plane,
    /// Its corners in the solid, and where they are drawn, counter-clockwise.
    corners: Few<(u32, V2), CORNERS>,
    area: f64,
}

/// The largest veils of a view; `images` says where the corners are drawn, `looking` whether a face looks at the viewer.
pub(super) fn veils(
    solid: &Polyhedron,
    images: &[V2],
    looking: impl Fn(&u32) -> bool,
) -> Few<Veil, MOST> {
    let mut found: Few<Veil, MOST> = Few::new();
    for face in (0..).take(solid.faces.len()).filter(looking) {
        let Some(veil) = Veil::of(solid, images, face) else {
            continue;
        };
        let place = found.iter().position(|v| v.area < veil.area);
        found.insert(place.unwrap_or(found.len()), veil);
        found.truncate(MOST);
    }
    found
}

impl Veil {
    fn of(solid: &Polyhedron, images: &[V2], number: u32) -> Option<Self> {
        let face = &solid.faces[number as usize];
        let [border] = &face.loops[..] else {
            return None;
        };
        if border.len() > CORNERS {
            return None;
        }
        let corners: Few<(u32, V2), CORNERS> =
            border.iter().map(|&v| (v, images[v as usize])).collect();
        let turns = corners.iter().circular_tuple_windows();
        let convex = turns
            .map(|((_, a), (_, b), (_, c))| (b - a).perp(&(c - b)))
            .all(|turn| turn > 0.0);
        let sides = corners.iter().circular_tuple_windows();
        let area = sides.map(|((_, a), (_, b))| a.perp(b)).sum();
        convex.then_some(Veil {
            face: number,
            plane: face.plane,
            area,
            corners,
        })
    }

    /// Whether an edge lies behind the veil and, as drawn, within its outline; `rounding` is a length in millimetres.
    pub(super) fn covers(
        &self,
        solid: &Polyhedron,
        images: &[V2],
        edge: &Edge,
        rounding: f64,
    ) -> bool {
        !edge.faces.contains(&self.face)
            && edge.ends.iter().all(|&end| {
                let point: &P3 = &solid.vertices[end as usize];
                self.plane.distance(point) < -rounding
                    && self.surrounds(&images[end as usize], rounding)
                    && self.corners.iter().all(|(corner, _)| *corner != end)
            })
    }

    fn surrounds(&self, point: &V2, rounding: f64) -> bool {
        let mut sides = self.corners.iter().circular_tuple_windows();
        sides.all(|((_, a), (_, b))| {
            let side = b - a;
            side.perp(&(point - a)) >= -rounding * side.norm()
        })
    }
}

//! Which faces of several solids are not common to all of them.
//!
//! Two faces are the same if they have the same borders, run the same way round, and leave them in the same direction.

use super::curved::{CurvedSolid, Patch};
use super::{Body, Face, Polyhedron, Solid};
use crate::geom::{P3, V3};
use itertools::Itertools;
use rustc_hash::FxHashMap;

/// Places are compared in millionths of a millimetre.
const PLACES: f64 = 1e6;

/// Directions are compared in thousandths.
const DIRECTIONS: f64 = 1e3;

/// What tells a face from others: the direction it leaves its border in, and its border as points in a fixed order.
type Key = ([i64; 3], Vec<Vec<[i64; 3]>>);

/// For each solid, the places of those of its faces that some other of the solids has not.
///
/// Faces of a plane-faced solid count whole; of a curved one its patches, as its triangles are made.
pub(crate) fn differing_faces(solids: &[&Solid]) -> Vec<Vec<usize>> {
    let keys: Vec<Vec<Key>> = solids.iter().map(|solid| keys(solid)).collect();
    let mut owners: FxHashMap<&Key, usize> = FxHashMap::default();
    for of_one in &keys {
        for key in of_one.iter().unique() {
            *owners.entry(key).or_default() += 1;
        }
    }
    let differs = |key: &Key| owners.get(key).is_none_or(|n| *n < solids.len());
    let places = |of_one: &Vec<Key>| of_one.iter().positions(differs).collect();
    keys.iter().map(places).collect()
}

fn keys(solid: &Solid) -> Vec<Key> {
    match &solid.body {
        Body::Flat(solid) => solid.faces.iter().map(|f| flat_key(solid, f)).collect(),
        Body::Curved(solid) => solid.faces.iter().map(|p| curved_key(solid, p)).collect(),
    }
}

fn flat_key(solid: &Polyhedron, face: &Face) -> Key {
    let at = |v: &u32| place(&solid.vertices[*v as usize]);
    let loops = face
        .loops
        .iter()
        .map(|l| turned(l.iter().map(at).collect()));
    (direction(&face.plane.normal), loops.sorted().collect())
}

fn curved_key(solid: &CurvedSolid, patch: &Patch) -> Key {
    let mut leaving = [0; 3];
    let loops = patch.borders.iter().map(|border| {
        let points = border.iter().flat_map(|step| {
            let path = &solid.edges[step.edge as usize].path;
            let middle = path.middle();
            let normal = patch.surface.normal(&middle);
            leaving = leaving.max(direction(&if patch.outward { normal } else { -normal }));
            let start = path.ends[usize::from(!step.forward)];
            [place(&start), place(&middle)]
        });
        turned(points.collect())
    });
    let loops = loops.sorted().collect();
    (leaving, loops)
}

/// A loop started from its least point.
fn turned(mut points: Vec<[i64; 3]>) -> Vec<[i64; 3]> {
    let least = points.iter().position_min().unwrap_or(0);
    points.rotate_left(least);
    points
}

fn place(point: &P3) -> [i64; 3] {
    rounded(&point.coords, PLACES)
}

fn direction(normal: &V3) -> [i64; 3] {
    rounded(normal, DIRECTIONS)
}

#[allow(
    clippy::cast_possible_truncation,
    reason = "parts are far smaller than that"
)]
fn rounded(vector: &V3, steps: f64) -> [i64; 3] {
    [0, 1, 2].map(|axis| (vector[axis] * steps).round() as i64)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::solid::shapes::block;

    fn solid(size: [f64; 3]) -> Solid {
        Solid {
            body: Body::Flat(block(size)),
        }
    }

    #[test]
    fn only_faces_that_another_solid_has_not_are_named() {
        let [low, high] = [20.0, 30.0].map(|height| solid([40.0, 30.0, height]));
        // The bottom is the same; top and four sides are not.
        for faces in differing_faces(&[&low, &high]) {
            assert_eq!(faces.len(), 5);
        }
        assert!(differing_faces(&[&low, &low]).iter().all(Vec::is_empty));
    }
}

//! A reading as the page shows it: triangles to shade and edges to draw.

use serde::Serialize;

use crate::Reading;
use crate::geom::P3;
use crate::solid::curved::CurvedSolid;
use crate::solid::curved::cut::Cuts;
use crate::solid::curved::faces::Whole;
use crate::solid::mesh::{Fineness, Mesh};
use crate::solid::{Body, Polyhedron};

/// Coarser than for printing: at ten pixels a millimetre no chord is more than about one pixel off, and shading is smooth
/// anyway. Every answer carries all triangles, so that fewer of them are a quicker answer.
const FINENESS: Fineness = Fineness {
    chord_mm: 0.1,
    angle_degrees: 9.0,
};

/// One solid; lengths in millimetres, rounded to a ten-thousandth.
#[derive(Serialize)]
pub(super) struct SolidEntry {
    /// Corners of triangles, x, y and z in turn.
    positions: Vec<f64>,
    /// Three places in `positions` per triangle, counter-clockwise seen from outside.
    triangles: Vec<u32>,
    /// The face of each triangle.
    faces: Vec<u32>,
    /// Sharp edges as chords, x, y and z in turn.
    edges: Vec<Vec<f64>>,
    /// Width, depth and height.
    size: [f64; 3],
}

impl SolidEntry {
    /// What there is to show of a reading.
    pub(super) fn of(reading: &Reading) -> SolidEntry {
        let (mesh, edges) = match &reading.solid.body {
            Body::Flat(solid) => flat(solid),
            Body::Curved(solid) => curved(solid),
        };
        SolidEntry {
            positions: mesh.points.iter().flatten().map(|c| rounded(*c)).collect(),
            triangles: mesh.triangles.concat(),
            faces: mesh.faces,
            edges: edges
                .iter()
                .map(|edge| {
                    edge.iter()
                        .flat_map(|p| [p.x, p.y, p.z])
                        .map(rounded)
                        .collect()
                })
                .collect(),
            size: reading.measures.size_mm.map(rounded),
        }
    }
}

fn rounded(millimetres: f64) -> f64 {
    (millimetres * 1e4).round() / 1e4 + 0.0
}

fn flat(solid: &Polyhedron) -> (Mesh, Vec<Vec<P3>>) {
    let edge = |ends: [u32; 2]| ends.map(|v| solid.vertices[v as usize]).to_vec();
    let edges = solid.edges.iter().map(|e| edge(e.ends)).collect();
    (solid.to_mesh(), edges)
}

/// Patches of one face get one number; edges run through the corners of the triangles.
fn curved(solid: &CurvedSolid) -> (Mesh, Vec<Vec<P3>>) {
    let fineness = FINENESS.within(solid.size());
    let cuts = Cuts::new(solid, &fineness);
    let mut mesh = solid.mesh_along(&cuts, &fineness);
    let face_of = Whole::of(solid).face_of;
    for face in &mut mesh.faces {
        *face = face_of[*face as usize];
    }
    let edges = solid.edges.iter().zip(&cuts.along);
    let sharp = edges.filter(|(edge, _)| !edge.smooth);
    let along = |points: &Vec<u32>| points.iter().map(|p| cuts.points[*p as usize]).collect();
    (mesh, sharp.map(|(_, points)| along(points)).collect())
}

//! A reading as the page shows it: triangles to shade, edges to draw, and the solid drawn again over the sheet.

use std::collections::BTreeMap;

use serde::Serialize;

use crate::export::shape::LineEntry;
use crate::geom::P3;
use crate::options::TangentEdges;
use crate::sheet::{Placement, views};
use crate::solid::curved::CurvedSolid;
use crate::solid::curved::cut::Cuts;
use crate::solid::curved::faces::Whole;
use crate::solid::curved::inside::Caster;
use crate::solid::curved::project::drawn_by;
use crate::solid::mesh::{Fineness, Mesh};
use crate::solid::project::{Frame, project};
use crate::solid::{Body, Polyhedron};
use crate::{LineType, Options, Reading, Shape, Sheet, View};

/// Coarser than for printing: what a screen shows.
const FINENESS: Fineness = Fineness {
    chord_mm: 0.1,
    angle_degrees: 6.0,
};

/// Points on a curved piece of a drawing, ends included.
const POINTS: u32 = 17;

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
    /// The solid drawn again: the lines of each view in sheet coordinates.
    views: BTreeMap<&'static str, Vec<serde_json::Value>>,
}

/// Where the views of a sheet stand, for drawing a solid over them.
pub(super) struct Views {
    placement: Option<Placement>,
    tangent_edges: TangentEdges,
}

impl Views {
    /// Of a sheet with three views.
    pub(super) fn of(sheet: &Sheet, options: &Options) -> Views {
        let placed = views::place(sheet, options).ok();
        Views {
            placement: placed.map(|placed| Placement {
                corners: placed.bounds.map(|b| b.min),
                unit: sheet.unit,
            }),
            tangent_edges: options.tangent_edges,
        }
    }
}

impl SolidEntry {
    /// What there is to show of a reading.
    pub(super) fn of(reading: &Reading, views: &Views) -> SolidEntry {
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
            views: match views.placement {
                Some(placement) => drawn(&reading.solid.body, placement, views.tangent_edges),
                None => BTreeMap::new(),
            },
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
    let mut mesh = solid.to_mesh(&FINENESS);
    let face_of = Whole::of(solid).face_of;
    for face in &mut mesh.faces {
        *face = face_of[*face as usize];
    }
    let cuts = Cuts::new(solid, &FINENESS.within(solid.size()));
    let edges = solid.edges.iter().zip(&cuts.along);
    let sharp = edges.filter(|(edge, _)| !edge.smooth);
    let along = |points: &Vec<u32>| points.iter().map(|p| cuts.points[*p as usize]).collect();
    (mesh, sharp.map(|(_, points)| along(points)).collect())
}

/// The lines of all views in sheet coordinates.
fn drawn(
    body: &Body,
    placement: Placement,
    tangent_edges: TangentEdges,
) -> BTreeMap<&'static str, Vec<serde_json::Value>> {
    let of_view = |view: View| -> Vec<serde_json::Value> {
        let lines: Vec<(Vec<[f64; 2]>, bool)> = match body {
            Body::Flat(solid) => project(solid, &Frame::of_view(view))
                .iter()
                .map(|stroke| (vec![stroke.from, stroke.to], stroke.visible))
                .collect(),
            Body::Curved(solid) => {
                let [right, up] = view.axes();
                drawn_by(&Caster::new(solid), solid, view, tangent_edges)
                    .iter()
                    .map(|stroke| {
                        let points = points_along(&stroke.path, [right, up]);
                        (points, stroke.visible)
                    })
                    .collect()
            }
        };
        let entry =
            |(points, visible): &(Vec<[f64; 2]>, bool)| line(view, placement, points, *visible);
        lines.iter().map(entry).collect()
    };
    View::ALL.map(|view| (view.name(), of_view(view))).into()
}

fn points_along(path: &crate::geom::path::Path, axes: [usize; 2]) -> Vec<[f64; 2]> {
    let count = if path.is_straight() { 2 } else { POINTS };
    (0..count)
        .map(|k| {
            let at = path.point(f64::from(k) / f64::from(count - 1));
            axes.map(|axis| at[axis])
        })
        .collect()
}

fn line(view: View, placement: Placement, points: &[[f64; 2]], visible: bool) -> serde_json::Value {
    let points: Vec<[f64; 2]> = points
        .iter()
        .map(|p| placement.on_sheet(view, *p).map(rounded))
        .collect();
    let shape = match points[..] {
        [from, to] => Shape::Line { from, to },
        _ => Shape::Polyline(points),
    };
    let entry = LineEntry {
        action: None,
        view,
        line_type: if visible {
            LineType::Visible
        } else {
            LineType::Hidden
        },
        shape: &shape,
        lines: &[],
    };
    serde_json::to_value(entry).expect("strings and numbers can always be written as JSON")
}

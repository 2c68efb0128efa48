//! The one door to the engine, and a mesh read back from its STL to look at its readings from outside.

use std::collections::{BTreeMap, BTreeSet};
use std::io::Cursor;
use std::path::PathBuf;

use foldback::{Options, Outcome, Reading, Sheet, TangentEdges, reconstruct};

use crate::blocks::Blocks;
use crate::cells::{Boundary, Cells, Point, area_vector, cross, dot, length, minus, unit};

/// More readings than any sheet counted by brute force has; those go up to 76.
pub(crate) const EVERY_READING: usize = 400;

/// The engine's answer to a sheet, every reading of it.
///
/// # Errors
/// In words: the sheet could not be answered, or the engine did not pass its own checks.
pub(crate) fn answer(sheet: &Sheet) -> Result<Outcome, String> {
    answer_up_to(sheet, EVERY_READING)
}

/// The engine's answer to a sheet, with at most `limit` readings.
///
/// # Errors
/// As [`answer`].
pub(crate) fn answer_up_to(sheet: &Sheet, limit: usize) -> Result<Outcome, String> {
    let options = Options {
        reading_limit: limit,
        ..Options::default()
    };
    reconstruct(sheet, &options).map_err(|error| error.to_string())
}

/// The engine's answer to a sheet whose tangent edges are treated as said.
///
/// # Errors
/// As [`answer`].
pub(crate) fn answer_with(sheet: &Sheet, tangent_edges: TangentEdges) -> Result<Outcome, String> {
    let options = Options {
        reading_limit: EVERY_READING,
        tangent_edges,
        ..Options::default()
    };
    reconstruct(sheet, &options).map_err(|error| error.to_string())
}

/// The sheet in a file under `tests/`, by its path from there.
pub(crate) fn sheet_in(path: &str) -> Sheet {
    foldback::read_sheet(&bytes_of(path))
        .unwrap_or_else(|error| panic!("{path}: {error}"))
        .0
}

/// The JSON in a file under `tests/`, by its path from there.
pub(crate) fn json_in(path: &str) -> serde_json::Value {
    serde_json::from_slice(&bytes_of(path)).unwrap_or_else(|error| panic!("{path}: {error}"))
}

fn bytes_of(path: &str) -> Vec<u8> {
    let file = PathBuf::from(env!("CARGO_MANIFEST_DIR"))
        .join("tests")
        .join(path);
    std::fs::read(&file).unwrap_or_else(|error| panic!("{}: {error}", file.display()))
}

/// Whether two numbers agree to `share` of the larger, or to as many units if both are below one.
pub(crate) fn agree(a: f64, b: f64, share: f64) -> bool {
    (a - b).abs() <= share * a.abs().max(b.abs()).max(1.0)
}

/// Triangles read back from an STL file: points in millimetres, corners counter-clockwise seen from outside.
pub(crate) struct Mesh {
    points: Vec<Point>,
    triangles: Vec<[usize; 3]>,
}

impl Mesh {
    /// The mesh of a reading, by way of its STL.
    pub(crate) fn of(reading: &Reading) -> Mesh {
        let mut file = Cursor::new(reading.solid.to_stl());
        let read = stl_io::read_stl(&mut file).expect("an STL that can be read");
        Mesh {
            points: read.vertices.iter().map(|v| v.0.map(f64::from)).collect(),
            triangles: read.faces.iter().map(|face| face.vertices).collect(),
        }
    }

    /// The mesh of some cells, its corners rounded as STL would.
    pub(crate) fn of_cells(cells: &Cells) -> Mesh {
        let mut mesh = Mesh {
            points: Vec::new(),
            triangles: Vec::new(),
        };
        for facet in cells.boundary().facets {
            let corners: Vec<usize> = facet.iter().map(|p| mesh.place_of(p.map(single))).collect();
            mesh.triangles
                .extend(corners[1..].windows(2).map(|w| [corners[0], w[0], w[1]]));
        }
        mesh
    }

    fn place_of(&mut self, point: Point) -> usize {
        self.points
            .iter()
            .position(|p| *p == point)
            .unwrap_or_else(|| {
                self.points.push(point);
                self.points.len() - 1
            })
    }

    /// Whether a point lies inside: a ray from it, along no special direction, leaves through the surface once more than
    /// it enters.
    pub(crate) fn contains(&self, point: Point) -> bool {
        let ray = unit([0.537_19, 0.314_87, 0.782_63]);
        let crossed = self.triangles.iter().filter(|triangle| {
            let [a, b, c] = triangle.map(|i| minus(self.points[i], point));
            let turns = [[a, b], [b, c], [c, a]].map(|[p, q]| dot(ray, cross(p, q)) > 0.0);
            let normal = cross(minus(b, a), minus(c, a));
            let ahead = dot(normal, a) * dot(normal, ray) > 0.0;
            ahead && turns[0] == turns[1] && turns[1] == turns[2]
        });
        crossed.count() % 2 == 1
    }

    /// The blocks of a grid whose middle lies inside.
    pub(crate) fn blocks(&self, size: [usize; 3], lines: &[Vec<f64>; 3]) -> Blocks {
        let mut blocks = Blocks { size, cells: 0 };
        for (i, at) in blocks.places().enumerate() {
            let middle = [0, 1, 2].map(|k| f64::midpoint(lines[k][at[k]], lines[k][at[k] + 1]));
            blocks.cells |= u128::from(self.contains(middle)) << i;
        }
        blocks
    }

    /// Its triangles and the edges between those of different planes, for the tests' own projector.
    ///
    /// STL holds single-precision numbers: triangles belong to one plane if they lie in it up to that.
    pub(crate) fn boundary(&self) -> Boundary {
        let planes = self.planes();
        let mut beside: BTreeMap<[usize; 2], BTreeSet<usize>> = BTreeMap::new();
        for (triangle, plane) in self.triangles.iter().zip(&planes) {
            for [a, b] in sides(triangle) {
                beside
                    .entry([a.min(b), a.max(b)])
                    .or_default()
                    .insert(*plane);
            }
        }
        let edges = beside.iter().filter(|(_, planes)| planes.len() > 1);
        Boundary {
            facets: self
                .triangles
                .iter()
                .map(|t| t.map(|i| self.points[i]).to_vec())
                .collect(),
            edges: edges
                .map(|(ends, _)| ends.map(|i| self.points[i]))
                .collect(),
        }
    }

    /// A number for each triangle, the same for triangles that hang together in one plane.
    fn planes(&self) -> Vec<usize> {
        let far = self
            .points
            .iter()
            .flatten()
            .fold(0.0, |far: f64, c| far.max(c.abs()));
        let flat = far * 1e-6;
        let corners = |t: usize| self.triangles[t].map(|i| self.points[i]);
        let mut neighbours: BTreeMap<[usize; 2], Vec<usize>> = BTreeMap::new();
        for (t, triangle) in self.triangles.iter().enumerate() {
            for [a, b] in sides(triangle) {
                neighbours.entry([a.min(b), a.max(b)]).or_default().push(t);
            }
        }
        // From the largest down: the plane of a sliver says little.
        let mut order: Vec<usize> = (0..self.triangles.len()).collect();
        order.sort_by(|&s, &t| {
            length(area_vector(&corners(t))).total_cmp(&length(area_vector(&corners(s))))
        });
        let mut planes = vec![usize::MAX; self.triangles.len()];
        for first in order {
            let normal = unit(area_vector(&corners(first)));
            let through = corners(first)[0];
            let mut open = vec![first];
            while let Some(t) = open.pop() {
                let lies_in = corners(t)
                    .iter()
                    .all(|p| dot(normal, minus(*p, through)).abs() < flat);
                let faces_so = t == first || dot(normal, area_vector(&corners(t))) > -flat;
                if planes[t] == usize::MAX && lies_in && faces_so {
                    planes[t] = first;
                    open.extend(
                        sides(&self.triangles[t])
                            .iter()
                            .flat_map(|[a, b]| &neighbours[&[*a.min(b), *a.max(b)]]),
                    );
                }
            }
        }
        planes
    }
}

/// Whether a reading is the solid of these cells: the same volume and surface, and the same cells are filled.
pub(crate) fn is_solid_of(reading: &Reading, cells: &Cells) -> bool {
    let measures = &reading.measures;
    agree(measures.volume_mm3, cells.volume(), 1e-6)
        && agree(measures.surface_mm2, cells.surface(), 1e-6)
        && {
            let mesh = Mesh::of(reading);
            cells
                .samples()
                .iter()
                .all(|(point, filled)| mesh.contains(*point) == *filled)
        }
}

fn sides([a, b, c]: &[usize; 3]) -> [[usize; 2]; 3] {
    [[*a, *b], [*b, *c], [*c, *a]]
}

/// A number as single precision keeps it.
#[allow(
    clippy::cast_possible_truncation,
    reason = "the truncation is what is wanted"
)]
fn single(number: f64) -> f64 {
    f64::from(number as f32)
}

//! Binary STL: the surface as triangles in millimetres, for a slicer or another program.

use crate::geom::V3;
use crate::solid::mesh::{Fineness, Mesh};
use crate::solid::{Body, Polyhedron, Solid};
use stl_io::{Normal, Triangle, Vertex};

impl Solid {
    /// The solid as a binary STL file: millimetres, closed, normals outward; curved faces as closely as by
    /// [`Fineness::default`].
    ///
    /// STL keeps coordinates as 32-bit numbers. Corners that fall together by that (closer than a ten-millionth of
    /// the part's distance from the origin) become one; the surface stays closed. Same solid, same bytes.
    pub fn to_stl(&self) -> Vec<u8> {
        self.to_stl_within(&Fineness::default())
    }

    /// As [`Solid::to_stl`], curved faces as closely as asked for; a chord below a millionth of the part's size and an angle
    /// beyond 1 to 60 degrees become the nearest that is not. Plane faces and volume in reports do not depend on it.
    ///
    /// # Examples
    ///
    /// ```
    /// # fn write(solid: &foldback::Solid) {
    /// use foldback::Fineness;
    /// let fine = Fineness { chord_mm: 0.01, ..Fineness::default() };
    /// assert!(solid.to_stl_within(&fine).len() >= solid.to_stl().len());
    /// # }
    /// ```
    pub fn to_stl_within(&self, fineness: &Fineness) -> Vec<u8> {
        match &self.body {
            Body::Flat(solid) => solid.to_stl(),
            Body::Curved(solid) => {
                let mesh = solid.to_mesh(fineness);
                bytes_of(&mesh, |corners, _| {
                    let [a, b, c] = corners.map(V3::from);
                    (b - a)
                        .cross(&(c - a))
                        .try_normalize(0.0)
                        .unwrap_or_else(V3::zeros)
                })
            }
        }
    }
}

impl Polyhedron {
    /// As [`Solid::to_stl`].
    pub(crate) fn to_stl(&self) -> Vec<u8> {
        bytes_of(&self.to_mesh(), |_, f| self.faces[f as usize].plane.normal)
    }
}

/// A mesh as a file; `normal` is asked for the direction of each triangle by its corners and its face.
fn bytes_of(mesh: &Mesh, normal: impl Fn([[f64; 3]; 3], u32) -> V3) -> Vec<u8> {
    debug_assert!(mesh.is_closed(), "the surface has a gap");
    let triangles = rounded(mesh, normal);
    let mut bytes = Vec::with_capacity(84 + 50 * triangles.len());
    // Writing to memory cannot fail.
    let written = stl_io::write_stl(&mut bytes, triangles.iter());
    debug_assert!(written.is_ok(), "memory took no bytes");
    bytes
}

/// The triangles in 32-bit numbers, without those that lose a side by it: their neighbours then meet instead.
fn rounded(mesh: &Mesh, normal: impl Fn([[f64; 3]; 3], u32) -> V3) -> Vec<Triangle> {
    let points: Vec<[f32; 3]> = mesh.points.iter().map(|p| p.map(single)).collect();
    let mut triangles = Vec::with_capacity(mesh.triangles.len());
    for (t, f) in mesh.triangles.iter().zip(&mesh.faces) {
        let [a, b, c] = t.map(|v| points[v as usize]);
        if a != b && b != c && c != a {
            let normal = normal(t.map(|v| mesh.points[v as usize]), *f);
            triangles.push(Triangle {
                normal: Normal::new([single(normal.x), single(normal.y), single(normal.z)]),
                vertices: [a, b, c].map(Vertex::new),
            });
        }
    }
    triangles
}

/// The nearest 32-bit number, never minus zero.
#[allow(clippy::cast_possible_truncation, reason = "STL keeps 32-bit numbers")]
fn single(x: f64) -> f32 {
    x as f32 + 0.0
}

#[cfg(test)]
#[allow(
    clippy::cast_possible_truncation,
    reason = "numbers in tests are small"
)]
mod tests {
    use super::*;
    use crate::solid::blocks::Dice;
    use crate::solid::curved;
    use crate::solid::curved::crossings::drilled_shaft;
    use crate::solid::curved::shapes::{ball, cylinder, plate_with_hole, torus};
    use crate::solid::measure::{Measures, measure};
    use crate::solid::shapes::{block, loft, prism, rectangle, windows};
    use parry3d_f64::math::Vector;
    use parry3d_f64::shape::{Shape, TriMesh};

    fn read(bytes: &[u8]) -> stl_io::IndexedMesh {
        let mesh = stl_io::read_stl(&mut std::io::Cursor::new(bytes)).unwrap();
        mesh.validate().unwrap();
        mesh
    }

    /// Reads the file back with `stl_io` and weighs it with `parry3d-f64`, a library for mechanics.
    fn assert_weighs_the_same(solid: &Polyhedron) {
        weighs(&solid.to_stl(), &measure(solid), 1e-5);
    }

    /// To a share of itself, or of 1.
    fn weighs(bytes: &[u8], measures: &Measures, share: f64) {
        let mesh = read(bytes);
        let points: Vec<Vector> = mesh
            .vertices
            .iter()
            .map(|p| Vector::new(f64::from(p[0]), f64::from(p[1]), f64::from(p[2])))
            .collect();
        let faces = mesh
            .faces
            .iter()
            .map(|f| f.vertices.map(|v| v as u32))
            .collect();
        let weighed = TriMesh::new(points, faces).unwrap().mass_properties(1.0);
        // 32-bit coordinates of small whole numbers are exact, others good to about 1e-7.
        let near = |a: f64, b: f64| (a - b).abs() <= share * b.abs().max(1.0);
        assert!(
            near(weighed.mass(), measures.volume_mm3),
            "{} {measures:?}",
            weighed.mass()
        );
        for axis in 0..3 {
            assert!(
                near(weighed.local_com[axis], measures.centroid_mm[axis]),
                "{measures:?}"
            );
        }
    }

    #[test]
    fn files_weigh_what_the_solid_weighs() {
        assert_weighs_the_same(&block([40.0, 20.0, 30.0]));
        assert_weighs_the_same(&windows(2));
        let slanted = [
            rectangle([0.0, 0.0], [31.0, 33.3]),
            rectangle([3.1, 4.7], [25.0, 26.2]),
        ];
        assert_weighs_the_same(&loft([0.0, 17.7], &[slanted]));
        for blocks in Dice(3).pieces(60) {
            assert_weighs_the_same(&blocks.solid());
        }
    }

    #[test]
    fn files_of_curved_solids_weigh_the_more_exactly_the_finer_they_are() {
        let solids = [
            plate_with_hole(),
            ball(7.0),
            torus(2, 11.0, 4.0),
            drilled_shaft(3.0, 5.0, 10.0),
        ];
        for solid in solids {
            let measures = curved::measure::measure(&solid);
            let whole = Solid {
                body: Body::Curved(solid),
            };
            weighs(&whole.to_stl(), &measures, 0.02);
            let fine = Fineness {
                chord_mm: 0.001,
                ..Fineness::default()
            };
            weighs(&whole.to_stl_within(&fine), &measures, 1e-3);
            assert_eq!(whole.to_stl(), whole.to_stl());
        }
    }

    #[test]
    fn fineness_beyond_reason_is_brought_back() {
        let whole = Solid {
            body: Body::Curved(cylinder(2, 5.0, 5.0)),
        };
        for (chord_mm, angle_degrees) in [
            (0.0, 15.0),
            (f64::NAN, f64::NAN),
            (f64::INFINITY, 1e9),
            (-1.0, -1.0),
        ] {
            read(&whole.to_stl_within(&Fineness {
                chord_mm,
                angle_degrees,
            }));
        }
    }

    #[test]
    fn normals_agree_with_the_turn_of_the_corners() {
        let bytes = windows(2).to_stl();
        for face in stl_io::create_stl_reader(&mut std::io::Cursor::new(bytes)).unwrap() {
            let face = face.unwrap();
            let [a, b, c] = face
                .vertices
                .map(|v| V3::new(v[0].into(), v[1].into(), v[2].into()));
            let n = face.normal;
            let turn = (b - a).cross(&(c - a)).normalize();
            assert!((turn - V3::new(n[0].into(), n[1].into(), n[2].into())).norm() < 1e-6);
        }
    }

    #[test]
    fn the_same_solid_gives_the_same_bytes() {
        assert_eq!(windows(3).to_stl(), windows(3).to_stl());
        assert_eq!(block([1.0, 1.0, 1.0]).to_stl().len(), 84 + 12 * 50);
    }

    #[test]
    fn corners_that_fall_together_leave_no_gap() {
        // The narrow side is 1e-6 mm wide at 100 mm, less than 32-bit numbers can tell.
        let outline = vec![
            [100.0, 0.0],
            [100.000_001, 0.0],
            [130.0, 50.0],
            [100.0, 50.0],
        ];
        let mesh = read(&prism([0.0, 10.0], &[outline]).to_stl());
        assert_eq!(mesh.vertices.len(), 6);
        assert_eq!(mesh.faces.len(), 8);
    }
}

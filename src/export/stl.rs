//! Binary STL: the surface as triangles in millimetres, for a slicer or another program.

use crate::geom::V3;
use crate::solid::mesh::Mesh;
use crate::solid::{Body, Polyhedron, Solid};
use stl_io::{Normal, Triangle, Vertex};

impl Solid {
    /// The solid as a binary STL file: millimetres, closed, normals outward.
    ///
    /// STL keeps coordinates as 32-bit numbers. Corners that fall together by that (closer than a ten-millionth of
    /// the part's distance from the origin) become one; the surface stays closed. Same solid, same bytes.
    pub fn to_stl(&self) -> Vec<u8> {
        match &self.body {
            Body::Flat(solid) => solid.to_stl(),
            Body::Curved(_) => unreachable!("no curved solid is made yet"),
        }
    }
}

impl Polyhedron {
    /// The solid as a binary STL file: millimetres, closed, normals outward.
    ///
    /// STL keeps coordinates as 32-bit numbers. Corners that fall together by that (closer than a ten-millionth of
    /// the part's distance from the origin) become one; the surface stays closed. Same solid, same bytes.
    pub(crate) fn to_stl(&self) -> Vec<u8> {
        let mesh = self.to_mesh();
        debug_assert!(mesh.is_closed(), "the surface has a gap");
        let triangles = rounded(self, &mesh);
        let mut bytes = Vec::with_capacity(84 + 50 * triangles.len());
        // Writing to memory cannot fail.
        let written = stl_io::write_stl(&mut bytes, triangles.iter());
        debug_assert!(written.is_ok(), "memory took no bytes");
        bytes
    }
}

/// The triangles in 32-bit numbers, without those that lose a side by it: their neighbours then meet instead.
fn rounded(solid: &Polyhedron, mesh: &Mesh) -> Vec<Triangle> {
    let points: Vec<[f32; 3]> = mesh.points.iter().map(|p| p.map(single)).collect();
    let mut triangles = Vec::with_capacity(mesh.triangles.len());
    for (t, f) in mesh.triangles.iter().zip(&mesh.faces) {
        let [a, b, c] = t.map(|v| points[v as usize]);
        if a != b && b != c && c != a {
            let normal: V3 = solid.faces[*f as usize].plane.normal;
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
    use crate::solid::measure::measure;
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
        let mesh = read(&solid.to_stl());
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
        let measures = measure(solid);
        // 32-bit coordinates of small whole numbers are exact, others good to about 1e-7.
        let near = |a: f64, b: f64| (a - b).abs() <= 1e-5 * b.abs().max(1.0);
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

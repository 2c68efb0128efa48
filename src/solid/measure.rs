//! Volume, surface, centroid and counts of a solid, exact for plane faces.
//!
//! Every border loop is cut into a fan of triangles from its first corner. Triangles that lie outside the face count
//! negatively, so the fans of all loops together are the face, whatever its shape and holes.

use super::{Face, Polyhedron};
use crate::geom::{P3, V3};
use petgraph::unionfind::UnionFind;

/// What can be measured and counted on a solid. Axes: x right, y away, z up.
#[derive(Clone, Debug, PartialEq)]
pub struct Measures {
    /// Volume of the material in cubic millimetres.
    pub volume_mm3: f64,
    /// Area of the whole surface, that of cavities included, in square millimetres.
    pub surface_mm2: f64,
    /// Centre of gravity of the material, `[x, y, z]` in millimetres.
    pub centroid_mm: [f64; 3],
    /// Width, depth and height of the smallest upright box around it, in millimetres.
    pub size_mm: [f64; 3],
    /// Number of maximal plane faces.
    pub faces: usize,
    /// Number of straight edges.
    pub edges: usize,
    /// Number of corners.
    pub vertices: usize,
    /// Number of closed shells: one, and one more for each sealed cavity.
    pub shells: usize,
    /// Number of through holes, summed over all shells (Euler and Poincaré).
    pub genus: usize,
}

/// Measures a sound solid.
///
/// Volume and centroid by the divergence theorem: the signed tetrahedra between the box's centre and the triangles of
/// the surface (Lien and Kajiya, *A Symbolic Method for Calculating the Integral Properties of Arbitrary Nonconvex
/// Polyhedra*, 1984). Of a solid that is not sound the numbers mean nothing.
pub(crate) fn measure(solid: &Polyhedron) -> Measures {
    let [lo, hi] = solid.bounds();
    let centre = nalgebra::center(&lo, &hi);
    let mut total = Moments::default();
    for face in &solid.faces {
        total.add(&Moments::of_face(solid, face, &centre));
    }
    let centroid = centre + total.first / total.volume;
    Measures {
        volume_mm3: total.volume,
        surface_mm2: total.area,
        centroid_mm: centroid.into(),
        size_mm: (hi - lo).into(),
        faces: solid.faces.len(),
        edges: solid.edges.len(),
        vertices: solid.vertices.len(),
        shells: solid.shells as usize,
        genus: doubled_genus(solid).try_into().map_or(0, |g: usize| g / 2),
    }
}

/// Area of a face, and volume and first moment of the cone between it and a point.
#[derive(Clone, Copy, Debug, Default)]
pub(crate) struct Moments {
    /// Area in square millimetres.
    pub(crate) area: f64,
    /// Signed volume in cubic millimetres, positive where the face looks away from the point.
    pub(crate) volume: f64,
    /// Integral of the position relative to the point over that volume.
    pub(crate) first: V3,
}

impl Moments {
    /// The moments of one face, seen from `point`.
    pub(crate) fn of_face(solid: &Polyhedron, face: &Face, point: &P3) -> Self {
        let mut sum = Moments::default();
        let at = |v: u32| solid.vertices[v as usize] - point;
        for corners in &face.loops {
            let Some((&apex, rest)) = corners.split_first() else {
                continue;
            };
            let a = at(apex);
            for pair in rest.windows(2) {
                let (b, c) = (at(pair[0]), at(pair[1]));
                let volume = a.dot(&b.cross(&c)) / 6.0;
                sum.area += face.plane.normal.dot(&(b - a).cross(&(c - a))) / 2.0;
                sum.volume += volume;
                sum.first += (a + b + c) * (volume / 4.0);
            }
        }
        sum
    }

    fn add(&mut self, other: &Moments) {
        self.area += other.area;
        self.volume += other.volume;
        self.first += other.first;
    }
}

/// Twice the genus by Euler and Poincaré: V - E + F - (L - F) = 2 (S - G), with V corners, E edges, F faces, L border
/// loops, S shells and G the genus. Odd or negative if the solid is not sound.
pub(crate) fn doubled_genus(solid: &Polyhedron) -> i64 {
    let loops: usize = solid.faces.iter().map(border_pieces).sum();
    let count = |n: usize| i64::try_from(n).unwrap_or(i64::MAX);
    2 * i64::from(solid.shells) - count(solid.vertices.len()) + count(solid.edges.len())
        - 2 * count(solid.faces.len())
        + count(loops)
}

/// How many pieces the border of a face has: loops that share a corner are one piece, for the face between them is
/// open there.
fn border_pieces(face: &Face) -> usize {
    let mut pieces = face.loops.len();
    if pieces < 2 {
        return pieces;
    }
    let mut corners: Vec<(u32, usize)> = Vec::new();
    for (k, corner_loop) in face.loops.iter().enumerate() {
        corners.extend(corner_loop.iter().map(|v| (*v, k)));
    }
    corners.sort_unstable();
    let mut joined = UnionFind::<usize>::new(pieces);
    for pair in corners.windows(2) {
        if pair[0].0 == pair[1].0 && joined.union(pair[0].1, pair[1].1) {
            pieces -= 1;
        }
    }
    pieces
}

#[cfg(test)]
mod tests {
    use super::super::blocks::{Blocks, Dice};
    use super::super::shapes::{block, loft, prism, pyramid, rectangle, windows};
    use super::*;

    fn assert_near(a: f64, b: f64) {
        assert!((a - b).abs() <= 1e-9 * b.abs().max(1.0), "{a} is not {b}");
    }

    #[test]
    fn a_block_is_length_times_width_times_height() {
        let m = measure(&block([40.0, 20.0, 30.0]));
        assert_near(m.volume_mm3, 24000.0);
        assert_near(m.surface_mm2, 5200.0);
        assert_eq!(m.centroid_mm, [20.0, 10.0, 15.0]);
        assert_eq!((m.faces, m.edges, m.vertices), (6, 12, 8));
        assert_eq!((m.shells, m.genus), (1, 0));
    }

    /// Area of a regular hexagon by its width across flats s: (sqrt(3)/2) s^2; widths across flats of M6, M8 and M10
    /// nuts: 10, 13 and 16 mm (ISO 4032).
    #[test]
    fn a_hexagonal_prism_has_the_area_of_its_width_across_flats() {
        for flats in [10.0, 13.0, 16.0] {
            let half = flats / 2.0;
            let side = flats / 3.0_f64.sqrt();
            let outline = vec![
                [side / 2.0, -half],
                [side, 0.0],
                [side / 2.0, half],
                [-side / 2.0, half],
                [-side, 0.0],
                [-side / 2.0, -half],
            ];
            let m = measure(&prism([0.0, 8.0], &[outline]));
            assert_near(m.volume_mm3, 8.0 * 3.0_f64.sqrt() / 2.0 * flats * flats);
            assert_near(m.surface_mm2, 2.0 * m.volume_mm3 / 8.0 + 6.0 * side * 8.0);
        }
    }

    /// Frustum: h/3 (A1 + A2 + sqrt(A1 A2)); pyramid: h/3 A, its centroid at a quarter of its height (Euclid XII for
    /// the volumes; any table of solids).
    #[test]
    fn pyramid_and_frustum_follow_their_formulas() {
        let base = rectangle([0.0, 0.0], [30.0, 24.0]);
        let top = rectangle([5.0, 4.0], [20.0, 16.0]);
        let (a1, a2, h): (f64, f64, f64) = (30.0 * 24.0, 15.0 * 12.0, 17.0);
        let frustum = measure(&loft([0.0, h], &[[base.clone(), top]]));
        assert_near(frustum.volume_mm3, h / 3.0 * (a1 + a2 + (a1 * a2).sqrt()));
        let slanted = measure(&pyramid(&base, [3.0, 40.0, h]));
        assert_near(slanted.volume_mm3, h / 3.0 * a1);
        assert_near(slanted.centroid_mm[0], 15.0 + (3.0 - 15.0) / 4.0);
        assert_near(slanted.centroid_mm[2], h / 4.0);
    }

    #[test]
    fn every_window_is_one_more_genus() {
        let m = measure(&windows(3));
        assert_eq!(m.genus, 9);
        assert_near(m.volume_mm3, (70.0 * 70.0 - 9.0 * 100.0) * 10.0);
        assert_near(m.surface_mm2, 2.0 * 4000.0 + 280.0 * 10.0 + 9.0 * 400.0);
    }

    #[test]
    fn a_sealed_cavity_is_a_shell_and_takes_its_volume_away() {
        let mut filled = vec![true; 27];
        filled[13] = false;
        let m = measure(&Blocks::cubes([3, 3, 3], filled).solid());
        assert_near(m.volume_mm3, 26000.0);
        assert_near(m.surface_mm2, 5400.0 + 600.0);
        assert_eq!((m.faces, m.edges, m.vertices), (12, 24, 16));
        assert_eq!((m.shells, m.genus), (2, 0));
    }

    #[test]
    fn volume_does_not_suffer_far_from_the_origin() {
        let (x, y) = (1.0e6, -3.0e6);
        let m = measure(&prism([0.0, 1.0], &[rectangle([x, y], [x + 2.0, y + 3.0])]));
        assert_near(m.volume_mm3, 6.0);
        assert_near(m.centroid_mm[0], x + 1.0);
    }

    #[test]
    fn blocks_weigh_what_their_cubes_weigh() {
        for blocks in Dice(1).pieces(400) {
            let m = measure(&blocks.solid());
            assert_near(m.volume_mm3, blocks.volume());
        }
    }
}

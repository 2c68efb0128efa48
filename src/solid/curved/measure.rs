//! Volume, surface, centroid and counts of a solid with curved faces, from its exact surfaces.
//!
//! The cones between the middle of the solid's box and its patches make up its volume; each is worked out along the border of its
//! patch, so nothing here depends on facets.

use super::faces::{Whole, doubled_genus};
use super::{CurvedSolid, Patch, Step};
use crate::geom::V3;
use crate::geom::integral::{Border, Patched, Sums, sums};
use crate::solid::measure::Measures;

/// Measures a sound solid; of one that is not the numbers mean nothing.
///
/// Volume and centroid by the divergence theorem. Volume, area and centroid are good to about 1e-12 of the solid's size
/// if its edges lie on its surfaces exactly. The size is that of its corners: curved patches are split at their extremes.
/// Counts are those of whole faces, the edges between them and the corners where edges end; the side of a cylinder is
/// one face, a full circle one edge without corner.
pub(crate) fn measure(solid: &CurvedSolid) -> Measures {
    let [lo, hi] = solid.bounds();
    let centre = nalgebra::center(&lo, &hi);
    let size = (hi - lo).norm();
    let patches = patches_of(solid);
    let mut by_patch = vec![Sums::default(); patches.len()];
    for edge in &solid.edges {
        let faces = edge.faces.map(|face| face as usize);
        let sums = sums(&edge.path, faces.map(|face| &patches[face]), &centre, size);
        faces
            .into_iter()
            .zip(&sums)
            .for_each(|(face, sums)| by_patch[face].add(sums, 1.0));
    }
    let (mut area, mut flux, mut first) = (0.0, 0.0, V3::zeros());
    for (patch, sums) in solid.faces.iter().zip(&by_patch) {
        // The borders run round the outward normal; so do flux and moment, while area has no direction.
        area += if patch.outward { sums.area } else { -sums.area };
        flux += sums.flux;
        first += sums.first;
    }
    let volume = flux / 3.0;
    let whole = Whole::of(solid);
    Measures {
        volume_mm3: volume,
        surface_mm2: area,
        centroid_mm: (centre + first / (4.0 * volume)).into(),
        size_mm: (hi - lo).into(),
        faces: whole.faces,
        edges: whole.edges.len(),
        vertices: whole.vertices,
        shells: solid.shells as usize,
        genus: doubled_genus(solid).try_into().map_or(0, |g: usize| g / 2),
    }
}

/// The patches of a solid, to integrate over.
pub(super) fn patches_of(solid: &CurvedSolid) -> Vec<Patched<'_>> {
    let faces = solid.faces.iter();
    faces
        .map(|patch| Patched::new(&patch.surface, &border_of(solid, patch)))
        .collect()
}

/// The border of a patch of a solid.
fn border_of<'s>(solid: &'s CurvedSolid, patch: &'s Patch) -> Border<'s> {
    let steps = patch.borders.iter().flatten();
    steps
        .map(|Step { edge, forward }| (&solid.edges[*edge as usize].path, *forward))
        .collect()
}

#[cfg(test)]
mod tests {
    use super::super::crossings::{crossing, drilled_shaft, three_cylinders, two_cylinders};
    use super::super::shapes::{
        Bend, along, ball, cylinder, frustum, polygon, sewn, torus, turned_about, turned_solid,
        washer,
    };
    use super::*;
    use crate::geom::integral::flux;
    use crate::geom::num::Diagonal;
    use std::f64::consts::PI;

    fn assert_near(a: f64, b: f64) {
        assert!((a - b).abs() <= 1e-9 * b.abs().max(1.0), "{a} is not {b}");
    }

    /// Volume and area of a solid with its centroid at a height on the z axis.
    fn assert_is(solid: &CurvedSolid, volume: f64, area: f64, height: f64) {
        let m = measure(solid);
        assert_near(m.volume_mm3, volume);
        assert_near(m.surface_mm2, area);
        for (a, b) in m.centroid_mm.iter().zip([0.0, 0.0, height]) {
            assert_near(*a, b);
        }
        let sum: f64 = (solid.faces.iter())
            .map(|patch| flux(&patch.surface, border_of(solid, patch).into_iter()))
            .sum();
        assert!(
            (sum - volume).abs() <= 1e-6 * volume,
            "{sum} is not {volume}"
        );
    }

    fn counts(solid: &CurvedSolid) -> [usize; 5] {
        let m = measure(solid);
        [m.faces, m.edges, m.vertices, m.shells, m.genus]
    }

    #[test]
    fn discs_and_rings_are_circles_times_height() {
        let disc = cylinder(2, 10.0, 7.0);
        assert_is(&disc, PI * 700.0, 2.0 * PI * 100.0 + 20.0 * PI * 7.0, 3.5);
        assert_eq!(counts(&disc), [3, 2, 0, 1, 0]);
        let washer = washer(6.5, 12.0, 2.5);
        let face = PI / 4.0 * (24.0 * 24.0 - 13.0 * 13.0);
        assert_is(&washer, face * 2.5, 2.0 * face + PI * 37.0 * 2.5, 1.25);
        assert_eq!(counts(&washer), [4, 4, 0, 1, 1]);
    }

    /// Ball, torus and the rest: any table of solids.
    #[test]
    fn ball_and_torus_follow_their_formulas() {
        let r: f64 = 7.3;
        assert_is(&ball(r), 4.0 / 3.0 * PI * r.powi(3), 4.0 * PI * r * r, 0.0);
        assert_eq!(counts(&ball(r)), [1, 0, 0, 1, 0]);
        let (major, minor) = (11.0, 4.3);
        let volume = 2.0 * PI * PI * major * minor * minor;
        assert_is(
            &torus(2, major, minor),
            volume,
            4.0 * PI * PI * major * minor,
            0.0,
        );
        assert_eq!(counts(&torus(2, major, minor)), [1, 0, 0, 1, 1]);
    }

    /// Cap of height h on a ball of radius R: volume pi h^2 (3R - h) / 3, curved area 2 pi R h, centroid
    /// 3 (2R - h)^2 / (4 (3R - h)) from the centre.
    #[test]
    fn caps_of_a_ball_follow_their_formulas() {
        let (radius, h): (f64, f64) = (10.0, 4.0);
        let low = radius - h;
        let a = (radius * radius - low * low).sqrt();
        let profile = [
            Bend::line([0.0, low], [a, low]),
            Bend::arc([a, low], [0.0, radius], [0.0, 0.0], true),
        ];
        let cap = turned_solid(2, &profile);
        let volume = PI * h * h * (3.0 * radius - h) / 3.0;
        let height = 3.0 * (2.0 * radius - h).powi(2) / (4.0 * (3.0 * radius - h));
        assert_is(&cap, volume, 2.0 * PI * radius * h + PI * a * a, height);
        assert_eq!(counts(&cap), [2, 1, 0, 1, 0]);
    }

    /// Frustum: pi h (R^2 + R r + r^2) / 3, side pi (R + r) times its slant height, centroid at
    /// h (R^2 + 2 R r + 3 r^2) / (4 (R^2 + R r + r^2)); a cone is one with r = 0.
    #[test]
    fn frustum_and_cone_follow_their_formulas() {
        let (big, h): (f64, f64) = (9.0, 14.0);
        for r in [0.0, 3.5, 8.999] {
            let cone = [
                Bend::line([0.0, 0.0], [big, 0.0]),
                Bend::line([big, 0.0], [0.0, h]),
            ];
            let solid = if r > 0.0 {
                frustum(big, r, h)
            } else {
                turned_solid(2, &cone)
            };
            let squares = big * big + big * r + r * r;
            let side = PI * (big + r) * (big - r).diagonal(h);
            let height = h * (big * big + 2.0 * big * r + 3.0 * r * r) / (4.0 * squares);
            let area = side + PI * (big * big + r * r);
            assert_is(&solid, PI * h * squares / 3.0, area, height);
        }
    }

    /// Two: 16/3 r^3 and 16 r^2. Three: 8 (2 - sqrt 2) r^3, and 3 / r times that as area, for every tangent plane is r
    /// away from the centre.
    #[test]
    fn crossing_cylinders_follow_their_formulas() {
        let r: f64 = 6.0;
        assert_is(&two_cylinders(r), 16.0 / 3.0 * r.powi(3), 16.0 * r * r, 0.0);
        let volume = 8.0 * (2.0 - 2.0_f64.sqrt()) * r.powi(3);
        assert_is(&three_cylinders(r), volume, 3.0 * volume / r, 0.0);
        // Four faces and two poles; a rhombic dodecahedron with its sides rounded.
        assert_eq!(counts(&two_cylinders(r)), [4, 4, 2, 1, 0]);
        assert_eq!(counts(&three_cylinders(r)), [12, 24, 14, 1, 0]);
    }

    /// The common part of unequal cylinders, slice by slice: 8 times the integral over y of
    /// sqrt(R^2 - y^2) sqrt(r^2 - y^2); with y = r sin t smooth and periodic, so that the midpoint rule is exact.
    fn common_part(r: f64, big: f64) -> f64 {
        let n = 64;
        let sum: f64 = (0..n)
            .map(|k| {
                let (sin, cos) =
                    crate::geom::num::sin_cos((f64::from(k) + 0.5) * PI / f64::from(n));
                (big * big - r * r * sin * sin).sqrt() * r * r * cos * cos
            })
            .sum();
        4.0 * sum * PI / f64::from(n)
    }

    #[test]
    fn a_cross_drilled_shaft_loses_what_cylinders_have_in_common() {
        let (r, big, h) = (3.0, 5.0, 10.0);
        let common = common_part(r, big);
        let m = measure(&crossing(r, big));
        assert_near(m.volume_mm3, common);
        assert_eq!(counts(&crossing(r, big)), [3, 2, 0, 1, 0]);
        let drilled = drilled_shaft(r, big, h);
        assert_near(
            measure(&drilled).volume_mm3,
            2.0 * PI * big * big * h - common,
        );
        assert_eq!(counts(&drilled), [4, 4, 0, 1, 1]);
    }

    #[test]
    fn a_sealed_cavity_is_a_shell_and_takes_its_volume_away() {
        let outer = polygon(&[[0.0, 0.0], [12.0, 0.0], [12.0, 30.0], [0.0, 30.0]]);
        let hollow = [
            Bend::arc([0.0, 19.0], [5.0, 14.0], [0.0, 14.0], false),
            Bend::arc([5.0, 14.0], [0.0, 9.0], [0.0, 14.0], false),
        ];
        let solid = turned_solid(2, &[&outer[..3], &hollow].concat());
        let ball = 4.0 / 3.0 * PI * 125.0;
        let m = measure(&solid);
        assert_near(m.volume_mm3, PI * 144.0 * 30.0 - ball);
        assert_eq!(counts(&solid), [4, 2, 0, 2, 0]);
    }

    #[test]
    fn the_way_a_part_lies_and_where_changes_nothing() {
        let profile = |up: f64| {
            let line = |a: [f64; 2], b: [f64; 2]| Bend::line([a[0], a[1] + up], [b[0], b[1] + up]);
            let arc = |a: [f64; 2], b: [f64; 2], c: [f64; 2], ccw| {
                Bend::arc([a[0], a[1] + up], [b[0], b[1] + up], [c[0], c[1] + up], ccw)
            };
            [
                line([4.0, 0.0], [14.0, 0.0]),
                line([14.0, 0.0], [14.0, 3.0]),
                line([14.0, 3.0], [9.0, 3.0]),
                arc([9.0, 3.0], [7.0, 5.0], [9.0, 5.0], false),
                line([7.0, 5.0], [7.0, 20.0]),
                arc([7.0, 20.0], [5.0, 22.0], [5.0, 20.0], true),
                line([5.0, 22.0], [2.0, 22.0]),
                line([2.0, 22.0], [4.0, 0.0]),
            ]
        };
        let upright = measure(&turned_solid(2, &profile(0.0)));
        for axis in 0..3 {
            let far = 3000.0;
            let lying = sewn(&along(axis, &turned_about(&profile(far))));
            let m = measure(&lying);
            assert_near(m.volume_mm3, upright.volume_mm3);
            assert_near(m.surface_mm2, upright.surface_mm2);
            assert_near(m.centroid_mm[axis], far + upright.centroid_mm[2]);
            assert_eq!(counts(&lying), [8, 8, 0, 1, 1]);
        }
    }
}

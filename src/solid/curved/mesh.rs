//! Cuts a solid with curved faces into triangles that close without a gap and stay near the exact surfaces.
//!
//! Edges are cut once, for both patches along them, and each patch is cut into triangles between those points.

use super::cut::{Cuts, bends_both_ways};
use super::triangles::{Sheet, sides};
use super::{CurvedSolid, Patch};
use crate::geom::plane::Plane;
use crate::geom::surface::Surface;
use crate::geom::{Few, V3};
use crate::solid::mesh::{Fineness, Mesh};
use crate::solid::{Face, Polyhedron};
use itertools::Itertools;
use rustc_hash::{FxHashMap, FxHashSet};

impl CurvedSolid {
    /// The surface as triangles that close without a gap, patch by patch.
    ///
    /// No triangle leaves the exact surface farther than `fineness` allows, and the surface's direction does not change by more
    /// than its angle from corner to corner of a triangle; plane faces use the same points along their edges. Where two
    /// different patches come nearer to each other than the chord tolerance, their triangles may pierce each other.
    pub(crate) fn to_mesh(&self, fineness: &Fineness) -> Mesh {
        let fineness = fineness.within(self.size());
        self.mesh_along(&Cuts::new(self, &fineness), &fineness)
    }

    /// The same along edges that have been cut with this fineness.
    pub(crate) fn mesh_along(&self, cuts: &Cuts, fineness: &Fineness) -> Mesh {
        let mut mesh = Mesh::default();
        let mut points = cuts.points.clone();
        for (f, patch) in (0_u32..).zip(&self.faces) {
            let mut sheet = Sheet::of(cuts, patch);
            let triangles = sheet.triangles(fineness);
            // The patch's own points come after all others.
            let inner = u32::try_from(points.len()).expect("fewer than 2^32 points");
            points.extend(sheet.inner);
            let border = sheet.corners.len();
            let place = |k: usize| match sheet.corners.get(k) {
                Some(corner) => *corner,
                None => inner + u32::try_from(k - border).expect("fewer than 2^32 points"),
            };
            mesh.triangles
                .extend(triangles.iter().map(|t| t.map(place)));
            mesh.faces.resize(mesh.triangles.len(), f);
        }
        mesh.points = points.iter().map(|p| [p.x, p.y, p.z]).collect();
        mesh.split_common_sides();
        mesh
    }
}

impl Mesh {
    /// Cuts sides inside a patch in two where other triangles have the same side, so that all sides run once each way: patches
    /// that meet at two corners may both have cut off what lies between.
    fn split_common_sides(&mut self) {
        loop {
            let common = self.common_sides();
            let mut changed = FxHashSet::default();
            for [one, other] in common {
                if !changed.contains(&one) && !changed.contains(&other) {
                    self.split([one, other]);
                    changed.extend([one, other]);
                }
            }
            if changed.is_empty() {
                break;
            }
        }
    }

    /// Pairs of triangles of one patch along a side that others have as well.
    fn common_sides(&self) -> Vec<[usize; 2]> {
        let mut owners: FxHashMap<[u32; 2], Few<usize, 2>> = FxHashMap::default();
        for (t, corners) in self.triangles.iter().enumerate() {
            for side in sides(*corners) {
                owners.entry(side).or_default().push(t);
            }
        }
        let back = |[a, b]: &[u32; 2]| owners.get(&[*b, *a]).into_iter().flatten();
        let mut pairs: Vec<[usize; 2]> = (owners.iter())
            .filter(|(_, triangles)| triangles.len() > 1)
            .flat_map(|(side, triangles)| triangles.iter().cartesian_product(back(side)))
            .filter(|(one, other)| self.faces[**one] == self.faces[**other])
            .map(|(one, other)| [*one.min(other), *one.max(other)])
            .collect();
        pairs.sort_unstable();
        pairs.dedup();
        pairs
    }

    /// Cuts two triangles in two each, from the middle of their common side.
    fn split(&mut self, pair: [usize; 2]) {
        let [one, other] = pair.map(|t| self.triangles[t]);
        let Some([a, b]) = sides(one)
            .into_iter()
            .find(|[a, b]| sides(other).contains(&[*b, *a]))
        else {
            return;
        };
        let [p, q] = [a, b].map(|v| V3::from(self.points[v as usize]));
        let middle = u32::try_from(self.points.len()).expect("fewer than 2^32 points");
        self.points.push((0.5 * (p + q)).into());
        for (t, corners) in pair.into_iter().zip([one, other]) {
            let with = |end: u32| corners.map(|v| if v == end { middle } else { v });
            self.triangles[t] = with(a);
            self.triangles.push(with(b));
            self.faces.push(self.faces[t]);
        }
    }
}

impl CurvedSolid {
    /// The solid with flat faces only, for painting: plane faces whole, others as triangles, with one fineness for those
    /// that bend one way and one for those that bend both ways. Edges are left out, and neighbours need not meet. With it
    /// the patch that each face is part of.
    pub(crate) fn faceted(
        &self,
        one_way: &Fineness,
        both_ways: &Fineness,
    ) -> (Polyhedron, Vec<usize>) {
        let mut patches = Vec::new();
        let mut flat = Polyhedron {
            shells: self.shells,
            ..Polyhedron::default()
        };
        for (fineness, bent) in [(one_way, false), (both_ways, true)] {
            let fineness = fineness.within(self.size());
            let cuts = Cuts::new(self, &fineness);
            let chosen = |(_, patch): &(usize, &Patch)| bends_both_ways(&patch.surface) == bent;
            for (number, patch) in self.faces.iter().enumerate().filter(chosen) {
                flat.add_facets(&cuts, patch, &fineness);
                patches.resize(flat.faces.len(), number);
            }
        }
        (flat, patches)
    }
}

impl Polyhedron {
    /// Adds a patch: a plane one as it is, any other as triangles.
    fn add_facets(&mut self, cuts: &Cuts, patch: &Patch, fineness: &Fineness) {
        let mut sheet = Sheet::of(cuts, patch);
        let first = u32::try_from(self.vertices.len()).expect("fewer than 2^32 points");
        let place = |k: usize| first + u32::try_from(k).expect("fewer than 2^32 points");
        if let Surface::Plane(plane) = &patch.surface {
            let corner = |v: &u32| place(sheet.corners.binary_search(v).unwrap_or(0));
            let borders = cuts.borders(patch);
            self.faces.push(Face {
                plane: if patch.outward {
                    *plane
                } else {
                    plane.flipped()
                },
                loops: borders
                    .iter()
                    .map(|b| b.iter().map(corner).collect())
                    .collect(),
                shell: patch.shell,
            });
        } else {
            for corners in sheet.triangles(fineness) {
                let [a, b, c] = corners.map(|k| *sheet.point(k));
                let across = (b - a).cross(&(c - a));
                if across.norm() > 0.0 {
                    self.faces.push(Face {
                        plane: Plane::through(&a, &across),
                        loops: vec![corners.map(place).to_vec()],
                        shell: patch.shell,
                    });
                }
            }
        }
        self.vertices.extend(sheet.border);
        self.vertices.extend(sheet.inner);
    }
}

#[cfg(test)]
mod tests {
    use super::super::crossings::{crossing, drilled_shaft, three_cylinders, two_cylinders};
    use super::super::measure::measure;
    use super::super::shapes::{
        Bend, ball, circle, cross_drilled, cylinder, frustum, hole, holes, plate_with_hole,
        pulled_solid, rounded_block, torus, turned_solid, washer,
    };
    use super::super::{CurvedEdge, Step};
    use super::*;
    use crate::geom::P3;
    use crate::geom::num::Diagonal;
    use crate::geom::path::{Course, Path};
    use crate::solid::blocks::Dice;

    fn corners(mesh: &Mesh, triangle: [u32; 3]) -> [V3; 3] {
        triangle.map(|v| V3::from(mesh.points[v as usize]))
    }

    fn volume(mesh: &Mesh) -> f64 {
        let signed = |t: &[u32; 3]| {
            let [a, b, c] = corners(mesh, *t);
            a.dot(&b.cross(&c)) / 6.0
        };
        mesh.triangles.iter().map(signed).sum()
    }

    fn lowest(mesh: &Mesh) -> f64 {
        let height = |t: &[u32; 3]| {
            let [a, b, c] = corners(mesh, *t);
            let longest = (b - a).norm().max((c - b).norm()).max((a - c).norm());
            (b - a).cross(&(c - a)).norm() / longest
        };
        mesh.triangles.iter().map(height).fold(f64::MAX, f64::min)
    }

    /// How far triangles leave the surfaces of their patches, sampled densely.
    fn farthest(solid: &CurvedSolid, mesh: &Mesh) -> f64 {
        let mut most: f64 = 0.0;
        for (t, f) in mesh.triangles.iter().zip(&mesh.faces) {
            let [a, b, c] = corners(mesh, *t);
            for i in 0..=8 {
                for j in 0..=8 - i {
                    let (s, t) = (f64::from(i) / 8.0, f64::from(j) / 8.0);
                    let p = P3::from(a + (b - a) * s + (c - a) * t);
                    most = most.max(solid.faces[*f as usize].surface.distance(&p).abs());
                }
            }
        }
        most
    }

    /// Triangles that look the wrong way: against the surface's own direction at their middle.
    fn turned_over(solid: &CurvedSolid, mesh: &Mesh) -> usize {
        let wrong = |(t, f): &(&[u32; 3], &u32)| {
            let [a, b, c] = corners(mesh, **t);
            let out = solid.faces[**f as usize].outward(&P3::from((a + b + c) / 3.0));
            (b - a).cross(&(c - a)).normalize().dot(&out) < 0.5
        };
        mesh.triangles.iter().zip(&mesh.faces).filter(wrong).count()
    }

    fn all() -> Vec<(&'static str, CurvedSolid)> {
        let filleted = [
            Bend::line([4.0, 0.0], [14.0, 0.0]),
            Bend::line([14.0, 0.0], [14.0, 3.0]),
            Bend::line([14.0, 3.0], [9.0, 3.0]),
            Bend::arc([9.0, 3.0], [7.0, 5.0], [9.0, 5.0], false),
            Bend::line([7.0, 5.0], [7.0, 20.0]),
            Bend::arc([7.0, 20.0], [5.0, 22.0], [5.0, 20.0], true),
            Bend::line([5.0, 22.0], [2.0, 22.0]),
            Bend::line([2.0, 22.0], [4.0, 0.0]),
        ];
        let cone = [
            Bend::line([0.0, 0.0], [6.0, 0.0]),
            Bend::line([6.0, 0.0], [0.0, 9.0]),
        ];
        vec![
            ("cylinder", cylinder(0, 4.0, 30.0)),
            ("washer", washer(6.5, 12.0, 2.5)),
            ("pin", cylinder(2, 0.5, 20.0)),
            ("frustum", frustum(9.0, 4.0, 12.0)),
            ("cone", turned_solid(1, &cone)),
            ("ball", ball(7.0)),
            ("torus", torus(2, 11.0, 4.0)),
            ("bushing", turned_solid(0, &filleted)),
            ("plate", plate_with_hole()),
            ("holes", holes(3)),
            ("block", rounded_block()),
            ("cross-drilled block", cross_drilled()),
            ("two cylinders", two_cylinders(6.0)),
            ("three cylinders", three_cylinders(6.0)),
            ("crossing", crossing(3.0, 5.0)),
            ("all but equal", crossing(4.999, 5.0)),
            ("drilled shaft", drilled_shaft(3.0, 5.0, 10.0)),
        ]
    }

    #[test]
    fn meshes_close_and_keep_within_the_chord() {
        for (name, solid) in all() {
            for chord_mm in [0.2, 0.05, 0.005] {
                let fineness = Fineness {
                    chord_mm,
                    ..Fineness::default()
                };
                let mesh = solid.to_mesh(&fineness);
                assert!(mesh.is_closed(), "{name}");
                let (far, low) = (farthest(&solid, &mesh), lowest(&mesh));
                assert!(far <= 1.001 * chord_mm, "{name}: {far}");
                assert!(low >= 1e-4, "{name}: {low}");
                assert_eq!(turned_over(&solid, &mesh), 0, "{name}");
            }
        }
    }

    /// As from an inaccurate drawing: corners up to `by` beside the surfaces, edges bent over to them.
    fn shaken(mut solid: CurvedSolid, by: f64) -> CurvedSolid {
        let mut dice = Dice(7);
        for vertex in &mut solid.vertices {
            let mut roll = || (dice.roll(2001) as f64 / 1000.0 - 1.0) * by;
            *vertex += V3::new(roll(), roll(), roll());
        }
        for edge in &mut solid.edges {
            edge.path.ends = edge.ends.map(|v| solid.vertices[v as usize]);
            if let Course::Conic(conic) = &edge.path.course {
                edge.path = Path::bent(**conic, edge.path.ends);
            }
            if let Course::Meeting(meeting) = &mut edge.path.course {
                let mut points = meeting.points.to_vec();
                let last = points.len() - 1;
                (points[0], points[last]) = (edge.path.ends[0], edge.path.ends[1]);
                meeting.points = points.into();
            }
        }
        solid
    }

    #[test]
    fn meshes_of_inaccurate_solids_close_as_well() {
        // Cylinders that differ by less than the inaccuracy are no solid any more.
        for (name, solid) in all()
            .into_iter()
            .filter(|(name, _)| *name != "all but equal")
        {
            let exact = measure(&solid).volume_mm3;
            let few = solid.to_mesh(&Fineness::default()).triangles.len();
            for by in [1e-4, 1e-3, 0.02, 0.1] {
                let mesh = shaken(solid.clone(), by).to_mesh(&Fineness::default());
                assert!(mesh.is_closed(), "{name} {by}");
                let count = mesh.triangles.len();
                assert!(count < 10 * few, "{name} {by}: {count} instead of {few}");
                assert!((volume(&mesh) - exact).abs() < 0.1 * exact, "{name} {by}");
            }
        }
    }

    /// A hole so near to the rim that the polygons of both would cross each other if each were cut for itself.
    #[test]
    fn a_wall_thinner_than_the_chord_stays_a_wall() {
        for wall in [0.02, 0.002] {
            let outline = [
                circle([0.0, 0.0], 10.0),
                hole(circle([10.0 - wall - 4.0, 0.0], 4.0)),
            ];
            let solid = pulled_solid(2, [0.0, 5.0], &outline);
            let mesh = solid.to_mesh(&Fineness::default());
            assert!(mesh.is_closed());
            assert_eq!(turned_over(&solid, &mesh), 0);
            let exact = measure(&solid).volume_mm3;
            assert!((volume(&mesh) - exact).abs() < 0.02 * exact);
            assert!(lowest(&mesh) > 1e-4, "{}", lowest(&mesh));
        }
    }

    /// A sickle: two arcs that meet in a common tangent at both tips, and a tangent line that leaves a circle.
    #[test]
    fn tips_between_tangent_edges_close() {
        let sickle = vec![
            Bend::arc([-10.0, 0.0], [0.0, -10.0], [0.0, 0.0], true),
            Bend::arc([0.0, -10.0], [5.0, -5.0], [0.0, -5.0], true),
            Bend::line([5.0, -5.0], [5.0, -4.0]),
            Bend::line([5.0, -4.0], [4.0, -4.0]),
            Bend::arc([4.0, -4.0], [0.0, -8.0], [0.0, -4.0], false),
            Bend::arc([0.0, -8.0], [-8.0, 0.0], [0.0, 0.0], false),
            Bend::line([-8.0, 0.0], [-10.0, 0.0]),
        ];
        let drop = vec![
            Bend::line([0.0, 0.0], [10.0, 0.0]),
            Bend::line([10.0, 0.0], [10.0, 10.0]),
            Bend::arc([10.0, 10.0], [0.0, 0.0], [0.0, 10.0], false),
        ];
        for outline in [sickle, drop] {
            let solid = pulled_solid(1, [0.0, 3.0], &[outline]);
            for chord_mm in [0.5, 0.05, 0.001] {
                let fineness = Fineness {
                    chord_mm,
                    ..Fineness::default()
                };
                let mesh = solid.to_mesh(&fineness);
                assert!(mesh.is_closed());
                assert_eq!(turned_over(&solid, &mesh), 0);
                assert!(lowest(&mesh) > 1e-4, "{} {chord_mm}", lowest(&mesh));
            }
        }
    }

    /// Sides of a polygon in a circle fall short by a share that shrinks with the square of their number, as the chord does.
    #[test]
    fn the_volume_nears_the_exact_one_as_the_chord_shrinks() {
        for (name, solid) in all() {
            let exact = measure(&solid);
            for chord_mm in [0.05, 0.01, 0.002] {
                let fineness = Fineness {
                    chord_mm,
                    ..Fineness::default()
                };
                let off = (volume(&solid.to_mesh(&fineness)) - exact.volume_mm3).abs();
                assert!(off < chord_mm * exact.surface_mm2, "{name} {off}");
                assert!(off > 0.0, "{name}");
            }
        }
    }

    /// A face round a hole that touches its border in a corner, drawn so inaccurately that the two cross beside it.
    #[test]
    fn a_border_that_crosses_itself_at_a_corner_it_passes_twice_has_whole_triangles() {
        let at = [[3.0, 0.0], [2.0, 2.0], [-3.0, 0.0], [2.0, -2.0]];
        let hole = [[2.8, -0.5], [-2.0, 0.0], [2.8, 0.5]];
        let ring = [0, 1, 2, 3, 0, 4, 5, 6];
        let vertices: Vec<P3> = (at.iter().chain(&hole))
            .map(|[x, y]| P3::new(*x, *y, 0.0))
            .collect();
        let mut solid = CurvedSolid::default();
        for k in 0..ring.len() {
            let ends = [k, (k + 1) % ring.len()].map(|k| ring[k]);
            solid.edges.push(CurvedEdge {
                ends,
                path: Path {
                    ends: ends.map(|v| vertices[v as usize]),
                    course: Course::Straight,
                },
                faces: [0, 0],
                smooth: false,
            });
        }
        let step = |edge| Step {
            edge,
            forward: true,
        };
        solid.faces.push(Patch {
            surface: Surface::Plane(Plane::through(&vertices[0], &V3::z())),
            outward: true,
            signs: [0, 0, 1],
            borders: vec![(0..8).map(step).collect()],
            shell: 0,
        });
        solid.vertices = vertices;
        let mesh = solid.to_mesh(&Fineness::default());
        assert!(mesh.triangles.len() > 3);
        for [a, b, c] in mesh.triangles {
            assert!(a != b && b != c && c != a, "{a} {b} {c}");
        }
    }

    /// Two faces between the same corners that were both cut along the same two of them.
    #[test]
    fn a_side_that_two_faces_have_inside_is_cut_in_two() {
        let square = [[0.0, 0.0], [1.0, 0.0], [1.0, 1.0], [0.0, 1.0]];
        let mut pillow = Mesh {
            points: square.map(|[x, y]| [x, y, 0.0]).to_vec(),
            triangles: vec![[0, 1, 2], [2, 3, 0], [2, 1, 0], [0, 3, 2]],
            faces: vec![0, 0, 1, 1],
        };
        assert!(!pillow.is_closed());
        pillow.split_common_sides();
        assert!(pillow.is_closed());
        assert_eq!(pillow.triangles.len(), pillow.faces.len());
        assert!(pillow.points[4..].iter().all(|p| *p == [0.5, 0.5, 0.0]));
    }

    /// 24 sides at 15 degrees; a chord of 0.05 mm alone would leave ten at a radius of 1 mm.
    #[test]
    fn small_holes_stay_round() {
        let mesh = washer(1.0, 3.0, 2.0).to_mesh(&Fineness::default());
        let at_hole = mesh
            .points
            .iter()
            .filter(|p| p[0].diagonal(p[1]) < 1.1)
            .count();
        assert_eq!(at_hole, 2 * 24);
    }
}

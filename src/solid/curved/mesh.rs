//! Cuts a solid with curved faces into triangles that close without a gap and stay near the exact surfaces.
//!
//! Edges are cut once, for both patches along them. Each patch is laid flat and cut into triangles there: a constrained
//! Delaunay triangulation of its border, with points added inside until no triangle leaves the surface too far. Triangles
//! that the flat shows as slivers on a straight border are turned into better ones by exchanging diagonals.

use super::cut::{BOTH_WAYS, Cuts, THIN, bends_both_ways};
use super::flatten::Flat;
use super::{CurvedSolid, Patch};
use crate::geom::plane::Plane;
use crate::geom::surface::{Profile, Surface};
use crate::geom::{P3, V2};
use crate::solid::mesh::{Fineness, Mesh, inner_triangles, settled};
use crate::solid::{Face, Polyhedron};
use rustc_hash::FxHashMap;
use spade::{ConstrainedDelaunayTriangulation, Point2, PositionInTriangulation, Triangulation};

type Cells = ConstrainedDelaunayTriangulation<Point2<f64>>;

/// How often points are added where triangles are too coarse.
const ROUNDS: usize = 16;

/// Inner points keep this share of the usual distance from the border.
const CLEAR: f64 = 0.55;

/// How many inner points a patch may get in one direction.
const MOST_ROWS: f64 = 2000.0;

impl CurvedSolid {
    /// The surface as triangles that close without a gap, patch by patch.
    ///
    /// No triangle leaves the exact surface farther than `fineness` allows, and the surface's direction does not change by more
    /// than its angle from corner to corner of a triangle; plane faces use the same points along their edges. Where two
    /// different patches come nearer to each other than the chord tolerance, their triangles may pierce each other.
    pub(crate) fn to_mesh(&self, fineness: &Fineness) -> Mesh {
        let fineness = fineness.within(self.size());
        let cuts = Cuts::new(self, &fineness);
        let mut mesh = Mesh::default();
        let mut points = cuts.points.clone();
        for (f, patch) in (0_u32..).zip(&self.faces) {
            let mut sheet = Sheet::of(&cuts, patch);
            let triangles = sheet.triangles(&fineness);
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
        mesh
    }
}

impl CurvedSolid {
    /// The solid with flat faces only, for painting: plane faces whole, others as triangles, with one fineness for those
    /// that bend one way and one for those that bend both ways. Edges are left out, and neighbours need not meet.
    pub(crate) fn faceted(&self, one_way: &Fineness, both_ways: &Fineness) -> Polyhedron {
        let mut flat = Polyhedron {
            shells: self.shells,
            ..Polyhedron::default()
        };
        for (fineness, bent) in [(one_way, false), (both_ways, true)] {
            let fineness = fineness.within(self.size());
            let cuts = Cuts::new(self, &fineness);
            let chosen = |patch: &&Patch| bends_both_ways(&patch.surface) == bent;
            for patch in self.faces.iter().filter(chosen) {
                flat.add_facets(&cuts, patch, &fineness);
            }
        }
        flat
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

/// A patch laid flat.
struct Sheet<'s> {
    surface: &'s Surface,
    flat: Flat,
    /// Its different border points, places in the points of the cuts.
    corners: Vec<u32>,
    /// Where these are in space.
    border: Vec<P3>,
    /// The steps of its borders as places in `corners`; the patch lies to the left.
    steps: Vec<[usize; 2]>,
    /// Points added inside, in space; in triangles they follow the corners.
    inner: Vec<P3>,
}

impl<'s> Sheet<'s> {
    fn of(cuts: &Cuts, patch: &'s Patch) -> Self {
        let borders = cuts.borders(patch);
        let mut corners: Vec<u32> = borders.concat();
        corners.sort_unstable();
        corners.dedup();
        let place = |v: u32| corners.binary_search(&v).unwrap_or(0);
        let mut steps = Vec::with_capacity(corners.len());
        for border in &borders {
            let next = border.iter().cycle().skip(1);
            steps.extend(border.iter().zip(next).map(|(a, b)| [place(*a), place(*b)]));
        }
        let border: Vec<P3> = corners.iter().map(|v| cuts.points[*v as usize]).collect();
        Sheet {
            surface: &patch.surface,
            flat: Flat::new(&patch.surface, patch.outward, &border),
            corners,
            border,
            steps,
            inner: Vec::new(),
        }
    }

    /// The triangles as places in the corners, then the inner points; counter-clockwise seen from outside.
    fn triangles(&mut self, fineness: &Fineness) -> Vec<[usize; 3]> {
        if let [_, _, _] = self.steps[..] {
            let [a, b, c] = [0, 1, 2].map(|k| self.steps[k][0]);
            if self.surface.is_plane() {
                return vec![[a, b, c]];
            }
        }
        let laid = |p: &P3| point2(&self.flat.at(p));
        let points: Vec<Point2<f64>> = self.border.iter().map(laid).collect();
        let conflict = |_| debug_assert!(false, "the border of a patch crosses itself");
        let cells = Cells::try_bulk_load_cdt(points, self.steps.clone(), conflict);
        // Only infinite or absurdly small coordinates are refused, and no solid has them.
        let Ok(mut cells) = cells else {
            debug_assert!(false, "the points of a patch cannot be cut into triangles");
            return Vec::new();
        };
        if !self.surface.is_plane() {
            for at in self.lattice(fineness) {
                self.add(&mut cells, &at);
            }
            for _ in 0..ROUNDS {
                let coarse = self.coarse(&cells, fineness);
                let before = self.inner.len();
                for at in &coarse {
                    self.add(&mut cells, at);
                }
                if self.inner.len() == before {
                    break;
                }
            }
        }
        let mut triangles = inner_triangles(&cells, &self.steps);
        self.exchange_diagonals(&cells, &mut triangles);
        triangles
    }

    /// Adds a point inside, unless it falls on a border or on another point.
    fn add(&mut self, cells: &mut Cells, at: &V2) {
        let place = point2(at);
        let free = match cells.locate(place) {
            PositionInTriangulation::OnFace(_) => true,
            PositionInTriangulation::OnEdge(edge) => {
                !cells.directed_edge(edge).is_constraint_edge()
            }
            _ => false,
        };
        if free && cells.insert(place).is_ok() {
            self.inner.push(self.flat.back(at));
        }
    }

    fn point(&self, k: usize) -> &P3 {
        self.border
            .get(k)
            .unwrap_or_else(|| &self.inner[k - self.border.len()])
    }

    /// Rows of points inside a patch that bends both ways, as far apart as triangles may be long.
    #[allow(
        clippy::cast_possible_truncation,
        clippy::cast_sign_loss,
        reason = "a small number of rows"
    )]
    fn lattice(&self, fineness: &Fineness) -> Vec<V2> {
        let Some(spacing) = spacing(self.surface, fineness) else {
            return Vec::new();
        };
        let border: Vec<V2> = self.border.iter().map(|p| self.flat.at(p)).collect();
        let low = border.iter().fold(border[0], |low, p| low.inf(p));
        let high = border.iter().fold(border[0], |high, p| high.sup(p));
        let size = high - low;
        let rows = [0, 1].map(|k| (size[k] / spacing[k]).ceil().clamp(1.0, MOST_ROWS));
        let step = V2::new(size.x / rows[0], size.y / rows[1]);
        let ends: Vec<[V2; 2]> = self.steps.iter().map(|s| s.map(|k| border[k])).collect();
        let mut found = Vec::new();
        for i in 1..rows[1] as u32 {
            let up = low.y + step.y * f64::from(i);
            let crossings = crossings(&ends, up);
            for j in 1..rows[0] as u32 {
                let at = V2::new(low.x + step.x * f64::from(j), up);
                let before = crossings.partition_point(|x| *x < at.x);
                let scaled = |p: &V2| V2::new((p.x - at.x) / step.x, (p.y - at.y) / step.y).norm();
                if before % 2 == 1 && border.iter().all(|p| scaled(p) > CLEAR) {
                    found.push(at);
                }
            }
        }
        found
    }

    /// Where to add points: in the middle of the longest free sides of triangles that are too coarse.
    fn coarse(&self, cells: &Cells, fineness: &Fineness) -> Vec<V2> {
        let turn = fineness.angle_degrees.to_radians();
        let mut found: Vec<([usize; 2], V2)> = Vec::new();
        for corners in inner_triangles(cells, &self.steps) {
            if !self.is_coarse(corners, fineness.chord_mm, turn) {
                continue;
            }
            let at = corners.map(|k| self.flat.at(self.point(k)));
            let sides = [[0, 1], [1, 2], [2, 0]];
            let free = sides.into_iter().filter(|[i, j]| {
                let ends = [corners[*i], corners[*j]];
                let is_step = |s: &[usize; 2]| *s == ends || *s == [ends[1], ends[0]];
                ends.iter().any(|k| *k >= self.border.len()) || !self.steps.iter().any(is_step)
            });
            let length = |[i, j]: &[usize; 2]| (at[*i] - at[*j]).norm();
            if let Some([i, j]) = free.max_by(|s, t| length(s).total_cmp(&length(t))) {
                let mut ends = [corners[i], corners[j]];
                ends.sort_unstable();
                found.push((ends, 0.5 * (at[i] + at[j])));
            }
        }
        found.sort_unstable_by_key(|(ends, _)| *ends);
        found.dedup_by_key(|(ends, _)| *ends);
        found.into_iter().map(|(_, at)| at).collect()
    }

    /// Whether a triangle leaves the surface too far, or the surface turns too much across it.
    fn is_coarse(&self, corners: [usize; 3], chord: f64, turn: f64) -> bool {
        let [a, b, c] = corners.map(|k| self.point(k));
        let middles = [
            nalgebra::center(a, b),
            nalgebra::center(b, c),
            nalgebra::center(c, a),
            P3::from((a.coords + b.coords + c.coords) / 3.0),
        ];
        if middles
            .iter()
            .any(|m| self.surface.distance(m).abs() > chord)
        {
            return true;
        }
        let [n, m, o] = [a, b, c].map(|p| self.surface.normal(p));
        let most = crate::geom::num::sin_cos(turn).0 * 1.001;
        // A cone has no normal at its apex.
        let apex = |p: &P3| match self.surface.turned() {
            Some(t) => matches!(t.profile, Profile::Cone { .. }) && t.split(p).1.norm() < THIN,
            None => false,
        };
        let turns = |p: &P3, u: &crate::geom::V3, q: &P3, v: &crate::geom::V3| {
            u.cross(v).norm() > most && !apex(p) && !apex(q)
        };
        turns(a, &n, b, &m) || turns(b, &m, c, &o) || turns(c, &o, a, &n)
    }

    /// Exchanges the long side of slivers for the other diagonal of the two triangles along it, where that helps.
    fn exchange_diagonals(&self, cells: &Cells, triangles: &mut [[usize; 3]]) {
        let at: Vec<V2> = cells
            .vertices()
            .map(|v| V2::new(v.position().x, v.position().y))
            .collect();
        let mut owner: FxHashMap<[usize; 2], usize> = FxHashMap::default();
        for (t, corners) in triangles.iter().enumerate() {
            owner.extend(sides(*corners).map(|side| (side, t)));
        }
        let mut todo: Vec<usize> = (0..triangles.len())
            .filter(|t| height(triangles[*t].map(|k| at[k])) < THIN)
            .collect();
        // Each exchange makes the worst triangle of two better; the bound is for rounding's sake.
        for _ in 0..8 * triangles.len() {
            let Some(t) = todo.pop() else {
                break;
            };
            let [a, b, c] = longest_first(triangles[t], &at);
            let Some(&other) = owner.get(&[b, a]) else {
                continue;
            };
            let Some(d) = triangles[other].into_iter().find(|k| *k != a && *k != b) else {
                continue;
            };
            let worst = |pair: [[usize; 3]; 2]| {
                let heights = pair.map(|t| height(t.map(|k| at[k])));
                heights[0].min(heights[1])
            };
            let pair = [[a, d, c], [d, b, c]];
            if worst(pair) <= worst([triangles[t], triangles[other]]) {
                continue;
            }
            owner.remove(&[a, b]);
            owner.remove(&[b, a]);
            for (place, corners) in [t, other].into_iter().zip(pair) {
                triangles[place] = corners;
                owner.extend(sides(corners).map(|side| (side, place)));
                if height(corners.map(|k| at[k])) < THIN {
                    todo.insert(0, place);
                }
            }
        }
    }
}

fn point2(at: &V2) -> Point2<f64> {
    Point2::new(settled(at.x), settled(at.y))
}

fn sides([a, b, c]: [usize; 3]) -> [[usize; 2]; 3] {
    [[a, b], [b, c], [c, a]]
}

/// The corners in turn, the longest side between the first two.
fn longest_first(corners: [usize; 3], at: &[V2]) -> [usize; 3] {
    let length = |k: usize| (at[corners[k]] - at[corners[(k + 1) % 3]]).norm();
    let first = [0, 1, 2]
        .into_iter()
        .max_by(|i, j| length(*i).total_cmp(&length(*j)))
        .unwrap_or(0);
    [0, 1, 2].map(|k| corners[(first + k) % 3])
}

/// The height of a triangle above its longest side, negative if it is turned over.
fn height([a, b, c]: [V2; 3]) -> f64 {
    let longest = (b - a).norm().max((c - b).norm()).max((a - c).norm());
    (b - a).perp(&(c - a)) / longest
}

/// Where borders cross a level, ascending.
fn crossings(ends: &[[V2; 2]], level: f64) -> Vec<f64> {
    let mut found: Vec<f64> = ends
        .iter()
        .filter(|[a, b]| (a.y <= level) != (b.y <= level))
        .map(|[a, b]| a.x + (level - a.y) / (b.y - a.y) * (b.x - a.x))
        .collect();
    found.sort_unstable_by(f64::total_cmp);
    found
}

/// How far apart points on a ball or torus may be, in the flat, right and up.
fn spacing(surface: &Surface, fineness: &Fineness) -> Option<[f64; 2]> {
    if !bends_both_ways(surface) {
        return None;
    }
    // A chord of length l leaves a circle of radius r by l^2 / 8r.
    let turn = fineness.angle_degrees.to_radians();
    let length = |r: f64| {
        let chord = (8.0 * r * fineness.chord_mm * BOTH_WAYS[0]).sqrt();
        chord.min(turn * r * BOTH_WAYS[1])
    };
    match surface.turned()?.profile {
        Profile::Torus { major, minor } => Some([length(major + minor), length(minor)]),
        Profile::Sphere { radius } => Some([length(radius); 2]),
        _ => None,
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
    use super::*;
    use crate::geom::V3;

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

    /// 24 sides at 15 degrees; a chord of 0.05 mm alone would leave ten at a radius of 1 mm.
    #[test]
    fn small_holes_stay_round() {
        let mesh = washer(1.0, 3.0, 2.0).to_mesh(&Fineness::default());
        let at_hole = mesh
            .points
            .iter()
            .filter(|p| p[0].hypot(p[1]) < 1.1)
            .count();
        assert_eq!(at_hole, 2 * 24);
    }
}

//! Cuts the faces of a solid into triangles that close without a gap.
//!
//! Each face becomes a constrained Delaunay triangulation of its own corners, holes left out. Every corner on a border
//! is used, so neighbours meet corner to corner, and no triangle is flat as long as the face is not.

use super::region::axes_across;
use super::{Face, Polyhedron};
use rustc_hash::{FxHashMap, FxHashSet};
use spade::{ConstrainedDelaunayTriangulation, Point2, Triangulation};

/// A closed surface of triangles.
#[derive(Clone, Debug, Default, PartialEq)]
pub(crate) struct Mesh {
    /// Corners, `[x, y, z]` in millimetres, each once.
    pub points: Vec<[f64; 3]>,
    /// Triangles as places in `points`, counter-clockwise seen from outside.
    pub triangles: Vec<[u32; 3]>,
    /// The face each triangle is part of, a place in the solid's faces.
    pub(crate) faces: Vec<u32>,
}

/// How closely triangles follow curved faces; plane faces are always exact.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Fineness {
    /// How far a triangle may be from the exact surface, in millimetres. Default: 0.05, finer than a printer's nozzle
    /// and about what a print shows.
    pub chord_mm: f64,
    /// By how much the surface may turn from one corner of a triangle to another, in degrees. Default: 15, so that a small
    /// hole, of which the chord alone would leave a hexagon, still gets 24 sides and lets its screw through. It does not
    /// matter where triangles are within a fiftieth of the chord anyway.
    pub angle_degrees: f64,
}

impl Default for Fineness {
    fn default() -> Self {
        Fineness {
            chord_mm: 0.05,
            angle_degrees: 15.0,
        }
    }
}

impl Fineness {
    /// The nearest that makes sense for a part of some size in millimetres: a chord of a millionth of it at least, an
    /// angle from 1 to 60 degrees. What is not a number becomes the default.
    pub(crate) fn within(&self, size: f64) -> Self {
        let default = Fineness::default();
        let or = |x: f64, other: f64| if x.is_nan() { other } else { x };
        Fineness {
            chord_mm: or(self.chord_mm, default.chord_mm).clamp(size * 1e-6, size),
            angle_degrees: or(self.angle_degrees, default.angle_degrees).clamp(1.0, 60.0),
        }
    }
}

impl Polyhedron {
    /// The surface as triangles that close without a gap, face by face; only the solid's own corners are used.
    pub(crate) fn to_mesh(&self) -> Mesh {
        let mut mesh = Mesh {
            points: self.corners().collect(),
            ..Mesh::default()
        };
        for (f, face) in (0_u32..).zip(&self.faces) {
            mesh.triangles.extend(triangles_of(self, face));
            mesh.faces.resize(mesh.triangles.len(), f);
        }
        mesh
    }
}

/// The triangles of one face as places in [`Polyhedron::vertices`], counter-clockwise seen from outside.
///
/// Constrained Delaunay triangulation of the corners seen along the axis that the face looks along most; dropping that
/// coordinate keeps points on a common axis-parallel line exactly on it.
pub(crate) fn triangles_of(solid: &Polyhedron, face: &Face) -> Vec<[u32; 3]> {
    if let Some(simple) = small_face(face) {
        return simple;
    }
    let flat = Flat::of(solid, face);
    let conflict = |_| debug_assert!(false, "the border of a face crosses itself");
    let cells = ConstrainedDelaunayTriangulation::<Point2<f64>>::try_bulk_load_cdt(
        flat.points,
        flat.steps.clone(),
        conflict,
    );
    // Only infinite or absurdly small coordinates are refused, and no solid has them.
    let Ok(cells) = cells else {
        debug_assert!(false, "the corners of a face cannot be cut into triangles");
        return Vec::new();
    };
    inner_triangles(&cells, &flat.steps)
        .into_iter()
        .map(|t| t.map(|k| flat.corners[k]))
        .collect()
}

/// A triangle needs no cutting.
fn small_face(face: &Face) -> Option<Vec<[u32; 3]>> {
    match face.loops.as_slice() {
        [only] => <[u32; 3]>::try_from(only.as_slice()).ok().map(|t| vec![t]),
        _ => None,
    }
}

/// A face laid flat, seen from outside.
struct Flat {
    /// Its different corners, places in [`Polyhedron::vertices`].
    corners: Vec<u32>,
    /// Where they lie, in the order of `corners`.
    points: Vec<Point2<f64>>,
    /// The steps of its border loops as places in `corners`; the face lies to the left.
    steps: Vec<[usize; 2]>,
}

impl Flat {
    fn of(solid: &Polyhedron, face: &Face) -> Self {
        let [right, up] = axes_across(&face.plane.normal);
        let mut corners: Vec<u32> = face.loops.concat();
        corners.sort_unstable();
        corners.dedup();
        let place = |v: u32| corners.binary_search(&v).unwrap_or(0);
        let mut steps = Vec::with_capacity(corners.len());
        for border in &face.loops {
            let next = border.iter().cycle().skip(1);
            steps.extend(border.iter().zip(next).map(|(a, b)| [place(*a), place(*b)]));
        }
        let at = |v: &u32| {
            let p = &solid.vertices[*v as usize];
            askew([p[right], p[up]])
        };
        Flat {
            points: corners.iter().map(at).collect(),
            corners,
            steps,
        }
    }
}

/// A place of a flat as the triangulation gets it: pushed sideways a little, the more the higher it lies.
///
/// Corners of squares lie on one circle, points of a circle anyway. Which of them make a triangle would be a tie each time,
/// and only exact arithmetic, which is slow, can tell a tie. Pushed askew, circles are circles no more. Lines stay lines:
/// places are rounded first, so that what lies on one line along an axis still does to the last bit.
pub(super) fn askew([right, up]: [f64; 2]) -> Point2<f64> {
    let [right, up] = [right, up].map(|x| (x * FINEST).round() / FINEST);
    Point2::new(right + up * PUSHED, up)
}

/// Places are rounded to this part of a millimetre, a millionth of a micrometre; a power of two, so that no digit of a part
/// up to a hundred metres long is lost when it is pushed.
const FINEST: f64 = 1_073_741_824.0;

/// By how much places are pushed sideways; a power of two as well.
const PUSHED: f64 = 1.0 / 32.0;

/// The triangles that can be reached from the left of a border step without crossing the border.
pub(super) fn inner_triangles(
    cells: &ConstrainedDelaunayTriangulation<Point2<f64>>,
    steps: &[[usize; 2]],
) -> Vec<[usize; 3]> {
    let steps: FxHashSet<[usize; 2]> = steps.iter().copied().collect();
    let mut inside = vec![false; cells.num_all_faces()];
    let mut todo = Vec::new();
    for edge in cells.directed_edges() {
        if steps.contains(&[edge.from().index(), edge.to().index()]) {
            todo.extend(edge.face().as_inner());
        }
    }
    while let Some(cell) = todo.pop() {
        if std::mem::replace(&mut inside[cell.index()], true) {
            continue;
        }
        let open = cell
            .adjacent_edges()
            .into_iter()
            .filter(|e| !e.is_constraint_edge());
        todo.extend(open.filter_map(|e| e.rev().face().as_inner()));
    }
    let chosen = cells.inner_faces().filter(|cell| inside[cell.index()]);
    chosen
        .map(|cell| cell.vertices().map(|v| v.index()))
        .collect()
}

impl Mesh {
    /// Whether every side of every triangle runs once each way: the surface is closed and faces one way.
    pub(crate) fn is_closed(&self) -> bool {
        let mut sides: FxHashMap<[u32; 2], i32> = FxHashMap::default();
        for &[a, b, c] in &self.triangles {
            for side in [[a, b], [b, c], [c, a]] {
                if sides.insert(side, 1).is_some() || side[0] == side[1] {
                    return false;
                }
            }
        }
        sides.keys().all(|[a, b]| sides.contains_key(&[*b, *a]))
    }
}

#[cfg(test)]
mod tests {
    use super::super::blocks::{Dice, pinched};
    use super::super::measure::Moments;
    use super::super::shapes::{block, loft, prism, rectangle, staircase, windows};
    use super::*;
    use crate::geom::{P3, V3};

    /// Twice the area of a triangle along its normal.
    fn doubled_area(mesh: &Mesh, triangle: [u32; 3]) -> V3 {
        let [a, b, c] = triangle.map(|v| V3::from(mesh.points[v as usize]));
        (b - a).cross(&(c - a))
    }

    /// Closed, without flat triangles, and face by face of the right area and direction.
    fn assert_sound(solid: &Polyhedron) {
        let mesh = solid.to_mesh();
        assert!(mesh.is_closed());
        let mut areas = vec![0.0; solid.faces.len()];
        for (t, f) in mesh.triangles.iter().zip(&mesh.faces) {
            let double = doubled_area(&mesh, *t).dot(&solid.faces[*f as usize].plane.normal);
            assert!(double > 1e-6, "flat or turned triangle {t:?}");
            areas[*f as usize] += double / 2.0;
        }
        for (face, area) in solid.faces.iter().zip(areas) {
            let exact = Moments::of_face(solid, face, &P3::origin()).area;
            assert!((area - exact).abs() < 1e-9 * exact, "{area} is not {exact}");
        }
    }

    #[test]
    fn a_block_is_twelve_triangles() {
        let solid = block([40.0, 20.0, 30.0]);
        assert_sound(&solid);
        assert_eq!(solid.to_mesh().triangles.len(), 12);
    }

    /// A polygon with n corners and h holes is cut into n + 2h - 2 triangles (from Euler's formula).
    #[test]
    fn holes_stay_open() {
        let solid = windows(3);
        assert_sound(&solid);
        let big = 40 + 2 * 9 - 2;
        assert_eq!(solid.to_mesh().triangles.len(), 2 * big + 2 * (4 + 36));
    }

    #[test]
    fn corners_on_a_straight_border_are_used() {
        // A step against the side of a larger block: its edges end on straight edges of the block's faces.
        let side = vec![
            [0.0, 0.0],
            [30.0, 0.0],
            [30.0, 10.0],
            [10.0, 10.0],
            [10.0, 30.0],
            [0.0, 30.0],
        ];
        assert_sound(&prism([0.0, 5.0], &[side]));
        assert_sound(&staircase(20));
    }

    #[test]
    fn slanted_faces_with_holes_close() {
        let shaft = |s: f64| {
            let mut hole = rectangle([10.0, 10.0], [20.0 - s, 20.0 - s]);
            hole.reverse();
            hole
        };
        let outer = [
            rectangle([0.0, 0.0], [31.0, 33.0]),
            rectangle([3.0, 4.0], [25.0, 26.0]),
        ];
        assert_sound(&loft([0.0, 17.0], &[outer, [shaft(0.0), shaft(1.7)]]));
    }

    #[test]
    fn a_face_that_passes_one_corner_twice_closes() {
        let solid = pinched().solid();
        let twice = |l: &Vec<u32>| (0..l.len()).any(|i| l[..i].contains(&l[i]));
        assert!(solid.faces.iter().flat_map(|f| &f.loops).any(twice));
        assert_sound(&solid);
    }

    #[test]
    fn meshes_of_random_blocks_are_closed_and_weigh_the_same() {
        for blocks in Dice(2).pieces(400) {
            let solid = blocks.solid();
            assert_sound(&solid);
            let mesh = solid.to_mesh();
            let volume: f64 = mesh
                .triangles
                .iter()
                .map(|t| doubled_area(&mesh, *t).dot(&V3::from(mesh.points[t[0] as usize])) / 6.0)
                .sum();
            assert!((volume - blocks.volume()).abs() < 1e-6);
        }
    }
}

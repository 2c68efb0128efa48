//! Solids and sheets for tests, made without any of the engine: from lists of faces and by sweeping an outline.

use super::{Edge, Face, Polyhedron};
use crate::geom::plane::Plane;
use crate::geom::tolerance::Tolerance;
use crate::geom::{P3, V3};
use crate::sheet::{Drawing, Projection, Segment, Unit, View};
use petgraph::unionfind::UnionFind;
use std::collections::BTreeMap;

/// A solid from corners and faces, each face a list of loops with the outer one first; faces must be maximal.
///
/// Shells are found from the edges; the one with the greatest volume comes first.
pub(crate) fn from_faces(corners: &[[f64; 3]], faces: &[Vec<Vec<u32>>]) -> Polyhedron {
    let vertices: Vec<P3> = corners.iter().map(|c| P3::from(*c)).collect();
    let edges = paired(faces);
    let mut groups = UnionFind::<usize>::new(faces.len());
    for edge in &edges {
        groups.union(edge.faces[0] as usize, edge.faces[1] as usize);
    }
    let roots = groups.into_labeling();
    let mut volumes = BTreeMap::new();
    for (face, root) in faces.iter().zip(&roots) {
        *volumes.entry(*root).or_insert(0.0) += volume_under(&vertices, face);
    }
    let mut order: Vec<(usize, f64)> = volumes.into_iter().collect();
    order.sort_by(|a, b| b.1.total_cmp(&a.1));
    let shell_of = |root| order.iter().position(|(r, _)| *r == root).unwrap() as u32;
    let faces = faces
        .iter()
        .zip(&roots)
        .map(|(loops, root)| Face {
            plane: Plane::through(&vertices[loops[0][0] as usize], &area(&vertices, &loops[0])),
            loops: loops.clone(),
            shell: shell_of(*root),
        })
        .collect();
    Polyhedron {
        vertices,
        edges,
        faces,
        shells: order.len() as u32,
    }
}

/// Twice the vector area of a loop.
fn area(vertices: &[P3], corners: &[u32]) -> V3 {
    let at = |i: usize| vertices[corners[i % corners.len()] as usize].coords;
    (0..corners.len()).map(|i| at(i).cross(&at(i + 1))).sum()
}

/// Six times the signed volume between a face and the origin.
fn volume_under(vertices: &[P3], loops: &[Vec<u32>]) -> f64 {
    let normal: V3 = loops.iter().map(|l| area(vertices, l)).sum();
    normal.dot(&vertices[loops[0][0] as usize].coords)
}

/// Edges from the directed steps of all loops: each step with one that runs the other way.
fn paired(faces: &[Vec<Vec<u32>>]) -> Vec<Edge> {
    let mut steps: BTreeMap<[u32; 2], [Vec<u32>; 2]> = BTreeMap::new();
    for (f, loops) in faces.iter().enumerate() {
        for corners in loops {
            for i in 0..corners.len() {
                let (a, b) = (corners[i], corners[(i + 1) % corners.len()]);
                steps.entry([a.min(b), a.max(b)]).or_default()[usize::from(a > b)].push(f as u32);
            }
        }
    }
    steps
        .into_iter()
        .flat_map(|(ends, [there, back])| {
            assert_eq!(there.len(), back.len(), "open border at {ends:?}");
            there.into_iter().zip(back).map(move |(f, g)| Edge {
                ends,
                faces: [f, g],
            })
        })
        .collect()
}

/// A frustum or prism: outlines counter-clockwise seen from above, holes clockwise, at two heights.
///
/// `loops[k]` is the k-th outline at the lower and at the upper height.
pub(crate) fn loft(heights: [f64; 2], loops: &[[Vec<[f64; 2]>; 2]]) -> Polyhedron {
    let mut corners = Vec::new();
    let mut faces = vec![Vec::new(), Vec::new()];
    for [lower, upper] in loops {
        let (n, base) = (lower.len() as u32, corners.len() as u32);
        corners.extend(lower.iter().map(|p| [p[0], p[1], heights[0]]));
        corners.extend(upper.iter().map(|p| [p[0], p[1], heights[1]]));
        faces[0].push((base..base + n).rev().collect());
        faces[1].push((base + n..base + 2 * n).collect());
        for i in 0..n {
            let (a, b) = (base + i, base + (i + 1) % n);
            faces.push(vec![vec![a, b, b + n, a + n]]);
        }
    }
    from_faces(&corners, &faces)
}

/// A prism: outline counter-clockwise seen from above, holes clockwise.
pub(crate) fn prism(heights: [f64; 2], loops: &[Vec<[f64; 2]>]) -> Polyhedron {
    let both: Vec<_> = loops.iter().map(|l| [l.clone(), l.clone()]).collect();
    loft(heights, &both)
}

/// A pyramid over a counter-clockwise outline at height 0.
pub(crate) fn pyramid(outline: &[[f64; 2]], apex: [f64; 3]) -> Polyhedron {
    let n = outline.len() as u32;
    let mut corners: Vec<[f64; 3]> = outline.iter().map(|p| [p[0], p[1], 0.0]).collect();
    corners.push(apex);
    let mut faces: Vec<Vec<Vec<u32>>> = vec![vec![(0..n).rev().collect()]];
    faces.extend((0..n).map(|i| vec![vec![i, (i + 1) % n, n]]));
    from_faces(&corners, &faces)
}

/// The corners of an upright rectangle, counter-clockwise.
pub(crate) fn rectangle(lo: [f64; 2], hi: [f64; 2]) -> Vec<[f64; 2]> {
    vec![lo, [hi[0], lo[1]], hi, [lo[0], hi[1]]]
}

/// A block with one corner at the origin.
pub(crate) fn block(size: [f64; 3]) -> Polyhedron {
    prism([0.0, size[2]], &[rectangle([0.0, 0.0], [size[0], size[1]])])
}

/// A staircase of `n` steps along x, each 10 mm long and high, 30 mm deep.
pub(crate) fn staircase(n: usize) -> Polyhedron {
    let mut side = vec![[0.0, 0.0], [n as f64 * 10.0, 0.0]];
    for i in (0..n).rev() {
        side.push([(i + 1) as f64 * 10.0, (i + 1) as f64 * 10.0]);
        side.push([i as f64 * 10.0, (i + 1) as f64 * 10.0]);
    }
    // Counter-clockwise seen along +z; laid on its side so that heights become depths.
    upright(&prism([0.0, 30.0], &[side]))
}

/// A plate with `n` times `n` square windows of 10 mm, 10 mm apart, 10 mm thick.
pub(crate) fn windows(n: usize) -> Polyhedron {
    let size = n as f64 * 20.0 + 10.0;
    let mut loops = vec![rectangle([0.0, 0.0], [size, size])];
    for k in 0..n * n {
        let lo = [(k % n) as f64 * 20.0 + 10.0, (k / n) as f64 * 20.0 + 10.0];
        let mut hole = rectangle(lo, [lo[0] + 10.0, lo[1] + 10.0]);
        hole.reverse();
        loops.push(hole);
    }
    prism([0.0, 10.0], &loops)
}

/// The solid turned a quarter about x, so that what was up faces the viewer of the front: (x, y, z) to (x, -z, y).
pub(crate) fn upright(solid: &Polyhedron) -> Polyhedron {
    let corners: Vec<[f64; 3]> = solid.vertices.iter().map(|p| [p.x, -p.z, p.y]).collect();
    let faces: Vec<_> = solid.faces.iter().map(|f| f.loops.clone()).collect();
    from_faces(&corners, &faces)
}

/// Lines per view: from, to and whether hidden, in object coordinates.
pub(crate) type Lines = [Vec<([f64; 2], [f64; 2], bool)>; 3];

/// A drawing with the given lines.
pub(crate) fn sheet_of(views: &Lines, tolerance: f64) -> Drawing {
    let mut axes: [Vec<f64>; 3] = Default::default();
    for (view, lines) in View::ALL.iter().zip(views) {
        for (from, to, _) in lines {
            for k in 0..2 {
                axes[view.axes()[k]].extend([from[k], to[k]]);
            }
        }
    }
    for axis in &mut axes {
        axis.sort_by(f64::total_cmp);
        axis.dedup_by(|a, b| (*a - *b).abs() < 1e-9);
    }
    let place = |axis: usize, x: f64| axes[axis].partition_point(|y| *y < x - 1e-9) as u32;
    let segments = |view: View| {
        let [right, up] = view.axes();
        let at = |p: [f64; 2]| [place(right, p[0]), place(up, p[1])];
        let lines = (0..).zip(&views[view.index()]);
        lines
            .map(|(line, (from, to, hidden))| Segment {
                from: at(*from),
                to: at(*to),
                hidden: *hidden,
                line,
            })
            .collect()
    };
    Drawing {
        projection: Projection::ThirdAngle,
        views: View::ALL.map(segments),
        arcs: Default::default(),
        carriers: Default::default(),
        all_curves: true,
        tolerance: Tolerance::new(tolerance).unwrap(),
        noise: 0.0,
        crossings: Tolerance::new(tolerance).unwrap(),
        corners: [[0.0; 2]; 3],
        unit: Unit::Millimetre,
        warnings: Vec::new(),
        problems: Vec::new(),
        axes,
    }
}

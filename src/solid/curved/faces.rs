//! Whole faces and edges of a solid with curved faces, as a person counts them.
//!
//! Patches of one surface that run into one another are one face, and edges between the same two faces that run on
//! smoothly are one edge: a bore is one face with a circle at each end. A modelling program that cuts a closed surface
//! open along a seam counts that seam as an edge and its end as a corner; here there is none.

use super::{CurvedEdge, CurvedSolid, Patch};
use crate::geom::surface::{Profile, Surface, Turned};
use crate::geom::{Few, V3};
use petgraph::unionfind::UnionFind;

/// Surfaces that differ by less than this share of the solid's size are one, as are directions that differ by less.
const ONE_SURFACE: f64 = 1e-6;

/// Where the direction of an edge at its end is looked for, as a share of its way.
const NEAR_END: f64 = 0.005;

/// Edges that meet at a smaller angle than this, in radians, run on into one another; more than a quarter circle turns
/// between the places where directions are looked for.
const BEND: f64 = 0.05;

/// Whole faces and edges.
pub(crate) struct Whole {
    /// Number of whole faces.
    pub(crate) faces: usize,
    /// The whole face that each patch is part of, counted from 0.
    pub(crate) face_of: Vec<u32>,
    /// The whole edges, each as its pieces, places in [`CurvedSolid::edges`], in order of the first.
    pub(crate) edges: Vec<Vec<u32>>,
    /// Number of corners: where a whole edge ends.
    pub(crate) vertices: usize,
}

impl Whole {
    /// Of a sound solid.
    pub(crate) fn of(solid: &CurvedSolid) -> Self {
        let [lo, hi] = solid.bounds();
        let slack = (hi - lo).norm() * ONE_SURFACE;
        let mut joined = UnionFind::<usize>::new(solid.faces.len());
        for edge in solid.edges.iter().filter(|e| e.smooth) {
            let [f, g] = edge.faces.map(|f| f as usize);
            if one_face(&solid.faces[f], &solid.faces[g], slack) {
                joined.union(f, g);
            }
        }
        let (faces, face_of) = numbered(&joined.into_labeling());
        let (edges, vertices) = whole_edges(solid, &face_of);
        Whole {
            faces,
            face_of: face_of
                .iter()
                .map(|f| u32::try_from(*f).expect("fewer than 2^32 faces"))
                .collect(),
            edges,
            vertices,
        }
    }
}

/// Which edges are tangent edges: two different faces, at most one of them plane, run into each other there without a bend.
pub(crate) fn tangent_edges(solid: &CurvedSolid) -> Vec<bool> {
    let [lo, hi] = solid.bounds();
    let slack = (hi - lo).norm() * ONE_SURFACE;
    let is_tangent = |edge: &CurvedEdge| {
        let [f, g] = edge.faces.map(|f| &solid.faces[f as usize]);
        let plane = f.surface.is_plane() && g.surface.is_plane();
        edge.smooth && !plane && !one_face(f, g, slack)
    };
    solid.edges.iter().map(is_tangent).collect()
}

/// Whether two neighbouring patches are parts of one face.
fn one_face(f: &Patch, g: &Patch, slack: f64) -> bool {
    let facing = |patch: &Patch| if patch.outward { 1.0 } else { -1.0 };
    match (&f.surface, &g.surface) {
        (Surface::Plane(a), Surface::Plane(b)) => {
            let (a_out, b_out) = (a.normal * facing(f), b.normal * facing(g));
            (a_out - b_out).norm() < ONE_SURFACE
                && (a.offset * facing(f) - b.offset * facing(g)).abs() < slack
        }
        (Surface::Turned(a), Surface::Turned(b)) => {
            f.outward == g.outward && one_turned(a, b, slack)
        }
        _ => false,
    }
}

fn one_turned(a: &Turned, b: &Turned, slack: f64) -> bool {
    let near = |x: f64, y: f64| (x - y).abs() < slack;
    let one_axis = a.axis.cross(&b.axis).norm() < ONE_SURFACE;
    let (height, off) = a.split(&b.origin);
    let one_line = one_axis && off.norm() < slack;
    match (a.profile, b.profile) {
        (Profile::Cylinder { radius: r }, Profile::Cylinder { radius: s }) => {
            one_line && near(r, s)
        }
        (
            Profile::Cone {
                radius: r,
                slope: m,
            },
            Profile::Cone {
                radius: s,
                slope: n,
            },
        ) => {
            let n = n * a.axis.dot(&b.axis).signum();
            one_line && (m - n).abs() < ONE_SURFACE && near(r + m * height, s)
        }
        (Profile::Sphere { radius: r }, Profile::Sphere { radius: s }) => {
            near(r, s) && (a.origin - b.origin).norm() < slack
        }
        (Profile::Torus { major: r, minor: m }, Profile::Torus { major: s, minor: n }) => {
            one_line && near(height, 0.0) && near(r, s) && near(m, n)
        }
        _ => false,
    }
}

/// How many labels there are, and the labels numbered in the order in which they appear.
fn numbered(labels: &[usize]) -> (usize, Vec<usize>) {
    let mut number = vec![usize::MAX; labels.len()];
    let mut count = 0;
    let all = labels
        .iter()
        .map(|label| {
            if number[*label] == usize::MAX {
                number[*label] = count;
                count += 1;
            }
            number[*label]
        })
        .collect();
    (count, all)
}

/// The whole edges, and how many corners they have.
fn whole_edges(solid: &CurvedSolid, face_of: &[usize]) -> (Vec<Vec<u32>>, usize) {
    let parts = |edge: &CurvedEdge| edge.faces.map(|f| face_of[f as usize]);
    let bordering = |edge: &CurvedEdge| !edge.smooth || parts(edge)[0] != parts(edge)[1];
    let mut at: Vec<Few<(u32, usize), 4>> = vec![Few::new(); solid.vertices.len()];
    for (e, edge) in (0_u32..).zip(&solid.edges).filter(|(_, e)| bordering(e)) {
        for (end, vertex) in edge.ends.iter().enumerate() {
            at[*vertex as usize].push((e, end));
        }
    }
    let mut joined = UnionFind::<usize>::new(solid.edges.len());
    let mut vertices = 0;
    for meeting in at {
        match meeting[..] {
            [] => {}
            [(e, i), (f, j)] if runs_on(solid, face_of, [(e, i), (f, j)]) => {
                joined.union(e as usize, f as usize);
            }
            _ => vertices += 1,
        }
    }
    let labels = joined.into_labeling();
    let mut whole: Vec<Vec<u32>> = Vec::new();
    let mut place = vec![usize::MAX; labels.len()];
    for (e, _) in (0_u32..).zip(&solid.edges).filter(|(_, e)| bordering(e)) {
        let label = labels[e as usize];
        if place[label] == usize::MAX {
            place[label] = whole.len();
            whole.push(Vec::new());
        }
        whole[place[label]].push(e);
    }
    (whole, vertices)
}

/// Whether two edges that end at one corner run on into one another between the same two faces.
fn runs_on(solid: &CurvedSolid, face_of: &[usize], ends: [(u32, usize); 2]) -> bool {
    let [(e, i), (f, j)] = ends;
    if e == f {
        return false;
    }
    let [e, f] = [e, f].map(|k| &solid.edges[k as usize]);
    let sides = |edge: &CurvedEdge| {
        let mut sides = edge.faces.map(|f| face_of[f as usize]);
        sides.sort_unstable();
        sides
    };
    // Near the end, for at the end itself two surfaces may touch and leave no direction.
    let outwards = |edge: &CurvedEdge, end: usize| match end {
        0 => -edge.path.direction(NEAR_END),
        _ => edge.path.direction(1.0 - NEAR_END),
    };
    let (a, b): (V3, V3) = (outwards(e, i), outwards(f, j));
    sides(e) == sides(f) && (a + b).norm() < BEND
}

/// Twice the genus by Euler and Poincaré, from patches: V - E + F - (L - F) = 2 (S - G), with V corners, E edges, F
/// patches, L borders, S shells and G the genus. Odd or negative if the solid is not sound.
pub(crate) fn doubled_genus(solid: &CurvedSolid) -> i64 {
    let borders: usize = solid.faces.iter().map(|f| border_pieces(solid, f)).sum();
    let count = |n: usize| i64::try_from(n).unwrap_or(i64::MAX);
    2 * i64::from(solid.shells) - count(solid.vertices.len()) + count(solid.edges.len())
        - 2 * count(solid.faces.len())
        + count(borders)
}

/// How many pieces the border of a patch has: borders that share a corner are one piece.
fn border_pieces(solid: &CurvedSolid, patch: &Patch) -> usize {
    let mut pieces = patch.borders.len();
    if pieces < 2 {
        return pieces;
    }
    let mut corners: Vec<(u32, usize)> = Vec::new();
    for (k, border) in patch.borders.iter().enumerate() {
        let start =
            |step: &super::Step| solid.edges[step.edge as usize].ends[usize::from(!step.forward)];
        corners.extend(border.iter().map(|step| (start(step), k)));
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

//! Every plane spanned by two candidate edges at a vertex.
//!
//! Planes across an axis are known exactly, by the axis and the place on it. A slanting plane starts from the two edges
//! that span it best, takes in all edges connected to them that lie on it, and is then fitted to all their ends (least
//! squares), so that a face drawn a little inaccurately still lies in one plane.

use crate::geom::arena::{Arena, Id};
use crate::geom::plane::Plane;
use crate::geom::tolerance::{ROUNDING, Tolerance};
use crate::geom::{Few, P3, V3};
use crate::wireframe::{Edge, Vertex, Wireframe};
use nalgebra::Matrix3;
use rustc_hash::FxHashMap;

/// The planes and the edges on each.
pub(super) struct Surfaces {
    pub(super) planes: Arena<Plane>,
    pub(super) edges: Vec<Vec<Id<Edge>>>,
}

/// Finds all planes.
pub(super) fn surfaces(wireframe: &Wireframe, tolerance: Tolerance) -> Surfaces {
    let mut finder = Finder {
        wireframe,
        slack: tolerance.slack(),
        planes: Arena::default(),
        edges: Vec::new(),
        on_edge: vec![Few::new(); wireframe.edges.len()],
        straight: FxHashMap::default(),
        slanting: Vec::new(),
    };
    let mut corners = Vec::new();
    for vertex in wireframe.vertices.ids() {
        let here = &wireframe.at_vertex[vertex.ix()];
        for (i, &a) in here.iter().enumerate() {
            for &b in &here[..i] {
                corners.extend(finder.straight_or_corner(vertex, a, b));
            }
        }
    }
    // The widest corners span their planes best.
    corners.sort_by(|p, q| q.area.total_cmp(&p.area));
    for corner in &corners {
        finder.slanting(corner);
    }
    Surfaces {
        planes: finder.planes,
        edges: finder.edges,
    }
}

/// Two edges at a vertex that span a slanting plane.
struct Corner {
    vertex: Id<Vertex>,
    edges: [Id<Edge>; 2],
    /// Twice the area of the triangle between the vertex and the far ends.
    area: f64,
}

struct Finder<'a> {
    wireframe: &'a Wireframe,
    /// How far a vertex may lie off a slanting plane.
    slack: f64,
    planes: Arena<Plane>,
    edges: Vec<Vec<Id<Edge>>>,
    on_edge: Vec<Few<Id<Plane>, 4>>,
    /// Planes across an axis, by the axis and the place on it.
    straight: FxHashMap<(usize, u32), Id<Plane>>,
    slanting: Vec<Id<Plane>>,
}

impl Finder<'_> {
    fn at(&self, vertex: Id<Vertex>) -> P3 {
        self.wireframe.vertices[vertex].at
    }

    /// Notes the plane through two edges at a vertex if it lies across an axis; else gives their corner, unless one edge
    /// continues the other.
    fn straight_or_corner(
        &mut self,
        vertex: Id<Vertex>,
        a: Id<Edge>,
        b: Id<Edge>,
    ) -> Option<Corner> {
        let w = self.wireframe;
        if w.edges[a].over == w.edges[b].over || self.share_a_plane(a, b) {
            return None;
        }
        let [p, q] = [a, b].map(|e| w.other_end(e, vertex));
        let ids = [vertex, p, q].map(|v| w.vertices[v].ids);
        let across =
            (0..3).find(|&axis| ids[0][axis] == ids[1][axis] && ids[0][axis] == ids[2][axis]);
        if let Some(axis) = across {
            let plane = self.straight(axis, ids[0][axis], vertex);
            self.put(plane, a);
            self.put(plane, b);
            return None;
        }
        let at = self.at(vertex);
        let area = (self.at(p) - at).cross(&(self.at(q) - at)).norm();
        Some(Corner {
            vertex,
            edges: [a, b],
            area,
        })
    }

    fn share_a_plane(&self, a: Id<Edge>, b: Id<Edge>) -> bool {
        let on_b = &self.on_edge[b.ix()];
        self.on_edge[a.ix()]
            .iter()
            .any(|plane| on_b.contains(plane))
    }

    fn straight(&mut self, axis: usize, place: u32, vertex: Id<Vertex>) -> Id<Plane> {
        if let Some(&known) = self.straight.get(&(axis, place)) {
            return known;
        }
        let mut normal = V3::zeros();
        normal[axis] = 1.0;
        let plane = self.add(Plane::through(&self.at(vertex), &normal));
        self.straight.insert((axis, place), plane);
        plane
    }

    fn add(&mut self, plane: Plane) -> Id<Plane> {
        self.edges.push(Vec::new());
        self.planes.push(plane)
    }

    /// Notes the slanting plane through a corner: a known one that passes it, or a new one with all edges connected.
    fn slanting(&mut self, corner: &Corner) {
        let [a, b] = corner.edges;
        if self.share_a_plane(a, b) {
            return;
        }
        let [p, q] = corner
            .edges
            .map(|e| self.wireframe.other_end(e, corner.vertex));
        let points = [corner.vertex, p, q].map(|v| self.at(v));
        let passes = |plane: &&Id<Plane>| {
            let plane = &self.planes[**plane];
            points
                .iter()
                .all(|point| plane.distance(point).abs() <= self.slack)
        };
        let known = self.slanting.iter().find(passes).copied();
        let plane = known.unwrap_or_else(|| {
            let normal = (points[1] - points[0]).cross(&(points[2] - points[0]));
            let plane = self.add(Plane::through(&points[0], &normal));
            self.slanting.push(plane);
            plane
        });
        self.put(plane, a);
        self.put(plane, b);
        self.spread(plane);
    }

    /// Takes in all edges connected to a plane's that lie on it, and fits it to all their ends.
    fn spread(&mut self, plane: Id<Plane>) {
        let w = self.wireframe;
        let mut next = 0;
        while next < self.edges[plane.ix()].len() {
            let edge = self.edges[plane.ix()][next];
            next += 1;
            for vertex in w.edges[edge].ends {
                for &beside in &w.at_vertex[vertex.ix()] {
                    let far = self.at(w.other_end(beside, vertex));
                    if self.planes[plane].distance(&far).abs() <= self.slack {
                        self.put(plane, beside);
                    }
                }
            }
        }
        let ends = self.edges[plane.ix()].iter().flat_map(|&e| w.edges[e].ends);
        let mut ends: Vec<Id<Vertex>> = ends.collect();
        ends.sort_unstable();
        ends.dedup();
        let points: Vec<P3> = ends.into_iter().map(|v| self.at(v)).collect();
        self.planes[plane] = fitted(self.planes[plane], &points);
    }

    /// Puts an edge on a plane, and with it all edges that continue it.
    fn put(&mut self, plane: Id<Plane>, edge: Id<Edge>) {
        let mut waiting = vec![edge];
        while let Some(edge) = waiting.pop() {
            if self.on_edge[edge.ix()].contains(&plane) {
                continue;
            }
            self.on_edge[edge.ix()].push(plane);
            self.edges[plane.ix()].push(edge);
            let Edge { ends, over } = &self.wireframe.edges[edge];
            let beside = ends.iter().flat_map(|v| &self.wireframe.at_vertex[v.ix()]);
            waiting.extend(beside.filter(|&&e| self.wireframe.edges[e].over == *over));
        }
    }
}

/// The plane nearest to all points by least squares: through their mean, across the direction of least spread.
///
/// Points that lie on `plane` already, but for rounding, leave it as it is.
pub(super) fn fitted(plane: Plane, points: &[P3]) -> Plane {
    if points.iter().all(|p| plane.distance(p).abs() <= ROUNDING) {
        return plane;
    }
    let mean = points.iter().fold(V3::zeros(), |sum, p| sum + p.coords) / count(points);
    let spread = points.iter().fold(Matrix3::zeros(), |sum, p| {
        let off = p.coords - mean;
        sum + off * off.transpose()
    });
    let eigen = spread.symmetric_eigen();
    let least = eigen.eigenvalues.imin();
    let normal: V3 = eigen.eigenvectors.column(least).into();
    let normal = if normal.dot(&plane.normal) < 0.0 {
        -normal
    } else {
        normal
    };
    Plane::through(&mean.into(), &normal)
}

#[allow(
    clippy::cast_precision_loss,
    reason = "a plane has far fewer than 2^52 vertices"
)]
fn count(points: &[P3]) -> f64 {
    points.len() as f64
}

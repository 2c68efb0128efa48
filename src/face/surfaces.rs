//! Every plane spanned by two candidate edges at a vertex.
//!
//! Planes that differ by no more than the tolerance over the whole drawing are one plane, and an edge lies on every
//! plane within the tolerance of both its ends.

use crate::geom::arena::{Arena, Id};
use crate::geom::plane::Plane;
use crate::geom::tolerance::Tolerance;
use crate::geom::{P3, V3};
use crate::wireframe::{Edge, Vertex, Wireframe};
use itertools::Itertools;
use rustc_hash::FxHashMap;

/// The planes and the edges on each.
pub(super) struct Surfaces {
    pub(super) planes: Arena<Plane>,
    pub(super) edges: Vec<Vec<Id<Edge>>>,
}

/// Finds all planes.
pub(super) fn surfaces(wireframe: &Wireframe, tolerance: Tolerance) -> Surfaces {
    let mut finder = Finder::new(wireframe, tolerance);
    for (vertex, [a, b]) in pairs(wireframe) {
        finder.span(vertex, a, b);
    }
    Surfaces {
        planes: finder.planes,
        edges: finder.edges,
    }
}

/// Every two edges at a vertex, those first that span most.
///
/// Short edges say little about the slope of a plane: they join one that longer edges have made.
fn pairs(wireframe: &Wireframe) -> Vec<(Id<Vertex>, [Id<Edge>; 2])> {
    let mut pairs = Vec::new();
    for vertex in wireframe.vertices.ids() {
        let here = &wireframe.at_vertex[vertex.ix()];
        let at = wireframe.vertices[vertex].at;
        let reach = |e: Id<Edge>| wireframe.vertices[wireframe.other_end(e, vertex)].at - at;
        for (i, &a) in here.iter().enumerate() {
            pairs.extend(
                here[..i]
                    .iter()
                    .map(|&b| (reach(a).cross(&reach(b)).norm(), vertex, [a, b])),
            );
        }
    }
    pairs.sort_by(|p, q| q.0.total_cmp(&p.0));
    pairs
        .into_iter()
        .map(|(_, vertex, edges)| (vertex, edges))
        .collect()
}

/// How finely slanting planes are sorted by their normals: cells per unit.
const NORMAL_CELLS: f64 = 32.0;

struct Finder<'a> {
    wireframe: &'a Wireframe,
    tolerance: Tolerance,
    corners: [P3; 8],
    /// The shortest side of the box around all vertices.
    extent: f64,
    planes: Arena<Plane>,
    edges: Vec<Vec<Id<Edge>>>,
    on_edge: Vec<Vec<Id<Plane>>>,
    /// Planes across an axis, by the axis and the place on it.
    straight: FxHashMap<(usize, u32), Id<Plane>>,
    /// Other planes, by the cell of their normal.
    slanting: FxHashMap<[i64; 3], Vec<Id<Plane>>>,
}

impl<'a> Finder<'a> {
    fn new(wireframe: &'a Wireframe, tolerance: Tolerance) -> Self {
        let mut points = wireframe.vertices.iter().map(|v| v.at);
        let first = points.next().unwrap_or_else(P3::origin);
        let (lo, hi) = points.fold((first, first), |(lo, hi), p| (lo.inf(&p), hi.sup(&p)));
        let corners = std::array::from_fn(|k| {
            let pick = |axis: usize| {
                if k >> axis & 1 == 0 {
                    lo[axis]
                } else {
                    hi[axis]
                }
            };
            P3::new(pick(0), pick(1), pick(2))
        });
        Finder {
            wireframe,
            tolerance,
            corners,
            extent: (hi - lo).min(),
            planes: Arena::default(),
            edges: Vec::new(),
            on_edge: vec![Vec::new(); wireframe.edges.len()],
            straight: FxHashMap::default(),
            slanting: FxHashMap::default(),
        }
    }

    /// Notes the plane through two edges at a vertex, unless one continues the other.
    fn span(&mut self, vertex: Id<Vertex>, a: Id<Edge>, b: Id<Edge>) {
        let w = self.wireframe;
        if w.edges[a].over == w.edges[b].over {
            return;
        }
        let [p, q] = [a, b].map(|e| w.other_end(e, vertex));
        let known = self.on_edge[a.ix()]
            .iter()
            .find(|plane| self.on_edge[b.ix()].contains(plane));
        if known.is_some() {
            return;
        }
        let ids = [vertex, p, q].map(|v| w.vertices[v].ids);
        let across =
            (0..3).find(|&axis| ids[0][axis] == ids[1][axis] && ids[0][axis] == ids[2][axis]);
        let plane = match across {
            Some(axis) => Some(self.straight(axis, ids[0][axis], vertex)),
            None => {
                let near = self.near([(a, q), (b, p)]);
                near.or_else(|| self.slanting(vertex, [p, q]))
            }
        };
        if let Some(plane) = plane {
            self.put(plane, a);
            self.put(plane, b);
        }
    }

    /// The nearest known plane on which one of two edges lies, and the other within the tolerance.
    ///
    /// Each candidate is an edge and the end of the other that the two do not share.
    fn near(&self, candidates: [(Id<Edge>, Id<Vertex>); 2]) -> Option<Id<Plane>> {
        let off = |(edge, end): (Id<Edge>, Id<Vertex>)| {
            let at = &self.wireframe.vertices[end].at;
            let planes = self.on_edge[edge.ix()].iter();
            planes.map(move |&plane| (self.planes[plane].distance(at).abs(), plane))
        };
        let (least, plane) = candidates.into_iter().flat_map(off).min_by(|p, q| p.0.total_cmp(&q.0))?;
        (least <= self.tolerance.mm()).then_some(plane)
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

    fn add(&mut self, plane: Plane) -> Id<Plane> {
        self.edges.push(Vec::new());
        self.planes.push(plane)
    }

    fn straight(&mut self, axis: usize, place: u32, vertex: Id<Vertex>) -> Id<Plane> {
        if let Some(&known) = self.straight.get(&(axis, place)) {
            return known;
        }
        let mut normal = V3::zeros();
        normal[axis] = 1.0;
        let at = self.wireframe.vertices[vertex].at;
        let plane = self.add(Plane::through(&at, &normal));
        self.straight.insert((axis, place), plane);
        plane
    }

    fn slanting(&mut self, vertex: Id<Vertex>, others: [Id<Vertex>; 2]) -> Option<Id<Plane>> {
        let at = self.wireframe.vertices[vertex].at;
        let [u, v] = others.map(|o| self.wireframe.vertices[o].at - at);
        let normal = u.cross(&v);
        if normal.norm() <= self.tolerance.mm() * u.norm().max(v.norm()) {
            return None;
        }
        let plane = Plane::through(&at, &normal);
        let known = self.same_plane(&plane);
        if let Some(known) = known.or_else(|| self.same_plane(&plane.flipped())) {
            return Some(known);
        }
        let cell = normal_cell(&plane.normal);
        let id = self.add(plane);
        self.slanting.entry(cell).or_default().push(id);
        Some(id)
    }

    /// A known plane that differs by no more than the tolerance all over the drawing.
    fn same_plane(&self, plane: &Plane) -> Option<Id<Plane>> {
        // Normals of such planes differ by no more than this, so few cells can hold one.
        let reach = V3::repeat((2.0 * self.tolerance.mm() / self.extent).min(1.0 / NORMAL_CELLS));
        let (lo, hi) = (
            normal_cell(&(plane.normal - reach)),
            normal_cell(&(plane.normal + reach)),
        );
        let same = |known: &&Id<Plane>| {
            let known = &self.planes[**known];
            let apart = |c: &P3| (known.distance(c) - plane.distance(c)).abs();
            self.corners.iter().all(|c| apart(c) <= self.tolerance.mm())
        };
        (0..3)
            .map(|k| lo[k]..=hi[k])
            .multi_cartesian_product()
            .filter_map(|cell| self.slanting.get(&[cell[0], cell[1], cell[2]]))
            .flatten()
            .find(same)
            .copied()
    }
}

#[allow(
    clippy::cast_possible_truncation,
    reason = "components of a unit vector times 32"
)]
fn normal_cell(normal: &V3) -> [i64; 3] {
    [0, 1, 2].map(|k| (normal[k] * NORMAL_CELLS).floor() as i64)
}

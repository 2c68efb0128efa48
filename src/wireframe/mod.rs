//! The wireframe: every corner and every straight edge in space that all three views allow.
//!
//! `vertices` matches nodes across the views, `edges` joins vertices over drawn line in every view, `crossings` adds the
//! corners that a view may show no junction for, `prune` drops what cannot bound a face.

mod crossings;
pub(crate) mod curved;
mod edges;
mod prune;
mod vertices;

use crate::arrange::{Arrangement, Node, Piece, Run};
use crate::geom::arena::{Arena, Id};
use crate::geom::axis::Axes;
use crate::geom::crowded::CrowdedError;
use crate::geom::tolerance::Tolerance;
use crate::geom::{Few, P3};
use crate::sheet::View;

/// A candidate corner.
#[derive(Clone, Debug)]
pub(crate) struct Vertex {
    /// Its places on the x, y and z axis.
    pub(crate) ids: [u32; 3],
    /// The same in millimetres.
    pub(crate) at: P3,
    /// The node it stands on in each view.
    pub(crate) nodes: [Id<Node>; 3],
}

/// What an edge stands on in a view.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub(crate) enum Over {
    /// The view sees the edge end-on.
    Node(Id<Node>),
    /// The edge lies over a stretch of this run.
    Run(Id<Run>),
}

/// A candidate edge between two vertices with none between them.
#[derive(Clone, Debug)]
pub(crate) struct Edge {
    pub(crate) ends: [Id<Vertex>; 2],
    /// What it stands on in each view; edges on one straight line stand on the same things.
    pub(crate) over: [Over; 3],
}

/// All candidate vertices and edges.
#[derive(Clone, Debug, Default)]
pub(crate) struct Wireframe {
    pub(crate) vertices: Arena<Vertex>,
    pub(crate) edges: Arena<Edge>,
    /// The edges at each vertex.
    pub(crate) at_vertex: Vec<Few<Id<Edge>, 6>>,
    /// The pieces of each view, by [`View::index`], that no edge lay over even before any was dropped: nothing that the
    /// other two views allow can have given them.
    pub(crate) without_edge: [Vec<Id<Piece>>; 3],
}

impl Wireframe {
    /// Lifts the three views into space. Views are cut where a crossing in space shows no node.
    ///
    /// # Errors
    /// If the views allow too many corners.
    pub(crate) fn build(
        views: &mut [Arrangement; 3],
        axes: &mut Axes,
        tolerance: Tolerance,
    ) -> Result<Self, CrowdedError> {
        let vertices = vertices::vertices(views, axes)?;
        let edges = edges::edges(views, &vertices);
        let (vertices, edges) =
            crossings::split_at_crossings(views, axes, vertices, edges, tolerance);
        let all = Self::new(vertices, edges);
        let without_edge = [0, 1, 2].map(|v| all.pieces_without_edge(&views[v]));
        let edges = prune::prune(&all.vertices, all.edges, tolerance);
        Ok(Wireframe {
            without_edge,
            ..Self::new(all.vertices, edges)
        })
    }

    fn new(vertices: Arena<Vertex>, edges: Arena<Edge>) -> Self {
        let mut at_vertex = vec![Few::new(); vertices.len()];
        for (id, edge) in edges.enumerate() {
            for end in edge.ends {
                at_vertex[end.ix()].push(id);
            }
        }
        Wireframe {
            vertices,
            edges,
            at_vertex,
            without_edge: Default::default(),
        }
    }

    fn pieces_without_edge(&self, view: &Arrangement) -> Vec<Id<Piece>> {
        let mut bare = vec![true; view.pieces.len()];
        for edge in self.edges.ids() {
            for piece in self.pieces_under(view, edge) {
                bare[piece.ix()] = false;
            }
        }
        view.pieces.ids().filter(|p| bare[p.ix()]).collect()
    }

    /// The positions of an edge's ends.
    pub(crate) fn span(&self, edge: Id<Edge>) -> [P3; 2] {
        self.edges[edge].ends.map(|v| self.vertices[v].at)
    }

    /// The end of `edge` that is not `vertex`.
    pub(crate) fn other_end(&self, edge: Id<Edge>, vertex: Id<Vertex>) -> Id<Vertex> {
        let [a, b] = self.edges[edge].ends;
        if a == vertex { b } else { a }
    }

    /// The pieces of a view that an edge lies over, none if it is seen end-on.
    pub(crate) fn pieces_under<'a>(
        &self,
        view: &'a Arrangement,
        edge: Id<Edge>,
    ) -> &'a [Id<Piece>] {
        let edge = &self.edges[edge];
        let Over::Run(run) = edge.over[view.view.index()] else {
            return &[];
        };
        let [a, b] = edge.ends.map(|v| place_on(view, run, &self.vertices[v]));
        &view.runs[run].pieces[a.min(b)..a.max(b)]
    }
}

/// The position of a vertex's node on a run of its view.
fn place_on(view: &Arrangement, run: Id<Run>, vertex: &Vertex) -> usize {
    view.position(run, vertex.nodes[view.view.index()])
        .expect("an edge's ends stand on its runs")
}

/// The node places of a vertex in a view.
fn seen_in(view: View, ids: [u32; 3]) -> [u32; 2] {
    view.axes().map(|axis| ids[axis])
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::arrange::split::arrange;
    use crate::solid::shapes::{Lines, sheet_of};

    /// A closed outline as visible lines.
    fn outline(corners: &[[f64; 2]]) -> Vec<([f64; 2], [f64; 2], bool)> {
        let next = corners.iter().cycle().skip(1);
        corners
            .iter()
            .zip(next)
            .map(|(a, b)| (*a, *b, false))
            .collect()
    }

    fn lift(lines: &Lines) -> Wireframe {
        let drawing = sheet_of(lines, 0.01);
        let (mut views, mut axes) = arrange(&drawing).unwrap();
        Wireframe::build(&mut views, &mut axes, drawing.tolerance).unwrap()
    }

    fn rectangle(width: f64, height: f64) -> Vec<([f64; 2], [f64; 2], bool)> {
        outline(&[[0.0, 0.0], [width, 0.0], [width, height], [0.0, height]])
    }

    #[test]
    fn three_rectangles_lift_to_the_corners_and_edges_of_a_block() {
        let block = lift(&[
            rectangle(4.0, 3.0),
            rectangle(4.0, 2.0),
            rectangle(2.0, 3.0),
        ]);
        assert_eq!((block.vertices.len(), block.edges.len()), (8, 12));
        assert!(block.without_edge.iter().all(Vec::is_empty));
    }

    #[test]
    fn a_line_that_no_other_view_supports_has_no_edge() {
        let mut front = rectangle(4.0, 3.0);
        front.push(([1.0, 0.0], [1.0, 3.0], false));
        let block = lift(&[front, rectangle(4.0, 2.0), rectangle(2.0, 3.0)]);
        assert_eq!(block.without_edge[View::Front.index()].len(), 1);
        assert_eq!(block.edges.len(), 12);
    }

    #[test]
    fn edges_that_cross_where_a_view_shows_no_junction_meet_in_a_corner() {
        // A level and a sloping line in the plane y = 0: from above they lie on one another.
        let mut front = rectangle(4.0, 4.0);
        front.push(([0.0, 1.0], [4.0, 3.0], false));
        front.push(([0.0, 2.0], [4.0, 2.0], false));
        let mut right = rectangle(3.0, 4.0);
        right.extend([1.0, 2.0, 3.0].map(|z| ([0.0, z], [3.0, z], false)));
        let wireframe = lift(&[front, rectangle(4.0, 3.0), right]);
        let crossing = wireframe
            .vertices
            .iter()
            .find(|v| (v.at - P3::new(2.0, 0.0, 2.0)).norm() < 1e-9);
        assert!(crossing.is_some());
    }
}

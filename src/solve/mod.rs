//! Which candidate faces bound a solid: all answers, or why there is none.
//!
//! `encode` says in clauses what the drawing means, `search` wraps the SAT solver, `enumerate` lists all answers,
//! `check` finds what clauses cannot say, `explain` names the lines that cannot be right.

pub(crate) mod check;
mod consequences;
mod encode;
pub(crate) mod enumerate;
pub(crate) mod explain;
mod group;
mod literal;
mod search;
mod variables;
mod visibility;

use crate::arrange::Arrangement;
use crate::arrange::cells::Cells;
use crate::face::Faces;
use crate::face::cover::{Cover, Seen};
use crate::geom::Few;
use crate::geom::arena::Id;
use crate::geom::tolerance::Tolerance;
use crate::sheet::{Placement, View};
use crate::wireframe::{Edge, Wireframe};

/// All candidates of a drawing, ready to choose from.
#[derive(Debug)]
pub(crate) struct Puzzle {
    pub(crate) views: [Arrangement; 3],
    pub(crate) cells: [Cells; 3],
    pub(crate) wireframe: Wireframe,
    pub(crate) faces: Faces,
    pub(crate) covers: [Cover; 3],
    /// The edges over each piece of each view.
    pub(crate) edges_over: [Vec<Few<Id<Edge>, 4>>; 3],
    pub(crate) tolerance: Tolerance,
    /// Where the views stand on the sheet, for messages.
    pub(crate) placement: Placement,
}

impl Puzzle {
    /// Puts the stages' results together: what lies over what.
    pub(crate) fn new(
        views: [Arrangement; 3],
        wireframe: Wireframe,
        faces: Faces,
        placement: Placement,
        tolerance: Tolerance,
    ) -> Self {
        let cells = [0, 1, 2].map(|v| Cells::of(&views[v]));
        let covers = [0, 1, 2].map(|v| {
            let seen = Seen {
                view: &views[v],
                cells: &cells[v],
            };
            Cover::of(seen, &wireframe, &faces)
        });
        let edges_over = [0, 1, 2].map(|v| {
            let view: &Arrangement = &views[v];
            let mut over = vec![Few::new(); view.pieces.len()];
            for edge in wireframe.edges.ids() {
                for piece in wireframe.pieces_under(view, edge) {
                    over[piece.ix()].push(edge);
                }
            }
            over
        });
        Puzzle {
            views,
            cells,
            wireframe,
            faces,
            covers,
            edges_over,
            tolerance,
            placement,
        }
    }

    /// How near the plane of a region is to the viewer at a point of the view, in millimetres; larger is nearer.
    pub(crate) fn nearness_of_region(
        &self,
        view: View,
        region: Id<crate::face::Region>,
        at: crate::geom::P2,
    ) -> f64 {
        let plane = self.faces.plane(region);
        let [right, up] = view.axes();
        let axis = view.depth_axis();
        let rest = plane.normal[right] * at.x + plane.normal[up] * at.y;
        view.nearness((plane.offset - rest) / plane.normal[axis])
    }

    /// How near an edge is to the viewer at a point of the view it passes over.
    pub(crate) fn nearness_of_edge(&self, view: View, edge: Id<Edge>, at: crate::geom::P2) -> f64 {
        let [from, to] = self.wireframe.span(edge);
        let [right, up] = view.axes();
        let axis = view.depth_axis();
        let along = crate::geom::V2::new(to[right] - from[right], to[up] - from[up]);
        let reach = along.dot(&crate::geom::V2::new(at.x - from[right], at.y - from[up]))
            / along.norm_squared();
        view.nearness(from[axis] + reach * (to[axis] - from[axis]))
    }
}

/// Which way a chosen region faces.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Facing {
    /// Its plane's normal points out of the material.
    Along,
    /// Its plane's normal points into the material.
    Against,
}

/// A choice of regions, by region; `None` is absent.
pub(crate) type Model = Vec<Option<Facing>>;

//! The board of a drawing with straight lines only: plane regions on a wireframe of straight edges.

use super::board::{Board, Crossing, Sighted, Spot};
use crate::arrange::cells::Cells;
use crate::arrange::{Arrangement, Piece};
use crate::face::cover::{Cover, Seen};
use crate::face::{Faces, Half, Leaf, Leaves, Region, flat, flat_axes};
use crate::geom::arena::Id;
use crate::geom::tolerance::Tolerance;
use crate::geom::{Few, P2, P3, V2};
use crate::sheet::{Placement, View};
use crate::wireframe::{Edge, Vertex, Wireframe};

/// All candidates of a drawing, ready to choose from.
#[derive(Debug)]
pub(crate) struct FlatBoard {
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

impl FlatBoard {
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
        FlatBoard {
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
    fn nearness_of_region(&self, view: View, region: Id<Region>, at: P2) -> f64 {
        let plane = self.faces.plane(region);
        let [right, up] = view.axes();
        let axis = view.depth_axis();
        let rest = plane.normal[right] * at.x + plane.normal[up] * at.y;
        view.nearness((plane.offset - rest) / plane.normal[axis])
    }

    /// How near an edge is to the viewer at a point of the view it passes over.
    fn nearness_of_edge(&self, view: View, edge: Id<Edge>, at: P2) -> f64 {
        let [from, to] = self.wireframe.span(edge);
        let [right, up] = view.axes();
        let axis = view.depth_axis();
        let along = V2::new(to[right] - from[right], to[up] - from[up]);
        let reach = along.dot(&V2::new(at.x - from[right], at.y - from[up])) / along.norm_squared();
        view.nearness(from[axis] + reach * (to[axis] - from[axis]))
    }
}

impl Board for FlatBoard {
    fn views(&self) -> &[Arrangement; 3] {
        &self.views
    }

    fn placement(&self) -> Placement {
        self.placement
    }

    fn tolerance(&self) -> Tolerance {
        self.tolerance
    }

    fn without_edge(&self) -> &[Vec<Id<Piece>>; 3] {
        &self.wireframe.without_edge
    }

    fn borders(&self, region: Id<Region>) -> &[Vec<Half>] {
        &self.faces.regions[region].borders
    }

    fn region_count(&self) -> usize {
        self.faces.regions.len()
    }

    fn exclusions(&self) -> &[[Id<Region>; 2]] {
        &self.faces.exclusions
    }

    fn is_curved(&self) -> bool {
        false
    }

    fn are_twins(&self, _: Id<Region>, _: Id<Region>) -> bool {
        false
    }

    fn bounds(&self, region: Id<Region>) -> [P3; 2] {
        let halves = self.faces.regions[region].halves();
        let starts = halves.map(|half| self.wireframe.span(half.edge)[usize::from(!half.forward)]);
        let around = starts
            .map(|p| [p, p])
            .reduce(|[a, b], [p, _]| [a.inf(&p), b.sup(&p)]);
        around.unwrap_or([P3::origin(); 2])
    }

    fn volume(&self, region: Id<Region>) -> f64 {
        let plane = self.faces.plane(region);
        let axes = flat_axes(&plane.normal);
        let mut doubled = 0.0;
        for half in self.faces.regions[region].halves() {
            let mut span = self.wireframe.span(half.edge);
            if !half.forward {
                span.swap(0, 1);
            }
            let [p, q]: [P2; 2] = span.map(|end| flat(axes, &end));
            doubled += p.coords.perp(&q.coords);
        }
        let area = 0.5 * doubled / plane.normal.amax();
        plane.offset * area / 3.0
    }

    fn edge_count(&self) -> usize {
        self.wireframe.edges.len()
    }

    fn ends(&self, edge: Id<Edge>) -> [Id<Vertex>; 2] {
        self.wireframe.edges[edge].ends
    }

    fn around(&self, edge: Id<Edge>) -> &Leaves {
        &self.faces.around[edge.ix()]
    }

    fn crossing(&self, _: Id<Edge>, [leaf, _]: [&Leaf; 2], view: View) -> Crossing {
        if self.faces.edge_on(leaf.region, view) {
            Crossing::EdgeOn
        } else {
            Crossing::Over
        }
    }

    fn blank(&self, _: View) -> &[Id<Edge>] {
        &[]
    }

    fn at_vertex(&self, vertex: Id<Vertex>) -> Vec<Id<Region>> {
        self.faces.at_vertex(&self.wireframe, vertex)
    }

    fn spot_count(&self, view: View) -> u32 {
        u32::try_from(self.views[view.index()].pieces.len()).expect("fewer than 2^32 pieces")
    }

    fn piece(&self, spot: Spot) -> Id<Piece> {
        Id::new(spot.number as usize)
    }

    fn edges_over(&self, spot: Spot) -> &[Id<Edge>] {
        &self.edges_over[spot.view.index()][spot.number as usize]
    }

    fn regions_over(&self, spot: Spot) -> &[Id<Region>] {
        &self.covers[spot.view.index()].over_piece[spot.number as usize]
    }

    fn edge_nearness(&self, spot: Spot, edge: Id<Edge>) -> f64 {
        let middle = self.views[spot.view.index()].middle(self.piece(spot));
        self.nearness_of_edge(spot.view, edge, middle)
    }

    fn region_nearness(&self, spot: Spot, region: Id<Region>) -> f64 {
        let middle = self.views[spot.view.index()].middle(self.piece(spot));
        self.nearness_of_region(spot.view, region, middle)
    }

    /// One line of sight through each cell that has a region not met before.
    fn sights(&self, visit: &mut dyn FnMut(&[Sighted])) {
        let mut seen = vec![false; self.faces.regions.len()];
        for view in View::ALL {
            let v = view.index();
            for (cell, over) in self.covers[v].over_cell.iter().enumerate() {
                if over.iter().all(|r| seen[r.ix()]) {
                    continue;
                }
                let at = self.cells[v].inside[cell];
                let mut sorted: Vec<(f64, Id<Region>)> = over
                    .iter()
                    .map(|&r| (self.nearness_of_region(view, r, at), r))
                    .collect();
                sorted.sort_unstable_by(|a, b| b.0.total_cmp(&a.0).then(a.1.cmp(&b.1)));
                let met: Vec<(Id<Region>, bool)> = sorted
                    .into_iter()
                    .map(|(_, region)| {
                        seen[region.ix()] = true;
                        let lean = self.faces.plane(region).normal[view.depth_axis()];
                        (region, view.nearness(lean) > 0.0)
                    })
                    .collect();
                visit(&met);
            }
        }
    }
}

//! The board of a drawing with curved lines.
//!
//! Borders of regions may run where a view shows nothing, so a piece of drawn line is cut into spots where they pass below
//! it (`spots`). What lies over a spot, and how deep, is found by looking (`overlook`): from the middle of the spot, and
//! through one inner point of each region (`sights`).

mod overlook;
mod sights;
mod spots;

use super::board::{Board, Crossing, Sighted, Spot};
use crate::arrange::{Arrangement, Piece};
use crate::face::curved::{CurvedFaces, CurvedRegion};
use crate::face::{Half, Leaf, Leaves, Region};
use crate::geom::arena::Id;
use crate::geom::integral::flux;
use crate::geom::path::Path;
use crate::geom::surface::Profile;
use crate::geom::tolerance::Tolerance;
use crate::geom::{Few, P3};
use crate::options::TangentEdges;
use crate::sheet::{Placement, View};
use crate::wireframe::curved::{CurvedWireframe, Seen};
use crate::wireframe::{Edge, Vertex};
use itertools::Itertools;
use overlook::Overlook;
use std::cell::OnceCell;

/// All candidates of a drawing with curved lines, ready to choose from.
#[derive(Debug)]
pub(crate) struct CurvedBoard {
    pub(crate) views: [Arrangement; 3],
    pub(crate) wireframe: CurvedWireframe,
    pub(crate) faces: CurvedFaces,
    pub(crate) tolerance: Tolerance,
    placement: Placement,
    tangent_edges: TangentEdges,
    spots: [Vec<Covered>; 3],
    /// Edges over blank paper, by view.
    blank: [Vec<Id<Edge>>; 3],
    /// The regions on each line of sight, from near to far, and whether their normals point to the viewer.
    sights: Vec<Vec<(Id<Region>, bool)>>,
    boxes: Vec<[P3; 2]>,
    /// The parts of the volume, as far as they were asked for.
    volumes: Vec<OnceCell<f64>>,
}

/// A spot and what lies over it.
#[derive(Debug)]
struct Covered {
    piece: Id<Piece>,
    edges: Few<Id<Edge>, 4>,
    edge_nearness: Few<f64, 4>,
    regions: Few<Id<Region>, 4>,
    region_nearness: Few<f64, 4>,
}

/// The normal of a surface is perpendicular to a direction if the sine of what is missing is less than this.
const EDGE_ON: f64 = 0.01;

/// A cone is seen from its end if the cosine of the angle between its axis and the line of sight is more than this.
const ALONG_VIEW: f64 = 0.999;

impl CurvedBoard {
    /// Puts the stages' results together: what lies over what.
    pub(crate) fn new(
        views: [Arrangement; 3],
        wireframe: CurvedWireframe,
        faces: CurvedFaces,
        placement: Placement,
        tolerance: Tolerance,
        tangent_edges: TangentEdges,
    ) -> Self {
        let around = |region: &CurvedRegion| bounds(&wireframe, region);
        let boxes = faces.regions.iter().map(around).collect();
        let blank = View::ALL.map(|view| {
            let edges = wireframe.edges.iter().enumerate();
            edges
                .filter(|(_, e)| e.seen[view.index()] == Seen::Blank)
                .map(|(number, _)| Id::new(number))
                .collect()
        });
        let volumes = vec![OnceCell::new(); faces.regions.len()];
        let mut board = CurvedBoard {
            views,
            wireframe,
            faces,
            tolerance,
            placement,
            tangent_edges,
            spots: Default::default(),
            blank,
            sights: Vec::new(),
            boxes,
            volumes,
        };
        let overlooks = View::ALL.map(|view| Overlook::of(&board, view));
        board.spots = View::ALL.map(|view| board.spots(&overlooks[view.index()]));
        board.sights = board.lines_of_sight(&overlooks);
        board
    }

    /// How the sheet treats tangent edges.
    pub(crate) fn tangent_edges(&self) -> TangentEdges {
        self.tangent_edges
    }

    /// Whether a view shows a border of a curved region and the border opposite as one line: close to its contour a surface
    /// does not get away from it.
    fn is_seen_as_line(&self, region: &CurvedRegion, border: Id<Edge>, view: View) -> bool {
        let edge = |id: Id<Edge>| &self.wireframe.edges[id.ix()];
        let here = edge(border);
        let (Seen::Over(pieces), false) = (
            &here.seen[view.index()],
            self.faces.surface(region).is_plane(),
        ) else {
            return false;
        };
        region.halves().map(|half| edge(half.edge)).any(|other| {
            let apart = here.ends.iter().all(|end| !other.ends.contains(end));
            let shared = |p: &Id<Piece>| pieces.contains(p);
            apart && matches!(&other.seen[view.index()], Seen::Over(pieces) if pieces.iter().any(shared))
        })
    }

    fn region(&self, region: Id<Region>) -> &CurvedRegion {
        &self.faces.regions[region.ix()]
    }
}

/// The box around a region.
fn bounds(wireframe: &CurvedWireframe, region: &CurvedRegion) -> [P3; 2] {
    let paths = region.paths(wireframe).map(Path::bounds);
    let around = paths.reduce(|[a, b], [c, d]| [a.inf(&c), b.sup(&d)]);
    around.unwrap_or([P3::origin(); 2])
}

impl Board for CurvedBoard {
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
        &self.region(region).borders
    }

    fn region_count(&self) -> usize {
        self.faces.regions.len()
    }

    fn exclusions(&self) -> &[[Id<Region>; 2]] {
        &[]
    }

    fn is_curved(&self) -> bool {
        true
    }

    fn are_twins(&self, one: Id<Region>, other: Id<Region>) -> bool {
        let edges = [one, other].map(|region| {
            let halves = self.region(region).halves();
            halves.map(|half| half.edge).sorted_unstable().collect_vec()
        });
        edges[0] == edges[1] && self.is_beside(one, other)
    }

    fn bounds(&self, region: Id<Region>) -> [P3; 2] {
        self.boxes[region.ix()]
    }

    fn volume(&self, region: Id<Region>) -> f64 {
        *self.volumes[region.ix()].get_or_init(|| {
            let region = self.region(region);
            let path = |half: Half| (self.wireframe.path(half.edge), half.forward);
            flux(self.faces.surface(region), region.halves().map(path))
        })
    }

    fn edge_count(&self) -> usize {
        self.wireframe.edges.len()
    }

    fn ends(&self, edge: Id<Edge>) -> [Id<Vertex>; 2] {
        self.wireframe.edges[edge.ix()].ends
    }

    fn around(&self, edge: Id<Edge>) -> &Leaves {
        &self.faces.around[edge.ix()]
    }

    fn crossing(&self, edge: Id<Edge>, leaves: [&Leaf; 2], view: View) -> Crossing {
        let regions = leaves.map(|leaf| self.region(leaf.region));
        let [a, b] = regions.map(|region| self.faces.surface(region));
        let at = self.wireframe.path(edge).middle();
        let curved = if a.is_plane() { b } else { a };
        let lean = curved.normal(&at)[view.depth_axis()].abs();
        let cone_from_its_end = curved.turned().is_some_and(|turned| {
            matches!(turned.profile, Profile::Cone { .. })
                && turned.axis[view.depth_axis()].abs() > ALONG_VIEW
        });
        // A surface that goes on with its normal to the same side of the paper has no contour, however steep it is.
        let [f, g] = regions.map(|region| region.signs[view.depth_axis()]);
        let one_side = regions[0].surface == regions[1].surface && f == g && f != 0;
        if lean > EDGE_ON || one_side && !curved.is_plane() || cone_from_its_end {
            // Pieces of one surface, and of one plane, have no edge between them that anyone would draw.
            let two_faces = regions[0].surface != regions[1].surface && !curved.is_plane();
            match self.tangent_edges {
                TangentEdges::Drawn if two_faces => Crossing::Tangent,
                TangentEdges::Either if two_faces => Crossing::MaybeTangent,
                // Seen as no more than a line, a region covers nothing but its own other border.
                _ if regions.iter().any(|r| self.is_seen_as_line(r, edge, view)) => {
                    Crossing::EdgeOn
                }
                _ => Crossing::Over,
            }
        } else if curved.is_plane() {
            Crossing::EdgeOn
        } else {
            Crossing::Contour
        }
    }

    fn blank(&self, view: View) -> &[Id<Edge>] {
        &self.blank[view.index()]
    }

    fn at_vertex(&self, vertex: Id<Vertex>) -> Vec<Id<Region>> {
        let edges = self.wireframe.at_vertex[vertex.ix()].iter();
        let mut regions: Vec<Id<Region>> = edges
            .flat_map(|e| self.faces.around[e.ix()].iter().map(|leaf| leaf.region))
            .collect();
        regions.sort_unstable();
        regions.dedup();
        regions
    }

    fn spot_count(&self, view: View) -> u32 {
        u32::try_from(self.spots[view.index()].len()).expect("fewer than 2^32 spots")
    }

    fn piece(&self, spot: Spot) -> Id<Piece> {
        self.spot(spot).piece
    }

    fn edges_over(&self, spot: Spot) -> &[Id<Edge>] {
        &self.spot(spot).edges
    }

    fn regions_over(&self, spot: Spot) -> &[Id<Region>] {
        &self.spot(spot).regions
    }

    fn edge_nearness(&self, spot: Spot, edge: Id<Edge>) -> f64 {
        let spot = self.spot(spot);
        let place = spot.edges.iter().position(|e| *e == edge);
        place.map_or(f64::NEG_INFINITY, |k| spot.edge_nearness[k])
    }

    fn region_nearness(&self, spot: Spot, region: Id<Region>) -> f64 {
        let spot = self.spot(spot);
        let place = spot.regions.iter().position(|r| *r == region);
        place.map_or(f64::NEG_INFINITY, |k| spot.region_nearness[k])
    }

    fn sights(&self, visit: &mut dyn FnMut(&[Sighted])) {
        self.sights.iter().for_each(|met| visit(met));
    }
}

impl CurvedBoard {
    fn spot(&self, spot: Spot) -> &Covered {
        &self.spots[spot.view.index()][spot.number as usize]
    }
}

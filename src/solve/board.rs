//! What the search asks about the candidates of a drawing, whether their faces are plane or curved.

use crate::arrange::{Arrangement, Piece};
use crate::face::{Half, Leaf, Leaves, Region};
use crate::geom::P3;
use crate::geom::arena::Id;
use crate::geom::tolerance::Tolerance;
use crate::sheet::{Placement, View};
use crate::wireframe::{Edge, Vertex};

/// A stretch of drawn line with the same candidates over it all along: a piece, or part of one.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) struct Spot {
    pub(crate) view: View,
    /// Its place among the view's spots.
    pub(crate) number: u32,
}

/// How a view sees an edge across which one region continues another.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub(crate) enum Crossing {
    /// The surface passes over the edge: nothing is drawn, and what lies behind is covered.
    Over,
    /// The surface is seen edge-on there, but goes on edge-on: nothing is drawn and nothing is covered.
    EdgeOn,
    /// The surface turns away from the viewer there: a contour is drawn.
    Contour,
    /// The surface passes over the edge and covers what lies behind, and the edge is drawn all the same.
    Tangent,
    /// The surface passes over the edge and covers what lies behind; the edge may be drawn or not.
    MaybeTangent,
}

impl Crossing {
    /// Whether the surface covers what lies behind the edge.
    pub(crate) fn covers(self) -> bool {
        match self {
            Crossing::Over | Crossing::Tangent | Crossing::MaybeTangent => true,
            Crossing::EdgeOn | Crossing::Contour => false,
        }
    }
}

/// A region on a line of sight, and whether its normal points towards the viewer.
pub(crate) type Sighted = (Id<Region>, bool);

/// All candidates of a drawing, ready to choose from.
pub(crate) trait Board {
    /// The arrangements of the three views.
    fn views(&self) -> &[Arrangement; 3];
    /// Where the views stand on the sheet, for messages.
    fn placement(&self) -> Placement;
    /// The tolerance of the drawing.
    fn tolerance(&self) -> Tolerance;
    /// The pieces of each view that no candidate edge lay over.
    fn without_edge(&self) -> &[Vec<Id<Piece>>; 3];

    /// The borders of each region.
    fn borders(&self, region: Id<Region>) -> &[Vec<Half>];
    /// How many regions there are.
    fn region_count(&self) -> usize;
    /// Pairs of regions that are never both present.
    fn exclusions(&self) -> &[[Id<Region>; 2]];
    /// Whether faces may be curved. Then they may cross where there is no edge, which only a proof can tell, and edges may run
    /// beside each other within the tolerance.
    fn is_curved(&self) -> bool;
    /// Whether two regions have the same borders and lie within the tolerance of each other.
    fn are_twins(&self, one: Id<Region>, other: Id<Region>) -> bool;
    /// The box around a region.
    fn bounds(&self, region: Id<Region>) -> [P3; 2];
    /// A region's part of the volume (divergence theorem, cubic millimetres) if its normal points out of the material.
    fn volume(&self, region: Id<Region>) -> f64;

    /// How many candidate edges there are.
    fn edge_count(&self) -> usize;
    /// The ends of an edge.
    fn ends(&self, edge: Id<Edge>) -> [Id<Vertex>; 2];
    /// The regions at an edge, in order counter-clockwise about its direction.
    fn around(&self, edge: Id<Edge>) -> &Leaves;
    /// How a view sees an edge across which a leaf is continued by another.
    fn crossing(&self, edge: Id<Edge>, leaves: [&Leaf; 2], view: View) -> Crossing;
    /// The edges along which a view shows nothing, so that they cannot be drawn there.
    fn blank(&self, view: View) -> &[Id<Edge>];
    /// The regions with a corner at a vertex.
    fn at_vertex(&self, vertex: Id<Vertex>) -> Vec<Id<Region>>;

    /// How many spots a view has.
    fn spot_count(&self, view: View) -> u32;
    /// The piece that a spot is part of.
    fn piece(&self, spot: Spot) -> Id<Piece>;
    /// The edges over a spot.
    fn edges_over(&self, spot: Spot) -> &[Id<Edge>];
    /// The regions over a spot, those with it along their border left out.
    fn regions_over(&self, spot: Spot) -> &[Id<Region>];
    /// How near an edge over a spot is to the viewer in the middle of it, in millimetres; larger is nearer.
    fn edge_nearness(&self, spot: Spot, edge: Id<Edge>) -> f64;
    /// How near a region over a spot is.
    fn region_nearness(&self, spot: Spot, region: Id<Region>) -> f64;

    /// Calls `visit` with lines of sight that together pass through every region: the regions on each from near to far,
    /// with whether the region's normal points towards the viewer.
    fn sights(&self, visit: &mut dyn FnMut(&[Sighted]));
}

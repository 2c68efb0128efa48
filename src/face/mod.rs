//! Candidate faces: the smallest pieces of plane that a reading can use.
//!
//! `surfaces` finds every plane spanned by two edges, `regions` cuts each plane along its edges into cells, `exclude`
//! finds regions that cannot both be there, `cover` says which cells and pieces of a view a region lies over.

pub(crate) mod cover;
pub(crate) mod curved;
mod exclude;
mod regions;
mod surfaces;

use crate::geom::arena::{Arena, Id};
use crate::geom::crowded::CrowdedError;
use crate::geom::plane::Plane;
use crate::geom::tolerance::Tolerance;
use crate::geom::{Few, P2, P3, V3};
use crate::sheet::View;
use crate::wireframe::{Edge, Vertex, Wireframe};

/// A half of a candidate edge: the edge, run along or against its own direction.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub(crate) struct Half {
    pub(crate) edge: Id<Edge>,
    pub(crate) forward: bool,
}

impl Half {
    /// The vertex this half starts from.
    pub(crate) fn start(self, wireframe: &Wireframe) -> Id<Vertex> {
        wireframe.edges[self.edge].ends[usize::from(!self.forward)]
    }
}

/// A candidate piece of face: a bounded cell of its plane.
#[derive(Clone, Debug)]
pub(crate) struct Region {
    pub(crate) plane: Id<Plane>,
    /// Its borders, the outer one first; seen from the side the plane's normal points to, the region lies to the left.
    pub(crate) borders: Vec<Vec<Half>>,
}

impl Region {
    /// All halves along its borders.
    pub(crate) fn halves(&self) -> impl Iterator<Item = Half> + '_ {
        self.borders.iter().flatten().copied()
    }
}

/// A region at an edge.
#[derive(Clone, Debug)]
pub(crate) struct Leaf {
    pub(crate) region: Id<Region>,
    /// Whether, going round the edge counter-clockwise about its direction, the side the normal points to comes after
    /// the region (and not before it).
    pub(crate) front_after: bool,
    /// The regions that continue this one smoothly across the edge, as places in the same list: of plane faces, the one
    /// in the same plane.
    pub(crate) across: Few<u32, 2>,
}

/// The regions at an edge.
pub(crate) type Leaves = Few<Leaf, 4>;

/// All candidate faces.
#[derive(Clone, Debug, Default)]
pub(crate) struct Faces {
    pub(crate) planes: Arena<Plane>,
    pub(crate) regions: Arena<Region>,
    /// The regions at each edge, in order counter-clockwise about the edge's direction.
    pub(crate) around: Vec<Leaves>,
    /// Pairs of regions that cross or touch where there is no edge: never both present.
    pub(crate) exclusions: Vec<[Id<Region>; 2]>,
    /// A plane whose unit normal has less than this along a view's direction is seen edge-on there.
    edge_on: f64,
}

impl Faces {
    /// Finds all candidate faces on a wireframe.
    ///
    /// # Errors
    /// If too many of them lie near one another.
    pub(crate) fn build(wireframe: &Wireframe, tolerance: Tolerance) -> Result<Self, CrowdedError> {
        let surfaces = surfaces::surfaces(wireframe, tolerance);
        let (regions, around) = regions::regions(wireframe, &surfaces);
        let mut faces = Faces {
            planes: surfaces.planes,
            regions,
            around,
            exclusions: Vec::new(),
            edge_on: tolerance.mm() / extent(wireframe).max(tolerance.mm()),
        };
        faces.exclusions = exclude::exclusions(wireframe, &faces, tolerance)?;
        Ok(faces)
    }

    /// The plane of a region.
    pub(crate) fn plane(&self, region: Id<Region>) -> &Plane {
        &self.planes[self.regions[region].plane]
    }

    /// The regions with a corner at a vertex.
    pub(crate) fn at_vertex(&self, wireframe: &Wireframe, vertex: Id<Vertex>) -> Vec<Id<Region>> {
        let edges = wireframe.at_vertex[vertex.ix()].iter();
        let mut regions: Vec<Id<Region>> = edges
            .flat_map(|e| self.around[e.ix()].iter().map(|leaf| leaf.region))
            .collect();
        regions.sort_unstable();
        regions.dedup();
        regions
    }

    /// Whether a view sees a region's plane edge-on: all of the drawing's extent on it within the tolerance.
    pub(crate) fn edge_on(&self, region: Id<Region>, view: View) -> bool {
        self.plane(region).normal[view.depth_axis()].abs() <= self.edge_on
    }
}

/// The largest coordinate that occurs; the drawing's box starts at 0.
fn extent(wireframe: &Wireframe) -> f64 {
    let corners = wireframe.vertices.iter();
    corners.map(|v| v.at.coords.amax()).fold(0.0, f64::max)
}

/// The two axes that show a surface with this normal without folding it, in the order that keeps the normal towards the
/// viewer.
pub(crate) fn flat_axes(normal: &V3) -> [usize; 2] {
    let axis = normal.iamax();
    let (i, j) = ((axis + 1) % 3, (axis + 2) % 3);
    if normal[axis] > 0.0 { [i, j] } else { [j, i] }
}

/// Two directions across a unit vector, such that the three are right-handed in the order first, second, `along`.
fn across(along: &V3) -> [V3; 2] {
    let mut helper = V3::zeros();
    helper[along.iamin()] = 1.0;
    let a = helper.cross(along).normalize();
    [a, along.cross(&a)]
}

/// A point seen along the axes of [`flat_axes`].
pub(crate) fn flat(axes: [usize; 2], point: &P3) -> P2 {
    P2::new(point[axes[0]], point[axes[1]])
}

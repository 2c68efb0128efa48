//! Candidate faces of a drawing with curved lines: the smallest pieces of plane and of curved surface that a reading can
//! use.
//!
//! `planes` finds the planes, `trace` cuts every surface along the candidate edges on it into regions, `around` sorts the
//! regions at each edge and finds those that continue one another smoothly.

mod around;
mod looks;
mod planes;
mod trace;

use super::{Half, Leaves};
use crate::geom::arena::Id;
use crate::geom::pairs::{Bounds, BoxIndex};
use crate::geom::path::Path;
use crate::geom::surface::Surface;
use crate::geom::tolerance::Tolerance;
use crate::geom::{P3, V3};
use crate::wireframe::Edge;
use crate::wireframe::curved::CurvedWireframe;
use looks::Looks;
use rustc_hash::FxHashMap;

/// A candidate piece of face, on which the signs of the normal's components never change.
#[derive(Clone, Debug)]
pub(crate) struct CurvedRegion {
    /// Its place among the surfaces.
    pub(crate) surface: u32,
    /// The signs of the normal along x, y and z; 0 where that component is nought all over it.
    pub(crate) signs: [i8; 3],
    /// Its borders, the outer one first; seen from the side the normal points to, the region lies to the left.
    pub(crate) borders: Vec<Vec<Half>>,
}

/// All candidate faces.
#[derive(Clone, Debug, Default)]
pub(crate) struct CurvedFaces {
    pub(crate) surfaces: Vec<Surface>,
    pub(crate) regions: Vec<CurvedRegion>,
    /// The regions at each edge, in order counter-clockwise about the edge's direction.
    pub(crate) around: Vec<Leaves>,
}

impl CurvedRegion {
    /// All halves along its borders.
    pub(crate) fn halves(&self) -> impl Iterator<Item = Half> + '_ {
        self.borders.iter().flatten().copied()
    }

    /// The paths along its borders.
    pub(crate) fn paths<'a>(
        &'a self,
        wireframe: &'a CurvedWireframe,
    ) -> impl Iterator<Item = &'a Path> + 'a {
        self.halves().map(|half| wireframe.path(half.edge))
    }
}

impl CurvedFaces {
    /// Finds all candidate faces on a wireframe.
    pub(crate) fn build(wireframe: &CurvedWireframe, tolerance: Tolerance) -> Self {
        let mut surfaces: Vec<Surface> = planes::planes(wireframe, tolerance);
        surfaces.extend(wireframe.turned.iter().copied().map(Surface::Turned));
        let looks = Looks::of(wireframe);
        let corners = index(wireframe);
        let mut regions = Vec::new();
        for (number, surface) in (0_u32..).zip(&surfaces) {
            let edges = edges_on(wireframe, (&looks, &corners), surface, tolerance);
            let found = trace::regions(wireframe, &looks, (surface, &edges), tolerance);
            regions.extend(found.into_iter().map(|(signs, borders)| CurvedRegion {
                surface: number,
                signs,
                borders,
            }));
        }
        let regions = without_twins(&looks, &surfaces, regions, tolerance);
        let regions = without_loose(wireframe, regions);
        let around = around::around(wireframe, &surfaces, &regions);
        CurvedFaces {
            surfaces,
            regions,
            around,
        }
    }

    /// The surface of a region.
    pub(crate) fn surface(&self, region: &CurvedRegion) -> &Surface {
        &self.surfaces[region.surface as usize]
    }
}

/// Where corners lie, to find those on a surface.
fn index(wireframe: &CurvedWireframe) -> BoxIndex<3> {
    let corners = wireframe.vertices.iter();
    let boxes: Vec<Bounds<3>> = corners.map(|p| [p.coords.into(); 2]).collect();
    BoxIndex::new(&boxes)
}

/// The edges that lie on a surface all along.
fn edges_on(
    wireframe: &CurvedWireframe,
    (looks, corners): (&Looks, &BoxIndex<3>),
    surface: &Surface,
    tolerance: Tolerance,
) -> Vec<Id<Edge>> {
    let reach = if surface.is_plane() {
        tolerance.slack()
    } else {
        tolerance.mm()
    };
    let on = |p: &P3| surface.distance(p).abs() <= reach;
    let mut known = vec![false; wireframe.vertices.len()];
    let mut here = Vec::new();
    corners.touching(&surface.bounds(reach + reach), |v| {
        if on(&wireframe.vertices[v as usize]) {
            known[v as usize] = true;
            here.extend(wireframe.at_vertex[v as usize].iter().copied());
        }
    });
    let lies_on = |id: &Id<Edge>| {
        let edge = &wireframe.edges[id.ix()];
        let flat = edge.path.is_straight() && surface.is_plane();
        let ends = edge.ends.iter().all(|v| known[v.ix()]);
        ends && (flat || looks.inner(*id).iter().all(on))
    };
    // Edges with both ends on the surface come twice.
    here.sort_unstable();
    here.dedup();
    here.retain(lies_on);
    here
}

/// Keeps one of several regions within the same borders whose surfaces are nowhere farther apart there than the tolerance:
/// the first, which is a plane or a cylinder if one of them is.
fn without_twins(
    looks: &Looks,
    surfaces: &[Surface],
    regions: Vec<CurvedRegion>,
    tolerance: Tolerance,
) -> Vec<CurvedRegion> {
    let mut known: FxHashMap<Vec<Id<Edge>>, Vec<usize>> = FxHashMap::default();
    let mut kept: Vec<CurvedRegion> = Vec::new();
    for region in regions {
        let mut edges: Vec<Id<Edge>> = region.halves().map(|h| h.edge).collect();
        edges.sort_unstable();
        let middles = edges.iter().map(|&e| looks.middle(e).coords);
        let sum = middles.fold(V3::zeros(), |sum, p| sum + p);
        let surface = &surfaces[region.surface as usize];
        let inner = surface.nearest(&(sum / count(edges.len())).into());
        let same = known.entry(edges).or_default();
        let twin = same.iter().any(|&other| {
            let other: &CurvedRegion = &kept[other];
            let other = &surfaces[other.surface as usize];
            // A narrow strip of a round may pass for a plane; only what is drawn at its borders tells them apart.
            let strip = other.is_plane() && !surface.is_plane();
            !strip && other.distance(&inner).abs() <= tolerance.mm()
        });
        if !twin {
            same.push(kept.len());
            kept.push(region);
        }
    }
    kept
}

#[allow(clippy::cast_precision_loss, reason = "a region has few edges")]
fn count(edges: usize) -> f64 {
    edges as f64
}

/// Drops regions with an edge where no other region can go on, again and again.
fn without_loose(wireframe: &CurvedWireframe, regions: Vec<CurvedRegion>) -> Vec<CurvedRegion> {
    let mut count = vec![0_u32; wireframe.edges.len()];
    for half in regions.iter().flat_map(CurvedRegion::halves) {
        count[half.edge.ix()] += 1;
    }
    let mut kept = regions;
    loop {
        let before = kept.len();
        kept.retain(|region| {
            let loose = region.halves().any(|h| count[h.edge.ix()] < 2);
            if loose {
                region.halves().for_each(|h| count[h.edge.ix()] -= 1);
            }
            !loose
        });
        if kept.len() == before {
            return kept;
        }
    }
}

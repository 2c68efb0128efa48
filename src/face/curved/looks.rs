//! Places on each candidate edge that every surface asks for, worked out once.

use crate::face::Half;
use crate::geom::arena::Id;
use crate::geom::{Few, P3};
use crate::wireframe::Edge;
use crate::wireframe::curved::CurvedWireframe;

/// Into how many steps a bent edge is cut to work out what it encloses.
const STEPS: u32 = 8;

/// Places on the edges of a wireframe.
pub(super) struct Looks {
    edges: Vec<Look>,
}

/// Places on an edge.
struct Look {
    /// A fifth of the way from its start, in the middle, and a fifth from its end.
    inner: [P3; 3],
    /// Evenly along it, both ends included; the ends alone if it is straight.
    along: Few<P3, 9>,
}

impl Looks {
    /// On all edges.
    pub(super) fn of(wireframe: &CurvedWireframe) -> Self {
        let look = |path: &crate::geom::path::Path| {
            let steps = if path.is_straight() { 1 } else { STEPS };
            let point = |k: u32| path.point(f64::from(k) / f64::from(steps));
            Look {
                inner: [0.2, 0.5, 0.8].map(|share| path.point(share)),
                along: (0..=steps).map(point).collect(),
            }
        };
        Looks {
            edges: wireframe.edges.iter().map(|e| look(&e.path)).collect(),
        }
    }

    /// The middle of an edge.
    pub(super) fn middle(&self, edge: Id<Edge>) -> P3 {
        self.edges[edge.ix()].inner[1]
    }

    /// Its middle, and a place before and one behind it.
    pub(super) fn inner(&self, edge: Id<Edge>) -> &[P3; 3] {
        &self.edges[edge.ix()].inner
    }

    /// Points along a half, its end left out.
    pub(super) fn along(&self, half: Half) -> impl Iterator<Item = P3> + '_ {
        let along = &self.edges[half.edge.ix()].along;
        let last = along.len() - 1;
        (0..last).map(move |k| along[if half.forward { k } else { last - k }])
    }
}

//! The wireframe of a drawing with curved lines: every edge in space that all three views allow, straight or not.
//!
//! Nothing is walked and no node is matched. A *stretch* is a longest piece of one space curve that lies over drawn line in
//! every view (`straight`, `rounds`, `meetings`), or that a curved surface needs although a view shows nothing of it (`soft`). All
//! stretches are then cut where they meet in space (`cut`): what lies between two cuts is a candidate edge, and every
//! corner of every solid is such a cut, whatever the views show there. `seen` says which pieces of each view an edge lies
//! over. `turned`, `inclined` and `tapered` make the curved surfaces that the drawn circles, arcs and slanted
//! lines may belong to.

mod corners;
mod cut;
mod drawn;
mod drawn_parts;
mod follow;
mod inclined;
mod meetings;
mod meets;
mod raster;
mod rounds;
mod rows;
mod seen;
mod slices;
mod soft;
mod starts;
mod straight;
mod tapered;
mod tops;
mod turned;

use super::{Edge, Vertex};
use crate::arrange::{Arrangement, Piece, Run};
use crate::geom::arena::Id;
use crate::geom::axis::Axes;
use crate::geom::crowded::CrowdedError;
use crate::geom::path::Path;
use crate::geom::surface::Turned;
use crate::geom::tolerance::Tolerance;
use crate::geom::{Few, P3};
use drawn::Drawn;
use itertools::Itertools;
use meetings::Meetings;
use rows::Rows;
use rustc_hash::FxHashMap;
use std::mem::discriminant;

/// A candidate edge.
#[derive(Clone, Debug)]
pub(crate) struct CurvedEdge {
    pub(crate) ends: [Id<Vertex>; 2],
    pub(crate) path: Path,
    /// What it lies over in each view.
    pub(crate) seen: [Seen; 3],
}

/// What an edge lies over in a view.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) enum Seen {
    /// The view sees it end-on.
    EndOn,
    /// These pieces of drawn line.
    Over(Few<Id<Piece>, 2>),
    /// No drawn line: it can only be there if it is not drawn in this view.
    Blank,
}

/// All candidate edges of a drawing with curved lines, and the curved surfaces they may lie on.
#[derive(Clone, Debug, Default)]
pub(crate) struct CurvedWireframe {
    pub(crate) vertices: Vec<P3>,
    pub(crate) edges: Vec<CurvedEdge>,
    /// The edges at each vertex.
    pub(crate) at_vertex: Vec<Few<Id<Edge>, 6>>,
    /// The curved surfaces.
    pub(crate) turned: Vec<Turned>,
    /// The pieces of each view that no edge lay over even before any was dropped.
    pub(crate) without_edge: [Vec<Id<Piece>>; 3],
}

/// A drawn line runs along an edge if the sine of the angle between them is less than this.
const ALONG: f64 = 0.1;

/// A longest piece of one space curve that may be an edge.
#[derive(Clone, Debug)]
struct Stretch {
    path: Path,
    /// The run it lies over in each view, where that is known.
    runs: [Option<Id<Run>>; 3],
    /// Whether its ends are only as good as the tolerance: it may run a little beyond the corner it should end at.
    loose: bool,
}

impl CurvedWireframe {
    /// Lifts the three views into space. Views are cut where an edge ends. Unless all curves are asked for, those are left out
    /// that some view must show as neither a straight line nor a circle.
    ///
    /// # Errors
    /// If the views allow too many corners.
    pub(crate) fn build(
        views: &mut [Arrangement; 3],
        axes: &mut Axes,
        all_curves: bool,
        tolerance: Tolerance,
    ) -> Result<Self, CrowdedError> {
        let rows = Rows::of(views, axes);
        let mut drawn_whole = straight::stretches(views, axes, &rows, tolerance);
        drawn_whole.extend(rounds::stretches(views, axes, &rows, tolerance));
        let turned = turned::surfaces(views, axes, &rows, tolerance);
        let soft = soft::stretches(views, axes, &rows, &turned, tolerance);
        let drawn = [0, 1, 2].map(|v| Drawn::of(&views[v], tolerance.mm()));
        let given = (&turned[..], all_curves);
        let meetings = meetings::stretches(views, axes, &drawn, given, tolerance);
        let stretches = together(drawn_whole, soft, meetings, 2.0 * tolerance.mm());
        let (vertices, parts) = cut::cut(views, stretches, tolerance)?;
        let edges = seen::edges(views, axes, &drawn, &vertices, parts, tolerance);
        let without_edge = [0, 1, 2].map(|v| pieces_without_edge(&views[v], &edges));
        let turned = turned.into_iter().map(|t| t.surface).collect();
        Ok(Self::pruned(vertices, edges, turned, without_edge))
    }

    /// Keeps the edges with another edge at either end.
    fn pruned(
        vertices: Vec<P3>,
        mut edges: Vec<CurvedEdge>,
        turned: Vec<Turned>,
        without_edge: [Vec<Id<Piece>>; 3],
    ) -> Self {
        let mut degree = vec![0_u32; vertices.len()];
        for v in edges.iter().flat_map(|e| e.ends) {
            degree[v.ix()] += 1;
        }
        loop {
            let before = edges.len();
            edges.retain(|e| {
                let dangling = e.ends.iter().any(|v| degree[v.ix()] < 2);
                if dangling {
                    e.ends.iter().for_each(|v| degree[v.ix()] -= 1);
                }
                !dangling
            });
            if edges.len() == before {
                break;
            }
        }
        let mut at_vertex = vec![Few::new(); vertices.len()];
        for (number, edge) in edges.iter().enumerate() {
            for end in edge.ends {
                at_vertex[end.ix()].push(Id::new(number));
            }
        }
        CurvedWireframe {
            vertices,
            edges,
            at_vertex,
            turned,
            without_edge,
        }
    }

    /// Whether it has the same vertices, and edges between the same of them.
    pub(crate) fn is_like(&self, other: &Self) -> bool {
        let ends = |wireframe: &Self| wireframe.edges.iter().map(|e| e.ends).collect_vec();
        self.vertices == other.vertices && ends(self) == ends(other)
    }

    /// The path of an edge.
    pub(crate) fn path(&self, edge: Id<Edge>) -> &Path {
        &self.edges[edge.ix()].path
    }
}

/// All stretches but for meetings that only run beside others.
///
/// Where two surfaces nearly touch along an edge, the curve in which they would meet does not get away from it for a while;
/// such a part of a curve is no edge of its own.
fn together(
    drawn_whole: Vec<Stretch>,
    soft: Vec<Stretch>,
    meetings: Meetings,
    reach: f64,
) -> Vec<Stretch> {
    let mut stretches = drawn_whole;
    let beside = |m: &Stretch, all: &[Stretch]| {
        let places = PLACES.map(|share| m.path.point(share));
        all.iter().any(|s| runs_along(&places, s, reach))
    };
    let whole: Vec<Stretch> = meetings
        .whole
        .into_iter()
        .filter(|m| !beside(m, &stretches))
        .collect();
    stretches.extend(soft);
    stretches.extend(whole);
    let partial: Vec<Stretch> = meetings
        .partial
        .into_iter()
        .filter(|m| !beside(m, &stretches))
        .collect();
    stretches.extend(partial);
    without_twins(stretches)
}

/// Drops stretches that are found again by another way, and tell nothing new.
fn without_twins(stretches: Vec<Stretch>) -> Vec<Stretch> {
    let mut known: FxHashMap<[[u64; 3]; 2], Few<usize, 2>> = FxHashMap::default();
    let mut kept: Vec<Stretch> = Vec::new();
    for stretch in stretches {
        let mut ends = (stretch.path.ends).map(|end| [0, 1, 2].map(|k| end[k].to_bits()));
        ends.sort_unstable();
        let same = known.entry(ends).or_default();
        if same.iter().any(|&k| tells_all(&kept[k], &stretch)) {
            continue;
        }
        same.push(kept.len());
        kept.push(stretch);
    }
    kept
}

/// Whether a stretch with the same ends takes the same way as another one and lies over the same runs, as far as is known of
/// the other.
fn tells_all(one: &Stretch, other: &Stretch) -> bool {
    let mut runs = one.runs.iter().zip(&other.runs);
    let one_kind = discriminant(&one.path.course) == discriminant(&other.path.course);
    one_kind
        && one.loose == other.loose
        && runs.all(|(known, run)| run.is_none() || known == run)
        && (one.path.middle() - other.path.middle()).norm() <= ONE_WAY
}

/// Ways between the same ends whose middles are nearer than this, in millimetres, are one.
const ONE_WAY: f64 = 1e-9;

/// Where on a stretch it is looked whether it runs along another one, as shares of the way.
const PLACES: [f64; 5] = [0.5, 0.0, 1.0, 0.25, 0.75];

/// Whether a stretch, of which some places are given, runs along another one all the way.
fn runs_along(places: &[P3], other: &Stretch, reach: f64) -> bool {
    let on_other = |at| meets::share_near(&other.path, at, reach).is_some();
    places.iter().all(on_other)
}

fn pieces_without_edge(view: &Arrangement, edges: &[CurvedEdge]) -> Vec<Id<Piece>> {
    let mut bare = vec![true; view.pieces.len()];
    for edge in edges {
        if let Seen::Over(pieces) = &edge.seen[view.view.index()] {
            pieces.iter().for_each(|p| bare[p.ix()] = false);
        }
    }
    view.pieces.ids().filter(|p| bare[p.ix()]).collect()
}

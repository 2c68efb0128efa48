//! Lines that may be missing: edges in space that two views support and the third does not show.
//!
//! For each view in turn the nodes of the other two are joined along the axis they share. Where both of them have drawn line
//! or an end-on corner under an edge between two such points, the edge is a candidate, and its image in the view a line
//! that could be added. Candidates that cannot bound a face are dropped first, as in the wireframe.

use super::sides::is_on_curved_line;
use crate::arrange::{Arrangement, Node, Run, Slope};
use crate::geom::arena::Id;
use crate::geom::axis::Axes;
use crate::geom::crowded::CrowdedError;
use crate::geom::tolerance::Tolerance;
use crate::geom::{P2, P3, V3};
use crate::sheet::View;
use rustc_hash::{FxHashMap, FxHashSet};

/// More candidate corners than this are not looked at.
const MOST_CORNERS: usize = 60_000;

/// More candidate edges than this are not looked at.
const MOST_EDGES: usize = 400_000;

/// A straight line in a view between two pairs of axis places.
pub(super) type Stroke = [[u32; 2]; 2];

/// The lines that could be added to each view, by [`View::index`], between neighbouring corners.
///
/// # Errors
/// If there are too many.
pub(super) fn straight(
    views: &[Arrangement; 3],
    axes: &Axes,
    tolerance: Tolerance,
) -> Result<[Vec<Stroke>; 3], CrowdedError> {
    let mut edges = Vec::new();
    for lacking in View::ALL {
        Supported::new(views, lacking, tolerance).collect(&mut edges)?;
        if edges.len() > MOST_EDGES {
            return Err(CrowdedError::Corners { most: MOST_EDGES });
        }
    }
    let edges = without_loose_ends(views, edges, axes, tolerance);
    Ok([0, 1, 2].map(|v| strokes(&views[v], &edges)))
}

/// More lines than this in a view are not drawn in.
const MOST_STROKES: usize = 4000;

/// The lines that each view would have if what another view shows lay at any place that occurs along its line of sight.
///
/// # Errors
/// If there are too many.
pub(super) fn at_any_depth(
    views: &[Arrangement; 3],
    axes: &Axes,
) -> Result<[Vec<Stroke>; 3], CrowdedError> {
    let mut found: [Vec<Stroke>; 3] = Default::default();
    for shown in views {
        let depth_axis = shown.view.depth_axis();
        let depths = in_order(axes, depth_axis);
        for node in shown.nodes.iter() {
            // Seen end-on there: from one depth to the next.
            for pair in depths.windows(2) {
                let ends = [pair[0], pair[1]].map(|depth| lifted(shown.view, node.ids, depth));
                see(shown.view, ends, &mut found);
            }
        }
        for piece in shown.pieces.iter().filter(|p| p.carrier.is_none()) {
            for &depth in &depths {
                let ends = piece
                    .ends
                    .map(|end| lifted(shown.view, shown.nodes[end].ids, depth));
                see(shown.view, ends, &mut found);
            }
        }
    }
    for (strokes, view) in found.iter_mut().zip(views) {
        strokes.sort_unstable();
        strokes.dedup();
        strokes.retain(|stroke| !is_drawn(view, *stroke));
        if strokes.len() > MOST_STROKES {
            return Err(CrowdedError::Meetings { most: MOST_STROKES });
        }
    }
    Ok(found)
}

/// The places of an axis in ascending order.
fn in_order(axes: &Axes, axis: usize) -> Vec<u32> {
    let count = u32::try_from(axes.len(axis)).expect("fewer than 2^32 coordinates");
    let mut places: Vec<u32> = (0..count).collect();
    places.sort_by(|a, b| axes.value(axis, *a).total_cmp(&axes.value(axis, *b)));
    places
}

/// The point at a place of a view and a depth.
fn lifted(view: View, place: [u32; 2], depth: u32) -> [u32; 3] {
    let mut ids = [0; 3];
    for (axis, id) in view.axes().into_iter().zip(place) {
        ids[axis] = id;
    }
    ids[view.depth_axis()] = depth;
    ids
}

/// Adds the images of an edge in the other two views.
fn see(shown: View, ends: [[u32; 3]; 2], found: &mut [Vec<Stroke>; 3]) {
    for view in View::ALL.into_iter().filter(|view| *view != shown) {
        let [right, up] = view.axes();
        let [p, q] = ends.map(|ids| [ids[right], ids[up]]);
        if p != q {
            found[view.index()].push([p.min(q), p.max(q)]);
        }
    }
}

/// The sloping lines that could be added to each view and whose slope no other view shows, at most `most` in all, likeliest
/// first by where they end: where drawn line merely ends, where it passes by without a node, or at any node. How unlikely
/// each is comes with it.
///
/// # Errors
/// If there are too many corners.
pub(super) fn sloping(
    views: &[Arrangement; 3],
    most: usize,
    tolerance: Tolerance,
) -> Result<Vec<(usize, View, Stroke)>, CrowdedError> {
    let mut found: [Vec<(View, Stroke)>; RANKS] = Default::default();
    for lacking in View::ALL {
        let supported = Supported::new(views, lacking, tolerance);
        let mut here: [Vec<Stroke>; RANKS] = Default::default();
        let mut places = FxHashMap::default();
        for wall in supported.on_walls()? {
            supported.slants(&wall, &mut places, &mut here);
        }
        for (found, mut here) in found.iter_mut().zip(here) {
            here.sort_unstable();
            here.dedup();
            found.extend(here.into_iter().map(|stroke| (lacking, stroke)));
        }
    }
    let ranked = found.into_iter().enumerate();
    let lines = ranked.flat_map(|(rank, lines)| lines.into_iter().map(move |(v, s)| (rank, v, s)));
    Ok(lines.take(most).collect())
}

/// How likely a line with two ends may be: the sum of what its ends are.
const RANKS: usize = 5;

/// An edge between two points, given as places on the x, y and z axis, that two views support.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
struct Candidate {
    ends: [[u32; 3]; 2],
    lacking: View,
}

/// A point as places on the x, y and z axis, and its nodes in the two views that support it.
type Corner = ([u32; 3], [Id<Node>; 2]);

/// What an edge may stand on in a view that supports it.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
enum Stand {
    EndOn(Id<Node>),
    On(Id<Run>),
}

/// The two views that support edges, and the one that may lack them.
struct Supported<'a> {
    views: [&'a Arrangement; 2],
    lacking: &'a Arrangement,
    /// The axis that both supporting views show.
    shared: usize,
    tolerance: Tolerance,
}

impl<'a> Supported<'a> {
    fn new(views: &'a [Arrangement; 3], lacking: View, tolerance: Tolerance) -> Self {
        let mut others = views.iter().filter(|v| v.view != lacking);
        let [a, b] = [others.next(), others.next()].map(|v| v.expect("there are three views"));
        Supported {
            views: [a, b],
            lacking: &views[lacking.index()],
            shared: lacking.depth_axis(),
            tolerance,
        }
    }

    /// Adds all edges between neighbouring points on one line.
    fn collect(&self, edges: &mut Vec<Candidate>) -> Result<(), CrowdedError> {
        let mut lines: Vec<([Stand; 2], [u32; 3])> = Vec::new();
        for (ids, nodes) in self.corners()? {
            lines.extend(self.stands(nodes).into_iter().map(|stands| (stands, ids)));
        }
        lines.sort_unstable();
        for line in lines.chunk_by(|a, b| a.0 == b.0) {
            let mut points: Vec<[u32; 3]> = line.iter().map(|(_, ids)| *ids).collect();
            // Sorted by place numbers so far; along a line the order of coordinates counts.
            self.sort_along(&mut points);
            edges.extend(points.windows(2).map(|pair| Candidate {
                ends: [pair[0], pair[1]],
                lacking: self.lacking.view,
            }));
        }
        Ok(())
    }

    /// The points on each plane across the shared axis where both views have a line: a line there may slope as it
    /// likes, only the lacking view would show how.
    fn on_walls(&self) -> Result<Vec<Vec<[u32; 3]>>, CrowdedError> {
        let mut walls: Vec<([Id<Run>; 2], [u32; 3])> = Vec::new();
        for (ids, [a, b]) in self.corners()? {
            let across = |which: usize, node| {
                self.runs(which, node)
                    .filter(move |&r| !self.goes_along(which, r))
            };
            for first in across(0, a) {
                walls.extend(across(1, b).map(|second| ([first, second], ids)));
            }
        }
        walls.sort_unstable();
        let chunks = walls.chunk_by(|a, b| a.0 == b.0);
        Ok(chunks
            .map(|wall| wall.iter().map(|(_, ids)| *ids).collect())
            .collect())
    }

    /// Every point that is a node in both views.
    fn corners(&self) -> Result<Vec<Corner>, CrowdedError> {
        let mut by_place: FxHashMap<u32, Vec<Id<Node>>> = FxHashMap::default();
        let place = |view: &Arrangement, node: Id<Node>| {
            let which = usize::from(view.view.axes()[0] != self.shared);
            view.nodes[node].ids[which]
        };
        for node in self.views[1].nodes.ids() {
            by_place
                .entry(place(self.views[1], node))
                .or_default()
                .push(node);
        }
        let mut found = Vec::new();
        for a in self.views[0].nodes.ids() {
            for &b in by_place.get(&place(self.views[0], a)).into_iter().flatten() {
                let mut ids = [0; 3];
                for (view, node) in self.views.iter().zip([a, b]) {
                    for (axis, id) in view.view.axes().into_iter().zip(view.nodes[node].ids) {
                        ids[axis] = id;
                    }
                }
                found.push((ids, [a, b]));
            }
            if found.len() > MOST_CORNERS {
                return Err(CrowdedError::Corners { most: MOST_CORNERS });
            }
        }
        Ok(found)
    }

    /// Whether a run of one of the views goes along the shared axis.
    fn goes_along(&self, which: usize, run: Id<Run>) -> bool {
        let view = self.views[which];
        match view.runs[run].slope {
            Slope::Level => view.view.axes()[0] == self.shared,
            Slope::Upright => view.view.axes()[1] == self.shared,
            Slope::Sloping => true,
            Slope::Curved => false,
        }
    }

    fn runs(&self, which: usize, node: Id<Node>) -> impl Iterator<Item = Id<Run>> + '_ {
        let view = self.views[which];
        let here = view.nodes[node].runs.iter().map(|(run, _)| *run);
        here.filter(|run| view.runs[*run].slope != Slope::Curved)
    }

    /// What straight lines through a point may stand on in both views, as far as these say where the line goes.
    fn stands(&self, nodes: [Id<Node>; 2]) -> Vec<[Stand; 2]> {
        let [a, b] = nodes;
        let mut all = Vec::new();
        for first in self.runs(0, a) {
            if self.goes_along(0, first) {
                let others = self.runs(1, b).filter(|&r| self.goes_along(1, r));
                all.extend(others.map(|second| [Stand::On(first), Stand::On(second)]));
            } else {
                all.push([Stand::On(first), Stand::EndOn(b)]);
            }
        }
        let across = self.runs(1, b).filter(|&r| !self.goes_along(1, r));
        all.extend(across.map(|second| [Stand::EndOn(a), Stand::On(second)]));
        all
    }

    /// The place of a corner, in millimetres.
    fn at(&self, ids: &[u32; 3]) -> [f64; 3] {
        let mut at = [0.0; 3];
        for view in self.views {
            let [right, up] = view.view.axes();
            let node = view.node_at[&[ids[right], ids[up]]];
            at[right] = view.nodes[node].at.x;
            at[up] = view.nodes[node].at.y;
        }
        at
    }

    fn sort_along(&self, points: &mut [[u32; 3]]) {
        points.sort_by(|p, q| {
            let (p, q) = (self.at(p), self.at(q));
            let by = |k: usize| p[k].total_cmp(&q[k]);
            by(0).then(by(1)).then(by(2))
        });
    }

    /// Lines between places of the lacking view on one such plane, by how unlikely they are.
    fn slants(
        &self,
        points: &[[u32; 3]],
        places: &mut FxHashMap<[u32; 2], Option<usize>>,
        found: &mut [Vec<Stroke>; RANKS],
    ) {
        let [right, up] = self.lacking.view.axes();
        let mut seen = |ids: &[u32; 3]| {
            let place = [ids[right], ids[up]];
            let unlikely = *places.entry(place).or_insert_with(|| self.unlikely(*ids));
            unlikely.map(|unlikely| (place, unlikely))
        };
        let shown: Vec<([u32; 2], usize)> = points.iter().filter_map(&mut seen).collect();
        for (i, (p, at_p)) in shown.iter().enumerate() {
            for (q, at_q) in &shown[i + 1..] {
                if p[0] != q[0] && p[1] != q[1] && !is_drawn(self.lacking, [*p, *q]) {
                    found[at_p + at_q].push([*p.min(q), *p.max(q)]);
                }
            }
        }
    }

    /// How unlikely it is that a line is missing in the third view at a corner that two views show: not at all where drawn
    /// line merely ends, little where it passes by without a node. None if nothing is drawn there.
    fn unlikely(&self, ids: [u32; 3]) -> Option<usize> {
        let [right, up] = self.lacking.view.axes();
        if let Some(&node) = self.lacking.node_at.get(&[ids[right], ids[up]]) {
            return Some(if self.lacking.is_loose(node) { 0 } else { 2 });
        }
        let at = self.at(&ids);
        let at = P2::new(at[right], at[up]);
        let mut runs = self.lacking.runs.iter().filter(|run| run.carrier.is_none());
        let passes = |run: &Run| {
            let ends = [run.nodes[0], run.nodes[run.nodes.len() - 1]];
            let [a, b] = ends.map(|node| self.lacking.nodes[node].at);
            let along = (b - a).normalize();
            let reach = along.dot(&(at - a));
            let off = along.perp(&(at - a)).abs();
            off <= self.tolerance.mm() && 0.0 < reach && reach < (b - a).norm()
        };
        runs.any(passes).then_some(1)
    }
}

/// Drops edges that cannot bound a face: at a corner whose edges lie in one plane every edge goes on straight, unless a
/// curved one may end there.
fn without_loose_ends(
    views: &[Arrangement; 3],
    mut edges: Vec<Candidate>,
    axes: &Axes,
    tolerance: Tolerance,
) -> Vec<Candidate> {
    let at = |ids: [u32; 3]| P3::from([0, 1, 2].map(|axis| axes.value(axis, ids[axis])));
    loop {
        let mut directions: FxHashMap<[u32; 3], Vec<V3>> = FxHashMap::default();
        for edge in &edges {
            let [p, q] = edge.ends;
            let along = (at(q) - at(p)).normalize();
            directions.entry(p).or_default().push(along);
            directions.entry(q).or_default().push(-along);
        }
        let size = (0..3).map(|axis| axes.reach(axis)).fold(0.0, f64::max);
        let nearly = tolerance.mm() / size.max(tolerance.mm());
        let mut spans: FxHashMap<[u32; 3], bool> = FxHashMap::default();
        let before = edges.len();
        edges.retain(|edge| {
            let [p, q] = edge.ends;
            let along = (at(q) - at(p)).normalize();
            [(p, along), (q, -along)].into_iter().all(|(end, along)| {
                let here = &directions[&end];
                *spans.entry(end).or_insert_with(|| {
                    spans_space(here, nearly) || is_on_curve(views, &at(end), tolerance)
                }) || here.iter().any(|d| (d + along).norm() < nearly)
            })
        });
        if edges.len() == before {
            return edges;
        }
    }
}

/// Whether a curve of a view passes a corner.
fn is_on_curve(views: &[Arrangement; 3], at: &P3, tolerance: Tolerance) -> bool {
    views.iter().any(|view| {
        let [right, up] = view.view.axes();
        is_on_curved_line(view, &P2::new(at[right], at[up]), tolerance.mm())
    })
}

/// Whether directions do not all lie in one plane.
fn spans_space(directions: &[V3], nearly: f64) -> bool {
    let first = directions[0];
    let across = directions.iter().map(|d| first.cross(d));
    let Some(normal) = across.max_by(|a, b| a.norm().total_cmp(&b.norm())) else {
        return false;
    };
    normal.norm() > nearly
        && directions
            .iter()
            .any(|d| d.dot(&normal).abs() > nearly * normal.norm())
}

/// The images of the edges that a view lacks, those left out that it shows as a point or as drawn line.
fn strokes(view: &Arrangement, edges: &[Candidate]) -> Vec<Stroke> {
    let [right, up] = view.view.axes();
    let mut known = FxHashSet::default();
    edges
        .iter()
        .filter(|edge| edge.lacking == view.view)
        .map(|edge| edge.ends.map(|ids| [ids[right], ids[up]]))
        .filter(|[p, q]| p != q && !is_drawn(view, [*p, *q]))
        .map(|[p, q]| [p.min(q), p.max(q)])
        .filter(|stroke| known.insert(*stroke))
        .collect()
}

/// Whether drawn line runs straight from one place to the other.
fn is_drawn(view: &Arrangement, ends: Stroke) -> bool {
    let [Some(p), Some(q)] = ends.map(|end| view.node_at.get(&end)) else {
        return false;
    };
    let straight = |run: Id<Run>| view.runs[run].slope != Slope::Curved;
    let of_p = view.nodes[*p].runs.iter().map(|(run, _)| *run);
    let both = |run: &Id<Run>| view.position(*run, *q).is_some();
    of_p.filter(|run| straight(*run)).any(|run| both(&run))
}

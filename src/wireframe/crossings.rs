//! Corners of the second kind: where two candidate edges cross in space although some view shows no junction.
//!
//! Such a corner has all its edges in one plane, each going straight through (two walls standing crosswise, one up, one
//! down). Some view sees the two edges cross; so it is enough to look, at each node of each view, for edges that pass
//! over it at the same depth.

use super::vertices::vertex;
use super::{Edge, Over, Vertex, place_on, seen_in};
use crate::arrange::Arrangement;
use crate::geom::arena::{Arena, Id};
use crate::geom::axis::Axes;
use crate::geom::tolerance::Tolerance;
use crate::geom::{P2, P3};
use rustc_hash::FxHashMap;

/// An edge passing over a node, with its depth there.
type Passing = (u32, f64, Id<Edge>);

/// Adds a vertex at every crossing and cuts edges and views there.
pub(super) fn split_at_crossings(
    views: &mut [Arrangement; 3],
    axes: &mut Axes,
    vertices: Arena<Vertex>,
    edges: Arena<Edge>,
    tolerance: Tolerance,
) -> (Arena<Vertex>, Arena<Edge>) {
    let crossings = crossings(views, axes, &vertices, &edges, tolerance);
    if crossings.is_empty() {
        return (vertices, edges);
    }
    let mut vertices = vertices;
    let mut known: FxHashMap<[u32; 3], Id<Vertex>> =
        vertices.enumerate().map(|(id, v)| (v.ids, id)).collect();
    let mut cuts: Vec<Vec<Id<Vertex>>> = vec![Vec::new(); edges.len()];
    for (ids, crossing) in crossings {
        for &edge in &crossing {
            cut_views(views, axes, &edges[edge], ids);
        }
        if !known.contains_key(&ids)
            && let Some(vertex) = vertex(views, axes, ids)
        {
            known.insert(ids, vertices.push(vertex));
        }
        if let Some(&id) = known.get(&ids) {
            for edge in crossing {
                cuts[edge.ix()].push(id);
            }
        }
    }
    let mut split = Arena::default();
    for (edge, mut cuts) in edges.iter().zip(cuts) {
        let [a, b] = edge.ends;
        let start = vertices[a].at;
        cuts.retain(|&v| v != a && v != b);
        cuts.sort_unstable_by(|&p, &q| {
            let reach = |v: Id<Vertex>| (vertices[v].at - start).norm_squared();
            reach(p).total_cmp(&reach(q)).then(p.cmp(&q))
        });
        cuts.dedup();
        let stops: Vec<Id<Vertex>> = [a].into_iter().chain(cuts).chain([b]).collect();
        for pair in stops.windows(2) {
            split.push(Edge {
                ends: [pair[0], pair[1]],
                over: edge.over,
            });
        }
    }
    (vertices, split)
}

/// The places of all crossings, with the edges that cross there.
fn crossings(
    views: &[Arrangement; 3],
    axes: &mut Axes,
    vertices: &Arena<Vertex>,
    edges: &Arena<Edge>,
    tolerance: Tolerance,
) -> Vec<([u32; 3], Vec<Id<Edge>>)> {
    let mut found = Vec::new();
    for view in views {
        let mut passing = passing(view, vertices, edges);
        passing.sort_unstable_by(|a, b| {
            (a.0.cmp(&b.0))
                .then(a.1.total_cmp(&b.1))
                .then(a.2.cmp(&b.2))
        });
        let same = |a: &Passing, b: &Passing| a.0 == b.0 && tolerance.same(a.1, b.1);
        for group in passing.chunk_by(same) {
            let crossing = not_joined(edges, group);
            if crossing.is_empty() {
                continue;
            }
            let node = &view.nodes[Id::new(group[0].0 as usize)];
            let mut ids = [0; 3];
            for (axis, id) in view.view.axes().into_iter().zip(node.ids) {
                ids[axis] = id;
            }
            let depth_axis = view.view.depth_axis();
            ids[depth_axis] = axes.place(depth_axis, group[0].1);
            found.push((ids, crossing));
        }
    }
    found
}

/// The edges of a group that share no end with some other: near an end that two edges share they are close, but cross
/// nowhere else.
fn not_joined(edges: &Arena<Edge>, group: &[Passing]) -> Vec<Id<Edge>> {
    let joined = |a: Id<Edge>, b: Id<Edge>| edges[a].ends.iter().any(|v| edges[b].ends.contains(v));
    let passing = || group.iter().map(|p| p.2);
    passing()
        .filter(|&a| passing().any(|b| !joined(a, b)))
        .collect()
}

/// Every edge at every node it passes over between its ends.
fn passing(view: &Arrangement, vertices: &Arena<Vertex>, edges: &Arena<Edge>) -> Vec<Passing> {
    let mut found = Vec::new();
    let [right, up] = view.view.axes();
    let depth_axis = view.view.depth_axis();
    for (id, edge) in edges.enumerate() {
        let Over::Run(run) = edge.over[view.view.index()] else {
            continue;
        };
        let [a, b] = edge.ends.map(|v| place_on(view, run, &vertices[v]));
        if a == b {
            continue; // a steep edge, shorter here than what can be told apart
        }
        let [from, to]: [P3; 2] = edge.ends.map(|v| vertices[v].at);
        let seen = |p: &P3| P2::new(p[right], p[up]);
        let along = seen(&to) - seen(&from);
        for &node in &view.runs[run].nodes[a.min(b) + 1..a.max(b)] {
            let reach = along.dot(&(view.nodes[node].at - seen(&from))) / along.norm_squared();
            let depth = from[depth_axis] + reach * (to[depth_axis] - from[depth_axis]);
            found.push((node.raw(), depth, id));
        }
    }
    found
}

/// Makes sure that every view has a node under the crossing on the run below `edge`.
fn cut_views(views: &mut [Arrangement; 3], axes: &Axes, edge: &Edge, ids: [u32; 3]) {
    for view in views {
        if let Over::Run(run) = edge.over[view.view.index()] {
            let [right, up] = view.view.axes();
            let at = P2::new(axes.value(right, ids[right]), axes.value(up, ids[up]));
            view.cut_run(run, seen_in(view.view, ids), at);
        }
    }
}

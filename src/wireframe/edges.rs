//! Candidate edges: two vertices are joined if in every view drawn line runs straight from one to the other.
//!
//! Runs are connected, so two vertices on the same run of a view have drawn line between them there. Vertices that stand
//! on the same run, or the same node, in all three views therefore lie on one straight line in space, over drawn line
//! everywhere; neighbours along it are the candidate edges.

use super::{Edge, Over, Vertex};
use crate::arrange::{Arrangement, Run, Slope};
use crate::geom::arena::{Arena, Id};
use crate::sheet::View;

/// All candidate edges between neighbouring vertices.
pub(super) fn edges(views: &[Arrangement; 3], vertices: &Arena<Vertex>) -> Arena<Edge> {
    let mut on_lines: Vec<([Over; 3], Id<Vertex>)> = Vec::new();
    for (id, vertex) in vertices.enumerate() {
        on_lines.extend(lines_through(views, vertex).map(|line| (line, id)));
    }
    on_lines.sort_unstable_by(|a, b| {
        let along = |v: Id<Vertex>| vertices[v].at;
        a.0.cmp(&b.0).then_with(|| {
            let (p, q) = (along(a.1), along(b.1));
            let order = p.x.total_cmp(&q.x).then(p.y.total_cmp(&q.y));
            order.then(p.z.total_cmp(&q.z))
        })
    });
    on_lines
        .windows(2)
        .filter(|pair| pair[0].0 == pair[1].0)
        .map(|pair| Edge {
            ends: [pair[0].1, pair[1].1],
            over: pair[0].0,
        })
        .collect()
}

/// The straight lines in space through a vertex that may run over drawn line in every view.
fn lines_through(views: &[Arrangement; 3], vertex: &Vertex) -> impl Iterator<Item = [Over; 3]> {
    use Slope::{Level, Sloping, Upright};
    let runs = |view: View| {
        let arrangement = &views[view.index()];
        arrangement.nodes[vertex.nodes[view.index()]]
            .runs
            .iter()
            .map(|&(run, _)| (run, arrangement.runs[run].slope))
    };
    let with = move |view, slope| {
        runs(view)
            .filter(move |(_, s)| *s == slope)
            .map(|(run, _)| run)
    };
    let end_on = |view: View| Over::Node(vertex.nodes[view.index()]);
    let mut lines = Vec::new();
    // Lines that move along x: the front and top views lead, their slopes say how the right-side view must run.
    for (f, front) in runs(View::Front).filter(|(_, s)| *s != Upright) {
        for (t, top) in runs(View::Top).filter(|(_, s)| *s != Upright) {
            let mut push = |right| lines.push([Over::Run(f), Over::Run(t), right]);
            let run = |r: Id<Run>| Over::Run(r);
            match (front, top) {
                (Level, Level) => push(end_on(View::Right)),
                (Level, _) => with(View::Right, Level).map(run).for_each(push),
                (_, Level) => with(View::Right, Upright).map(run).for_each(push),
                _ => with(View::Right, Sloping).map(run).for_each(push),
            }
        }
    }
    // Lines in a plane of constant x: the right-side view shows their true shape and leads.
    for (r, right) in runs(View::Right) {
        let fronts: Vec<Over> = match right {
            Level => vec![end_on(View::Front)],
            _ => with(View::Front, Upright).map(Over::Run).collect(),
        };
        let tops: Vec<Over> = match right {
            Upright => vec![end_on(View::Top)],
            _ => with(View::Top, Upright).map(Over::Run).collect(),
        };
        for &front in &fronts {
            lines.extend(tops.iter().map(|&top| [front, top, Over::Run(r)]));
        }
    }
    lines.into_iter()
}

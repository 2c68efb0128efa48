//! What each edge lies over in each view: seen end-on, over which pieces of drawn line, or over none.
//!
//! The views are cut below the ends of every edge that lies over a run, so that it covers whole pieces.

use super::cut::Part;
use super::drawn::{Drawn, flat, off};
use super::{CurvedEdge, Seen};
use crate::arrange::{Arrangement, Piece, Run};
use crate::geom::arena::Id;
use crate::geom::axis::Axes;
use crate::geom::path::Path;
use crate::geom::tolerance::Tolerance;
use crate::geom::{Few, P2, P3};

/// The edges, each with what it lies over. Views are cut below their ends.
pub(super) fn edges(
    views: &mut [Arrangement; 3],
    axes: &mut Axes,
    drawn: &[Drawn; 3],
    vertices: &[P3],
    parts: Vec<Part>,
    tolerance: Tolerance,
) -> Vec<CurvedEdge> {
    let reach = tolerance.mm();
    let runs: Vec<[Few<Id<Run>, 1>; 3]> = parts
        .iter()
        .map(|part| {
            [0, 1, 2].map(|v| {
                let view = &views[v];
                if is_end_on(&part.path, view, reach) {
                    return Few::new();
                }
                let mut runs = if part.runs[v].is_empty() {
                    drawn[v].runs_below(view, &part.path)
                } else {
                    part.runs[v].clone()
                };
                for path in &part.beside {
                    runs.extend(drawn[v].runs_below(view, path));
                }
                if !part.beside.is_empty() {
                    runs.sort_unstable();
                    runs.dedup();
                }
                runs
            })
        })
        .collect();
    for (part, runs) in parts.iter().zip(&runs) {
        for (view, runs) in views.iter_mut().zip(runs) {
            for run in runs {
                for end in part.ends {
                    cut_below(view, axes, *run, &vertices[end.ix()], reach);
                }
            }
        }
    }
    let pieces = [0, 1, 2].map(|v| Looks::of(&views[v]));
    parts
        .into_iter()
        .zip(runs)
        .map(|(part, runs)| {
            let shares: &[f64] = match part.path.is_straight() {
                true => &[0.0, 1.0],
                false => &[0.0, 0.25, 0.5, 0.75, 1.0],
            };
            let places: Places = shares.iter().map(|s| part.path.point(*s)).collect();
            let seen = [0, 1, 2].map(|v| {
                let view = &views[v];
                if is_end_on(&part.path, view, reach) {
                    return Seen::EndOn;
                }
                over((view, &pieces[v]), &runs[v], (&part.path, &places), reach)
            });
            CurvedEdge {
                ends: part.ends,
                path: part.path,
                seen,
            }
        })
        .collect()
}

fn is_end_on(path: &Path, view: &Arrangement, reach: f64) -> bool {
    let [a, b] = path.ends.map(|end| flat(view, &end));
    (b - a).amax() <= reach
}

/// Makes sure that a run has a node below a vertex that lies over it.
fn cut_below(view: &mut Arrangement, axes: &mut Axes, run: Id<Run>, vertex: &P3, reach: f64) {
    let at = flat(view, vertex);
    if node_near(view, run, &at, reach).is_some() || !lies_over(view, run, &at, 2.0 * reach) {
        return;
    }
    let [right, up] = view.view.axes();
    let ids = [axes.place(right, at.x), axes.place(up, at.y)];
    view.cut_run(run, ids, at);
}

/// The position of the node of a run nearest to a point, if it is within reach.
fn node_near(view: &Arrangement, run: Id<Run>, at: &P2, reach: f64) -> Option<usize> {
    let off = |n: usize| (view.nodes[view.runs[run].nodes[n]].at - at).norm();
    (0..view.runs[run].nodes.len())
        .map(|n| (off(n), n))
        .filter(|(off, _)| *off <= reach)
        .min_by(|a, b| a.0.total_cmp(&b.0))
        .map(|(_, n)| n)
}

fn lies_over(view: &Arrangement, run: Id<Run>, at: &P2, reach: f64) -> bool {
    view.runs[run]
        .pieces
        .iter()
        .any(|&piece| passes(view, piece, at, reach) && off(view, piece, at) <= reach)
}

/// Middle and length from end to end of each piece of a view.
struct Looks(Vec<(P2, f64)>);

impl Looks {
    fn of(view: &Arrangement) -> Self {
        let look = |piece: Id<Piece>| {
            let [a, b] = view.pieces[piece].ends.map(|n| view.nodes[n].at);
            (view.middle(piece), (b - a).norm())
        };
        Looks(view.pieces.ids().map(look).collect())
    }
}

/// Some places along a path, evenly from end to end.
type Places = Few<P3, 5>;

/// The pieces of some runs that lie below a path, if together they are as long as it is.
fn over(
    (view, looks): (&Arrangement, &Looks),
    runs: &[Id<Run>],
    (path, places): (&Path, &Places),
    reach: f64,
) -> Seen {
    if runs.is_empty() {
        return Seen::Blank;
    }
    let axes = view.view.axes();
    let below = |p: &Id<Piece>| path.is_near(axes, &looks.0[p.ix()].0, 2.0 * reach);
    let pieces: Few<Id<Piece>, 2> = runs
        .iter()
        .flat_map(|&run| pieces_beside(view, run, path, 2.0 * reach).iter().copied())
        .filter(below)
        .collect();
    let covered: f64 = pieces.iter().map(|p| looks.0[p.ix()].1).sum();
    let step = |pair: &[P3]| (flat(view, &pair[1]) - flat(view, &pair[0])).norm();
    let length: f64 = places.windows(2).map(step).sum();
    if covered >= COVERED * length - 6.0 * reach {
        Seen::Over(pieces)
    } else {
        Seen::Blank
    }
}

/// The pieces of a run beside a path; all of them if the run is curved.
fn pieces_beside<'v>(
    view: &'v Arrangement,
    run: Id<Run>,
    path: &Path,
    reach: f64,
) -> &'v [Id<Piece>] {
    let run = &view.runs[run];
    if run.carrier.is_some() {
        return &run.pieces;
    }
    let at = |k: usize| view.nodes[run.nodes[k]].at;
    let last = run.nodes.len() - 1;
    let along = (at(last) - at(0)).normalize();
    let ahead = |p: &P2| along.dot(&(p - at(0)));
    let ends = path.ends.map(|end| flat(view, &end));
    let (low, high) = (ends[0].inf(&ends[1]), ends[0].sup(&ends[1]));
    let corners = [low, high, P2::new(low.x, high.y), P2::new(high.x, low.y)].map(|p| ahead(&p));
    let inner = &run.nodes[1..last];
    let before = |limit: f64| inner.partition_point(|n| ahead(&view.nodes[*n].at) < limit);
    let [first, last] = [
        corners.iter().copied().fold(f64::INFINITY, f64::min) - reach,
        corners.iter().copied().fold(f64::NEG_INFINITY, f64::max) + reach,
    ];
    &run.pieces[before(first)..=before(last)]
}

/// The part of an edge's length that must lie over drawn line, but for a few tolerances; chords are shorter than arcs.
const COVERED: f64 = 0.8;

/// Whether a point on the line of a piece lies on the piece.
fn passes(view: &Arrangement, piece: Id<Piece>, at: &P2, reach: f64) -> bool {
    let [a, b] = view.pieces[piece].ends.map(|n| view.nodes[n].at);
    let (low, high) = (a.inf(&b), a.sup(&b));
    (0..2).all(|k| at[k] >= low[k] - reach && at[k] <= high[k] + reach)
}

//! What each edge lies over in each view: seen end-on, over which pieces of drawn line, or over none.
//!
//! The views are cut below the ends of every edge that lies over a run, so that it covers whole pieces.

use super::cut::Part;
use super::{ALONG, CurvedEdge, Seen};
use crate::arrange::{Arrangement, Piece, Run};
use crate::geom::arena::Id;
use crate::geom::axis::Axes;
use crate::geom::pairs::{Bounds, BoxIndex};
use crate::geom::path::Path;
use crate::geom::tolerance::Tolerance;
use crate::geom::{P2, P3, V2};
use crate::sheet::View;

/// The edges, each with what it lies over. Views are cut below their ends.
pub(super) fn edges(
    views: &mut [Arrangement; 3],
    axes: &mut Axes,
    vertices: &[P3],
    parts: Vec<Part>,
    tolerance: Tolerance,
) -> Vec<CurvedEdge> {
    let reach = tolerance.mm();
    let finders = [0, 1, 2].map(|v| RunFinder::of(&views[v], reach));
    let runs: Vec<[Option<Id<Run>>; 3]> = parts
        .iter()
        .map(|part| {
            [0, 1, 2].map(|v| {
                let view = &views[v];
                if is_end_on(&part.path, view.view, reach) {
                    return None;
                }
                part.runs[v].or_else(|| finders[v].find(view, &part.path, reach))
            })
        })
        .collect();
    for (part, runs) in parts.iter().zip(&runs) {
        for (view, run) in views.iter_mut().zip(runs) {
            if let Some(run) = run {
                for end in part.ends {
                    cut_below(view, axes, *run, &vertices[end.ix()], reach);
                }
            }
        }
    }
    parts
        .into_iter()
        .zip(runs)
        .map(|(part, runs)| {
            let seen = [0, 1, 2].map(|v| {
                let view = &views[v];
                if is_end_on(&part.path, view.view, reach) {
                    return Seen::EndOn;
                }
                runs[v].map_or(Seen::Blank, |run| over(view, run, &part, vertices, reach))
            });
            CurvedEdge {
                ends: part.ends,
                path: part.path,
                seen,
            }
        })
        .collect()
}

fn flat(view: View, point: &P3) -> P2 {
    let [right, up] = view.axes();
    P2::new(point[right], point[up])
}

fn is_end_on(path: &Path, view: View, reach: f64) -> bool {
    let [a, b] = path.ends.map(|end| flat(view, &end));
    (b - a).amax() <= reach
}

/// Finds the run that an edge lies over.
struct RunFinder {
    pieces: BoxIndex<2>,
    /// The run of each piece.
    run: Vec<Id<Run>>,
}

impl RunFinder {
    fn of(view: &Arrangement, reach: f64) -> Self {
        let mut run = vec![Id::new(0); view.pieces.len()];
        for (id, r) in view.runs.enumerate() {
            r.pieces.iter().for_each(|p| run[p.ix()] = id);
        }
        let boxes: Vec<Bounds<2>> = view
            .pieces
            .iter()
            .map(|piece| {
                let [a, b] = piece.ends.map(|n| view.nodes[n].at);
                let (low, high) = (a.inf(&b), a.sup(&b));
                [
                    [low.x - reach, low.y - reach],
                    [high.x + reach, high.y + reach],
                ]
            })
            .collect();
        RunFinder {
            pieces: BoxIndex::new(&boxes),
            run,
        }
    }

    /// The run of the piece that passes the middle of a path in its direction.
    fn find(&self, view: &Arrangement, path: &Path, reach: f64) -> Option<Id<Run>> {
        let [right, up] = view.view.axes();
        let at = flat(view.view, &path.middle());
        let way = path.direction(0.5);
        let way = V2::new(way[right], way[up]).try_normalize(0.0)?;
        let mut best: Option<(f64, u32)> = None;
        self.pieces
            .touching(&[[at.x, at.y], [at.x, at.y]], |number| {
                let (off, along) = off_and_along(view, Id::new(number as usize), &at);
                if off <= reach
                    && along.perp(&way).abs() <= ALONG
                    && best.is_none_or(|(least, n)| (off, number) < (least, n))
                {
                    best = Some((off, number));
                }
            });
        best.map(|(_, number)| self.run[number as usize])
    }
}

/// How far a point is from the line that a piece is part of, and the direction there.
fn off_and_along(view: &Arrangement, piece: Id<Piece>, at: &P2) -> (f64, V2) {
    let along = view.direction(piece, at);
    let piece = &view.pieces[piece];
    let off = match piece.carrier {
        Some(carrier) => view.carriers[carrier as usize].distance(at),
        None => along.perp(&(at - view.nodes[piece.ends[0]].at)).abs(),
    };
    (off, along)
}

/// Makes sure that a run has a node below a vertex that lies over it.
fn cut_below(view: &mut Arrangement, axes: &mut Axes, run: Id<Run>, vertex: &P3, reach: f64) {
    let at = flat(view.view, vertex);
    if node_near(view, run, &at, 2.0 * reach).is_some() || !lies_over(view, run, &at, 2.0 * reach) {
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
        .any(|&piece| passes(view, piece, at, reach) && off_and_along(view, piece, at).0 <= reach)
}

/// The pieces of a run between the ends of a part.
fn over(view: &Arrangement, run: Id<Run>, part: &Part, vertices: &[P3], reach: f64) -> Seen {
    let ends = part
        .ends
        .map(|v| node_near(view, run, &flat(view.view, &vertices[v.ix()]), 2.0 * reach));
    let [Some(a), Some(b)] = ends else {
        return Seen::Blank;
    };
    let pieces = &view.runs[run].pieces;
    let nodes = &view.runs[run].nodes;
    let (low, high) = (a.min(b), a.max(b));
    let between = pieces[low..high].iter().copied();
    if nodes[0] != nodes[nodes.len() - 1] {
        return Seen::Over(between.collect());
    }
    // On a closed run there are two ways round: the one below the middle of the part.
    let middle = flat(view.view, &part.path.middle());
    let inner: Vec<Id<Piece>> = between.collect();
    if inner.iter().any(|&p| passes(view, p, &middle, reach)) {
        return Seen::Over(inner.into_iter().collect());
    }
    let round = pieces[high..].iter().chain(&pieces[..low]).copied();
    Seen::Over(round.collect())
}

/// Whether a point on the line of a piece lies on the piece.
fn passes(view: &Arrangement, piece: Id<Piece>, at: &P2, reach: f64) -> bool {
    let [a, b] = view.pieces[piece].ends.map(|n| view.nodes[n].at);
    let (low, high) = (a.inf(&b), a.sup(&b));
    (0..2).all(|k| at[k] >= low[k] - reach && at[k] <= high[k] + reach)
}

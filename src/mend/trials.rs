//! Lines to add that are tried one by one, because together they would cut one another to pieces.

use super::ghosts::{self, Stroke};
use super::sides::{self, is_on_line};
use super::{bends, rings, rounds};
use crate::Shape;
use crate::arrange::split::arrange;
use crate::arrange::{Arrangement, Node};
use crate::export::stretch::Paper;
use crate::geom::arena::Id;
use crate::geom::axis::Axes;
use crate::geom::crowded::CrowdedError;
use crate::geom::{P2, V2};
use crate::sheet::{Drawing, View};
use crate::solve::board::Board;
use itertools::{Itertools, iproduct};

/// More sloping lines than this are not tried on a sheet without curves.
const MOST_SLOPING: usize = 60;

/// More circles than this are not tried if they are the first curves of a sheet.
const MOST_CIRCLES: usize = 36;

/// More lines than this are not tried on a drawing with curves.
const MOST_TRIALS: usize = 300;

/// A straight line is put together of no more stretches between candidate corners.
const MOST_STRETCHES: usize = 6;

/// A line that could be added.
#[derive(Clone)]
pub(super) struct Trial {
    pub(super) view: View,
    pub(super) shape: Shape,
    /// From where to where it reaches, in the view's own millimetres.
    reach: [P2; 2],
    /// The likeliest have 0.
    pub(super) unlikely: usize,
}

/// What may be missing on a sheet without curves: sloping lines whose slope only the view shows that lacks them.
///
/// # Errors
/// If there are too many places.
pub(super) fn sloping(drawing: &Drawing) -> Result<Vec<Trial>, CrowdedError> {
    Desk::new(drawing)?.sloping(MOST_SLOPING)
}

/// The first curve that a sheet may have: a whole circle.
///
/// # Errors
/// If there are too many places.
pub(super) fn circles(drawing: &Drawing) -> Result<Vec<Trial>, CrowdedError> {
    Ok(Desk::new(drawing)?.circles().collect())
}

/// What may be missing on a sheet with curves, likeliest first: lines whose ends are where drawn line ends in the open, and
/// that explain all pieces that no candidate edge lies over. The drawing may be given in more than one way.
///
/// # Errors
/// If there are too many places.
pub(super) fn around_curves(
    drawings: &[&Drawing],
    bare: &[Bare],
) -> Result<Vec<Trial>, CrowdedError> {
    let mut trials = Vec::new();
    for drawing in drawings {
        let mut desk = Desk::new(drawing)?;
        let mut found = desk.bridges();
        found.extend(desk.tangents());
        found.extend(desk.mirrored());
        found.extend(desk.curves());
        found.retain(|trial| desk.has_room_for(trial));
        found.extend(desk.circles());
        // There are so many straight ones that of those as likely they come last.
        let mut straight = desk.straight()?;
        straight.extend(desk.sloping(MOST_SLOPING)?);
        straight.retain(|trial| desk.has_room_for(trial));
        found.append(&mut straight);
        for trial in &mut found {
            let explains = |piece: &&Bare| piece.is_explained_by(trial, drawing.tolerance.mm());
            let explained = bare.iter().filter(explains).count();
            trial.unlikely += usize::from(explained < bare.len());
            trial.unlikely += usize::from(explained == 0 && !bare.is_empty());
        }
        found.sort_by_key(|trial| trial.unlikely);
        found.truncate(MOST_TRIALS);
        trials.append(&mut found);
    }
    trials.sort_by_key(|trial| trial.unlikely);
    Ok(trials)
}

/// A piece of a view that no candidate edge lies over.
#[derive(Clone, Copy, Debug)]
pub(super) struct Bare {
    view: View,
    /// From where to where it reaches, in the view's own millimetres.
    reach: [P2; 2],
}

impl Bare {
    /// Those of all views.
    pub(super) fn all(board: &dyn Board) -> Vec<Bare> {
        let views = board.views().iter().zip(board.without_edge());
        let bare = views.flat_map(|(view, pieces)| {
            pieces.iter().map(move |piece| {
                let [a, b] = view.pieces[*piece].ends.map(|n| view.nodes[n].at);
                Bare {
                    view: view.view,
                    reach: [a.inf(&b), a.sup(&b)],
                }
            })
        });
        bare.collect()
    }

    /// Whether a line to add may be why nothing lies over the piece: from another view, as it goes as far along the axis
    /// that both show; in the same view, as the other half of something symmetric.
    fn is_explained_by(&self, trial: &Trial, tolerance: f64) -> bool {
        let reach_of = |bounds: &[P2; 2], k: usize| [bounds[0][k], bounds[1][k]];
        let axes = self.view.axes();
        let near = |a: f64, b: f64| (a - b).abs() <= tolerance;
        (0..2).any(|k| {
            let [low, high] = reach_of(&self.reach, k);
            let other = trial
                .view
                .axes()
                .into_iter()
                .position(|axis| axis == axes[k]);
            let Some(other) = other else { return false };
            let [from, to] = reach_of(&trial.reach, other);
            if trial.view == self.view {
                near(low, from) && near(high, to)
            } else {
                from - tolerance <= low && high <= to + tolerance
            }
        })
    }
}

/// A drawing, its views and the places of its axes.
struct Desk<'a> {
    drawing: &'a Drawing,
    views: [Arrangement; 3],
    axes: Axes,
}

impl<'a> Desk<'a> {
    fn new(drawing: &'a Drawing) -> Result<Self, CrowdedError> {
        let (views, axes) = arrange(drawing)?;
        Ok(Desk {
            drawing,
            views,
            axes,
        })
    }

    fn sloping(&self, most: usize) -> Result<Vec<Trial>, CrowdedError> {
        let strokes = ghosts::sloping(&self.views, most, self.drawing.tolerance)?;
        let lines = strokes.into_iter();
        Ok(lines
            .map(|(unlikely, view, stroke)| self.line(view, stroke, unlikely))
            .collect())
    }

    /// Straight lines along an axis from one place to another where drawn line ends in the open; if there are but two such
    /// places in a view, the line between them, however it goes.
    fn bridges(&self) -> Vec<Trial> {
        let bridges = self.views.iter().flat_map(|view| {
            let nodes = view.nodes.ids();
            let loose: Vec<[u32; 2]> = nodes
                .filter(|&node| view.is_loose(node))
                .map(|node| view.nodes[node].ids)
                .collect();
            let any = loose.len() == 2;
            let pairs = loose.into_iter().array_combinations();
            let level = pairs.filter(move |[a, b]: &Stroke| any || a[0] == b[0] || a[1] == b[1]);
            level.map(|stroke| (view.view, stroke))
        });
        let undrawn = bridges.filter(|(view, stroke)| !self.is_drawn(*view, *stroke));
        undrawn
            .map(|(view, stroke)| self.line(view, stroke, 0))
            .collect()
    }

    /// Sloping lines from where drawn line ends in the open to a node at which a curve goes their way.
    fn tangents(&self) -> Vec<Trial> {
        let tangents = self.views.iter().flat_map(|view| {
            let nodes: Vec<Id<Node>> = view.nodes.ids().collect();
            let loose = nodes.clone().into_iter().filter(|&n| view.is_loose(n));
            let pairs = loose.cartesian_product(nodes);
            let touching = pairs.filter(|(a, b)| touches(view, *a, *b));
            touching.map(|(a, b)| (view.view, [a, b].map(|node| view.nodes[node].ids)))
        });
        let undrawn = tangents.filter(|(view, stroke)| !self.is_drawn(*view, *stroke));
        undrawn
            .map(|(view, stroke)| self.line(view, stroke, 1))
            .collect()
    }

    /// The mirror images of straight lines about the middle of their view and about the centres in it.
    fn mirrored(&self) -> Vec<Trial> {
        let tolerance = self.drawing.tolerance.mm();
        let mut images = Vec::new();
        for (view, axis) in iproduct!(&self.views, 0..2) {
            let size = self.axes.reach(view.view.axes()[axis]);
            let straight = view.runs.iter().filter(|run| run.carrier.is_none());
            let ends = straight.map(|run| [run.nodes[0], run.nodes[run.nodes.len() - 1]]);
            let lines: Vec<[P2; 2]> = ends.map(|e| e.map(|n| view.nodes[n].at)).collect();
            for (middle, line) in iproduct!(sides::middles(view, axis, size, tolerance), lines) {
                let image = line.map(|mut at| {
                    at[axis] = 2.0 * middle - at[axis];
                    at
                });
                if !self.is_below(view.view, image) {
                    let bare = image.iter().filter(|end| !self.is_loose(view, end));
                    images.push(self.between(view.view, image, 2 * bare.count()));
                }
            }
        }
        images
    }

    fn is_loose(&self, view: &Arrangement, at: &P2) -> bool {
        let near = |n: &Id<Node>| (view.nodes[*n].at - at).norm() <= self.drawing.tolerance.mm();
        view.nodes
            .ids()
            .filter(near)
            .any(|node| view.is_loose(node))
    }

    /// Straight lines that the other two views support, each stretch and chains of them; those that curves ask for first.
    fn straight(&mut self) -> Result<Vec<Trial>, CrowdedError> {
        let (views, tolerance) = (&self.views, self.drawing.tolerance);
        let of_curves = rounds::straight(views, &mut self.axes, tolerance);
        let others = ghosts::straight(views, &self.axes, tolerance)?;
        let mut lines = Vec::new();
        for (strokes, more) in [(of_curves, 0), (others, 1)] {
            for (view, strokes) in View::ALL.into_iter().zip(strokes) {
                lines.extend(self.chained(view, &strokes, more));
            }
        }
        Ok(lines)
    }

    fn chained(&self, view: View, strokes: &[Stroke], more: usize) -> Vec<Trial> {
        let tolerance = self.drawing.tolerance.mm();
        let unlikely = |place| {
            let at = self.at(view, place);
            sides::unlikely(&self.views[view.index()], place, &at, tolerance)
        };
        let chains = self.chains(view, strokes).into_iter();
        let undrawn = chains.filter(|stroke| !self.is_drawn(view, *stroke));
        let lines = undrawn.map(|s| self.line(view, s, unlikely(s[0]) + unlikely(s[1]) + more));
        lines.collect()
    }

    /// Whether drawn line runs below a stroke.
    fn is_drawn(&self, view: View, stroke: Stroke) -> bool {
        self.is_below(view, stroke.map(|place| self.at(view, place)))
    }

    fn is_below(&self, view: View, [a, b]: [P2; 2]) -> bool {
        let tolerance = self.drawing.tolerance.mm();
        let shown = |share: f64| {
            let at = a + (b - a) * share;
            is_on_line(&self.views[view.index()], &at, tolerance)
        };
        [0.1, 0.35, 0.5, 0.85].into_iter().all(shown)
    }

    /// Every chain of strokes that go on straight.
    fn chains(&self, view: View, strokes: &[Stroke]) -> Vec<Stroke> {
        let goes_on = |[p, q]: &Stroke, next: &Stroke| {
            let [a, b, c] = [*p, *q, next[1]].map(|place| self.at(view, place));
            let bend = (b - a).perp(&(c - b)).abs();
            next[0] == *q && bend <= self.drawing.tolerance.mm() * (c - b).norm()
        };
        // Places are numbered in no order; along a chain coordinates grow.
        let forth = |stroke: &Stroke| {
            let [a, b] = stroke.map(|place| self.at(view, place));
            if (a.x, a.y) < (b.x, b.y) {
                *stroke
            } else {
                [stroke[1], stroke[0]]
            }
        };
        let strokes: Vec<Stroke> = strokes.iter().map(forth).collect();
        let mut chains: Vec<Stroke> = Vec::new();
        let mut longest = strokes.clone();
        for _ in 0..MOST_STRETCHES {
            let longer = longest.iter().flat_map(|chain| {
                let next = strokes.iter().filter(|next| goes_on(chain, next));
                next.map(|next| [chain[0], next[1]])
            });
            let longer: Vec<Stroke> = longer.collect();
            chains.append(&mut longest);
            longest = longer;
        }
        chains.sort_unstable();
        chains.dedup();
        chains
    }

    fn circles(&self) -> impl Iterator<Item = Trial> {
        let rings = rings::missing(&self.views, self.drawing.tolerance);
        rings
            .into_iter()
            .take(MOST_CIRCLES)
            .map(|(unlikely, ring)| {
                let center = self.drawing.on_sheet(ring.view, ring.center.into());
                let out = V2::repeat(ring.radius);
                Trial {
                    view: ring.view,
                    shape: Shape::Circle {
                        center: center.map(plain),
                        radius: plain(ring.radius / self.drawing.unit.millimetres()),
                    },
                    reach: [ring.center - out, ring.center + out],
                    unlikely,
                }
            })
    }

    fn curves(&self) -> impl Iterator<Item = Trial> {
        View::ALL.into_iter().flat_map(|view| {
            let paper = Paper {
                view,
                placement: self.drawing.placement(),
            };
            let bends = bends::missing(&self.views, view, self.drawing.tolerance.mm());
            bends.into_iter().map(move |(unlikely, bend)| Trial {
                view,
                shape: paper.curve(&bend.carrier, bend.ends, bend.whole),
                reach: bend.reach(),
                unlikely,
            })
        })
    }

    /// Whether a line stays within the drawing's box.
    fn has_room_for(&self, trial: &Trial) -> bool {
        let tolerance = self.drawing.tolerance.mm();
        let [low, high] = trial.reach;
        let axes = trial.view.axes();
        (0..2).all(|k| low[k] >= -tolerance && high[k] <= self.axes.reach(axes[k]) + tolerance)
    }

    fn line(&self, view: View, stroke: Stroke, unlikely: usize) -> Trial {
        let ends = stroke.map(|place| self.at(view, place));
        self.between(view, ends, unlikely)
    }

    fn between(&self, view: View, [a, b]: [P2; 2], unlikely: usize) -> Trial {
        let [from, to] = [a, b].map(|p| self.drawing.on_sheet(view, p.into()).map(plain));
        Trial {
            view,
            shape: Shape::Line { from, to },
            reach: [a.inf(&b), a.sup(&b)],
            unlikely,
        }
    }

    /// A place in the view's own millimetres.
    fn at(&self, view: View, [x, y]: [u32; 2]) -> P2 {
        let [right, up] = view.axes();
        P2::new(self.axes.value(right, x), self.axes.value(up, y))
    }
}

/// Whether the way from one node of a view to another slopes and is that of a curve at the second.
fn touches(view: &Arrangement, from: Id<Node>, to: Id<Node>) -> bool {
    let at = view.nodes[to].at;
    let Some(way) = (at - view.nodes[from].at).try_normalize(0.0) else {
        return false;
    };
    let mut curves = view.nodes[to].runs.iter().filter_map(|&(run, place)| {
        let run = &view.runs[run];
        let last = run.pieces.len() - 1;
        run.carrier.map(|_| run.pieces[(place as usize).min(last)])
    });
    way.amin() > SLOPING
        && curves.any(|piece| view.direction(piece, &at).perp(&way).abs() <= SLOPING)
}

/// A line slopes, and leaves a direction, if the sine of the angle between them is more than this; lines by hand are not more
/// exact.
const SLOPING: f64 = 0.02;

/// A coordinate without the noise of reckoning.
fn plain(coordinate: f64) -> f64 {
    (coordinate * 1e9).round() / 1e9 + 0.0
}

//! Places of choice as the outcome gives them: where they are, what may be there, and which drawn lines they hide behind.

use super::stretch::stretches;
use crate::arrange::Arrangement;
use crate::face::Region;
use crate::geom::arena::Id;
use crate::geom::{P2, P3};
use crate::outcome::{
    Alternative, FurtherLine, FurtherView, MaterialChange, Place, Section, Settling, Stretch,
};
use crate::sheet::{Placement, Shape, View};
use crate::solve::board::{Board, Spot};
use crate::solve::places::{self, Choice, Places};
use crate::solve::settle::{Settled, from_behind, is_drawn};
use crate::solve::{Facing, Model};
use itertools::Itertools;
use petgraph::unionfind::UnionFind;

/// A piece of material whose volume is that of the box around it, up to this share, is a block.
const BLOCK: f64 = 1e-6;

/// The places for the outcome; `listed` are the models of the readings, `settled` says what tells each place's alternatives
/// apart.
pub(crate) fn places(
    board: &dyn Board,
    found: &Places,
    listed: &[&Model],
    settled: &[Option<Settled>],
) -> Vec<Place> {
    let one = |(place, settled): (&places::Place, &Option<Settled>)| {
        let bounds = place.bounds(board);
        let chosen: Vec<Option<usize>> = listed.iter().map(|model| place.chosen(model)).collect();
        let alternatives = (0..place.alternatives.len()).map(|k| Alternative {
            changes: changes(board, place, k),
            volume_mm3: volume(board, place, k) - volume(board, place, 0),
            hollow: place.alternatives[k].hollow,
            readings: (0..listed.len())
                .filter(|r| chosen[*r] == Some(k))
                .collect(),
        });
        Place {
            box_mm: numbers(bounds),
            on_sheet: View::ALL.map(|view| on_sheet(board.placement(), view, bounds)),
            alternatives: alternatives.collect(),
            lines: hiding_lines(board, found, place),
            settled_by: settled.map(|s| settling(board, s)),
        }
    };
    found.places.iter().zip(settled).map(one).collect()
}

/// What tells readings apart, for the outcome.
pub(crate) fn settling(board: &dyn Board, settled: Settled) -> Settling {
    match settled {
        Settled::Behind(view) => {
            let further = FurtherView::ALL.into_iter().find(|f| f.opposite() == view);
            Settling::View(further.unwrap_or(FurtherView::Left))
        }
        Settled::Cut(parallel_to, at_mm) => {
            let seen_in = match parallel_to {
                View::Front => View::Top,
                View::Top | View::Right => View::Front,
            };
            let arrangement = &board.views()[seen_in.index()];
            let [low, high] = extent(arrangement);
            let upright = seen_in.axes()[0] == parallel_to.depth_axis();
            let line = match upright {
                true => [[at_mm, low.y], [at_mm, high.y]],
                false => [[low.x, at_mm], [high.x, at_mm]],
            };
            let placement = board.placement();
            Settling::Section(Section {
                parallel_to,
                at_mm,
                seen_in,
                line: line.map(|at| placement.on_sheet(seen_in, at)),
            })
        }
    }
}

/// A further view of a model, beside the views of the sheet.
pub(crate) fn further_view(
    board: &dyn Board,
    view: FurtherView,
    model: &Model,
) -> Vec<FurtherLine> {
    let opposite = view.opposite();
    let mut arrangement = board.views()[opposite.index()].clone();
    for (number, hidden) in (0..).zip(from_behind(board, model, opposite)) {
        let piece = board.piece(Spot {
            view: opposite,
            number,
        });
        if let Some(hidden) = hidden {
            arrangement.pieces[piece].hidden = hidden;
        }
    }
    let all: Vec<_> = arrangement.pieces.ids().collect();
    let mirror = Mirror::of(board, view);
    let lines = super::stretch::on_sheet(&arrangement, board.placement(), &all);
    let mirrored = |stretch: Stretch| FurtherLine {
        line_type: stretch.line_type,
        shape: mirror.shape(&stretch.shape),
    };
    lines.into_iter().map(mirrored).collect()
}

fn numbers(bounds: [P3; 2]) -> [[f64; 3]; 2] {
    bounds.map(|p| [p.x, p.y, p.z])
}

/// A box in a view: least and greatest place in sheet coordinates.
fn on_sheet(placement: Placement, view: View, bounds: [P3; 2]) -> [[f64; 2]; 2] {
    let [right, up] = view.axes();
    bounds.map(|p| placement.on_sheet(view, [p[right], p[up]]))
}

/// The least and the greatest place of a view's lines.
fn extent(arrangement: &Arrangement) -> [P2; 2] {
    let nodes = arrangement.nodes.iter().map(|node| [node.at, node.at]);
    let around = nodes.reduce(|[a, b], [c, d]| [a.inf(&c), b.sup(&d)]);
    around.unwrap_or([P2::origin(); 2])
}

/// What a place's regions, faced as in an alternative, add to the volume.
fn volume(board: &dyn Board, place: &places::Place, alternative: usize) -> f64 {
    let facing = &place.alternatives[alternative].facing;
    let all = place.regions.iter().zip(facing);
    all.map(|(r, facing)| signed(board, *r, *facing)).sum()
}

fn signed(board: &dyn Board, region: Id<Region>, facing: Option<Facing>) -> f64 {
    match facing {
        None => 0.0,
        Some(Facing::Along) => board.volume(region),
        Some(Facing::Against) => -board.volume(region),
    }
}

/// What is more or less in an alternative than in the first: the closed surfaces that the differing regions make.
fn changes(board: &dyn Board, place: &places::Place, alternative: usize) -> Vec<MaterialChange> {
    let [first, this]: [&Choice; 2] = [0, alternative].map(|k| &place.alternatives[k]);
    let differs = |k: &usize| first.facing[*k] != this.facing[*k];
    let differing: Vec<usize> = (0..place.regions.len()).filter(differs).collect();
    let mut joined = UnionFind::<usize>::new(differing.len());
    let at_edges = (0..).zip(&differing).flat_map(|(n, k): (usize, &usize)| {
        let halves = board.borders(place.regions[*k]).iter().flatten();
        halves.map(move |half| (half.edge, n))
    });
    for ((a, m), (b, n)) in at_edges.sorted_unstable().tuple_windows() {
        if a == b {
            joined.union(m, n);
        }
    }
    let labels = joined.into_labeling();
    let pieces = labels.iter().copied().sorted_unstable().dedup();
    let change = |label: usize| {
        let mut volume = 0.0;
        let mut bounds: Option<[P3; 2]> = None;
        for (k, _) in differing.iter().zip(&labels).filter(|(_, l)| **l == label) {
            let region = place.regions[*k];
            volume +=
                signed(board, region, this.facing[*k]) - signed(board, region, first.facing[*k]);
            let [low, high] = board.bounds(region);
            let [a, b] = bounds.unwrap_or([low, high]);
            bounds = Some([a.inf(&low), b.sup(&high)]);
        }
        let [low, high] = bounds.unwrap_or([P3::origin(); 2]);
        let full: f64 = (high - low).product();
        MaterialChange {
            more: volume > 0.0,
            volume_mm3: volume.abs(),
            box_mm: numbers([low, high]),
            block: (volume.abs() - full).abs() <= full * BLOCK,
        }
    };
    pieces.map(change).collect()
}

/// The drawn lines with edges over them that only some of a place's alternatives have.
fn hiding_lines(board: &dyn Board, found: &Places, place: &places::Place) -> Vec<Stretch> {
    let halves = place
        .regions
        .iter()
        .flat_map(|r| board.borders(*r).iter().flatten());
    let edges: Vec<_> = halves
        .map(|half| half.edge)
        .sorted_unstable()
        .dedup()
        .collect();
    let models: Vec<Model> = (0..place.alternatives.len())
        .map(|k| {
            let mut model = found.base.clone();
            place.choose(k, &mut model);
            model
        })
        .collect();
    let of_view = |view: View| {
        let varies = |edge: &_| {
            !models
                .iter()
                .map(|m| is_drawn(board, m, *edge, view))
                .all_equal()
        };
        let varying: Vec<_> = edges.iter().copied().filter(varies).collect();
        let spots = (0..board.spot_count(view)).map(|number| Spot { view, number });
        let over = |spot: &Spot| {
            board
                .edges_over(*spot)
                .iter()
                .any(|e| varying.binary_search(e).is_ok())
        };
        let pieces: Vec<_> = spots.filter(over).map(|spot| board.piece(spot)).collect();
        stretches(board, view, &pieces)
    };
    View::ALL.into_iter().flat_map(of_view).collect()
}

/// Turns a view into the one from the other side: mirrored about the middle of the view beside which both stand.
struct Mirror {
    /// 0: left becomes right; 1: up becomes down.
    axis: usize,
    /// Twice the coordinate of the mirror's line.
    twice: f64,
}

impl Mirror {
    fn of(board: &dyn Board, view: FurtherView) -> Self {
        let (axis, beside) = match view {
            FurtherView::Left => (0, View::Front),
            FurtherView::Bottom => (1, View::Front),
            FurtherView::Rear => (0, View::Right),
        };
        let ends = extent(&board.views()[beside.index()]);
        let [low, high] = ends.map(|p| board.placement().on_sheet(beside, [p.x, p.y]));
        Mirror {
            axis,
            twice: low[axis] + high[axis],
        }
    }

    fn point(&self, at: [f64; 2]) -> [f64; 2] {
        let mut at = at;
        at[self.axis] = self.twice - at[self.axis];
        at
    }

    /// A direction in degrees.
    fn turn(&self, degrees: f64) -> f64 {
        let turned = if self.axis == 0 {
            180.0 - degrees
        } else {
            -degrees
        };
        turned.rem_euclid(360.0)
    }

    fn shape(&self, shape: &Shape) -> Shape {
        match shape {
            Shape::Line { from, to } => Shape::Line {
                from: self.point(*from),
                to: self.point(*to),
            },
            Shape::Polyline(points) => Shape::Polyline(self.points(points)),
            Shape::Curve(points) => Shape::Curve(self.points(points)),
            Shape::Circle { center, radius } => Shape::Circle {
                center: self.point(*center),
                radius: *radius,
            },
            // What ran counter-clockwise from start to end runs so from end to start.
            Shape::Arc {
                center,
                radius,
                start,
                end,
            } => Shape::Arc {
                center: self.point(*center),
                radius: *radius,
                start: self.turn(*end),
                end: self.turn(*end) + (end - start),
            },
            Shape::Ellipse {
                center,
                radii,
                rotation,
            } => Shape::Ellipse {
                center: self.point(*center),
                radii: *radii,
                rotation: self.turn(*rotation),
            },
            Shape::EllipticalArc {
                center,
                radii,
                rotation,
                start,
                end,
            } => Shape::EllipticalArc {
                center: self.point(*center),
                radii: *radii,
                rotation: self.turn(*rotation),
                start: -end,
                end: -start,
            },
        }
    }

    fn points(&self, points: &[[f64; 2]]) -> Vec<[f64; 2]> {
        points.iter().map(|p| self.point(*p)).collect()
    }
}

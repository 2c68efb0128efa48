//! What tells answers apart: a view from the other side, or a plane cut through the part.
//!
//! The view from the other side shows the lines of the view we have, mirrored; only which of them are hidden can differ.
//! A plane parallel to a view cuts two answers differently just where it passes through a region that one has and the
//! other has not: between such regions lies what only one of them fills.

use super::Model;
use super::board::{Board, Crossing, Spot};
use super::places::{Place, Places};
use crate::face::{Leaf, Region};
use crate::geom::arena::Id;
use crate::sheet::View;
use crate::wireframe::Edge;
use itertools::Itertools;
use rustc_hash::FxHashMap;

/// Places with more combinations of alternatives over one line are not looked at together.
const MOST_COMBINATIONS: usize = 64;

/// What tells answers apart.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) enum Settled {
    /// The view from the other side than this one.
    Behind(View),
    /// The plane across the view's line of sight, at this depth coordinate in millimetres.
    Cut(View, f64),
}

/// The order in which views from the other side are proposed: left, bottom, rear.
const BEHIND: [View; 3] = [View::Right, View::Top, View::Front];

/// The order in which planes are proposed: parallel to the front, the right-side, the top view.
const CUTS: [View; 3] = [View::Front, View::Right, View::Top];

/// What tells all answers of a list apart, if one view or plane does.
pub(crate) fn of_list(board: &dyn Board, models: &[&Model]) -> Option<Settled> {
    let behind = BEHIND.into_iter().find(|&view| {
        let drawn = |model: &&Model| -> Vec<Option<bool>> { from_behind(board, model, view) };
        models.iter().map(drawn).all_unique()
    });
    if behind.is_some() {
        return behind.map(Settled::Behind);
    }
    let differs = |r: &Id<Region>| {
        let there = models.iter().map(|model| model[r.ix()].is_some());
        !there.into_iter().all_equal()
    };
    let regions: Vec<Id<Region>> = (0..board.region_count())
        .map(Id::new)
        .filter(differs)
        .collect();
    cut(board, &regions, |through| {
        let met = |model: &&Model| {
            through
                .iter()
                .map(|r| model[r.ix()].is_some())
                .collect::<Vec<bool>>()
        };
        models.iter().map(met).all_unique()
    })
}

/// What tells the alternatives of places apart: of each place alone, and of all.
pub(crate) fn of_places(
    board: &dyn Board,
    places: &Places,
) -> (Vec<Option<Settled>>, Option<Settled>) {
    let behind = BEHIND.map(|view| told_behind(board, places, view));
    let regions = |place: &Place| place.regions.clone();
    let each = places.places.iter().enumerate().map(|(number, place)| {
        let view = (0..3)
            .find(|v| behind[*v][number])
            .map(|v| Settled::Behind(BEHIND[v]));
        view.or_else(|| {
            cut(board, &regions(place), |through| {
                told_by_cut(place, through)
            })
        })
    });
    let each: Vec<Option<Settled>> = each.collect();
    let all_behind = (0..3).find(|v| behind[*v].iter().all(|told| *told));
    let all = all_behind.map(|v| Settled::Behind(BEHIND[v])).or_else(|| {
        let all: Vec<Id<Region>> = places.places.iter().flat_map(regions).collect();
        cut(board, &all, |through| {
            places
                .places
                .iter()
                .all(|place| told_by_cut(place, through))
        })
    });
    (each, all)
}

/// Whether the regions that a plane passes through tell a place's alternatives apart.
fn told_by_cut(place: &Place, through: &[Id<Region>]) -> bool {
    let met: Vec<usize> = (0..place.regions.len())
        .filter(|k| through.binary_search(&place.regions[*k]).is_ok())
        .collect();
    let there = place.alternatives.iter().map(|choice| {
        met.iter()
            .map(|k| choice.facing[*k].is_some())
            .collect::<Vec<bool>>()
    });
    there.into_iter().all_unique()
}

/// The plane that does, if there is one: the widest gap between the levels at which regions begin and end.
fn cut(
    board: &dyn Board,
    regions: &[Id<Region>],
    tells: impl Fn(&[Id<Region>]) -> bool,
) -> Option<Settled> {
    let mut sorted = regions.to_vec();
    sorted.sort_unstable();
    CUTS.into_iter().find_map(|view| {
        let axis = view.depth_axis();
        let span = |r: &Id<Region>| {
            let [low, high] = board.bounds(*r);
            [low[axis], high[axis]]
        };
        let levels = sorted
            .iter()
            .flat_map(span)
            .sorted_unstable_by(f64::total_cmp);
        let gaps = levels
            .tuple_windows()
            .filter(|(low, high)| high - low > board.tolerance().mm())
            .sorted_by(|a, b| (b.1 - b.0).total_cmp(&(a.1 - a.0)));
        gaps.map(|(low, high)| f64::midpoint(low, high))
            .find_map(|at| {
                let passes = |r: &&Id<Region>| span(r)[0] < at && at < span(r)[1];
                let through: Vec<Id<Region>> = sorted.iter().filter(passes).copied().collect();
                tells(&through).then_some(Settled::Cut(view, at))
            })
    })
}

/// For each place, whether the view from the other side tells its alternatives apart whatever the other places are.
fn told_behind(board: &dyn Board, places: &Places, view: View) -> Vec<bool> {
    let mut place_of: FxHashMap<Id<Region>, usize> = FxHashMap::default();
    for (number, place) in places.places.iter().enumerate() {
        place.regions.iter().for_each(|r| {
            place_of.insert(*r, number);
        });
    }
    let mut shown: Vec<Vec<Vec<Option<bool>>>> = places
        .places
        .iter()
        .map(|place| vec![Vec::new(); place.alternatives.len()])
        .collect();
    let mut model = places.base.clone();
    for spot in spots(board, view) {
        let here: Vec<usize> = regions_at(board, spot)
            .filter_map(|r| place_of.get(&r).copied())
            .sorted_unstable()
            .dedup()
            .collect();
        let choices = |n: &usize| places.places[*n].alternatives.len();
        let combinations: usize = here.iter().map(choices).fold(1, usize::saturating_mul);
        if here.is_empty() || combinations > MOST_COMBINATIONS {
            continue;
        }
        let mut seen: Vec<(Vec<usize>, Option<bool>)> = Vec::new();
        for chosen in here.iter().map(|n| 0..choices(n)).multi_cartesian_product() {
            for (n, k) in here.iter().zip(&chosen) {
                places.places[*n].choose(*k, &mut model);
            }
            seen.push((chosen, hidden(board, &model, spot)));
        }
        here.iter()
            .for_each(|n| places.places[*n].choose(0, &mut model));
        for (i, n) in here.iter().enumerate() {
            let of = |k: usize| seen.iter().filter(move |(c, _)| c[i] == k).map(|(_, h)| *h);
            // Only what does not depend on the other places is sure.
            if (0..choices(n)).all(|k| of(k).all_equal()) {
                for (k, shown) in shown[*n].iter_mut().enumerate() {
                    shown.extend(of(k).next());
                }
            }
        }
    }
    shown
        .iter()
        .map(|of_place| of_place.iter().all_unique())
        .collect()
}

fn spots(board: &dyn Board, view: View) -> impl Iterator<Item = Spot> {
    (0..board.spot_count(view)).map(move |number| Spot { view, number })
}

/// The regions that have to do with what is seen at a spot.
fn regions_at(board: &dyn Board, spot: Spot) -> impl Iterator<Item = Id<Region>> {
    let edges = board.edges_over(spot).iter();
    let at_edges = edges.flat_map(|e| board.around(*e).iter().map(|l| l.region));
    at_edges.chain(board.regions_over(spot).iter().copied())
}

/// Whether each spot of a view is hidden when seen from the other side; none where that is left open.
pub(crate) fn from_behind(board: &dyn Board, model: &Model, view: View) -> Vec<Option<bool>> {
    spots(board, view)
        .map(|spot| hidden(board, model, spot))
        .collect()
}

/// Whether a spot is hidden when seen from the other side: each edge drawn there has material behind it.
fn hidden(board: &dyn Board, model: &Model, spot: Spot) -> Option<bool> {
    let (mut lines, mut cover) = (Vec::new(), Vec::new());
    for &edge in board.edges_over(spot) {
        let near = board.edge_nearness(spot, edge);
        match appearance(board, model, edge, spot.view) {
            Appearance::Nothing => {}
            Appearance::Line => lines.push(near),
            Appearance::Surface { drawn } => {
                cover.push(near);
                if drawn? {
                    lines.push(near);
                }
            }
        }
    }
    let over = board.regions_over(spot).iter();
    let there = over.filter(|r| model[r.ix()].is_some());
    cover.extend(there.map(|&r| board.region_nearness(spot, r)));
    // What is farthest for the viewer of this view comes first for the one behind.
    let last = |of: &[f64]| of.iter().copied().fold(f64::INFINITY, f64::min);
    (!lines.is_empty()).then(|| last(&cover) < last(&lines))
}

/// How an edge of a model appears in a view, from whichever side.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Appearance {
    /// Not at all.
    Nothing,
    /// As a drawn line.
    Line,
    /// A surface passes over it; a line may be drawn there nevertheless (not known if none).
    Surface { drawn: Option<bool> },
}

fn appearance(board: &dyn Board, model: &Model, edge: Id<Edge>, view: View) -> Appearance {
    let around = board.around(edge);
    let there = |leaf: &&Leaf| model[leaf.region.ix()].is_some();
    let present: Vec<&Leaf> = around.iter().filter(there).collect();
    let [one, other] = present[..] else {
        return match present.is_empty() {
            true => Appearance::Nothing,
            false => Appearance::Line,
        };
    };
    let continued = one
        .across
        .iter()
        .any(|&p| around[p as usize].region == other.region);
    if !continued {
        return Appearance::Line;
    }
    match board.crossing(edge, [one, other], view) {
        Crossing::Over => Appearance::Surface { drawn: Some(false) },
        Crossing::EdgeOn => Appearance::Nothing,
        Crossing::Contour => Appearance::Line,
        Crossing::Tangent => Appearance::Surface { drawn: Some(true) },
        Crossing::MaybeTangent => Appearance::Surface { drawn: None },
    }
}

/// Whether an edge of a model is drawn in a view.
pub(crate) fn is_drawn(board: &dyn Board, model: &Model, edge: Id<Edge>, view: View) -> bool {
    match appearance(board, model, edge, view) {
        Appearance::Nothing => false,
        Appearance::Line => true,
        Appearance::Surface { drawn } => drawn != Some(false),
    }
}

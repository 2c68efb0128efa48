//! What a drawing means, in clauses.
//!
//! A region is absent, or faces along or against its plane's normal. Material is a variable per sector between
//! neighbouring regions around each edge, and per stretch between regions on a line of sight; a region is a change of
//! material, the same change everywhere along its border. An edge is drawn unless exactly two regions that continue each
//! other meet there. Each piece of each view then says which edges over it are drawn and where they lie in front.

use super::board::{Board, Crossing, Spot};
use super::group::Groups;
use super::literal::Literal;
use super::search::Search;
use super::variables::{Pair, Smooth, Variables};
use super::visibility;
use crate::face::{Leaf, Region};
use crate::geom::Few;
use crate::geom::arena::Id;
use crate::sheet::View;
use crate::wireframe::Edge;
use itertools::Itertools;
use smallvec::smallvec;

/// Whether parts may touch along an edge.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Contact {
    /// At most two regions meet at an edge, as on a two-manifold surface.
    Forbidden,
    /// More may meet: for finding out whether that is all that is wrong.
    Allowed,
}

/// What a spot demands of the edges over it.
#[derive(Clone, Copy, Debug)]
pub(crate) enum Demand {
    /// What is drawn there, always.
    AsDrawn,
    /// What is drawn there, while a literal holds.
    While(Literal),
    /// What is chosen: a visible line while the first literal holds, a hidden one while the second does, and else nothing.
    Chosen { visible: Literal, hidden: Literal },
}

impl Demand {
    /// A hidden line or nothing; `never` must not hold.
    pub(super) fn open(never: Literal, search: &mut Search<'_>) -> Self {
        Demand::Chosen {
            visible: never,
            hidden: search.variable(),
        }
    }
}

/// Gives what each spot demands.
pub(crate) type Demands<'d> = &'d mut dyn FnMut(&mut Search<'_>, Spot) -> Demand;

/// Says everything about a board.
pub(crate) fn encode(
    board: &dyn Board,
    search: &mut Search<'_>,
    contact: Contact,
    demands: Demands<'_>,
) -> Variables {
    let mut variables = regions(board, search);
    for [a, b] in board.exclusions() {
        let present = &variables.present;
        search.clause([!present[a.ix()], !present[b.ix()]]);
    }
    for edge in (0..board.edge_count()).map(Id::new) {
        sectors(board, search, &variables, edge, contact);
        let (sharp, smooth) = sharp(board, search, &variables, edge, contact);
        variables.drawn.push(drawn(search, sharp, &smooth));
        variables.smooth.push(smooth);
    }
    for view in View::ALL {
        for edge in board.blank(view) {
            let drawn = variables.drawn[edge.ix()][view.index()];
            drawn.into_iter().for_each(|drawn| search.clause([!drawn]));
        }
    }
    sights(board, search, &variables);
    let mut hidden = Vec::new();
    for view in View::ALL {
        for number in 0..board.spot_count(view) {
            let spot = Spot { view, number };
            let demand = demands(search, spot);
            hidden.extend(met(board, search, &variables, spot, demand).map(|guard| (spot, guard)));
        }
    }
    // By now most of what lies in front of hidden pieces is known to be there.
    search.infer();
    for (spot, guard) in hidden {
        visibility::none_lit(board, search, &variables, spot, guard);
    }
    variables
}

/// What a spot demands, apart from hidden line being behind something: that comes last, and is due if this gives a guard.
fn met(
    board: &dyn Board,
    search: &mut Search<'_>,
    variables: &Variables,
    spot: Spot,
    demand: Demand,
) -> Option<Option<Literal>> {
    let guard = match demand {
        Demand::AsDrawn => None,
        Demand::While(holds) => Some(!holds),
        Demand::Chosen { visible, hidden } => {
            visibility::some_lit(board, search, variables, spot, Some(!visible));
            visibility::some_drawn(board, search, variables, spot, Some(!hidden));
            for edge in board.edges_over(spot) {
                if let Some(drawn) = variables.drawn[edge.ix()][spot.view.index()] {
                    search.clause([!drawn, visible, hidden]);
                }
            }
            return Some(Some(!hidden));
        }
    };
    if board.views()[spot.view.index()].pieces[board.piece(spot)].hidden {
        visibility::some_drawn(board, search, variables, spot, guard);
        return Some(guard);
    }
    visibility::some_lit(board, search, variables, spot, guard);
    None
}

/// One variable for each way of facing per group of regions that stand or fall together.
fn regions(board: &dyn Board, search: &mut Search<'_>) -> Variables {
    let count = board.region_count();
    let mut variables = Variables {
        along: Vec::with_capacity(count),
        against: Vec::with_capacity(count),
        present: Vec::with_capacity(count),
        drawn: Vec::with_capacity(board.edge_count()),
        smooth: Vec::with_capacity(board.edge_count()),
    };
    let mut groups = Groups::of(board);
    let mut known: Vec<Option<[Literal; 3]>> = vec![None; count];
    for region in (0..count).map(Id::new) {
        let (root, flipped) = groups.root(region);
        let [along, against, present] = *known[root.ix()].get_or_insert_with(|| {
            let group = group_variables(search);
            search.probe(group[2]);
            if groups.impossible(root) {
                search.clause([!group[2]]);
            }
            group
        });
        let facing = if flipped {
            [against, along]
        } else {
            [along, against]
        };
        variables.along.push(facing[0]);
        variables.against.push(facing[1]);
        variables.present.push(present);
    }
    variables
}

fn group_variables(search: &mut Search<'_>) -> [Literal; 3] {
    let [along, against, present] = [(); 3].map(|()| search.variable());
    search.clause([!along, !against]);
    search.clause([!along, present]);
    search.clause([!against, present]);
    search.clause([!present, along, against]);
    [along, against, present]
}

/// Material on one side of a region: a variable, or surely none.
type Material = Option<Literal>;

/// A region is exactly a change of material between its two sides.
fn boundary(
    search: &mut Search<'_>,
    variables: &Variables,
    region: Id<Region>,
    in_front: Material,
    behind: Material,
) {
    let (along, against) = (variables.along[region.ix()], variables.against[region.ix()]);
    // Facing along the normal: void in front, material behind. Facing against it: the other way round.
    for (facing, void, solid) in [(along, in_front, behind), (against, behind, in_front)] {
        if let Some(void) = void {
            search.clause([!facing, !void]);
        }
        match solid {
            Some(solid) => {
                search.clause([!facing, solid]);
                search.clause([facing, !solid].into_iter().chain(void));
            }
            None => search.clause([!facing]),
        }
    }
}

/// Sectors of material around an edge, and at most two regions there unless contact is allowed.
fn sectors(
    board: &dyn Board,
    search: &mut Search<'_>,
    variables: &Variables,
    edge: Id<Edge>,
    contact: Contact,
) {
    let around = board.around(edge);
    if around.len() <= 2 {
        return; // the groups say it all
    }
    let after: Few<Literal, 4> = around.iter().map(|_| search.variable()).collect();
    for (k, leaf) in around.iter().enumerate() {
        let before = Some(after[(k + around.len() - 1) % around.len()]);
        let (front, behind) = if leaf.front_after {
            (Some(after[k]), before)
        } else {
            (before, Some(after[k]))
        };
        boundary(search, variables, leaf.region, front, behind);
    }
    if contact == Contact::Forbidden {
        for three in around.iter().array_combinations() {
            let [a, b, c] = three.map(|l| !variables.present[l.region.ix()]);
            search.clause([a, b, c]);
        }
    }
}

/// Whether an edge is sharp, and the pairs of regions across which it is smooth.
fn sharp(
    board: &dyn Board,
    search: &mut Search<'_>,
    variables: &Variables,
    edge: Id<Edge>,
    contact: Contact,
) -> (Option<Literal>, Smooth) {
    let around = board.around(edge);
    let present = |leaf: &Leaf| variables.present[leaf.region.ix()];
    let pair = |leaf: &Leaf, other: &Leaf, both: Literal| Pair {
        both,
        seen: View::ALL.map(|view| board.crossing(edge, [leaf, other], view)),
    };
    match &around[..] {
        [] => return (None, Few::new()),
        [one, other] if !one.across.is_empty() => {
            return (None, smallvec![pair(one, other, present(one))]);
        }
        [one, _] => return (Some(present(one)), Few::new()),
        _ => {}
    }
    let sharp = search.variable();
    search.clause([!sharp].into_iter().chain(around.iter().map(present)));
    let mut smooth = Few::new();
    for (k, leaf) in (0..).zip(around) {
        let partners = leaf.across.iter().map(|&p| present(&around[p as usize]));
        search.clause([!present(leaf), sharp].into_iter().chain(partners));
        for &p in leaf.across.iter().filter(|&&p| k < p) {
            let other = &around[p as usize];
            // Smooth: these two are present and no others; with others the edge is sharp.
            let only = search.variable();
            search.clause([!only, present(leaf)]);
            search.clause([!only, present(other)]);
            let both = [!present(leaf), !present(other)];
            if contact == Contact::Forbidden {
                search.clause([only].into_iter().chain(both));
            } else {
                let others = (0..).zip(around).filter(|(i, _)| *i != k && *i != p);
                let others: Few<Literal, 4> = others.map(|(_, l)| present(l)).collect();
                for &third in &others {
                    search.clause([!only, !third]);
                    search.clause([!third, sharp].into_iter().chain(both));
                }
                search.clause([only].into_iter().chain(both).chain(others));
            }
            search.clause([!only, !sharp]);
            smooth.push(pair(leaf, other, only));
        }
    }
    (Some(sharp), smooth)
}

/// Whether an edge is drawn in each view: where it is sharp, where it is a contour, and where tangent edges are drawn.
fn drawn(search: &mut Search<'_>, sharp: Option<Literal>, smooth: &[Pair]) -> [Option<Literal>; 3] {
    [0, 1, 2].map(|view| {
        let mut reasons: Few<Literal, 4> = sharp.into_iter().collect();
        for pair in smooth {
            match pair.seen[view] {
                Crossing::Contour | Crossing::Tangent => reasons.push(pair.both),
                Crossing::MaybeTangent => {
                    let chosen = search.variable();
                    search.clause([!chosen, pair.both]);
                    reasons.push(chosen);
                }
                Crossing::Over | Crossing::EdgeOn => {}
            }
        }
        match &reasons[..] {
            [] => None,
            [only] => Some(*only),
            _ => {
                let drawn = search.variable();
                for &reason in &reasons {
                    search.clause([!reason, drawn]);
                }
                search.clause([!drawn].into_iter().chain(reasons));
                Some(drawn)
            }
        }
    })
}

/// Lines of sight: along a view, void comes first and last and regions change it, so that inside and outside are never
/// mistaken. One line through each region is enough; a line serves all regions on it.
fn sights(board: &dyn Board, search: &mut Search<'_>, variables: &Variables) {
    board.sights(&mut |met| {
        let mut nearer: Material = None;
        for (k, &(region, towards)) in met.iter().enumerate() {
            let last = k + 1 == met.len();
            let farther = (!last).then(|| search.variable());
            let (front, behind) = if towards {
                (nearer, farther)
            } else {
                (farther, nearer)
            };
            boundary(search, variables, region, front, behind);
            nearer = farther;
        }
    });
}

//! What a drawing means, in clauses.
//!
//! A region is absent, or faces along or against its plane's normal. Material is a variable per sector between
//! neighbouring regions around each edge, and per stretch between regions on a line of sight; a region is a change of
//! material, the same change everywhere along its border. An edge is drawn unless exactly two regions that continue each
//! other meet there. Each piece of each view then says which edges over it are drawn and where they lie in front.

use super::Puzzle;
use super::group::Groups;
use super::literal::Literal;
use super::search::Search;
use super::variables::{Smooth, Variables};
use super::visibility::{self, Place};
use crate::arrange::Piece;
use crate::face::{Leaf, Region};
use crate::geom::Few;
use crate::geom::arena::Id;
use crate::sheet::View;
use crate::wireframe::Edge;
use itertools::Itertools;
use smallvec::smallvec;

/// Whether parts may touch along an edge.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Contact {
    /// At most two regions meet at an edge, as on a two-manifold surface.
    Forbidden,
    /// More may meet: for finding out whether that is all that is wrong.
    Allowed,
}

/// Gives the literal under which a piece must be met, if not always.
pub(super) type Guard<'g> = &'g mut dyn FnMut(&mut Search<'_>, View, Id<Piece>) -> Option<Literal>;

/// Says everything about a puzzle.
pub(super) fn encode(
    puzzle: &Puzzle,
    search: &mut Search<'_>,
    contact: Contact,
    guard: Guard<'_>,
) -> Variables {
    let mut variables = regions(puzzle, search);
    for [a, b] in &puzzle.faces.exclusions {
        let present = &variables.present;
        search.clause([!present[a.ix()], !present[b.ix()]]);
    }
    for edge in puzzle.wireframe.edges.ids() {
        sectors(puzzle, search, &variables, edge, contact);
        let (drawn, smooth) = drawn(puzzle, search, &variables, edge, contact);
        variables.drawn.push(drawn);
        variables.smooth.push(smooth);
    }
    sights(puzzle, search, &variables);
    let mut hidden = Vec::new();
    for view in View::ALL {
        for piece in puzzle.views[view.index()].pieces.ids() {
            let place = Place { view, piece };
            let guard = guard(search, view, piece).map(|g| !g);
            if puzzle.views[view.index()].pieces[piece].hidden {
                hidden.push((place, guard));
                visibility::some_drawn(puzzle, search, &variables, place, guard);
            } else {
                visibility::some_lit(puzzle, search, &variables, place, guard);
            }
        }
    }
    // By now most of what lies in front of hidden pieces is known to be there.
    search.infer();
    for (place, guard) in hidden {
        visibility::none_lit(puzzle, search, &variables, place, guard);
    }
    variables
}

/// One variable for each way of facing per group of regions that stand or fall together.
fn regions(puzzle: &Puzzle, search: &mut Search<'_>) -> Variables {
    let count = puzzle.faces.regions.len();
    let mut variables = Variables {
        along: Vec::with_capacity(count),
        against: Vec::with_capacity(count),
        present: Vec::with_capacity(count),
        drawn: Vec::with_capacity(puzzle.wireframe.edges.len()),
        smooth: Vec::with_capacity(puzzle.wireframe.edges.len()),
    };
    let mut groups = Groups::of(&puzzle.faces);
    let mut known: Vec<Option<[Literal; 3]>> = vec![None; count];
    for region in puzzle.faces.regions.ids() {
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
    puzzle: &Puzzle,
    search: &mut Search<'_>,
    variables: &Variables,
    edge: Id<Edge>,
    contact: Contact,
) {
    let around = &puzzle.faces.around[edge.ix()];
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

/// Whether an edge is drawn, and the pairs of regions across which it is smooth.
fn drawn(
    puzzle: &Puzzle,
    search: &mut Search<'_>,
    variables: &Variables,
    edge: Id<Edge>,
    contact: Contact,
) -> (Option<Literal>, Smooth) {
    let around = &puzzle.faces.around[edge.ix()];
    let present = |leaf: &Leaf| variables.present[leaf.region.ix()];
    match &around[..] {
        [] => return (None, Few::new()),
        [one, _] if one.across.is_some() => return (None, smallvec![(one.region, present(one))]),
        [one, _] => return (Some(present(one)), Few::new()),
        _ => {}
    }
    let drawn = search.variable();
    search.clause([!drawn].into_iter().chain(around.iter().map(present)));
    let mut smooth = Few::new();
    for (k, leaf) in (0..).zip(around) {
        let Some(across) = leaf.across else {
            search.clause([!present(leaf), drawn]);
            continue;
        };
        let other = &around[across as usize];
        search.clause([!present(leaf), present(other), drawn]);
        if k < across {
            // Smooth: these two are present and no others; with others the edge is drawn.
            let only = search.variable();
            search.clause([!only, present(leaf)]);
            search.clause([!only, present(other)]);
            let both = [!present(leaf), !present(other)];
            if contact == Contact::Forbidden {
                search.clause([only].into_iter().chain(both));
            } else {
                let others = (0..).zip(around).filter(|(i, _)| *i != k && *i != across);
                let others: Few<Literal, 4> = others.map(|(_, l)| present(l)).collect();
                for &third in &others {
                    search.clause([!only, !third]);
                    search.clause([!third, drawn].into_iter().chain(both));
                }
                search.clause([only].into_iter().chain(both).chain(others));
            }
            search.clause([!only, !drawn]);
            smooth.push((leaf.region, only));
        }
    }
    (Some(drawn), smooth)
}

/// Lines of sight: along a view, void comes first and last and regions change it, so that inside and outside are never
/// mistaken. One line through each region is enough; a line serves all regions on it.
fn sights(puzzle: &Puzzle, search: &mut Search<'_>, variables: &Variables) {
    let mut seen = vec![false; puzzle.faces.regions.len()];
    for view in View::ALL {
        let v = view.index();
        for (cell, over) in puzzle.covers[v].over_cell.iter().enumerate() {
            if over.iter().all(|r| seen[r.ix()]) {
                continue;
            }
            let at = puzzle.cells[v].inside[cell];
            let mut sorted: Vec<(f64, Id<Region>)> = over
                .iter()
                .map(|&r| (puzzle.nearness_of_region(view, r, at), r))
                .collect();
            sorted.sort_unstable_by(|a, b| b.0.total_cmp(&a.0).then(a.1.cmp(&b.1)));
            let mut nearer: Material = None;
            for (k, &(_, region)) in sorted.iter().enumerate() {
                seen[region.ix()] = true;
                let last = k + 1 == sorted.len();
                let farther = (!last).then(|| search.variable());
                let normal = puzzle.faces.plane(region).normal[view.depth_axis()];
                let (front, behind) = if view.nearness(normal) > 0.0 {
                    (nearer, farther)
                } else {
                    (farther, nearer)
                };
                boundary(search, variables, region, front, behind);
                nearer = farther;
            }
        }
    }
}

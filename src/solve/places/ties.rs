//! What could tie the parts of a choice together although no clause does: corners at which they meet, and whether the
//! solid stays in one piece.
//!
//! Present regions that are settled hang together in *blocks*. Blocks that every alternative of some part joins are one
//! *class*. If all alternatives of a part leave the classes as they are, nothing about it matters to the others: a shell
//! that reaches the drawing's box is an outer one, whatever its details. Other parts that share a class are tied.

use super::open::Open;
use super::part::Part;
use super::{Choice, Place, Places, checked, is_cavity};
use crate::face::Region;
use crate::geom::P3;
use crate::geom::arena::Id;
use crate::solve::board::Board;
use crate::solve::check::{Fault, check, touches_at};
use crate::solve::{Facing, Model};
use crate::wireframe::Vertex;
use itertools::Itertools;
use petgraph::unionfind::UnionFind;
use rustc_hash::FxHashMap;

/// More ways to combine what meets at a corner are not tried; the parts are taken as one.
const MOST_COMBINATIONS: usize = 256;

/// What parts have to do with one another.
pub(super) struct Ties {
    /// Parts (of [`Open`]) that must be taken together.
    pub(super) pairs: Vec<[usize; 2]>,
    /// The class of each settled region that is there.
    class: Vec<Option<usize>>,
    /// Classes that reach the drawing's box.
    outer: Vec<bool>,
    /// The classes that each part's regions join on to.
    touched: Vec<Vec<usize>>,
}

impl Ties {
    /// Finds them.
    pub(super) fn of(board: &dyn Board, base: &Model, open: &Open, parts: &[Part]) -> Self {
        let mut pairs = at_corners(board, base, open, parts);
        let blocks = Blocks::of(board, base, open);
        let joints: Vec<Joints> = parts
            .iter()
            .map(|part| blocks.joints(board, part))
            .collect();
        let mut joined = UnionFind::<usize>::new(base.len());
        for joints in &joints {
            for pair in joints.always().windows(2).filter(|p| p[0].0 == p[1].0) {
                joined.union(pair[0].1, pair[1].1);
            }
        }
        let mut outer = vec![false; base.len()];
        let mut class = vec![None; base.len()];
        let bounds = blocks.present.iter().map(|r| board.bounds(*r));
        let drawn = drawn_box(board);
        for (region, [low, high]) in blocks.present.iter().zip(bounds) {
            let here = joined.find(blocks.block[region.ix()]);
            class[region.ix()] = Some(here);
            let reach = (0..3).any(|a| {
                let near = board.tolerance().mm();
                low[a] <= drawn[0][a] + near || high[a] >= drawn[1][a] - near
            });
            outer[here] |= reach;
        }
        let touched = joints
            .iter()
            .map(|j| {
                j.blocks()
                    .map(|b| joined.find(b))
                    .sorted_unstable()
                    .dedup()
                    .collect()
            })
            .collect();
        let mut ties = Ties {
            pairs: Vec::new(),
            class,
            outer,
            touched,
        };
        pairs.extend(ties.by_shells(parts));
        ties.pairs = pairs;
        ties
    }

    /// Whether the parts' alternatives may change which shells there are.
    fn involved(&self, part: usize) -> bool {
        let touched = &self.touched[part];
        touched.len() != 1 || touched.iter().any(|c| !self.outer[*c])
    }

    /// Parts that may change the same shells, the one around the whole solid aside.
    fn by_shells(&self, parts: &[Part]) -> Vec<[usize; 2]> {
        let main = self.outer.iter().position(|o| *o);
        let mut first: FxHashMap<usize, usize> = FxHashMap::default();
        let mut pairs = Vec::new();
        for (number, part) in parts.iter().enumerate() {
            // Without a settled outer class nothing can be said of any part alone.
            let own = match main {
                Some(_) if !self.involved(number) => continue,
                Some(main) => self.touched[number]
                    .iter()
                    .filter(|c| **c != main)
                    .copied()
                    .collect(),
                None => vec![usize::MAX],
            };
            for class in own {
                let other = *first.entry(class).or_insert(part.members[0]);
                if other != part.members[0] {
                    pairs.push([other, part.members[0]]);
                }
            }
        }
        pairs
    }

    /// Drops the alternatives that make no solid, and the parts without a choice; only if nothing is tied.
    ///
    /// None if an alternative makes no solid and nobody can say whether that is its own fault.
    pub(super) fn finish(&self, board: &dyn Board, base: &Model, parts: &[Part]) -> Option<Places> {
        let mut places = Vec::new();
        for (number, part) in parts.iter().enumerate() {
            let mut alternatives = Vec::new();
            for (k, facing) in part.alternatives.iter().enumerate() {
                match checked(board, base, part, k) {
                    Ok(sound) => {
                        let mut cavities = sound.shells.iter().filter(is_cavity);
                        let hollow = cavities.any(|s| self.concerns(number, part, &s.regions));
                        let facing = facing.clone();
                        alternatives.push(Choice { facing, hollow });
                    }
                    Err(faults) if self.involved(number) || own_fault(part, &faults) => {}
                    Err(_) => return None,
                }
            }
            let place = trimmed(&part.regions, &alternatives);
            places.extend((alternatives.len() > 1).then_some(place));
        }
        let mut all = check(board, base)
            .into_iter()
            .flat_map(|sound| sound.shells);
        let hollow = all.any(|shell| {
            let others = |k: usize| self.concerns(k, &parts[k], &shell.regions);
            is_cavity(&&shell) && !(0..parts.len()).any(others)
        });
        Some(Places {
            base: base.clone(),
            places,
            exact: parts.iter().all(|part| part.complete),
            hollow,
        })
    }

    /// Whether a cavity is a part's own doing.
    fn concerns(&self, number: usize, part: &Part, shell: &[Id<Region>]) -> bool {
        let joins = |c: &usize| self.touched[number].contains(c);
        shell.iter().any(|r| match &self.class[r.ix()] {
            Some(class) => joins(class),
            None => part.regions.contains(r),
        })
    }
}

/// Whether a choice would fall apart whatever the other parts do: a whole shell is this part's alone.
fn own_fault(part: &Part, faults: &[Fault]) -> bool {
    let own = |regions: &[Id<Region>]| regions.iter().all(|r| part.regions.contains(r));
    faults
        .iter()
        .any(|fault| matches!(fault, Fault::Apart(regions) if own(regions)))
}

/// The place that a part's alternatives make: only the regions that differ.
fn trimmed(regions: &[Id<Region>], alternatives: &[Choice]) -> Place {
    let differs = |k: usize| {
        let facing = |choice: &Choice| choice.facing[k];
        alternatives.iter().map(facing).dedup().count() > 1
    };
    let kept: Vec<usize> = (0..regions.len()).filter(|k| differs(*k)).collect();
    let short = |choice: &Choice| Choice {
        facing: kept.iter().map(|k| choice.facing[*k]).collect(),
        hollow: choice.hollow,
    };
    Place {
        regions: kept.iter().map(|k| regions[*k]).collect(),
        alternatives: alternatives.iter().map(short).collect(),
    }
}

/// The box around all candidates.
fn drawn_box(board: &dyn Board) -> [P3; 2] {
    let all = (0..board.region_count()).map(|r| board.bounds(Id::new(r)));
    let around = all.reduce(|[a, b], [c, d]| [a.inf(&c), b.sup(&d)]);
    around.unwrap_or([P3::origin(); 2])
}

/// Parts that meet at a corner and touch there in some combination of their alternatives.
fn at_corners(board: &dyn Board, base: &Model, open: &Open, parts: &[Part]) -> Vec<[usize; 2]> {
    let mut here: FxHashMap<usize, usize> = FxHashMap::default();
    for (number, part) in parts.iter().enumerate() {
        part.members.iter().for_each(|m| {
            here.insert(*m, number);
        });
    }
    let vertices = parts
        .iter()
        .flat_map(|p| p.vertices(board))
        .sorted_unstable();
    let mut pairs = Vec::new();
    for vertex in vertices.dedup() {
        let regions = board.at_vertex(vertex);
        let owners = regions
            .iter()
            .filter_map(|r| open.part(*r))
            .map(|p| here[&p]);
        let owners: Vec<usize> = owners.sorted_unstable().dedup().collect();
        if owners.len() > 1 && may_touch(board, base, parts, &owners, vertex) {
            let first = |k: usize| parts[k].members[0];
            pairs.extend(owners.windows(2).map(|w| [first(w[0]), first(w[1])]));
        }
    }
    pairs
}

/// Whether some combination of alternatives touches itself at a vertex.
fn may_touch(
    board: &dyn Board,
    base: &Model,
    parts: &[Part],
    owners: &[usize],
    vertex: Id<Vertex>,
) -> bool {
    let regions = board.at_vertex(vertex);
    // Of each part only what its alternatives do at this corner.
    let patterns = owners.iter().map(|&k| {
        let part = &parts[k];
        let there: Vec<usize> = (0..part.regions.len())
            .filter(|i| regions.contains(&part.regions[*i]))
            .collect();
        let seen = part.alternatives.iter().map(|facing| {
            let at = there.iter().map(|&i| (part.regions[i], facing[i]));
            at.collect::<Vec<(Id<Region>, Option<Facing>)>>()
        });
        seen.unique_by(|p| p.iter().map(|(_, f)| f.is_some()).collect::<Vec<bool>>())
            .collect::<Vec<_>>()
    });
    let patterns: Vec<_> = patterns.collect();
    if patterns.iter().map(Vec::len).product::<usize>() > MOST_COMBINATIONS {
        return true;
    }
    let mut model = base.clone();
    patterns
        .iter()
        .map(|p| p.iter())
        .multi_cartesian_product()
        .any(|combination| {
            for (region, facing) in combination.into_iter().flatten() {
                model[region.ix()] = *facing;
            }
            touches_at(board, &model, vertex)
        })
}

/// Settled regions that are there and hang together.
struct Blocks {
    present: Vec<Id<Region>>,
    /// The block of each region that is there and settled; else itself.
    block: Vec<usize>,
    settled: Vec<bool>,
}

impl Blocks {
    fn of(board: &dyn Board, base: &Model, open: &Open) -> Self {
        let all = (0..base.len()).map(Id::new);
        let present: Vec<Id<Region>> = all
            .filter(|r| base[r.ix()].is_some() && open.part(*r).is_none())
            .collect();
        let mut settled = vec![false; base.len()];
        present.iter().for_each(|r| settled[r.ix()] = true);
        let mut joined = UnionFind::<usize>::new(base.len());
        for edge in (0..board.edge_count()).map(Id::new) {
            let here = board.around(edge).iter().filter(|l| settled[l.region.ix()]);
            for (a, b) in here.tuple_windows() {
                joined.union(a.region.ix(), b.region.ix());
            }
        }
        Blocks {
            present,
            block: (0..base.len()).map(|r| joined.find(r)).collect(),
            settled,
        }
    }

    /// How a part's alternatives join blocks.
    fn joints(&self, board: &dyn Board, part: &Part) -> Joints {
        let mut number: FxHashMap<usize, usize> = FxHashMap::default();
        let mut nodes = Vec::new();
        let mut node = |of: usize| {
            *number.entry(of).or_insert_with(|| {
                nodes.push(of);
                nodes.len() - 1
            })
        };
        // By open region: what it meets across each of its edges, as nodes.
        let mut meetings = Vec::new();
        for region in &part.regions {
            for half in board.borders(*region).iter().flatten() {
                for leaf in board.around(half.edge) {
                    let other = leaf.region;
                    let open = part.regions.binary_search(&other).is_ok();
                    if other != *region && (open || self.settled[other.ix()]) {
                        meetings.push((node(region.ix()), node(self.block[other.ix()])));
                    }
                }
            }
        }
        let is_open: Vec<Option<usize>> = nodes
            .iter()
            .map(|of| part.regions.binary_search(&Id::new(*of)).ok())
            .collect();
        let labels = part.alternatives.iter().map(|facing| {
            let there = |n: usize| is_open[n].is_none_or(|k| facing[k].is_some());
            let mut joined = UnionFind::<usize>::new(nodes.len());
            for &(a, b) in meetings.iter().filter(|(a, b)| there(*a) && there(*b)) {
                joined.union(a, b);
            }
            joined.into_labeling()
        });
        let labels: Vec<Vec<usize>> = labels.collect();
        let blocks = (0..nodes.len()).filter(|n| is_open[*n].is_none());
        Joints {
            blocks: blocks
                .map(|n| (labels.iter().map(|l| l[n]).collect(), nodes[n]))
                .sorted_unstable()
                .collect(),
        }
    }
}

/// The blocks that a part touches, each with what it is joined to in every alternative; sorted.
struct Joints {
    blocks: Vec<(Vec<usize>, usize)>,
}

impl Joints {
    /// Blocks with equal labels are joined in every alternative.
    fn always(&self) -> &[(Vec<usize>, usize)] {
        &self.blocks
    }

    fn blocks(&self) -> impl Iterator<Item = usize> + '_ {
        self.blocks.iter().map(|(_, block)| *block)
    }
}

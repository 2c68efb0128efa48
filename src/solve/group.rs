//! Regions that stand or fall together.
//!
//! Where only two regions meet at an edge, either both are present or neither, and how one faces says how the other
//! does. Such regions form a group with one variable between them; most drawings fall into a few groups.

use super::board::Board;
use crate::face::Region;
use crate::geom::arena::Id;

/// The groups, as a forest over the regions.
#[derive(Clone, Debug)]
pub(super) struct Groups {
    /// The parent of each region, and whether it faces the other way than its parent.
    parent: Vec<(u32, bool)>,
    /// By root: whether following the group round comes back facing the other way, so that it cannot be present.
    impossible: Vec<bool>,
}

impl Groups {
    /// Groups all regions.
    pub(super) fn of(board: &dyn Board) -> Self {
        let count = u32::try_from(board.region_count()).expect("fewer than 2^32 regions");
        let mut groups = Groups {
            parent: (0..count).map(|r| (r, false)).collect(),
            impossible: vec![false; board.region_count()],
        };
        for edge in (0..board.edge_count()).map(Id::new) {
            if let [a, b] = &board.around(edge)[..] {
                groups.join(a.region, b.region, a.front_after == b.front_after);
            }
        }
        groups
    }

    /// The region that stands for the group of `region`, and whether `region` faces the other way than it.
    pub(super) fn root(&mut self, region: Id<Region>) -> (Id<Region>, bool) {
        let (root, flipped) = self.find(region.raw());
        (Id::new(root as usize), flipped)
    }

    /// Whether the group that `root` stands for can never be present.
    pub(super) fn impossible(&self, root: Id<Region>) -> bool {
        self.impossible[root.ix()]
    }

    fn find(&mut self, region: u32) -> (u32, bool) {
        let (parent, flipped) = self.parent[region as usize];
        if parent == region {
            return (region, false);
        }
        let (root, further) = self.find(parent);
        self.parent[region as usize] = (root, flipped ^ further);
        (root, flipped ^ further)
    }

    fn join(&mut self, a: Id<Region>, b: Id<Region>, opposed: bool) {
        let ((a, a_flipped), (b, b_flipped)) = (self.find(a.raw()), self.find(b.raw()));
        let flipped = a_flipped ^ b_flipped ^ opposed;
        if a != b {
            self.parent[b as usize] = (a, flipped);
            self.impossible[a as usize] |= self.impossible[b as usize];
        } else if flipped {
            self.impossible[a as usize] = true;
        }
    }
}

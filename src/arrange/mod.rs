//! The planar arrangement of each view: nodes, the pieces of drawn line between them, and the cells they enclose.
//!
//! `split` cuts the drawn segments at crossings, touchings and overlaps; `subdivide` links pieces into half-edges and
//! cells without knowing what they are pieces of, so that the planes of the face stage use it too; `cells` gives each
//! view its cells.

pub(crate) mod cells;
mod meet;
pub(crate) mod split;
mod strips;
pub(crate) mod subdivide;

use crate::geom::arena::{Arena, Id};
use crate::geom::{Few, P2};
use crate::sheet::View;
use rustc_hash::FxHashMap;

/// A place where drawn lines of one view end, cross or touch.
#[derive(Clone, Debug)]
pub(crate) struct Node {
    /// Its coordinates as places on the axes that run right and up in the view.
    pub(crate) ids: [u32; 2],
    /// The same in millimetres.
    pub(crate) at: P2,
    /// The runs through it, with its position on each.
    pub(crate) runs: Few<(Id<Run>, u32), 4>,
}

/// A piece of drawn line between two nodes with none between them.
#[derive(Clone, Debug)]
pub(crate) struct Piece {
    /// Its ends, in the direction of its run.
    pub(crate) ends: [Id<Node>; 2],
    /// Whether it is hidden; where lines of both types coincide, visible takes precedence (ISO 128-2).
    pub(crate) hidden: bool,
    /// The sheet's lines that are drawn here with the type that counts.
    pub(crate) lines: Few<u32, 2>,
}

/// Which way a run goes in its view.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Slope {
    /// Along the view's right axis.
    Level,
    /// Along the view's up axis.
    Upright,
    /// Neither.
    Sloping,
}

/// A longest straight connected chain of pieces.
#[derive(Clone, Debug)]
pub(crate) struct Run {
    pub(crate) slope: Slope,
    /// Nodes along it, one more than pieces.
    pub(crate) nodes: Vec<Id<Node>>,
    /// Pieces along it.
    pub(crate) pieces: Vec<Id<Piece>>,
}

/// The arrangement of one view.
#[derive(Clone, Debug)]
pub(crate) struct Arrangement {
    pub(crate) view: View,
    pub(crate) nodes: Arena<Node>,
    pub(crate) pieces: Arena<Piece>,
    pub(crate) runs: Arena<Run>,
    /// The node at a pair of axis places.
    pub(crate) node_at: FxHashMap<[u32; 2], Id<Node>>,
}

impl Arrangement {
    /// Position of `node` on `run`, if it lies on it.
    pub(crate) fn position(&self, run: Id<Run>, node: Id<Node>) -> Option<usize> {
        let runs = &self.nodes[node].runs;
        runs.iter()
            .find(|(r, _)| *r == run)
            .map(|(_, position)| *position as usize)
    }

    /// The middle of a piece.
    pub(crate) fn middle(&self, piece: Id<Piece>) -> P2 {
        let [a, b] = self.pieces[piece].ends;
        nalgebra::center(&self.nodes[a].at, &self.nodes[b].at)
    }

    /// Cuts `run` at a new node with the given axis places, unless there is a node already.
    ///
    /// The new node goes between the two nodes of the run that lie on either side of it.
    pub(crate) fn cut_run(&mut self, run: Id<Run>, ids: [u32; 2], at: P2) -> Id<Node> {
        let known = self.node_at.get(&ids).copied();
        if let Some(node) = known
            && self.position(run, node).is_some()
        {
            return node;
        }
        let node = known.unwrap_or_else(|| {
            let node = Node {
                ids,
                at,
                runs: Few::new(),
            };
            self.nodes.push(node)
        });
        self.node_at.insert(ids, node);
        self.insert_on_run(run, node);
        node
    }

    fn insert_on_run(&mut self, run: Id<Run>, node: Id<Node>) {
        let chain = &self.runs[run].nodes;
        let start = self.nodes[chain[0]].at;
        let along = self.nodes[chain[chain.len() - 1]].at - start;
        let reach = |n: Id<Node>| along.dot(&(self.nodes[n].at - start));
        let here = reach(node);
        let after = chain.partition_point(|&n| reach(n) < here);
        let position = after.clamp(1, chain.len() - 1);

        let first = self.runs[run].pieces[position - 1];
        let mut second = self.pieces[first].clone();
        second.ends[0] = node;
        self.pieces[first].ends[1] = node;
        let second = self.pieces.push(second);
        self.runs[run].nodes.insert(position, node);
        self.runs[run].pieces.insert(position, second);
        for (i, &n) in self.runs[run].nodes.iter().enumerate().skip(position) {
            let place = u32::try_from(i).expect("a run has fewer than 2^32 nodes");
            let runs = &mut self.nodes[n].runs;
            match runs.iter_mut().find(|(r, _)| *r == run) {
                Some(entry) => entry.1 = place,
                None => runs.push((run, place)),
            }
        }
    }
}

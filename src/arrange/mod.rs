//! The planar arrangement of each view: nodes, the pieces of drawn line between them, and the cells they enclose.
//!
//! `split` cuts the drawn segments and arcs at crossings, touchings and overlaps; `subdivide` links pieces into half-edges and
//! cells without knowing what they are pieces of, so that the planes of the face stage use it too; `cells` gives each
//! view its cells.

mod bows;
pub(crate) mod cells;
mod chain;
mod meet;
pub(crate) mod split;
mod strips;
pub(crate) mod subdivide;
mod touch;

#[cfg(test)]
mod tests;

use crate::geom::arena::{Arena, Id};
use crate::geom::carrier::Carrier;
use crate::geom::{Few, P2, V2};
use crate::sheet::View;
use rustc_hash::FxHashMap;

/// A place where drawn lines of one view end, cross or touch.
#[derive(Clone, Debug)]
pub(crate) struct Node {
    /// Its coordinates as places on the axes that run right and up in the view.
    pub(crate) ids: [u32; 2],
    /// The same in millimetres.
    pub(crate) at: P2,
    /// The runs through it, with its position on each, the first one on a run that goes all the way round.
    pub(crate) runs: Few<(Id<Run>, u32), 4>,
}

/// A piece of drawn line between two nodes with none between them.
///
/// A curved piece is monotone in both coordinates up to the tolerance, and runs in the direction in which the parameter of its
/// carrier grows.
#[derive(Clone, Debug)]
pub(crate) struct Piece {
    /// Its ends, in the direction of its run.
    pub(crate) ends: [Id<Node>; 2],
    /// Whether it is hidden; where lines of both types coincide, visible takes precedence (ISO 128-2).
    pub(crate) hidden: bool,
    /// The sheet's lines that are drawn here with the type that counts.
    pub(crate) lines: Few<u32, 2>,
    /// What it runs along, a place in [`Arrangement::carriers`]; `None` if it is straight.
    pub(crate) carrier: Option<u32>,
}

/// Which way a run goes in its view.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Slope {
    /// Along the view's right axis.
    Level,
    /// Along the view's up axis.
    Upright,
    /// Straight, but neither.
    Sloping,
    /// Along a carrier.
    Curved,
}

/// A longest connected chain of pieces along a straight line or a carrier; one that goes all the way round has its first
/// node again at its end.
#[derive(Clone, Debug)]
pub(crate) struct Run {
    pub(crate) slope: Slope,
    /// Nodes along it, one more than pieces.
    pub(crate) nodes: Vec<Id<Node>>,
    /// Pieces along it.
    pub(crate) pieces: Vec<Id<Piece>>,
    /// What it runs along, a place in [`Arrangement::carriers`]; `None` if it is straight.
    pub(crate) carrier: Option<u32>,
}

/// The arrangement of one view.
#[derive(Clone, Debug)]
pub(crate) struct Arrangement {
    pub(crate) view: View,
    pub(crate) nodes: Arena<Node>,
    pub(crate) pieces: Arena<Piece>,
    pub(crate) runs: Arena<Run>,
    /// What the curved runs of the view run along.
    pub(crate) carriers: Vec<Carrier>,
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

    /// In how many ways drawn line goes on from a node.
    pub(crate) fn ways(&self, node: Id<Node>) -> usize {
        let ways = self.nodes[node].runs.iter().map(|&(run, at)| {
            let nodes = &self.runs[run].nodes;
            let closed = nodes[0] == nodes[nodes.len() - 1];
            let ends = at == 0 || at as usize == nodes.len() - 1;
            if ends && !closed { 1 } else { 2 }
        });
        ways.sum()
    }

    /// Whether drawn line merely ends at a node.
    pub(crate) fn is_loose(&self, node: Id<Node>) -> bool {
        self.ways(node) < 2
    }

    /// The middle of a piece, on its curve if it is curved.
    pub(crate) fn middle(&self, piece: Id<Piece>) -> P2 {
        let Piece { ends, carrier, .. } = &self.pieces[piece];
        let [a, b] = ends.map(|end| self.nodes[end].at);
        let Some(carrier) = carrier.map(|c| &self.carriers[c as usize]) else {
            return nalgebra::center(&a, &b);
        };
        let [from, to] = [a, b].map(|p| carrier.parameter(&p));
        carrier.point(f64::midpoint(from, carrier.onward(from, to)))
    }

    /// The unit direction of a piece near a point of its line.
    pub(crate) fn direction(&self, piece: Id<Piece>, at: &P2) -> V2 {
        let Piece { ends, carrier, .. } = &self.pieces[piece];
        match carrier.map(|c| &self.carriers[c as usize]) {
            Some(carrier) => carrier.tangent_near(at),
            None => {
                let [a, b] = ends.map(|end| self.nodes[end].at);
                (b - a).normalize()
            }
        }
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

    /// How many nodes of a straight run lie before a point.
    fn before_on_line(&self, run: Id<Run>, point: P2) -> usize {
        let chain = &self.runs[run].nodes;
        let start = self.nodes[chain[0]].at;
        let along = self.nodes[chain[chain.len() - 1]].at - start;
        let reach = |at: P2| along.dot(&(at - start));
        let here = reach(point);
        chain.partition_point(|&n| reach(self.nodes[n].at) < here)
    }

    /// How many nodes of a curved run lie before a point.
    fn before_on_carrier(&self, run: Id<Run>, carrier: &Carrier, point: P2) -> usize {
        let chain = &self.runs[run].nodes;
        let at = |n: Id<Node>| self.nodes[n].at;
        let from = carrier.parameter(&at(chain[0]));
        let reach = |at: P2| carrier.onward(from, carrier.parameter(&at)) - from;
        let last = chain.len() - 1;
        let mut here = reach(point);
        if let Some(period) = carrier.period()
            && chain[0] != chain[last]
            && here > 0.5 * (period + reach(at(chain[last])))
        {
            // Rather before the start than beyond the end.
            here = 0.0;
        }
        // The start seems a whole turn on if it is a hair's breadth before itself, and the end of a closed run is one.
        1 + chain[1..last]
            .iter()
            .filter(|&&n| reach(at(n)) < here)
            .count()
    }

    fn insert_on_run(&mut self, run: Id<Run>, node: Id<Node>) {
        let point = self.nodes[node].at;
        let after = match self.runs[run].carrier {
            Some(c) => self.before_on_carrier(run, &self.carriers[c as usize], point),
            None => self.before_on_line(run, point),
        };
        let position = after.clamp(1, self.runs[run].nodes.len() - 1);

        let first = self.runs[run].pieces[position - 1];
        let mut second = self.pieces[first].clone();
        second.ends[0] = node;
        self.pieces[first].ends[1] = node;
        let second = self.pieces.push(second);
        self.runs[run].nodes.insert(position, node);
        self.runs[run].pieces.insert(position, second);
        let nodes = &self.runs[run].nodes;
        // The end of a run that goes all the way round is its start.
        let count = nodes.len() - usize::from(nodes[0] == nodes[nodes.len() - 1]);
        for (i, &n) in nodes.iter().enumerate().take(count).skip(position) {
            let place = u32::try_from(i).expect("a run has fewer than 2^32 nodes");
            let runs = &mut self.nodes[n].runs;
            match runs.iter_mut().find(|(r, _)| *r == run) {
                Some(entry) => entry.1 = place,
                None => runs.push((run, place)),
            }
        }
    }
}

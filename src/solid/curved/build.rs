//! Makes a solid from chosen regions: every region becomes a patch, every edge with two of them an edge of the solid.

use super::{CurvedEdge, CurvedSolid, Patch, Step};
use crate::face::{Half, Leaf, Region};
use crate::geom::arena::Id;
use crate::solve::board::Board;
use crate::solve::check::Sound;
use crate::solve::curved::CurvedBoard;
use crate::solve::{Facing, Model};
use crate::wireframe::{Edge, Vertex};

/// The solid bounded by the regions of a sound choice.
pub(crate) fn build(board: &CurvedBoard, model: &Model, sound: &Sound) -> CurvedSolid {
    let mut builder = Builder {
        board,
        solid: CurvedSolid::default(),
        vertices: vec![None; board.wireframe.vertices.len()],
        edges: vec![None; board.edge_count()],
    };
    for (shell, regions) in (0..).zip(in_order(sound)) {
        for &region in regions {
            builder.patch(region, model[region.ix()] != Some(Facing::Against), shell);
        }
        builder.solid.shells = shell + 1;
    }
    builder.smooth(model);
    // A region may lie on both sides of an edge.
    let each_alone: Vec<usize> = (0..builder.solid.faces.len()).collect();
    builder.solid.joined(&each_alone)
}

/// The region that became each patch of the solid.
pub(crate) fn regions(sound: &Sound) -> Vec<Id<Region>> {
    in_order(sound).flatten().copied().collect()
}

/// The regions of each shell, the outer one first.
fn in_order(sound: &Sound) -> impl Iterator<Item = &Vec<Id<Region>>> {
    let (outer, inner): (Vec<_>, Vec<_>) = sound.shells.iter().partition(|s| !s.hollow);
    outer.into_iter().chain(inner).map(|shell| &shell.regions)
}

struct Builder<'a> {
    board: &'a CurvedBoard,
    solid: CurvedSolid,
    /// Numbers in the solid, of what is part of it.
    vertices: Vec<Option<u32>>,
    edges: Vec<Option<u32>>,
}

impl Builder<'_> {
    fn patch(&mut self, id: Id<Region>, outward: bool, shell: u32) {
        let region = &self.board.faces.regions[id.ix()];
        let face = number(self.solid.faces.len());
        let borders = region
            .borders
            .iter()
            .map(|border| {
                let mut steps: Vec<Step> = border
                    .iter()
                    .map(|&Half { edge, forward }| Step {
                        edge: self.edge(edge),
                        forward: forward == outward,
                    })
                    .collect();
                if !outward {
                    steps.reverse();
                }
                for step in &steps {
                    let side = usize::from(!step.forward);
                    self.solid.edges[step.edge as usize].faces[side] = face;
                }
                steps
            })
            .collect();
        self.solid.faces.push(Patch {
            surface: *self.board.faces.surface(region),
            outward,
            signs: region.signs,
            borders,
            shell,
        });
    }

    fn edge(&mut self, id: Id<Edge>) -> u32 {
        if let Some(known) = self.edges[id.ix()] {
            return known;
        }
        let ends = self.board.ends(id).map(|v| self.vertex(v));
        let edge = number(self.solid.edges.len());
        self.solid.edges.push(CurvedEdge {
            ends,
            path: self.board.wireframe.path(id).clone(),
            faces: [u32::MAX; 2],
            smooth: false,
        });
        self.edges[id.ix()] = Some(edge);
        edge
    }

    fn vertex(&mut self, id: Id<Vertex>) -> u32 {
        let vertices = &mut self.solid.vertices;
        let at = self.board.wireframe.vertices[id.ix()];
        *self.vertices[id.ix()].get_or_insert_with(|| {
            vertices.push(at);
            number(vertices.len() - 1)
        })
    }

    /// Marks the edges across which the one present region continues the other.
    fn smooth(&mut self, model: &Model) {
        for id in (0..self.board.edge_count()).map(Id::new) {
            let Some(edge) = self.edges[id.ix()] else {
                continue;
            };
            let around = self.board.around(id);
            let present = |leaf: &Leaf| model[leaf.region.ix()].is_some();
            let continued = |leaf: &Leaf| {
                let mut across = leaf.across.iter();
                across.any(|&other| present(&around[other as usize]))
            };
            self.solid.edges[edge as usize].smooth =
                around.iter().any(|leaf| present(leaf) && continued(leaf));
        }
    }
}

fn number(index: usize) -> u32 {
    u32::try_from(index).expect("fewer than 2^32 things of a kind")
}

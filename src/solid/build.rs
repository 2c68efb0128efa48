//! Makes a solid from chosen face regions: neighbours in one plane become one face, straight chains one edge.

use super::{Edge, Face, Polyhedron};
use crate::face::{Half, Leaves, Region, flat, flat_axes};
use crate::geom::arena::Id;
use crate::geom::plane::Plane;
use crate::geom::{Few, P2};
use crate::solve::check::Sound;
use crate::solve::flat::FlatBoard;
use crate::solve::{Facing, Model};
use crate::wireframe::Vertex;
use itertools::Itertools;
use petgraph::unionfind::UnionFind;
use rustc_hash::FxHashMap;

/// The solid bounded by the regions of a sound choice.
pub(crate) fn build(board: &FlatBoard, model: &Model, sound: &Sound) -> Polyhedron {
    let chosen = Chosen::new(board, model);
    let mut builder = Builder {
        number: FxHashMap::default(),
        solid: Polyhedron::default(),
    };
    for (shell, regions) in (0..).zip(outer_first(sound)) {
        for (plane, loops) in chosen.faces(regions) {
            builder.face(board, &chosen, plane, loops, shell);
        }
        builder.solid.shells = shell + 1;
    }
    builder.edges();
    builder.solid
}

/// The shells' regions, the outer shell first.
fn outer_first(sound: &Sound) -> impl Iterator<Item = &[Id<Region>]> {
    let (outer, inner): (Vec<_>, Vec<_>) = sound.shells.iter().partition(|s| !s.hollow);
    outer.into_iter().chain(inner).map(|s| &s.regions[..])
}

/// The chosen regions and what is sharp between them.
struct Chosen<'a> {
    board: &'a FlatBoard,
    model: &'a Model,
    /// Per edge: whether exactly two chosen regions meet there, not continuing each other.
    sharp: Vec<bool>,
    /// Vertices where sharp edges do more than pass straight through.
    corner: Vec<bool>,
    /// The half after each half around its region, by the half and the region's plane.
    next: FxHashMap<(Half, Id<Plane>), Half>,
}

impl<'a> Chosen<'a> {
    fn new(board: &'a FlatBoard, model: &'a Model) -> Self {
        let mut next = FxHashMap::default();
        for region in board
            .faces
            .regions
            .ids()
            .filter(|r| model[r.ix()].is_some())
        {
            let plane = board.faces.regions[region].plane;
            for border in &board.faces.regions[region].borders {
                let pairs = border.iter().copied().circular_tuple_windows();
                next.extend(pairs.map(|(half, after)| ((half, plane), after)));
            }
        }
        let sharp = sharp(board, model);
        let corner = corner(board, &sharp);
        Chosen {
            board,
            model,
            sharp,
            corner,
            next,
        }
    }

    /// The maximal faces of a shell: the plane facing out, and border loops of vertices, in no order.
    fn faces(&self, regions: &[Id<Region>]) -> Vec<(Plane, Vec<Vec<Id<Vertex>>>)> {
        let mut joined = UnionFind::<usize>::new(self.model.len());
        for half in regions.iter().flat_map(|&r| self.halves(r)) {
            if !self.sharp[half.edge.ix()] {
                let here = self.board.faces.around[half.edge.ix()].iter();
                let meeting = here.filter(|l| self.model[l.region.ix()].is_some());
                for (a, b) in meeting.tuple_windows() {
                    joined.union(a.region.ix(), b.region.ix());
                }
            }
        }
        let mut faces: Vec<(Plane, Vec<Vec<Id<Vertex>>>)> = Vec::new();
        let mut face_of: FxHashMap<usize, usize> = FxHashMap::default();
        let mut done: FxHashMap<(Half, Id<Plane>), ()> = FxHashMap::default();
        for &region in regions {
            let along = self.model[region.ix()] == Some(Facing::Along);
            let face = *face_of.entry(joined.find(region.ix())).or_insert_with(|| {
                let plane = *self.board.faces.plane(region);
                faces.push((if along { plane } else { plane.flipped() }, Vec::new()));
                faces.len() - 1
            });
            let plane = self.board.faces.regions[region].plane;
            for half in self.halves(region).filter(|h| self.sharp[h.edge.ix()]) {
                if !done.contains_key(&(half, plane)) {
                    let mut border = self.border(half, plane, &mut done);
                    if !along {
                        border.reverse();
                    }
                    faces[face].1.push(border);
                }
            }
        }
        faces
    }

    fn halves(&self, region: Id<Region>) -> impl Iterator<Item = Half> + '_ {
        self.board.faces.regions[region].halves()
    }

    /// The corners along the border of a maximal face, starting with a sharp half.
    fn border(
        &self,
        first: Half,
        plane: Id<Plane>,
        done: &mut FxHashMap<(Half, Id<Plane>), ()>,
    ) -> Vec<Id<Vertex>> {
        let mut corners = Vec::new();
        let mut half = first;
        loop {
            done.insert((half, plane), ());
            let start = half.start(&self.board.wireframe);
            if self.corner[start.ix()] {
                corners.push(start);
            }
            half = self.next[&(half, plane)];
            while !self.sharp[half.edge.ix()] {
                // The face goes on across a smooth edge: turn round on its other side.
                let back = Half {
                    edge: half.edge,
                    forward: !half.forward,
                };
                half = self.next[&(back, plane)];
            }
            if half == first {
                return corners;
            }
        }
    }
}

fn sharp(board: &FlatBoard, model: &Model) -> Vec<bool> {
    let is_sharp = |around: &Leaves| {
        let chosen = around.iter().filter(|l| model[l.region.ix()].is_some());
        let continues = |across: &u32| model[around[*across as usize].region.ix()].is_some();
        let mut any = false;
        for leaf in chosen {
            if leaf.across.iter().any(continues) {
                return false;
            }
            any = true;
        }
        any
    };
    board.faces.around.iter().map(is_sharp).collect()
}

fn corner(board: &FlatBoard, sharp: &[bool]) -> Vec<bool> {
    let edges = &board.wireframe.edges;
    let is_corner = |here: &Few<Id<crate::wireframe::Edge>, 6>| {
        let sharp: Vec<_> = here.iter().filter(|e| sharp[e.ix()]).collect();
        match sharp[..] {
            [] => false,
            [a, b] => edges[*a].over != edges[*b].over,
            _ => true,
        }
    };
    board.wireframe.at_vertex.iter().map(is_corner).collect()
}

struct Builder {
    /// Number of each used vertex in the solid.
    number: FxHashMap<Id<Vertex>, u32>,
    solid: Polyhedron,
}

impl Builder {
    fn face(
        &mut self,
        board: &FlatBoard,
        chosen: &Chosen<'_>,
        plane: Plane,
        loops: Vec<Vec<Id<Vertex>>>,
        shell: u32,
    ) {
        debug_assert!(loops.iter().flatten().all(|v| chosen.corner[v.ix()]));
        let axes = flat_axes(&plane.normal);
        let mut loops: Vec<(f64, Vec<u32>)> = loops
            .into_iter()
            .map(|corners| {
                let points: Vec<P2> = corners
                    .iter()
                    .map(|&v| flat(axes, &board.wireframe.vertices[v].at))
                    .collect();
                let doubled: f64 = points
                    .iter()
                    .circular_tuple_windows()
                    .map(|(p, q)| p.coords.perp(&q.coords))
                    .sum();
                let numbers = corners.iter().map(|&v| self.vertex(board, v)).collect();
                (doubled, numbers)
            })
            .collect();
        // Only the outer loop runs counter-clockwise.
        loops.sort_by(|a, b| b.0.total_cmp(&a.0));
        self.solid.faces.push(Face {
            plane,
            loops: loops.into_iter().map(|(_, corners)| corners).collect(),
            shell,
        });
    }

    fn vertex(&mut self, board: &FlatBoard, vertex: Id<Vertex>) -> u32 {
        let vertices = &mut self.solid.vertices;
        *self.number.entry(vertex).or_insert_with(|| {
            vertices.push(board.wireframe.vertices[vertex].at);
            u32::try_from(vertices.len() - 1).expect("fewer than 2^32 corners")
        })
    }

    /// Pairs the borders of the faces into edges.
    fn edges(&mut self) {
        let mut known: FxHashMap<[u32; 2], usize> = FxHashMap::default();
        let Polyhedron { edges, faces, .. } = &mut self.solid;
        for (number, face) in (0..).zip(faces.iter()) {
            for (&a, &b) in face
                .loops
                .iter()
                .flat_map(|l| l.iter().circular_tuple_windows())
            {
                if let Some(&edge) = known.get(&[b, a]) {
                    edges[edge].faces[1] = number;
                } else {
                    known.insert([a, b], edges.len());
                    edges.push(Edge {
                        ends: [a, b],
                        faces: [number, u32::MAX],
                    });
                }
            }
        }
    }
}

//! Cuts each plane along its edges into regions and orders the regions around each edge.

use super::surfaces::Surfaces;
use super::{Half, Leaf, Leaves, Region, across, flat, flat_axes};
use crate::arrange::subdivide::{OUTSIDE, Subdivision, subdivide, turn};
use crate::geom::arena::{Arena, Id};
use crate::geom::plane::Plane;
use crate::geom::{Few, P2};
use crate::wireframe::{Edge, Wireframe};

/// All regions, and the regions around each edge.
pub(super) fn regions(wireframe: &Wireframe, surfaces: &Surfaces) -> (Arena<Region>, Vec<Leaves>) {
    let mut cutter = Cutter {
        wireframe,
        regions: Arena::default(),
        leaves: vec![Few::new(); wireframe.edges.len()],
        local: vec![u32::MAX; wireframe.vertices.len()],
    };
    for (id, plane) in surfaces.planes.enumerate() {
        cutter.cut(id, plane, &surfaces.edges[id.ix()]);
    }
    let kept = drop_loose(cutter.regions, &mut cutter.leaves);
    let around = cutter.leaves.into_iter().map(in_order).collect();
    (kept, around)
}

/// Drops regions with an edge where no other region can go on, again and again, and numbers the others anew.
fn drop_loose(regions: Arena<Region>, leaves: &mut [Few<LooseLeaf, 4>]) -> Arena<Region> {
    let mut dropped = vec![false; regions.len()];
    let mut waiting: Vec<usize> = (0..leaves.len()).collect();
    while let Some(edge) = waiting.pop() {
        if let [only] = leaves[edge][..] {
            dropped[only.region.ix()] = true;
            for half in regions[only.region].halves() {
                leaves[half.edge.ix()].retain(|l| l.region != only.region);
                waiting.push(half.edge.ix());
            }
        }
    }
    let mut number = vec![None; regions.len()];
    let mut kept = Arena::default();
    for (id, region) in regions.enumerate() {
        if !dropped[id.ix()] {
            number[id.ix()] = Some(kept.push(region.clone()));
        }
    }
    for leaf in leaves.iter_mut().flatten() {
        leaf.region = number[leaf.region.ix()].expect("dropped regions left every edge");
    }
    kept
}

/// A region at an edge before ordering.
#[derive(Clone, Copy)]
struct LooseLeaf {
    turn: f64,
    plane: Id<Plane>,
    region: Id<Region>,
    front_after: bool,
}

struct Cutter<'a> {
    wireframe: &'a Wireframe,
    regions: Arena<Region>,
    leaves: Vec<Few<LooseLeaf, 4>>,
    /// Number of each vertex within the plane at hand; `u32::MAX` outside it.
    local: Vec<u32>,
}

impl Cutter<'_> {
    fn cut(&mut self, id: Id<Plane>, plane: &Plane, edges: &[Id<Edge>]) {
        let edges = without_dangling(self.wireframe, edges, &mut self.local);
        if edges.is_empty() {
            return;
        }
        let axes = flat_axes(&plane.normal);
        let mut points: Vec<P2> = Vec::new();
        let mut used = Vec::new();
        let ends: Vec<[u32; 2]> = edges
            .iter()
            .map(|&e| {
                self.wireframe.edges[e].ends.map(|v| {
                    let local = &mut self.local[v.ix()];
                    if *local == u32::MAX {
                        *local = u32::try_from(points.len()).expect("fewer than 2^32 vertices");
                        points.push(flat(axes, &self.wireframe.vertices[v].at));
                        used.push(v);
                    }
                    *local
                })
            })
            .collect();
        for v in used {
            self.local[v.ix()] = u32::MAX;
        }
        let subdivision = subdivide(&points, &ends);
        let first = self.regions.len();
        for cell in (0..).take(subdivision.cells()) {
            let borders = subdivision
                .borders(cell)
                .map(|border| border.map(|h| half(&edges, h)).collect())
                .collect();
            self.regions.push(Region { plane: id, borders });
        }
        self.add_leaves(id, plane, &edges, &subdivision, first);
    }

    fn add_leaves(
        &mut self,
        id: Id<Plane>,
        plane: &Plane,
        edges: &[Id<Edge>],
        subdivision: &Subdivision,
        first_region: usize,
    ) {
        for (k, &edge) in (0..).zip(edges) {
            let [from, to] = self.wireframe.span(edge);
            let along = to - from;
            let [a, b] = across(&along.normalize());
            for forward in [true, false] {
                let cell = subdivision.cell(2 * k + u32::from(!forward));
                if cell == OUTSIDE {
                    continue;
                }
                let inward = plane.normal.cross(&along) * if forward { 1.0 } else { -1.0 };
                self.leaves[edge.ix()].push(LooseLeaf {
                    turn: turn(inward.dot(&a), inward.dot(&b)),
                    plane: id,
                    region: Id::new(first_region + cell as usize),
                    front_after: forward,
                });
            }
        }
    }
}

fn half(edges: &[Id<Edge>], half: u32) -> Half {
    Half {
        edge: edges[(half / 2) as usize],
        forward: half.is_multiple_of(2),
    }
}

fn in_order(mut loose: Few<LooseLeaf, 4>) -> Leaves {
    loose.sort_unstable_by(|p, q| p.turn.total_cmp(&q.turn).then(p.region.cmp(&q.region)));
    let find_across = |i: usize| {
        loose
            .iter()
            .position(|q| q.plane == loose[i].plane && q.front_after != loose[i].front_after)
            .and_then(|place| u32::try_from(place).ok())
    };
    (0..loose.len())
        .map(|i| Leaf {
            region: loose[i].region,
            front_after: loose[i].front_after,
            across: find_across(i).into_iter().collect(),
        })
        .collect()
}

/// The edges that remain when edges with a free end are taken away again and again.
fn without_dangling(
    wireframe: &Wireframe,
    edges: &[Id<Edge>],
    scratch: &mut [u32],
) -> Vec<Id<Edge>> {
    // Counts edges per vertex in the scratch table, which holds u32::MAX before and after.
    let ends = |e: Id<Edge>| wireframe.edges[e].ends;
    for v in edges.iter().flat_map(|&e| ends(e)) {
        scratch[v.ix()] = scratch[v.ix()].wrapping_add(1);
    }
    let mut left: Vec<Id<Edge>> = edges.to_vec();
    loop {
        let before = left.len();
        left.retain(|&e| {
            // A count of 0 means one edge, since counting started from u32::MAX.
            let dangling = ends(e).iter().any(|v| scratch[v.ix()] == 0);
            if dangling {
                for v in ends(e) {
                    scratch[v.ix()] = scratch[v.ix()].wrapping_sub(1);
                }
            }
            !dangling
        });
        if left.len() == before {
            break;
        }
    }
    for v in edges.iter().flat_map(|&e| ends(e)) {
        scratch[v.ix()] = u32::MAX;
    }
    left
}

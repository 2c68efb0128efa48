//! The regions around each edge in order, and which continue which.
//!
//! Regions are sorted by the direction in which they leave the edge. Those that leave in one direction are told apart by
//! how they bend from there: a plane lies between a surface that bends one way and one that bends the other.

use super::CurvedRegion;
use crate::face::{Leaf, Leaves, across};
use crate::geom::arena::Id;
use crate::geom::num::angle;
use crate::geom::surface::Surface;
use crate::geom::{Few, P3, V3};
use crate::wireframe::curved::CurvedWireframe;
use std::f64::consts::{PI, TAU};

/// Surfaces at an edge whose directions differ by less than this (radians, about half a degree) run into each other
/// smoothly, or leave together.
const SMOOTH: f64 = 0.01;

/// A region at an edge before ordering.
#[derive(Clone, Copy, Debug)]
struct Loose {
    region: usize,
    forward: bool,
    /// Direction around the edge, in radians.
    way: f64,
    /// How it bends from there, counter-clockwise.
    bend: f64,
}

/// The regions around each edge.
pub(super) fn around(
    wireframe: &CurvedWireframe,
    surfaces: &[Surface],
    regions: &[CurvedRegion],
) -> Vec<Leaves> {
    let mut loose: Vec<Few<Loose, 4>> = vec![Few::new(); wireframe.edges.len()];
    for (number, region) in regions.iter().enumerate() {
        let surface = &surfaces[region.surface as usize];
        for half in region.halves() {
            let path = wireframe.path(half.edge);
            let (at, along) = path.place(0.5);
            let [a, b] = across(&along);
            let side = if half.forward { 1.0 } else { -1.0 };
            let inward = (surface.normal(&at).cross(&along) * side).normalize();
            let [p, q] = path.ends;
            let step = 0.05 * (q - p).norm();
            loose[half.edge.ix()].push(Loose {
                region: number,
                forward: half.forward,
                way: angle(inward.dot(&b), inward.dot(&a)),
                bend: bend(surface, &at, &inward, &along, step),
            });
        }
    }
    loose.into_iter().map(in_order).collect()
}

/// How far a surface has bent away from its tangent after a step, counter-clockwise about `along`, per square of the step.
fn bend(surface: &Surface, at: &P3, inward: &V3, along: &V3, step: f64) -> f64 {
    if surface.is_plane() {
        return 0.0;
    }
    let from = surface.nearest(at);
    let there = surface.nearest(&(from + inward * step));
    (there - from).dot(&along.cross(inward)) / (step * step)
}

fn in_order(mut loose: Few<Loose, 4>) -> Leaves {
    loose.sort_by(|p, q| p.way.total_cmp(&q.way).then(p.region.cmp(&q.region)));
    let count = loose.len();
    if count > 1 {
        // Start after the widest gap, so that no bundle of like directions is torn apart.
        let gap = |k: usize| {
            let before = loose[(k + count - 1) % count].way;
            (loose[k].way - before).rem_euclid(TAU)
        };
        let first = (0..count)
            .max_by(|&a, &b| gap(a).total_cmp(&gap(b)))
            .unwrap_or(0);
        loose.rotate_left(first);
    }
    let mut ordered: Few<Loose, 4> = Few::new();
    let together = |a: &Loose, b: &Loose| (b.way - a.way).rem_euclid(TAU) < SMOOTH;
    for bundle in loose.chunk_by(together) {
        let from = ordered.len();
        ordered.extend_from_slice(bundle);
        ordered[from..].sort_by(|a, b| a.bend.total_cmp(&b.bend).then(a.region.cmp(&b.region)));
    }
    let continues = |a: &Loose, b: &Loose| {
        let turn = (a.way - b.way).rem_euclid(TAU);
        (turn - PI).abs() < SMOOTH
    };
    ordered
        .iter()
        .map(|leaf| Leaf {
            region: Id::new(leaf.region),
            front_after: leaf.forward,
            across: (0_u32..)
                .zip(&ordered)
                .filter(|(_, other)| continues(leaf, other))
                .map(|(place, _)| place)
                .collect(),
        })
        .collect()
}

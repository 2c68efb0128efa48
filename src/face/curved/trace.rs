//! Cuts a surface along the candidate edges on it into regions.
//!
//! Around a vertex the edges are sorted by where they have got to a little way out: up to there none of them meet, so the
//! order is right also for edges that leave in one direction. Loops are followed as in a planar subdivision. A loop whose
//! normals change the sign of a component encloses a line along which the surface would have to be split, but no such line
//! is there: it borders no region.

use super::looks::Looks;
use crate::arrange::subdivide::turn;
use crate::face::{Half, across, flat, flat_axes};
use crate::geom::arena::Id;
use crate::geom::seen::{Place, locate};
use crate::geom::surface::{Profile, Surface, Turned};
use crate::geom::tolerance::Tolerance;
use crate::geom::{Few, P2, P3, V3};
use crate::wireframe::curved::CurvedWireframe;
use crate::wireframe::{Edge, Vertex};
use itertools::Itertools;

/// Where a surface is split, its normals may be off by this much.
const NOUGHT: f64 = 0.03;

/// A plane whose normal has less than this along an axis is seen edge-on along it.
const EDGE_ON: f64 = 5e-4;

/// Edges around a vertex are compared at this share of the shortest one's length.
const OUT: f64 = 0.25;

/// The signs of a region's normal, and its borders.
pub(super) type Traced = ([i8; 3], Vec<Vec<Half>>);

/// All regions of a surface.
pub(super) fn regions(
    wireframe: &CurvedWireframe,
    looks: &Looks,
    (surface, edges): (&Surface, &[Id<Edge>]),
    tolerance: Tolerance,
) -> Vec<Traced> {
    let edges = without_dangling(wireframe, edges);
    if edges.is_empty() {
        return Vec::new();
    }
    let next = links(wireframe, surface, &edges, tolerance);
    let mut seen = vec![false; next.len()];
    let mut outer: Vec<Ring> = Vec::new();
    let mut holes: Vec<Ring> = Vec::new();
    for first in 0..next.len() {
        if seen[first] {
            continue;
        }
        let mut border = Vec::new();
        let mut at = first;
        while !seen[at] {
            seen[at] = true;
            border.push(half(&edges, at));
            at = next[at];
        }
        if let Some(ring) = Ring::of(wireframe, looks, surface, border) {
            if ring.area > 0.0 {
                outer.push(ring);
            } else {
                holes.push(ring);
            }
        }
    }
    let mut borders: Vec<Vec<Vec<Half>>> = outer.iter().map(|o| vec![o.border.clone()]).collect();
    for hole in holes {
        let around = (0..outer.len())
            .filter(|&o| {
                outer[o].signs == hole.signs
                    && outer[o].encloses(wireframe, looks, &hole, tolerance)
            })
            .min_by(|&a, &b| outer[a].area.total_cmp(&outer[b].area));
        if let Some(o) = around {
            borders[o].push(hole.border);
        }
    }
    outer.iter().map(|o| o.signs).zip(borders).collect()
}

/// Whether a loop runs round the axis of a torus where its normals are parallel to the axis. What it encloses is the opening
/// in the middle, not a patch: that stays within a quarter turn.
fn is_crest(wireframe: &CurvedWireframe, turned: &Turned, border: &[Half]) -> bool {
    let from_axis = |half: &Half| turned.split(&wireframe.path(half.edge).ends[0]).1;
    let opposite = |[p, q]: [V3; 2]| p.dot(&q) < -0.5 * p.norm() * q.norm();
    matches!(turned.profile, Profile::Torus { .. })
        && border
            .iter()
            .map(from_axis)
            .array_combinations()
            .any(opposite)
}

/// The half with a number: first the first edge forward and backward, then the second and so on.
fn half(edges: &[Id<Edge>], number: usize) -> Half {
    Half {
        edge: edges[number / 2],
        forward: number.is_multiple_of(2),
    }
}

fn start(wireframe: &CurvedWireframe, half: Half) -> Id<Vertex> {
    wireframe.edges[half.edge.ix()].ends[usize::from(!half.forward)]
}

/// The edges that remain when edges with a free end are taken away again and again.
fn without_dangling(wireframe: &CurvedWireframe, edges: &[Id<Edge>]) -> Vec<Id<Edge>> {
    let ends = |e: &Id<Edge>| wireframe.edges[e.ix()].ends;
    let mut corners: Vec<Id<Vertex>> = edges.iter().flat_map(ends).collect();
    corners.sort_unstable();
    corners.dedup();
    let place = |v: Id<Vertex>| corners.partition_point(|other| *other < v);
    let mut degree = vec![0_u32; corners.len()];
    for v in edges.iter().flat_map(ends) {
        degree[place(v)] += 1;
    }
    let mut left = edges.to_vec();
    loop {
        let before = left.len();
        left.retain(|e| {
            let dangling = ends(e).iter().any(|v| degree[place(*v)] < 2);
            if dangling {
                ends(e).into_iter().for_each(|v| degree[place(v)] -= 1);
            }
            !dangling
        });
        if left.len() == before {
            return left;
        }
    }
}

/// The half after each half around the region to its left, by number.
fn links(
    wireframe: &CurvedWireframe,
    surface: &Surface,
    edges: &[Id<Edge>],
    tolerance: Tolerance,
) -> Vec<usize> {
    let mut outgoing: Vec<(Id<Vertex>, usize)> = (0..2 * edges.len())
        .map(|number| (start(wireframe, half(edges, number)), number))
        .collect();
    outgoing.sort_unstable();
    let mut next = vec![0; outgoing.len()];
    for fan in outgoing.chunk_by(|a, b| a.0 == b.0) {
        let at = wireframe.vertices[fan[0].0.ix()];
        let normal = outward(surface, &at, tolerance);
        let [a, b] = across(&normal);
        let length = |number: usize| {
            let [p, q] = wireframe.path(half(edges, number).edge).ends;
            (q - p).norm()
        };
        let shortest = fan
            .iter()
            .map(|(_, number)| length(*number))
            .fold(f64::INFINITY, f64::min);
        let mut sorted: Few<(f64, usize), 8> = fan
            .iter()
            .map(|&(_, number)| {
                let half = half(edges, number);
                let share = OUT * shortest / length(number);
                let share = if half.forward { share } else { 1.0 - share };
                let out = wireframe.path(half.edge).point(share) - at;
                (turn(out.dot(&a), out.dot(&b)), number)
            })
            .collect();
        sorted.sort_by(|p, q| p.0.total_cmp(&q.0));
        for (one, two) in sorted.iter().circular_tuple_windows() {
            // The two halves of an edge are neighbours in number.
            next[two.1 ^ 1] = one.1;
        }
    }
    next
}

/// The normal at a vertex; at the apex of a cone its axis. A vertex lies about where the apex is, and beside the axis the
/// normal points to that side.
fn outward(surface: &Surface, vertex: &P3, tolerance: Tolerance) -> V3 {
    let normal = surface.normal(vertex);
    match surface {
        Surface::Turned(
            turned @ Turned {
                axis,
                profile: Profile::Cone { slope, .. },
                ..
            },
        ) => {
            let (_, out) = turned.split(vertex);
            let at_apex = out.norm() <= APEX * tolerance.mm();
            if at_apex {
                axis * -slope.signum()
            } else {
                normal
            }
        }
        _ => normal,
    }
}

/// A vertex that is the apex of a cone lies no farther from its axis, in tolerances: it may be off by one along each axis.
const APEX: f64 = 2.0;

/// How much of the component of a surface's normal along an object axis is nought.
fn nought(surface: &Surface, axis: usize) -> f64 {
    match surface {
        Surface::Plane(_) => EDGE_ON,
        // All over a cylinder, nothing of the normal points along its axis.
        Surface::Turned(Turned {
            axis: along,
            profile: Profile::Cylinder { .. },
            ..
        }) if along[axis].abs() > 0.5 => EDGE_ON,
        Surface::Turned(_) => 0.0,
    }
}

/// A loop on a surface, within one patch.
struct Ring {
    border: Vec<Half>,
    signs: [i8; 3],
    axes: [usize; 2],
    /// Seen along the axis that the normal points along most; positive if the region lies inside the loop.
    area: f64,
}

impl Ring {
    /// None if the loop goes over more than one patch.
    fn of(
        wireframe: &CurvedWireframe,
        looks: &Looks,
        surface: &Surface,
        border: Vec<Half>,
    ) -> Option<Self> {
        let mut least = V3::repeat(f64::INFINITY);
        let mut most = V3::repeat(f64::NEG_INFINITY);
        let mut sum = V3::zeros();
        for half in &border {
            let normal = surface.normal(&looks.middle(half.edge));
            least = least.inf(&normal);
            most = most.sup(&normal);
            sum += normal;
        }
        let mut signs = [0; 3];
        for k in 0..3 {
            let (low, high) = (least[k], most[k]);
            if low < -NOUGHT && high > NOUGHT {
                return None;
            }
            let larger = if high.abs() > low.abs() { high } else { low };
            if larger.abs() > nought(surface, k) {
                signs[k] = if larger > 0.0 { 1 } else { -1 };
            }
        }
        if let Surface::Turned(turned) = surface
            && is_crest(wireframe, turned, &border)
        {
            return None;
        }
        let axes = flat_axes(&sum);
        let points: Few<P2, 32> = border
            .iter()
            .flat_map(|&half| looks.along(half))
            .map(|p| flat(axes, &p))
            .collect();
        let doubled: f64 = points
            .iter()
            .circular_tuple_windows()
            .map(|(p, q)| p.coords.perp(&q.coords))
            .sum();
        Some(Ring {
            border,
            signs,
            axes,
            area: doubled / 2.0,
        })
    }

    /// Whether another loop of the same patch, with no edge in common, lies inside.
    fn encloses(
        &self,
        wireframe: &CurvedWireframe,
        looks: &Looks,
        other: &Ring,
        tolerance: Tolerance,
    ) -> bool {
        if self.area <= -other.area {
            return false;
        }
        let borders = || self.border.iter().map(|h| wireframe.path(h.edge));
        let places = other.border.iter().map(|h| {
            let at = flat(self.axes, &looks.middle(h.edge));
            locate(borders(), self.axes, &at, tolerance.mm())
        });
        let mut places = places.filter(|p| *p != Place::Border);
        places.next() == Some(Place::Inside)
    }
}

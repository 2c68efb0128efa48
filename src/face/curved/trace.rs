//! Cuts a surface along the candidate edges on it into regions.
//!
//! Around a vertex the edges are sorted by where they have got to a little way out: up to there none of them meet, so the
//! order is right also for edges that leave in one direction. Loops are followed as in a planar subdivision. A loop whose
//! normals change the sign of a component encloses a line along which the surface would have to be split, but no such line
//! is there: it borders no region.

use crate::arrange::subdivide::turn;
use crate::face::{Half, across, flat, flat_axes};
use crate::geom::arena::Id;
use crate::geom::path::{Path, Place, locate};
use crate::geom::surface::{Profile, Surface, Turned};
use crate::geom::tolerance::Tolerance;
use crate::geom::{P2, V3};
use crate::wireframe::curved::CurvedWireframe;
use crate::wireframe::{Edge, Vertex};
use itertools::Itertools;
use rustc_hash::FxHashMap;

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
    surface: &Surface,
    edges: &[Id<Edge>],
    tolerance: Tolerance,
) -> Vec<Traced> {
    let edges = without_dangling(wireframe, edges);
    if edges.is_empty() {
        return Vec::new();
    }
    let next = links(wireframe, surface, &edges);
    let mut seen: FxHashMap<Half, ()> = FxHashMap::default();
    let mut outer: Vec<Ring> = Vec::new();
    let mut holes: Vec<Ring> = Vec::new();
    for half in halves(&edges) {
        if seen.contains_key(&half) {
            continue;
        }
        let mut border = vec![half];
        seen.insert(half, ());
        let mut at = next[&half];
        while at != half {
            seen.insert(at, ());
            border.push(at);
            at = next[&at];
        }
        if let Some(ring) = Ring::of(wireframe, surface, border) {
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
                outer[o].signs == hole.signs && outer[o].encloses(wireframe, &hole, tolerance)
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

fn halves(edges: &[Id<Edge>]) -> impl Iterator<Item = Half> + '_ {
    edges
        .iter()
        .flat_map(|&edge| [true, false].map(|forward| Half { edge, forward }))
}

fn start(wireframe: &CurvedWireframe, half: Half) -> Id<Vertex> {
    wireframe.edges[half.edge.ix()].ends[usize::from(!half.forward)]
}

/// The edges that remain when edges with a free end are taken away again and again.
fn without_dangling(wireframe: &CurvedWireframe, edges: &[Id<Edge>]) -> Vec<Id<Edge>> {
    let ends = |e: &Id<Edge>| wireframe.edges[e.ix()].ends;
    let mut degree: FxHashMap<Id<Vertex>, u32> = FxHashMap::default();
    for v in edges.iter().flat_map(ends) {
        *degree.entry(v).or_default() += 1;
    }
    let mut left = edges.to_vec();
    loop {
        let before = left.len();
        left.retain(|e| {
            let dangling = ends(e).iter().any(|v| degree[v] < 2);
            if dangling {
                for v in ends(e) {
                    degree.entry(v).and_modify(|d| *d -= 1);
                }
            }
            !dangling
        });
        if left.len() == before {
            return left;
        }
    }
}

/// The half after each half around the region to its left.
fn links(
    wireframe: &CurvedWireframe,
    surface: &Surface,
    edges: &[Id<Edge>],
) -> FxHashMap<Half, Half> {
    let mut outgoing: Vec<(Id<Vertex>, Half)> =
        halves(edges).map(|h| (start(wireframe, h), h)).collect();
    outgoing.sort_unstable_by_key(|(v, h)| (*v, h.edge, h.forward));
    let mut next = FxHashMap::default();
    for fan in outgoing.chunk_by(|a, b| a.0 == b.0) {
        let at = wireframe.vertices[fan[0].0.ix()];
        let normal = surface.normal(&at);
        let [a, b] = across(&normal);
        let length = |half: &Half| {
            let [p, q] = wireframe.path(half.edge).ends;
            (q - p).norm()
        };
        let shortest = fan
            .iter()
            .map(|(_, h)| length(h))
            .fold(f64::INFINITY, f64::min);
        let mut sorted: Vec<(f64, Half)> = fan
            .iter()
            .map(|&(_, half)| {
                let share = OUT * shortest / length(&half);
                let share = if half.forward { share } else { 1.0 - share };
                let out = wireframe.path(half.edge).point(share) - at;
                (turn(out.dot(&a), out.dot(&b)), half)
            })
            .collect();
        sorted.sort_by(|p, q| p.0.total_cmp(&q.0));
        for (one, two) in sorted.iter().circular_tuple_windows() {
            let back = Half {
                forward: !two.1.forward,
                ..two.1
            };
            next.insert(back, one.1);
        }
    }
    next
}

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
    fn of(wireframe: &CurvedWireframe, surface: &Surface, border: Vec<Half>) -> Option<Self> {
        let mut least = V3::repeat(f64::INFINITY);
        let mut most = V3::repeat(f64::NEG_INFINITY);
        let mut sum = V3::zeros();
        for half in &border {
            let normal = surface.normal(&wireframe.path(half.edge).middle());
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
        let points: Vec<P2> = border
            .iter()
            .flat_map(|&half| samples(wireframe, half))
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
    fn encloses(&self, wireframe: &CurvedWireframe, other: &Ring, tolerance: Tolerance) -> bool {
        if self.area <= -other.area {
            return false;
        }
        let borders = || self.border.iter().map(|h| wireframe.path(h.edge));
        let places = other.border.iter().map(|h| {
            let at = flat(self.axes, &wireframe.path(h.edge).middle());
            locate(borders(), self.axes, &at, tolerance.mm())
        });
        let mut places = places.filter(|p| *p != Place::Border);
        places.next() == Some(Place::Inside)
    }
}

/// Points along a half, its end left out.
fn samples(wireframe: &CurvedWireframe, half: Half) -> impl Iterator<Item = crate::geom::P3> + '_ {
    let path: &Path = wireframe.path(half.edge);
    let steps = if path.is_straight() { 1 } else { 8 };
    (0..steps).map(move |k| {
        let share = f64::from(k) / f64::from(steps);
        path.point(if half.forward { share } else { 1.0 - share })
    })
}

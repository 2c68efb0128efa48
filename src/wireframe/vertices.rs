//! Candidate corners: a point is one if each view has a node where it sees the point.
//!
//! Every corner whose edges do not all lie in one plane is such a point, for then each view sees at least two of its
//! edges in different directions. The join runs along the axis that costs least.

use super::{Vertex, seen_in};
use crate::arrange::Arrangement;
use crate::geom::P3;
use crate::geom::arena::{Arena, Id};
use crate::geom::axis::Axes;
use crate::geom::crowded::CrowdedError;
use crate::sheet::View;

/// More corners than this are never looked at, so that a hostile drawing cannot fill the memory.
const MOST_VERTICES: usize = 60_000;

/// All points that are a node in every view.
///
/// # Errors
/// If there are too many.
pub(super) fn vertices(
    views: &[Arrangement; 3],
    axes: &Axes,
) -> Result<Arena<Vertex>, CrowdedError> {
    let joins = [
        [View::Front, View::Top, View::Right],
        [View::Front, View::Right, View::Top],
        [View::Top, View::Right, View::Front],
    ];
    let sorted = joins.map(|[a, b, _]| {
        let axis = shared_axis(a, b);
        [
            by_place(&views[a.index()], axis, axes),
            by_place(&views[b.index()], axis, axes),
        ]
    });
    let cheapest = (0..3).min_by_key(|&j| cost(&sorted[j])).unwrap_or(0);
    let [a, b, third] = joins[cheapest];
    let third = &views[third.index()];
    let mut found = Arena::default();
    for (in_a, in_b) in sorted[cheapest][0].iter().zip(&sorted[cheapest][1]) {
        for &p in in_a {
            for &q in in_b {
                let mut ids = [0; 3];
                for (view, node) in [(a, p), (b, q)] {
                    let node = &views[view.index()].nodes[Id::new(node as usize)];
                    for (axis, id) in view.axes().into_iter().zip(node.ids) {
                        ids[axis] = id;
                    }
                }
                if third.node_at.contains_key(&seen_in(third.view, ids))
                    && let Some(vertex) = vertex(views, axes, ids)
                {
                    if found.len() == MOST_VERTICES {
                        return Err(CrowdedError::Corners {
                            most: MOST_VERTICES,
                        });
                    }
                    found.push(vertex);
                }
            }
        }
    }
    Ok(found)
}

/// The vertex at three axis places, if every view has a node there.
pub(super) fn vertex(views: &[Arrangement; 3], axes: &Axes, ids: [u32; 3]) -> Option<Vertex> {
    let node = |view: &Arrangement| view.node_at.get(&seen_in(view.view, ids)).copied();
    Some(Vertex {
        ids,
        at: P3::from([0, 1, 2].map(|axis| axes.value(axis, ids[axis]))),
        nodes: [node(&views[0])?, node(&views[1])?, node(&views[2])?],
    })
}

fn shared_axis(a: View, b: View) -> usize {
    let [first, second] = a.axes();
    if b.axes().contains(&first) {
        first
    } else {
        second
    }
}

/// The nodes of a view at each place of an axis.
fn by_place(view: &Arrangement, axis: usize, axes: &Axes) -> Vec<Vec<u32>> {
    let which = usize::from(view.view.axes()[0] != axis);
    let mut lists = vec![Vec::new(); axes.len(axis)];
    for (id, node) in view.nodes.enumerate() {
        lists[node.ids[which] as usize].push(id.raw());
    }
    lists
}

fn cost([a, b]: &[Vec<Vec<u32>>; 2]) -> usize {
    a.iter().zip(b).map(|(p, q)| p.len() * q.len()).sum()
}

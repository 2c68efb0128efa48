//! Drops candidate edges that cannot bound a face.
//!
//! At a corner of a solid the edges either span space, or lie in one plane and all go straight through; an edge that
//! merely continues another goes straight through too. So at a vertex whose edges lie in one plane, an edge with no
//! continuation beyond the vertex cannot be sharp and is dropped, and so on until nothing changes.

use super::{Edge, Vertex};
use crate::geom::Few;
use crate::geom::arena::{Arena, Id};
use crate::geom::plane::Plane;
use crate::geom::tolerance::Tolerance;

/// The edges that remain, in the same order.
pub(super) fn prune(
    vertices: &Arena<Vertex>,
    edges: Arena<Edge>,
    tolerance: Tolerance,
) -> Arena<Edge> {
    let mut at_vertex: Vec<Few<Id<Edge>, 6>> = vec![Few::new(); vertices.len()];
    for (id, edge) in edges.enumerate() {
        for end in edge.ends {
            at_vertex[end.ix()].push(id);
        }
    }
    let mut kept = vec![true; edges.len()];
    let mut waiting: Vec<Id<Vertex>> = vertices.ids().rev().collect();
    while let Some(vertex) = waiting.pop() {
        at_vertex[vertex.ix()].retain(|e| kept[e.ix()]);
        let here = &at_vertex[vertex.ix()];
        if spans_space(vertices, &edges, vertex, here, tolerance) {
            continue;
        }
        for &edge in here {
            let continued = here
                .iter()
                .any(|&other| other != edge && edges[other].over == edges[edge].over);
            if !continued {
                kept[edge.ix()] = false;
                waiting.extend(edges[edge].ends);
            }
        }
    }
    let kept = edges.enumerate().filter(|(id, _)| kept[id.ix()]);
    kept.map(|(_, edge)| edge.clone()).collect()
}

/// Whether the edges at a vertex do not all lie in one plane.
fn spans_space(
    vertices: &Arena<Vertex>,
    edges: &Arena<Edge>,
    vertex: Id<Vertex>,
    here: &[Id<Edge>],
    tolerance: Tolerance,
) -> bool {
    let at = vertices[vertex].at;
    let far = |edge: Id<Edge>| {
        let [a, b] = edges[edge].ends;
        vertices[if a == vertex { b } else { a }].at
    };
    let Some((&first, rest)) = here.split_first() else {
        return false;
    };
    let along = far(first) - at;
    let across = rest
        .iter()
        .map(|&e| along.cross(&(far(e) - at)))
        .max_by(|a, b| a.norm_squared().total_cmp(&b.norm_squared()));
    match across {
        Some(normal) if normal.norm() > tolerance.mm() * along.norm() => {
            let plane = Plane::through(&at, &normal);
            // A short edge at a small angle is never far from the plane: it is measured as if it were the longest.
            let longest = here
                .iter()
                .map(|&e| (far(e) - at).norm())
                .fold(0.0, f64::max);
            here.iter().any(|&e| {
                let far = far(e);
                plane.distance(&far).abs() * longest > tolerance.mm() * (far - at).norm()
            })
        }
        _ => false,
    }
}

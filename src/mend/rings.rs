//! Whole circles that a view may lack.
//!
//! A cylinder along the sight line of a view is a circle there, and in each of the other views a pair of contours as far
//! apart as the circle is wide. Where both views have such a pair over a common stretch, the view can have the circle.

use crate::arrange::Arrangement;
use crate::geom::P2;
use crate::geom::carrier::Carrier;
use crate::geom::tolerance::Tolerance;
use crate::sheet::View;

/// A circle that could be added.
#[derive(Clone, Copy, Debug)]
pub(super) struct Ring {
    pub(super) view: View,
    /// In the view's own millimetres.
    pub(super) center: P2,
    pub(super) radius: f64,
}

/// Two parallel lines along the sight line of the lacking view.
#[derive(Clone, Copy)]
struct Pair {
    /// Where they stand across.
    at: [f64; 2],
    /// What they share along the sight line.
    span: [f64; 2],
    /// By how much one goes on where the other does not.
    uneven: f64,
}

/// All of them, likeliest first: those whose contours all go equally far.
pub(super) fn missing(views: &[Arrangement; 3], tolerance: Tolerance) -> Vec<Ring> {
    let mut found: Vec<(f64, Ring)> = Vec::new();
    for lacking in views {
        let depth = lacking.view.depth_axis();
        let [rights, ups] = lacking.view.axes().map(|axis| {
            let shows = |v: &&Arrangement| v.view != lacking.view && v.view.axes().contains(&axis);
            let side = views
                .iter()
                .find(shows)
                .expect("every axis is in two views");
            pairs(side, depth, tolerance.mm())
        });
        for a in &rights {
            for b in &ups {
                let Some((uneven, ring)) = ring(lacking.view, [a, b], tolerance.mm()) else {
                    continue;
                };
                if !is_drawn(lacking, &ring, tolerance.mm()) {
                    found.push((uneven, ring));
                }
            }
        }
    }
    found.sort_by(|a, b| a.0.total_cmp(&b.0));
    let mut rings: Vec<Ring> = Vec::new();
    for (_, ring) in found {
        let same = |r: &Ring| {
            r.view == ring.view
                && (r.center - ring.center).amax() <= tolerance.mm()
                && (r.radius - ring.radius).abs() <= tolerance.mm()
        };
        if !rings.iter().any(same) {
            rings.push(ring);
        }
    }
    rings
}

/// All pairs of lines along an axis that share a stretch.
fn pairs(side: &Arrangement, depth: usize, tolerance: f64) -> Vec<Pair> {
    let along = usize::from(side.view.axes()[0] != depth);
    let mut rows: Vec<(f64, [f64; 2])> = Vec::new();
    for run in side.runs.iter().filter(|r| r.carrier.is_none()) {
        let [a, b] = [run.nodes[0], run.nodes[run.nodes.len() - 1]].map(|n| side.nodes[n].at);
        if (a[1 - along] - b[1 - along]).abs() <= tolerance {
            rows.push((
                a[1 - along],
                [a[along].min(b[along]), a[along].max(b[along])],
            ));
        }
    }
    rows.sort_by(|a, b| a.0.total_cmp(&b.0));
    let mut pairs = Vec::new();
    for (i, (low, first)) in rows.iter().enumerate() {
        for (high, second) in &rows[i + 1..] {
            let span = [first[0].max(second[0]), first[1].min(second[1])];
            if high - low > 2.0 * tolerance && span[1] - span[0] > tolerance {
                pairs.push(Pair {
                    at: [*low, *high],
                    span,
                    uneven: (first[0] - second[0]).abs() + (first[1] - second[1]).abs(),
                });
            }
        }
    }
    pairs
}

/// The circle that two pairs in the two other views allow, and how unevenly they go.
fn ring(view: View, [a, b]: [&Pair; 2], tolerance: f64) -> Option<(f64, Ring)> {
    let [wide, high] = [a, b].map(|pair| pair.at[1] - pair.at[0]);
    let shared = a.span[1].min(b.span[1]) - a.span[0].max(b.span[0]);
    if (wide - high).abs() > 2.0 * tolerance || shared <= tolerance {
        return None;
    }
    let [x, y] = [a, b].map(|pair| f64::midpoint(pair.at[0], pair.at[1]));
    let apart = (a.span[0] - b.span[0]).abs() + (a.span[1] - b.span[1]).abs();
    let ring = Ring {
        view,
        center: P2::new(x, y),
        radius: wide / 2.0,
    };
    Some((a.uneven + b.uneven + apart, ring))
}

fn is_drawn(view: &Arrangement, ring: &Ring, tolerance: f64) -> bool {
    let on_it = |carrier: &Carrier| match carrier {
        Carrier::Circle { center, radius } => {
            (center - ring.center).amax() <= tolerance && (radius - ring.radius).abs() <= tolerance
        }
        _ => false,
    };
    view.carriers.iter().any(on_it)
}

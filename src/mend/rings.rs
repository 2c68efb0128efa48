//! Whole circles that a view may lack.
//!
//! A cylinder along the sight line of a view is a circle there, and in each of the other views a pair of contours as far
//! apart as the circle is wide. Where both views have such a pair over a common stretch, the view can have the circle. A circle
//! seen edge-on in both other views, the outline of a ball or of a ring of round wire among them, is a line or two farthest
//! places there.

use super::sides::{Side, centers, sides};
use crate::arrange::Arrangement;
use crate::geom::P2;
use crate::geom::carrier::Carrier;
use crate::geom::tolerance::Tolerance;
use crate::sheet::View;
use itertools::Itertools;

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

/// All of them, likeliest first, with how unlikely they are: those whose contours all go equally far have 0.
pub(super) fn missing(views: &[Arrangement; 3], tolerance: Tolerance) -> Vec<(usize, Ring)> {
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
        let mouths = mouths(views, lacking.view, tolerance.mm()).into_iter();
        let mouths = mouths.filter(|ring| !is_drawn(lacking, ring, tolerance.mm()));
        // Less likely than what goes equally far, likelier than what does not.
        found.extend(mouths.map(|ring| (2.0 * tolerance.mm(), ring)));
        let mut even = edge_on(views, lacking.view, tolerance.mm());
        even.extend(outlines(views, lacking.view, tolerance.mm()));
        even.retain(|ring| !is_drawn(lacking, ring, tolerance.mm()));
        found.extend(even.into_iter().map(|ring| (0.0, ring)));
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
    // Of those that go equally far, two neighbouring contours are likelier than two that are farther apart.
    found.sort_by(|a, b| {
        let key = |f: &(f64, Ring)| [f.0, f.1.radius];
        let ([a, r], [b, s]) = (key(a), key(b));
        a.total_cmp(&b).then(r.total_cmp(&s))
    });
    let mut rings: Vec<(usize, Ring)> = Vec::new();
    for (uneven, ring) in found {
        let same = |(_, r): &(usize, Ring)| {
            r.view == ring.view
                && (r.center - ring.center).amax() <= tolerance.mm()
                && (r.radius - ring.radius).abs() <= tolerance.mm()
        };
        if !rings.iter().any(same) {
            rings.push((usize::from(uneven > tolerance.mm()), ring));
        }
    }
    rings
}

/// Circles that both other views show edge-on at one height: as level lines of one length, or as two places where curves
/// turn back.
fn edge_on(views: &[Arrangement; 3], lacking: View, tolerance: f64) -> Vec<Ring> {
    let sides = sides(views, lacking, tolerance);
    of_one_height(
        lacking,
        sides.map(|side| levels(&side, tolerance)),
        tolerance,
    )
}

/// Circles in which cones and other round faces may end: both other views show ends of sloping or curved lines there, at one
/// height and equally far apart.
fn mouths(views: &[Arrangement; 3], lacking: View, tolerance: f64) -> Vec<Ring> {
    let pairs = |side: Side<'_>| {
        let ends = side.slope_ends().into_iter().array_combinations();
        ends.filter_map(|pair| level(pair, tolerance)).collect()
    };
    of_one_height(
        lacking,
        sides(views, lacking, tolerance).map(pairs),
        tolerance,
    )
}

fn of_one_height(lacking: View, [rights, ups]: [Vec<Level>; 2], tolerance: f64) -> Vec<Ring> {
    let both = rights.iter().cartesian_product(&ups);
    let even = both.filter(|(a, b)| {
        (a.height - b.height).abs() <= tolerance && (a.width - b.width).abs() <= 2.0 * tolerance
    });
    even.map(|(a, b)| Ring {
        view: lacking,
        center: P2::new(a.middle, b.middle),
        radius: a.width / 2.0,
    })
    .collect()
}

/// What may be a circle seen edge-on.
struct Level {
    height: f64,
    middle: f64,
    width: f64,
}

fn levels(side: &Side<'_>, tolerance: f64) -> Vec<Level> {
    let turns = side.turns();
    let turns = turns.into_iter().array_combinations();
    let straight = side.view.runs.iter().filter(|run| run.carrier.is_none());
    let rows = straight.map(|run| {
        let ends = [run.nodes[0], run.nodes[run.nodes.len() - 1]];
        ends.map(|n| side.turned(&side.view.nodes[n].at))
    });
    let both = turns.chain(rows);
    both.filter_map(|pair| level(pair, tolerance)).collect()
}

/// Two places as a level, if they are at one height and apart.
fn level([a, b]: [[f64; 2]; 2], tolerance: f64) -> Option<Level> {
    let width = (a[1] - b[1]).abs();
    let level = (a[0] - b[0]).abs() <= tolerance && width > 2.0 * tolerance;
    level.then_some(Level {
        height: a[0],
        middle: f64::midpoint(a[1], b[1]),
        width,
    })
}

/// Circles as wide as the other views are, if the view itself is less wide: about the centres of its own circles.
fn outlines(views: &[Arrangement; 3], lacking: View, tolerance: f64) -> Vec<Ring> {
    let own = &views[lacking.index()];
    let reach = |k: usize| own.nodes.iter().map(move |n| n.at[k]).fold(0.0, f64::max);
    let [wide, high] = sides(views, lacking, tolerance).map(|side| side.reach());
    if (wide - high).abs() > 2.0 * tolerance || reach(0).max(reach(1)) > wide - tolerance {
        return Vec::new();
    }
    let ring = |center| Ring {
        view: lacking,
        center,
        radius: wide / 2.0,
    };
    centers(own).into_iter().map(ring).collect()
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

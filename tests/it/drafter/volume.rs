//! The volume of a body: heights above the ground plan added up, between all the places where their run changes.

use super::body::Body;
use super::curve::Curve;
use super::edges::{Edge, bounds};
use super::space::{cos_sin, gauss, halved};
use crate::cells::Point;

/// A stretch of an edge that runs steadily along x.
struct Run<'e> {
    curve: &'e Curve,
    ends: [f64; 2],
    reach: [f64; 2],
}

/// The volume of a body with these edges, to about nine digits.
///
/// Gauss' rule in the ground plan, over x between the edges' ends and turning points, and over y between the edges. The
/// places are spread as cosines, so that heights that start like a root do no harm.
pub(crate) fn volume(body: &Body, edges: &[Edge]) -> f64 {
    let runs = runs(edges);
    let mut stops: Vec<f64> = runs.iter().flat_map(|run| run.reach).collect();
    let [low, high] = bounds(edges);
    stops.extend([low[0], high[0]]);
    let outer = gauss(20);
    let inner = gauss(16);
    let section = |x: f64| {
        let mut places: Vec<f64> = runs
            .iter()
            .filter(|run| run.reach[0] < x && x < run.reach[1])
            .map(|run| {
                let t = halved(run.ends[0], run.ends[1], |t| run.curve.at(t)[0] - x);
                run.curve.at(t)[1]
            })
            .collect();
        summed(&mut places, &inner, |y| height(body, [x, y, low[2] - 1.0]))
    };
    summed(&mut stops, &outer, section)
}

fn height(body: &Body, foot: Point) -> f64 {
    body.spans(foot, [0.0, 0.0, 1.0])
        .iter()
        .map(|s| s[1] - s[0])
        .sum()
}

/// The integral of `f` between the least and the greatest place.
fn summed(places: &mut Vec<f64>, rule: &[[f64; 2]], f: impl Fn(f64) -> f64) -> f64 {
    places.sort_by(f64::total_cmp);
    places.dedup_by(|b, a| *b - *a < 1e-9);
    let half_turn = std::f64::consts::PI;
    places
        .windows(2)
        .map(|w| {
            let (middle, half) = (f64::midpoint(w[0], w[1]), (w[1] - w[0]) / 2.0);
            let parts = rule.iter().map(|[x, weight]| {
                let [c, s] = cos_sin(half_turn * (x + 1.0) / 2.0);
                weight * half_turn / 2.0 * half * s * f(middle - half * c)
            });
            parts.sum::<f64>()
        })
        .sum()
}

fn runs(edges: &[Edge]) -> Vec<Run<'_>> {
    let mut runs = Vec::new();
    for edge in edges {
        let speed = |t: f64| edge.curve.way(t)[0];
        let mut cuts = edge.range.to_vec();
        for w in edge.curve.stops(edge.range).windows(2) {
            if (speed(w[0]) > 0.0) != (speed(w[1]) > 0.0) {
                cuts.push(halved(w[0], w[1], speed));
            }
        }
        cuts.sort_by(f64::total_cmp);
        runs.extend(cuts.windows(2).map(|w| {
            let mut reach = [w[0], w[1]].map(|t| edge.curve.at(t)[0]);
            reach.sort_by(f64::total_cmp);
            Run {
                curve: &edge.curve,
                ends: [w[0], w[1]],
                reach,
            }
        }));
    }
    runs
}

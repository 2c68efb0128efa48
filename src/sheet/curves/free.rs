//! Joins sampled curves that lie on one another or go on smoothly, and finds where they turn.

use super::merge::box_of;
use super::read::Raw;
use super::{Bend, Course, fit};
use crate::geom::P2;
use crate::geom::carrier::Carrier;
use crate::geom::pairs::{Bounds, BoxIndex};
use petgraph::unionfind::UnionFind;

/// Sine of the angle up to which one curve goes on smoothly as another: 10°, because sampled tangents are rough.
const SMOOTH: f64 = 0.17;

/// More curves than this that touch one another, or more points on them, are left as they are drawn.
const MOST_TO_JOIN: [usize; 2] = [300, 20_000];

/// A sampled curve whose points miss a straight line by less than this part of the tolerance is straight.
const STRAIGHT: f64 = 0.5;

/// Unless they bend steadily one way by more than this part of it: no hand or rounding does that.
const STEADY: f64 = 0.02;

/// Fewer points than this say nothing about how steadily a curve bends.
const FEWEST_POINTS: usize = 5;

/// Sampled curves by carrier, and those that are straight.
pub(super) fn courses(bends: Vec<Bend>, tolerance: f64) -> (Vec<Course>, Vec<Raw>) {
    let mut courses = Vec::new();
    let mut straight = Vec::new();
    for group in touching(bends, tolerance) {
        for (points, members) in chained(group, tolerance) {
            if is_straight(&points, tolerance) {
                straight.extend(members.iter().map(Bend::chord));
            } else {
                courses.push(course(points, members, tolerance));
            }
        }
    }
    courses.sort_by_key(|c| c.members.iter().map(|m| m.line).min());
    (courses, straight)
}

fn is_straight(points: &[P2], tolerance: f64) -> bool {
    let bend = fit::bend(points);
    if bend > STRAIGHT * tolerance {
        return false;
    }
    let turns = || {
        points
            .windows(3)
            .map(|p| (p[1] - p[0]).perp(&(p[2] - p[1])))
    };
    let one_way = turns().all(|t| t > 0.0) || turns().all(|t| t < 0.0);
    bend <= STEADY * tolerance || points.len() < FEWEST_POINTS || !one_way
}

impl Bend {
    fn points(&self) -> &[P2] {
        match &self.carrier {
            Carrier::Free { points } => points,
            _ => &[],
        }
    }

    fn chord(&self) -> Raw {
        Raw {
            line: self.line,
            view: self.view,
            hidden: self.hidden,
            ends: [self.at(0.0).into(), self.at(1.0).into()],
        }
    }
}

/// Groups of curves an end of which lies on another of the group, the longest first in each.
fn touching(mut bends: Vec<Bend>, tolerance: f64) -> Vec<Vec<Bend>> {
    bends.sort_by(|a, b| b.span[1].total_cmp(&a.span[1]).then(a.line.cmp(&b.line)));
    let boxes: Vec<Bounds<2>> = bends
        .iter()
        .map(|b| box_of(b.points(), tolerance))
        .collect();
    let index = BoxIndex::new(&boxes);
    let mut groups = UnionFind::<usize>::new(bends.len());
    for (i, bend) in bends.iter().enumerate() {
        for share in [0.0, 1.0] {
            let end = bend.at(share);
            index.touching(&[[end.x, end.y], [end.x, end.y]], |j| {
                let j = j as usize;
                if i != j && !groups.equiv(i, j) && bends[j].carrier.distance(&end) <= tolerance {
                    groups.union(i, j);
                }
            });
        }
    }
    let mut by_root: Vec<Vec<Bend>> = vec![Vec::new(); bends.len()];
    for (i, bend) in bends.into_iter().enumerate() {
        by_root[groups.find(i)].push(bend);
    }
    by_root.retain(|group| !group.is_empty());
    by_root
}

/// The curves of a group as smooth chains of points, each with its members.
fn chained(mut group: Vec<Bend>, tolerance: f64) -> Vec<(Vec<P2>, Vec<Bend>)> {
    let points: usize = group.iter().map(|b| b.points().len()).sum();
    let join = group.len() <= MOST_TO_JOIN[0] && points <= MOST_TO_JOIN[1];
    let mut chains = Vec::new();
    group.reverse();
    while let Some(longest) = group.pop() {
        let mut points = longest.points().to_vec();
        let mut members = vec![longest];
        while join && let Some((i, more)) = next_member(&points, &group, tolerance) {
            members.push(group.remove(i));
            points = more;
        }
        close(&mut points, tolerance);
        chains.push((points, members));
    }
    chains
}

/// The longest curve that lies on a chain or carries it on, and the chain with it.
fn next_member(chain: &[P2], group: &[Bend], tolerance: f64) -> Option<(usize, Vec<P2>)> {
    let around = box_of(chain, tolerance);
    (0..group.len()).rev().find_map(|i| {
        let bounds = box_of(group[i].points(), 0.0);
        let near = (0..2).all(|k| bounds[0][k] <= around[1][k] && around[0][k] <= bounds[1][k]);
        let joined = near.then(|| joined(chain, group[i].points(), tolerance))?;
        Some((i, joined?))
    })
}

/// A chain and a curve as one, if the curve lies on the chain or carries on one of its ends.
fn joined(chain: &[P2], curve: &[P2], tolerance: f64) -> Option<Vec<P2>> {
    let carrier = Carrier::Free {
        points: chain.to_vec(),
    };
    if curve.iter().all(|p| carrier.distance(p) <= tolerance) {
        return Some(chain.to_vec());
    }
    let reversed = |points: &[P2]| -> Vec<P2> { points.iter().rev().copied().collect() };
    let (back, turned) = (reversed(chain), reversed(curve));
    if let Some(more) =
        carried_on(chain, curve, tolerance).or_else(|| carried_on(chain, &turned, tolerance))
    {
        return Some(more);
    }
    carried_on(&back, curve, tolerance)
        .or_else(|| carried_on(&back, &turned, tolerance))
        .map(|points| reversed(&points))
}

/// A chain with what a curve adds behind its last point, if the two are the same up to there and run on smoothly.
fn carried_on(chain: &[P2], curve: &[P2], tolerance: f64) -> Option<Vec<P2>> {
    let (first, last) = (chain[0], chain[chain.len() - 1]);
    if first == last {
        return None;
    }
    let [before, after] = [chain, curve].map(|points| Carrier::Free {
        points: points.to_vec(),
    });
    if after.distance(&last) > tolerance || before.distance(&curve[0]) > tolerance {
        return None;
    }
    let foot = after.parameter(&last);
    let [out, on] = [before.tangent(before.extent()), after.tangent(foot)];
    if out.dot(&on) <= 0.0 || out.perp(&on).abs() > SMOOTH {
        return None;
    }
    let mut along = 0.0;
    let mut points = chain.to_vec();
    let mut previous = curve[0];
    for &point in curve {
        along += (point - previous).norm();
        previous = point;
        if along > foot + 0.5 * tolerance {
            points.push(point);
        } else if before.distance(&point) > tolerance {
            return None;
        }
    }
    (points.len() > chain.len()).then_some(points)
}

/// Makes a chain that comes back to its start a closed one; if it does so smoothly, it starts where it is farthest right.
fn close(points: &mut Vec<P2>, tolerance: f64) {
    let (first, last) = (points[0], points[points.len() - 1]);
    if points.len() < 6 || (last - first).norm() > tolerance {
        return;
    }
    // The last points may hang about the first.
    while points.len() > 4 && (points[points.len() - 1] - first).norm() <= tolerance {
        points.pop();
    }
    points.push(first);
    if has_corner(points) {
        return;
    }
    points.pop();
    let right = (0..points.len())
        .max_by(|a, b| points[*a].x.total_cmp(&points[*b].x))
        .unwrap_or(0);
    points.rotate_left(right);
    points.push(points[0]);
}

/// Whether a closed chain has a corner where it closes.
pub(super) fn has_corner(points: &[P2]) -> bool {
    let last = points.len() - 1;
    let way = |a: usize, b: usize| (points[b] - points[a]).normalize();
    // Chords near the joint turn anyway; half of what their neighbours turn by is added on either side.
    let [before, out, on, after] = [
        way(last - 2, last - 1),
        way(last - 1, last),
        way(0, 1),
        way(1, 2),
    ];
    let turning = f64::midpoint(before.perp(&out), on.perp(&after)).abs();
    out.dot(&on) <= 0.0 || out.perp(&on).abs() > SMOOTH + turning
}

/// The course of a chain; the points where it turns back along an axis become points of it.
fn course(mut points: Vec<P2>, members: Vec<Bend>, tolerance: f64) -> Course {
    if let Some((carrier, _)) = fit::circle(&points, tolerance) {
        return Course {
            carrier,
            firm: true,
            members,
            spans: Vec::new(),
        };
    }
    for axis in 0..2 {
        for i in turns(&points, axis, tolerance).into_iter().rev() {
            refine(&mut points, i, axis);
        }
    }
    Course {
        carrier: Carrier::Free { points },
        firm: false,
        members,
        spans: Vec::new(),
    }
}

/// Where points turn back along an axis by more than the tolerance, as places in the list.
pub(super) fn turns(points: &[P2], axis: usize, tolerance: f64) -> Vec<usize> {
    let mut found = Vec::new();
    // The least and the greatest coordinate since the last turn, and which way it goes since then.
    let (mut low, mut high) = (0, 0);
    let mut rising = None;
    let at = |i: usize| points[i][axis];
    for i in 1..points.len() {
        if at(i) < at(low) {
            low = i;
        }
        if at(i) > at(high) {
            high = i;
        }
        match rising {
            Some(true) if at(high) - at(i) > tolerance => {
                found.push(high);
                (rising, low) = (Some(false), i);
            }
            Some(false) if at(i) - at(low) > tolerance => {
                found.push(low);
                (rising, high) = (Some(true), i);
            }
            None if at(high) - at(low) > tolerance => {
                rising = Some(high > low);
                (low, high) = (i, i);
            }
            _ => {}
        }
    }
    let closed = points.first() == points.last() && !has_corner(points);
    let wraps = closed && {
        let (before, after) = (points[points.len() - 2][axis], points[1][axis]);
        (before - at(0)) * (after - at(0)) > 0.0
    };
    if wraps && !found.contains(&0) {
        found.insert(0, 0);
    }
    found
}

/// Moves a turning point to the top of the parabola through it and its neighbours, or puts one in there.
fn refine(points: &mut Vec<P2>, i: usize, axis: usize) {
    let closed = points.first() == points.last() && !has_corner(points);
    let (before, after) = match (i, closed) {
        (0, true) => (points[points.len() - 2], points[1]),
        _ if i > 0 && i + 1 < points.len() => (points[i - 1], points[i + 1]),
        _ => return,
    };
    let middle = points[i];
    let (back, on) = ((middle - before).norm(), (after - middle).norm());
    // q(s) = middle + b s + a s², s the length from the middle point.
    let [left, right] = [(before - middle) / back, (after - middle) / on];
    let a = (left + right) / (back + on);
    let b = right - a * on;
    let top = -b[axis] / (2.0 * a[axis]);
    if !top.is_finite() || top <= -back || top >= on {
        return;
    }
    let point = middle + b * top + a * (top * top);
    if (point - middle).norm() * 4.0 < back.min(on) || (i == 0 && closed) {
        points[i] = point;
        if i == 0 {
            let last = points.len() - 1;
            points[last] = point;
        }
    } else {
        points.insert(if top > 0.0 { i + 1 } else { i }, point);
    }
}

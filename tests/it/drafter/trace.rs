//! Crossings of two surfaces for which there is no closed form: started where a mesh of curves on the one meets the
//! other, followed in small steps, every point put exactly on both.

use super::body::Room;
use super::curve::{Curve, onto};
use super::space::{TURN, across, ahead, cos_sin, plus, times};
use super::surface::{SAME, Surface};
use crate::cells::{Point, cross, dot, length, minus, unit};

/// How many curves are laid over a surface in each direction.
const MESH: usize = 60;

/// Every branch of the crossing of two surfaces in a box.
pub(crate) fn trace(a: &Surface, b: &Surface, room: &Room) -> Vec<Curve> {
    let step = length(minus(room[1], room[0])) / 500.0;
    let on = [*a, *b];
    let mut branches: Vec<Vec<Point>> = Vec::new();
    for first in starts(a, b, room) {
        if branches.iter().any(|points| passes(points, first, step)) {
            continue;
        }
        let (mut points, closed) = follow(&on, first, room, step);
        if !closed {
            let (back, _) = follow(&on, first, room, -step);
            points.reverse();
            points.extend(&back[1..]);
        }
        if points.len() > 3 {
            branches.push(points);
        }
    }
    branches
        .into_iter()
        .map(|points| Curve::traced(points, on))
        .collect()
}

fn starts(a: &Surface, b: &Surface, room: &Room) -> Vec<Point> {
    let mut starts = Vec::new();
    for (one, other) in [(a, b), (b, a)] {
        for curve in mesh(one, room) {
            starts.extend(curve.meetings(other).into_iter().map(|t| curve.at(t)));
        }
    }
    // The mesh of a cone runs on beyond its apex.
    starts.retain(|p| is_in(*p, room) && lies_on(&[*a, *b], *p));
    starts
}

fn lies_on(on: &[Surface; 2], p: Point) -> bool {
    on.iter().all(|s| s.distance(p).abs() < SAME)
}

fn is_in(p: Point, room: &Room) -> bool {
    (0..3).all(|k| room[0][k] <= p[k] && p[k] <= room[1][k])
}

/// Curves laid over a surface.
fn mesh(surface: &Surface, room: &Room) -> Vec<Curve> {
    let turns = (0..MESH).map(|i| cos_sin((i as f64 + 0.37) / MESH as f64 * TURN));
    match surface {
        Surface::Plane { normal, offset } => {
            let reach = length(minus(room[1], room[0]));
            let middle = times(plus(room[0], room[1]), 0.5);
            let foot = ahead(middle, *normal, offset - dot(*normal, middle));
            let [u, v] = across(*normal);
            let places = (0..MESH).map(|i| (i as f64 + 0.37) / MESH as f64 - 0.5);
            places
                .flat_map(|k| {
                    [
                        Curve::line(ahead(foot, u, k * reach), v, room),
                        Curve::line(ahead(foot, v, k * reach), u, room),
                    ]
                })
                .flatten()
                .collect()
        }
        Surface::Cylinder { axis, radius } => {
            let [u, v] = across(axis.way);
            turns
                .filter_map(|[c, s]| {
                    let out = plus(times(u, c * radius), times(v, s * radius));
                    Curve::line(plus(axis.through, out), axis.way, room)
                })
                .collect()
        }
        Surface::Cone {
            axis,
            radius,
            slope,
        } => {
            let [u, v] = across(axis.way);
            let apex = axis.at(-radius / slope);
            turns
                .filter_map(|[c, s]| {
                    let out = plus(times(u, c * slope), times(v, s * slope));
                    Curve::line(apex, plus(axis.way, out), room)
                })
                .collect()
        }
        Surface::Sphere { center, radius } => {
            let circles = (1..MESH).map(|i| {
                let h = radius * (2.0 * i as f64 / MESH as f64 - 1.0);
                let r = (radius * radius - h * h).sqrt();
                Curve::circle(plus(*center, [0.0, 0.0, h]), [0.0, 0.0, 1.0], r)
            });
            let meridians = turns.map(|[c, s]| Curve::circle(*center, [c, s, 0.0], *radius));
            circles.chain(meridians).collect()
        }
        Surface::Torus { axis, major, minor } => {
            let [u, v] = across(axis.way);
            turns
                .flat_map(|[c, s]| {
                    let out = plus(times(u, c), times(v, s));
                    [
                        Curve::ellipse(
                            ahead(axis.through, out, *major),
                            [times(out, *minor), times(axis.way, *minor)],
                        ),
                        Curve::circle(axis.at(minor * s), axis.way, major + minor * c),
                    ]
                })
                .collect()
        }
    }
}

/// Points from the first one on, in steps; and whether they come back to it.
fn follow(on: &[Surface; 2], first: Point, room: &Room, step: f64) -> (Vec<Point>, bool) {
    let start = onto(on, first);
    let mut points = vec![start];
    let mut last = [0.0; 3];
    for count in 0..40_000 {
        let p = points[points.len() - 1];
        let way = cross(on[0].normal(p), on[1].normal(p));
        if length(way) < 1e-4 {
            break;
        }
        let mut way = unit(way);
        if count > 0 && dot(way, last) < 0.0 {
            way = times(way, -1.0);
        }
        last = way;
        let next = onto(on, ahead(p, way, step));
        let goes_on = dot(minus(next, p), way) * step > 0.0;
        if !is_in(next, room) || !goes_on || !lies_on(on, next) {
            break;
        }
        let home = minus(start, p);
        if count > 3 && length(home) < step.abs() && dot(home, way) * step > 0.0 {
            points.push(start);
            return (points, true);
        }
        points.push(next);
    }
    (points, false)
}

/// Whether a traced branch runs through a point.
fn passes(points: &[Point], p: Point, step: f64) -> bool {
    points.windows(2).any(|w| {
        let way = minus(w[1], w[0]);
        let t = (dot(minus(p, w[0]), way) / dot(way, way)).clamp(0.0, 1.0);
        length(minus(p, ahead(w[0], way, t))) < step / 20.0
    })
}

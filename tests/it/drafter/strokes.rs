//! Pieces of a view as lines of a sheet: each curve drawn once, visible before hidden, neighbours joined.

use foldback::{LineType, Shape as Drawn};

use super::curve::{Curve, Shape};
use super::space::{TURN, cos_sin, direction};
use super::spans::{Spans, except, merged};
use super::surface::{SAME, Surface};
use super::view::{Piece, Sight, distance, is_on};
use crate::cells::dot;

/// A line of a view in the view's own millimetres.
pub(crate) type Stroke = (LineType, Drawn);

/// Chords of sampled curves stay this near to them, in millimetres.
const CHORD: f64 = 0.005;

/// A carrier of pieces: what lines, arcs and elliptical arcs have in common with those that continue them.
enum Carrier {
    /// `foot + t way`.
    Line { foot: [f64; 2], way: [f64; 2] },
    /// A circle or an ellipse; the parameter is the eccentric angle in radians.
    Round {
        center: [f64; 2],
        radii: [f64; 2],
        rotation: f64,
    },
}

/// The lines to draw for the pieces of a view.
pub(crate) fn strokes(sight: &Sight, pieces: &[Piece]) -> Vec<Stroke> {
    let mut carriers: Vec<(Carrier, [Spans; 2])> = Vec::new();
    let mut free: Vec<&Piece> = Vec::new();
    for piece in pieces {
        let Some((carrier, span)) = carried(sight, piece) else {
            free.push(piece);
            continue;
        };
        let place = carriers
            .iter()
            .position(|(known, _)| known.is_same(&carrier));
        let place = place.unwrap_or_else(|| {
            carriers.push((carrier, [Spans::new(), Spans::new()]));
            carriers.len() - 1
        });
        let (known, spans) = &mut carriers[place];
        spans[usize::from(piece.hidden)].extend(known.span(sight, piece, span));
    }
    let mut out = Vec::new();
    for (carrier, [visible, hidden]) in &carriers {
        let gap = 100.0 * SAME / carrier.speed();
        let visible = merged(visible.clone(), gap);
        let hidden = except(&merged(hidden.clone(), gap), &visible);
        for (line_type, spans) in [(LineType::Visible, visible), (LineType::Hidden, hidden)] {
            let spans = spans.into_iter().filter(|s| s[1] - s[0] > gap).collect();
            out.extend(
                carrier
                    .drawn(spans)
                    .into_iter()
                    .map(|shape| (line_type, shape)),
            );
        }
    }
    out.extend(free_curves(sight, pieces, &free));
    out
}

/// The carrier of a piece and its own stretch of it; nothing for a curve of no such kind.
fn carried(sight: &Sight, piece: &Piece) -> Option<(Carrier, [f64; 2])> {
    let ends = piece.range.map(|t| sight.flat(piece.curve.at(t)));
    let line = || {
        let length = distance(ends[0], ends[1]);
        let way = [0, 1].map(|k| (ends[1][k] - ends[0][k]) / length);
        Some((Carrier::Line { foot: ends[0], way }, [0.0, length]))
    };
    match &piece.curve.shape {
        Shape::Line { .. } => line(),
        Shape::Ellipse { center, arms } => {
            let [a, b] = arms.map(|arm| sight.flat(arm));
            let cross = a[0] * b[1] - a[1] * b[0];
            if cross.abs() < SAME {
                return line();
            }
            Some(round(sight.flat(*center), [a, b], piece.range))
        }
        Shape::Traced { on, .. } => on.iter().find_map(|surface| match surface {
            Surface::Plane { normal, .. } if dot(*normal, sight.near).abs() < SAME => line(),
            Surface::Cylinder { axis, radius } if dot(axis.way, sight.near).abs() > 1.0 - SAME => {
                let center = sight.flat(axis.through);
                let angle = |t: f64| {
                    let p = sight.flat(piece.curve.at(t));
                    direction(p[0] - center[0], p[1] - center[1])
                };
                let from = angle(piece.range[0]);
                let steps = piece.curve.stops(piece.range);
                let to = steps.windows(2).fold(from, |sum, w| {
                    let step = angle(w[1]) - angle(w[0]) + TURN / 2.0;
                    sum + step.rem_euclid(TURN) - TURN / 2.0
                });
                let circle = Carrier::Round {
                    center,
                    radii: [*radius; 2],
                    rotation: 0.0,
                };
                Some((circle, [from.min(to), from.max(to)]))
            }
            _ => None,
        }),
    }
}

/// The ellipse `center + cos t a + sin t b` by its own axes, and the stretch of its eccentric angle.
fn round(center: [f64; 2], [a, b]: [[f64; 2]; 2], range: [f64; 2]) -> (Carrier, [f64; 2]) {
    let squares = [a, b].map(|v| v[0] * v[0] + v[1] * v[1]);
    let mixed = a[0] * b[0] + a[1] * b[1];
    let is_circle = (squares[0] - squares[1]).abs() < SAME && mixed.abs() < SAME;
    let turn = if is_circle {
        0.0
    } else {
        direction(squares[0] - squares[1], 2.0 * mixed) / 2.0
    };
    let [c, s] = cos_sin(turn);
    let first = [0, 1].map(|k| a[k] * c + b[k] * s);
    let second = [0, 1].map(|k| b[k] * c - a[k] * s);
    let radii = [first, second].map(|v| v[0].hypot(v[1]));
    let sign = (first[0] * second[1] - first[1] * second[0]).signum();
    let mut span = range.map(|t| sign * (t - turn));
    span.sort_by(f64::total_cmp);
    let mut rotation = direction(first[0], first[1]);
    if is_circle {
        span = span.map(|t| t + rotation);
        rotation = 0.0;
    }
    let carrier = Carrier::Round {
        center,
        radii,
        rotation,
    };
    (carrier, span)
}

impl Carrier {
    fn is_same(&self, other: &Carrier) -> bool {
        const NEAR: f64 = 10.0 * SAME;
        match (self, other) {
            (Carrier::Line { foot, way }, Carrier::Line { foot: f, way: w }) => {
                let off = |v: [f64; 2]| (v[0] * way[1] - v[1] * way[0]).abs();
                let apart = [f[0] - foot[0], f[1] - foot[1]];
                off(*w) < NEAR && off(apart) < NEAR
            }
            (
                Carrier::Round {
                    center,
                    radii,
                    rotation,
                },
                Carrier::Round {
                    center: c,
                    radii: r,
                    rotation: turn,
                },
            ) => {
                let is_circle = (radii[0] - radii[1]).abs() < NEAR;
                let apart = (rotation - turn).rem_euclid(TURN / 2.0);
                distance(*center, *c) < NEAR
                    && distance(*radii, *r) < NEAR
                    && (is_circle || apart.min(TURN / 2.0 - apart) < NEAR)
            }
            _ => false,
        }
    }

    /// Millimetres for a unit of the parameter.
    fn speed(&self) -> f64 {
        match self {
            Carrier::Line { .. } => 1.0,
            Carrier::Round { radii, .. } => radii[0].max(radii[1]),
        }
    }

    /// The stretch of this carrier that a piece covers, given the stretch of its own.
    fn span(&self, sight: &Sight, piece: &Piece, own: [f64; 2]) -> Spans {
        match self {
            Carrier::Line { foot, way } => {
                let mut ends = piece.range.map(|t| {
                    let p = sight.flat(piece.curve.at(t));
                    (p[0] - foot[0]) * way[0] + (p[1] - foot[1]) * way[1]
                });
                ends.sort_by(f64::total_cmp);
                vec![ends]
            }
            Carrier::Round {
                rotation, radii, ..
            } => {
                let half_turned = carried(sight, piece).is_some_and(|(carrier, _)| {
                    matches!(carrier, Carrier::Round { rotation: r, .. }
                        if radii[0] != radii[1] && (r - rotation).rem_euclid(TURN) > 1.0
                            && (r - rotation).rem_euclid(TURN) < 5.0)
                });
                let shift = if half_turned { TURN / 2.0 } else { 0.0 };
                let length = own[1] - own[0];
                let from = (own[0] + shift).rem_euclid(TURN);
                if length > TURN - SAME {
                    vec![[0.0, TURN]]
                } else if from + length > TURN {
                    vec![[from, TURN], [0.0, from + length - TURN]]
                } else {
                    vec![[from, from + length]]
                }
            }
        }
    }

    fn drawn(&self, mut spans: Spans) -> Vec<Drawn> {
        match self {
            Carrier::Line { foot, way } => {
                let at = |t: f64| [foot[0] + t * way[0], foot[1] + t * way[1]];
                spans
                    .iter()
                    .map(|s| Drawn::Line {
                        from: at(s[0]),
                        to: at(s[1]),
                    })
                    .collect()
            }
            Carrier::Round {
                center,
                radii,
                rotation,
            } => {
                join_over_zero(&mut spans);
                spans
                    .iter()
                    .map(|s| round_shape(*center, *radii, *rotation, *s))
                    .collect()
            }
        }
    }
}

/// An arc that ends at a whole turn and one that starts at nothing are one.
fn join_over_zero(spans: &mut Spans) {
    if spans.len() < 2 {
        return;
    }
    let last = spans[spans.len() - 1];
    if spans[0][0] < SAME && last[1] > TURN - SAME {
        spans[0][0] = last[0] - TURN;
        spans.pop();
    }
}

fn round_shape(center: [f64; 2], radii: [f64; 2], rotation: f64, [from, to]: [f64; 2]) -> Drawn {
    let whole = to - from > TURN - 10.0 * SAME;
    let start = from.to_degrees().rem_euclid(360.0);
    let end = start + (to - from).to_degrees();
    let is_circle = (radii[0] - radii[1]).abs() < 10.0 * SAME;
    let rotation = rotation.to_degrees();
    match (is_circle, whole) {
        (true, true) => Drawn::Circle {
            center,
            radius: radii[0],
        },
        (true, false) => Drawn::Arc {
            center,
            radius: radii[0],
            start,
            end,
        },
        (false, true) => Drawn::Ellipse {
            center,
            radii,
            rotation,
        },
        (false, false) => Drawn::EllipticalArc {
            center,
            radii,
            rotation,
            start,
            end,
        },
    }
}

/// Pieces without a carrier, each that no other covers, joined to their neighbours on the same curve.
fn free_curves(sight: &Sight, all: &[Piece], free: &[&Piece]) -> Vec<Stroke> {
    let mut kept: Vec<Piece> = Vec::new();
    for piece in free {
        let [from, to] = piece.range;
        let looks: Vec<[f64; 2]> = [0.21, 0.5, 0.77]
            .iter()
            .map(|part| sight.flat(piece.curve.at(from + part * (to - from))))
            .collect();
        let covers = |other: &Piece| looks.iter().all(|p| is_on(sight, other, *p));
        let seen = |other: &&Piece| piece.hidden && !other.hidden;
        if !all.iter().filter(seen).any(covers) && !kept.iter().any(covers) {
            kept.push((*piece).clone());
        }
    }
    let mut trails: Vec<Trail> = kept
        .iter()
        .map(|piece| Trail {
            curve: piece.curve,
            hidden: piece.hidden,
            points: sampled(sight, piece),
        })
        .collect();
    let mut done = Vec::new();
    while let Some(mut trail) = trails.pop() {
        while let Some(i) = trails.iter().position(|next| trail.joined(next).is_some()) {
            let next = trails.swap_remove(i);
            trail.points = trail.joined(&next).unwrap_or_default();
        }
        done.push(trail);
    }
    done.into_iter().map(Trail::stroke).collect()
}

/// Points along a curve.
struct Trail<'e> {
    curve: &'e Curve,
    hidden: bool,
    points: Vec<[f64; 2]>,
}

impl Trail<'_> {
    /// The points of this and another that goes on the same way from one of its ends, in either direction.
    fn joined(&self, other: &Trail) -> Option<Vec<[f64; 2]>> {
        if !self.curve.is_same_trace(other.curve) || self.hidden != other.hidden {
            return None;
        }
        let turned = |points: &[[f64; 2]]| points.iter().rev().copied().collect::<Vec<_>>();
        let (own, other) = (&self.points, &other.points);
        [
            (own.clone(), other.clone()),
            (other.clone(), own.clone()),
            (own.clone(), turned(other)),
            (turned(other), own.clone()),
        ]
        .into_iter()
        .find(|(before, after)| goes_on(before, after))
        .map(|(before, after)| [before.as_slice(), &after[1..]].concat())
    }

    fn stroke(self) -> Stroke {
        let line_type = if self.hidden {
            LineType::Hidden
        } else {
            LineType::Visible
        };
        (line_type, Drawn::Curve(self.points))
    }
}

/// Whether the second starts where the first ends, and in the same direction.
fn goes_on(before: &[[f64; 2]], after: &[[f64; 2]]) -> bool {
    let [p, q, r] = [before[before.len() - 2], after[0], after[1]];
    let (a, b) = ([q[0] - p[0], q[1] - p[1]], [r[0] - q[0], r[1] - q[1]]);
    let along = a[0] * b[0] + a[1] * b[1];
    distance(before[before.len() - 1], q) < SAME
        && along > 0.9 * a[0].hypot(a[1]) * b[0].hypot(b[1])
}

fn piece_point(sight: &Sight, piece: &Piece, t: f64) -> [f64; 2] {
    sight.flat(piece.curve.at(t))
}

/// Points of a piece, its chords near to it.
fn sampled(sight: &Sight, piece: &Piece) -> Vec<[f64; 2]> {
    let at = |t: f64| piece_point(sight, piece, t);
    let [from, to] = piece.range;
    let mut points = vec![at(from)];
    let coarse = 8;
    for i in 0..coarse {
        let part = |i: i32| from + (to - from) * f64::from(i) / f64::from(coarse);
        refine(&at, [part(i), part(i + 1)], &mut points, 12);
    }
    points
}

fn refine(
    at: &impl Fn(f64) -> [f64; 2],
    [from, to]: [f64; 2],
    into: &mut Vec<[f64; 2]>,
    depth: u32,
) {
    let (a, b) = (at(from), at(to));
    let length = distance(a, b).max(1e-12);
    let strays = |part: f64| {
        let p = at(from + part * (to - from));
        ((b[0] - a[0]) * (p[1] - a[1]) - (b[1] - a[1]) * (p[0] - a[0])).abs() / length > CHORD
    };
    if depth > 0 && [0.25, 0.5, 0.75].iter().any(|part| strays(*part)) {
        let middle = f64::midpoint(from, to);
        refine(at, [from, middle], into, depth - 1);
        refine(at, [middle, to], into, depth - 1);
    } else {
        into.push(b);
    }
}

//! One view: its edges cut where they cross or end on one another, and each piece found visible or hidden.
//!
//! A piece is hidden if material lies strictly in front of it on both sides; if only on one, it runs along the border
//! of that material.

use super::body::Body;
use super::curve::{Curve, Shape};
use super::edges::{Edge, right_and_up};
use super::space::{ahead, direction, plus, times};
use super::surface::SAME;
use crate::cells::{Point, dot};

/// The directions to the viewer of the front, top and right-side view.
pub(crate) const TO_VIEWER: [Point; 3] = [[0.0, -1.0, 0.0], [0.0, 0.0, 1.0], [1.0, 0.0, 0.0]];

/// A stretch of an edge as a view shows it.
#[derive(Clone, Debug)]
pub(crate) struct Piece<'e> {
    /// The curve in space.
    pub(crate) curve: &'e Curve,
    /// The stretch of the curve's parameter.
    pub(crate) range: [f64; 2],
    /// Whether material lies in front of it.
    pub(crate) hidden: bool,
}

/// The pieces that a view shows of a body's edges.
pub(crate) fn pieces<'e>(body: &Body, edges: &'e [Edge], view: usize) -> Vec<Piece<'e>> {
    let sight = Sight::of(view);
    let drawn = edges.iter().filter(|edge| edge.drawn[view]);
    let strands: Vec<Strand> = drawn
        .flat_map(|edge| {
            let stretches = sight.folded(&edge.curve, edge.range);
            stretches.into_iter().map(|range| (&edge.curve, range))
        })
        .map(|(curve, range)| Strand::new(&sight, curve, range))
        .collect();
    let mut out = Vec::new();
    for (i, strand) in strands.iter().enumerate() {
        let others = strands.iter().enumerate().filter(|(j, _)| i != *j);
        let near: Vec<&Strand> = others
            .map(|(_, other)| other)
            .filter(|other| strand.is_near(other))
            .collect();
        let cuts = strand.cuts_by(&near);
        for range in cuts.windows(2) {
            out.extend(sight.judged(body, strand, [range[0], range[1]]));
        }
    }
    out
}

/// The directions of a view.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Sight {
    /// Right and up on the sheet.
    pub(crate) flat: [Point; 2],
    /// To the viewer.
    pub(crate) near: Point,
}

impl Sight {
    /// The directions of the front (0), top (1) or right-side view (2).
    pub(crate) fn of(view: usize) -> Sight {
        Sight {
            flat: right_and_up(view),
            near: TO_VIEWER[view],
        }
    }

    /// A point or a way as the view shows it.
    pub(crate) fn flat(&self, p: Point) -> [f64; 2] {
        self.flat.map(|way| dot(p, way))
    }

    /// The curve's stretch, cut where the view shows it turning back on itself; nothing if it is seen end-on.
    fn folded(&self, curve: &Curve, range: [f64; 2]) -> Vec<[f64; 2]> {
        let mut cuts = range.to_vec();
        match &curve.shape {
            Shape::Line { way, .. } => {
                let [x, y] = self.flat(*way);
                if x.hypot(y) < SAME {
                    return Vec::new();
                }
            }
            Shape::Ellipse { arms, .. } => {
                let [a, b] = arms.map(|arm| self.flat(arm));
                if (a[0] * b[1] - a[1] * b[0]).abs() < SAME {
                    // Edge-on: it turns where the longer way of the two arms' sum ends.
                    let k = usize::from(a[1].hypot(b[1]) > a[0].hypot(b[0]));
                    let turn = direction(a[k], b[k]);
                    let half = std::f64::consts::PI;
                    let first = ((range[0] - turn) / half).ceil();
                    cuts.extend(
                        (0..4)
                            .map(|i| turn + (first + f64::from(i)) * half)
                            .filter(|t| *t > range[0] && *t < range[1]),
                    );
                }
            }
            Shape::Traced { .. } => cuts.extend(self.turns(curve, range)),
        }
        cuts.sort_by(f64::total_cmp);
        cuts.windows(2)
            .map(|w| [w[0], w[1]])
            .filter(|[a, b]| (b - a) * curve.speed(f64::midpoint(*a, *b)) > SAME)
            .collect()
    }

    /// Where a traced curve is seen to turn back sharply.
    fn turns(&self, curve: &Curve, range: [f64; 2]) -> Vec<f64> {
        let way = |t: f64| self.flat(curve.way(t));
        let stops = curve.stops(range);
        let sharp = stops.windows(2).filter(|w| {
            let (a, b) = (way(w[0]), way(w[1]));
            let (along, aside) = (a[0] * b[0] + a[1] * b[1], a[0] * b[1] - a[1] * b[0]);
            along < 0.0 && aside.abs() < 0.2 * along.abs()
        });
        sharp
            .map(|w| {
                let before = way(w[0]);
                super::space::halved(w[0], w[1], |t| {
                    let now = way(t);
                    now[0] * before[0] + now[1] * before[1]
                })
            })
            .collect()
    }

    /// A piece, found visible or hidden; cut once more should that change along it.
    fn judged<'e>(&self, body: &Body, strand: &Strand<'e>, [from, to]: [f64; 2]) -> Vec<Piece<'e>> {
        /// How far to the side is looked at most and at least, in millimetres.
        const ASIDE: [f64; 2] = [1e-9, 1e-6];
        /// A curve that leaves another one smoothly is so much of the square of its length away from it.
        const APART: f64 = 1e-5;
        let at = |part: f64| from + part * (to - from);
        let [a, b, c] = [0.0, 0.5, 1.0].map(|part| self.flat(strand.curve.at(at(part))));
        let length = distance(a, b) + distance(b, c);
        let aside = (APART * length * length).clamp(ASIDE[0], ASIDE[1]);
        let hidden = |t: f64| self.is_hidden(body, strand.curve, t, aside);
        let looks: Vec<f64> = [0.13, 0.31, 0.5, 0.69, 0.87].map(at).to_vec();
        let mut cuts = vec![from];
        for w in looks.windows(2) {
            if hidden(w[0]) != hidden(w[1]) {
                let sign = |t: f64| if hidden(t) { 1.0 } else { -1.0 };
                cuts.push(super::space::halved(w[0], w[1], sign));
            }
        }
        cuts.push(to);
        cuts.windows(2)
            .map(|w| Piece {
                curve: strand.curve,
                range: [w[0], w[1]],
                hidden: hidden(f64::midpoint(w[0], w[1])),
            })
            .collect()
    }

    /// Whether material lies in front of a point of a curve, so many millimetres to both sides of it.
    fn is_hidden(&self, body: &Body, curve: &Curve, t: f64, aside: f64) -> bool {
        /// What is less far in front belongs to the edge itself, in millimetres.
        const CLEAR: f64 = 1e-3;
        let p = curve.at(t);
        let [x, y] = self.flat(curve.way(t));
        let n = x.hypot(y);
        let side = plus(times(self.flat[0], -y / n), times(self.flat[1], x / n));
        [aside, -aside].iter().all(|aside| {
            let spans = body.spans(ahead(p, side, *aside), self.near);
            spans.iter().any(|s| s[1] - s[0].max(CLEAR) > 1e-6)
        })
    }
}

/// A stretch of a drawn curve without turning back, with points along it.
struct Strand<'e> {
    sight: Sight,
    curve: &'e Curve,
    range: [f64; 2],
    stops: Vec<f64>,
    points: Vec<[f64; 2]>,
    room: [[f64; 2]; 2],
}

impl<'e> Strand<'e> {
    fn new(sight: &Sight, curve: &'e Curve, range: [f64; 2]) -> Self {
        let stops = match curve.shape {
            Shape::Line { .. } => range.to_vec(),
            _ => curve.stops(range),
        };
        let points: Vec<[f64; 2]> = stops.iter().map(|t| sight.flat(curve.at(*t))).collect();
        let far = |pick: fn(f64, f64) -> f64, start: f64| {
            [0, 1].map(|k| points.iter().map(|p| p[k]).fold(start, pick))
        };
        // Between its points an arc bulges by less than this.
        let room = [
            far(f64::min, f64::INFINITY).map(|c| c - 0.2),
            far(f64::max, f64::NEG_INFINITY).map(|c| c + 0.2),
        ];
        Strand {
            sight: *sight,
            curve,
            range,
            stops,
            points,
            room,
        }
    }

    fn is_near(&self, other: &Strand) -> bool {
        (0..2).all(|k| self.room[0][k] <= other.room[1][k] && other.room[0][k] <= self.room[1][k])
    }

    fn at(&self, t: f64) -> [f64; 2] {
        self.sight.flat(self.curve.at(t))
    }

    fn way(&self, t: f64) -> [f64; 2] {
        self.sight.flat(self.curve.way(t))
    }

    /// About how long the strand is between two parameters, in space.
    fn length(&self, a: f64, b: f64) -> f64 {
        (b - a) * self.curve.speed(f64::midpoint(a, b))
    }

    /// Its ends, and where others end on it or cross it; ends before crossings, for they are exact.
    fn cuts_by(&self, others: &[&Strand]) -> Vec<f64> {
        let ends = others
            .iter()
            .flat_map(|other| other.range.map(|end| self.foot(other.at(end))))
            .flatten();
        let crossings = others.iter().flat_map(|other| self.crossings(other));
        let mut cuts: Vec<f64> = self.range.to_vec();
        for cut in ends.chain(crossings) {
            let is_new = |known: &f64| self.length(*known, cut).abs() > 10.0 * SAME;
            if cuts.iter().all(is_new) {
                cuts.push(cut);
            }
        }
        cuts.sort_by(f64::total_cmp);
        cuts
    }

    /// Where another strand crosses this one.
    fn crossings(&self, other: &Strand) -> Vec<f64> {
        let mut cuts = Vec::new();
        for (i, p) in self.points.windows(2).enumerate() {
            for (j, q) in other.points.windows(2).enumerate() {
                if let Some([u, v]) = crossing([p[0], p[1]], [q[0], q[1]]) {
                    let t = self.stops[i] + u * (self.stops[i + 1] - self.stops[i]);
                    let s = other.stops[j] + v * (other.stops[j + 1] - other.stops[j]);
                    cuts.extend(self.refined(other, t, s));
                }
            }
        }
        cuts
    }

    /// The crossing near two parameters, by Newton's method.
    fn refined(&self, other: &Strand, mut t: f64, mut s: f64) -> Option<f64> {
        for _ in 0..12 {
            let (p, q) = (self.at(t), other.at(s));
            let (a, b) = (self.way(t), other.way(s));
            let off = [q[0] - p[0], q[1] - p[1]];
            let turn = a[0] * b[1] - a[1] * b[0];
            // Where they merely touch, neither hides what the other shows.
            if turn.abs() < 1e-4 * a[0].hypot(a[1]) * b[0].hypot(b[1]) {
                return None;
            }
            t += (off[0] * b[1] - off[1] * b[0]) / turn;
            s += (off[0] * a[1] - off[1] * a[0]) / turn;
            t = t.clamp(self.range[0], self.range[1]);
            s = s.clamp(other.range[0], other.range[1]);
        }
        (distance(self.at(t), other.at(s)) < SAME / 1000.0).then_some(t)
    }

    /// The parameter of a point if it lies on this strand.
    pub(super) fn foot(&self, p: [f64; 2]) -> Option<f64> {
        let (mut best, mut least) = (self.range[0], f64::INFINITY);
        for (i, w) in self.points.windows(2).enumerate() {
            let way = [w[1][0] - w[0][0], w[1][1] - w[0][1]];
            let square = (way[0] * way[0] + way[1] * way[1]).max(1e-30);
            let u = ((p[0] - w[0][0]) * way[0] + (p[1] - w[0][1]) * way[1]) / square;
            let u = u.clamp(0.0, 1.0);
            let off = distance(p, [w[0][0] + u * way[0], w[0][1] + u * way[1]]);
            if off < least {
                least = off;
                best = self.stops[i] + u * (self.stops[i + 1] - self.stops[i]);
            }
        }
        if least > 0.2 {
            return None;
        }
        for _ in 0..12 {
            let (q, way) = (self.at(best), self.way(best));
            let square = (way[0] * way[0] + way[1] * way[1]).max(1e-30);
            best += ((p[0] - q[0]) * way[0] + (p[1] - q[1]) * way[1]) / square;
            best = best.clamp(self.range[0], self.range[1]);
        }
        (distance(p, self.at(best)) < SAME).then_some(best)
    }
}

/// Where two chords cross, as shares of each.
fn crossing(p: [[f64; 2]; 2], q: [[f64; 2]; 2]) -> Option<[f64; 2]> {
    const LOOSE: f64 = 0.05;
    let a = [p[1][0] - p[0][0], p[1][1] - p[0][1]];
    let b = [q[1][0] - q[0][0], q[1][1] - q[0][1]];
    let turn = a[0] * b[1] - a[1] * b[0];
    if turn.abs() < 1e-12 {
        return None;
    }
    let off = [q[0][0] - p[0][0], q[0][1] - p[0][1]];
    let u = (off[0] * b[1] - off[1] * b[0]) / turn;
    let v = (off[0] * a[1] - off[1] * a[0]) / turn;
    let on = -LOOSE..=1.0 + LOOSE;
    (on.contains(&u) && on.contains(&v)).then_some([u, v])
}

pub(super) fn distance(a: [f64; 2], b: [f64; 2]) -> f64 {
    (a[0] - b[0]).hypot(a[1] - b[1])
}

/// Whether a point lies on a piece as a view shows it.
pub(crate) fn is_on(sight: &Sight, piece: &Piece, p: [f64; 2]) -> bool {
    Strand::new(sight, piece.curve, piece.range)
        .foot(p)
        .is_some()
}

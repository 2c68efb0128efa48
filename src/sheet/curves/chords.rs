//! Circles drawn as many short lines.
//!
//! Some programs can only write straight lines, and write a circle as a chain of chords of like length that turn evenly.
//! From twelve chords on such a chain is read as the circle through its corners, and that is told; fewer are a polygon.

use super::super::{Remark, RemarkKind, Unit, View};
use super::Bend;
use super::fit;
use super::read::Raw;
use crate::geom::carrier::Carrier;
use crate::geom::num::angle;
use crate::geom::{Few, P2, V2};
use std::f64::consts::PI;

/// A chain of fewer chords is a polygon.
const FEWEST_CHORDS: usize = 12;

/// The most two chords of a circle may turn by: 30° for twelve of them, and a little for rounding.
const MOST_TURN: f64 = PI / 6.0 + 0.02;

/// Chords are of like length, and turn evenly, if they differ by no more than this share.
const ALIKE: f64 = 0.25;

/// Lines that turn by less than this, in radians, go straight on.
const LEAST_TURN: f64 = 0.01;

/// A circle that was drawn as chords.
pub(in crate::sheet) struct Polygon {
    view: View,
    center: P2,
    radius: f64,
    closed: bool,
    lines: Vec<u32>,
    chords: usize,
}

impl Polygon {
    /// The box around the circle, if it goes all the way round, and the view it stands in.
    pub(in crate::sheet) fn reach(&self) -> Option<(View, [[f64; 2]; 2])> {
        let reach = V2::new(self.radius, self.radius);
        self.closed.then(|| {
            (
                self.view,
                [(self.center - reach).into(), (self.center + reach).into()],
            )
        })
    }

    /// What to tell the user.
    pub(in crate::sheet) fn remark(&self, unit: Unit) -> Remark {
        let (what, whole) = if self.closed {
            ("circle at", "a circle")
        } else {
            ("arc around", "an arc")
        };
        Remark {
            kind: RemarkKind::ChordsAsCircle,
            view: Some(self.view),
            message: format!(
                "the {what} {} in the {} is drawn as {} short lines; read as {whole} of radius {}",
                unit.show_place(self.center.into()),
                self.view.title(),
                self.chords,
                unit.show(self.radius)
            ),
            lines: self.lines.iter().map(|l| *l as usize).collect(),
        }
    }
}

/// Takes the chains of chords out of the straight pieces, and gives their bends.
pub(in crate::sheet) fn circles(
    straight: &mut Vec<Raw>,
    tolerance: f64,
) -> (Vec<Bend>, Vec<Polygon>) {
    let (mut bends, mut polygons) = (Vec::new(), Vec::new());
    let mut taken = vec![false; straight.len()];
    for view in View::ALL {
        let mine: Vec<usize> = (0..straight.len())
            .filter(|&i| straight[i].view == view)
            .collect();
        // A circle has at most four chords along the axes.
        let sloping = |i: &&usize| {
            let [a, b] = straight[**i].ends;
            (a[0] - b[0]).abs() > tolerance && (a[1] - b[1]).abs() > tolerance
        };
        if mine.iter().filter(sloping).count() + 4 < FEWEST_CHORDS {
            continue;
        }
        let pieces: Vec<Raw> = mine.iter().map(|&i| straight[i]).collect();
        let net = Net::new(&pieces, tolerance);
        for chain in net.chains() {
            let Some(polygon) = net.polygon(&chain, tolerance) else {
                continue;
            };
            for link in &chain {
                taken[mine[link.piece]] = true;
                bends.push(polygon.bend(&pieces[link.piece]));
            }
            polygons.push(polygon);
        }
    }
    if !polygons.is_empty() {
        let mut keep = taken.iter().map(|t| !t);
        straight.retain(|_| keep.next().unwrap_or(true));
    }
    (bends, polygons)
}

impl Polygon {
    /// A chord as the part of the circle between its ends.
    fn bend(&self, chord: &Raw) -> Bend {
        let carrier = Carrier::Circle {
            center: self.center,
            radius: self.radius,
        };
        let [mut from, mut to] = chord.ends.map(|end| carrier.parameter(&end.into()));
        if carrier.onward(from, to) - from > PI {
            (from, to) = (to, from);
        }
        Bend {
            line: chord.line,
            view: chord.view,
            hidden: chord.hidden,
            span: [from, carrier.onward(from, to)],
            carrier,
        }
    }
}

/// The straight pieces of a view and which of them meet at each corner.
struct Net<'r> {
    pieces: &'r [Raw],
    /// The corner at each end of each piece.
    corners: Vec<[usize; 2]>,
    /// The pieces at each corner.
    at: Vec<Few<usize, 4>>,
}

/// A piece in a chain, and at which of its ends the chain goes on.
#[derive(Clone, Copy)]
struct Link {
    piece: usize,
    out: usize,
}

impl<'r> Net<'r> {
    fn new(pieces: &'r [Raw], tolerance: f64) -> Net<'r> {
        let mut ends: Vec<(f64, f64, usize, usize)> = Vec::with_capacity(2 * pieces.len());
        for (i, piece) in pieces.iter().enumerate() {
            ends.extend((0..2).map(|k| (piece.ends[k][0], piece.ends[k][1], i, k)));
        }
        ends.sort_unstable_by(|a, b| a.0.total_cmp(&b.0));
        let mut net = Net {
            pieces,
            corners: vec![[0; 2]; pieces.len()],
            at: Vec::new(),
        };
        for column in ends.chunk_by_mut(|a, b| b.0 - a.0 <= tolerance) {
            column.sort_unstable_by(|a, b| a.1.total_cmp(&b.1));
            for corner in column.chunk_by(|a, b| b.1 - a.1 <= tolerance) {
                for &(_, _, piece, k) in corner {
                    net.corners[piece][k] = net.at.len();
                }
                net.at.push(corner.iter().map(|end| end.2).collect());
            }
        }
        net
    }

    /// The way along a link.
    fn way(&self, link: Link) -> V2 {
        let [from, to] =
            [1 - link.out, link.out].map(|k| P2::from(self.pieces[link.piece].ends[k]));
        to - from
    }

    /// All chains of enough pieces that are alike and turn evenly; none has a piece in common with another.
    fn chains(&self) -> Vec<Vec<Link>> {
        let mut used = vec![false; self.pieces.len()];
        let mut chains = Vec::new();
        for piece in 0..self.pieces.len() {
            if used[piece] {
                continue;
            }
            for turned in [1.0, -1.0] {
                let chain = self.chain(Link { piece, out: 1 }, turned, &used);
                if chain.len() >= FEWEST_CHORDS {
                    chain.iter().for_each(|link| used[link.piece] = true);
                    chains.push(chain);
                    break;
                }
            }
        }
        chains
    }

    /// The chain through a piece that turns left (1) or right (-1).
    fn chain(&self, start: Link, side: f64, used: &[bool]) -> Vec<Link> {
        let back = Link {
            piece: start.piece,
            out: 1 - start.out,
        };
        let mut behind = self.follow(back, -side, None, used);
        let turn = behind.first().map(|next| self.turn(back, *next).abs());
        let ahead = self.follow(start, side, turn, used);
        // All the way round both ways are the same.
        if ahead.len() >= FEWEST_CHORDS - 1 && self.closes(start, &ahead) {
            behind.clear();
        }
        let mut chain: Vec<Link> = behind
            .iter()
            .rev()
            .map(|link| Link {
                piece: link.piece,
                out: 1 - link.out,
            })
            .collect();
        chain.push(start);
        chain.extend(
            ahead
                .iter()
                .filter(|link| behind.iter().all(|b| b.piece != link.piece)),
        );
        chain
    }

    /// The pieces that follow a link, turning to one side by like amounts.
    fn follow(&self, start: Link, side: f64, turn: Option<f64>, used: &[bool]) -> Vec<Link> {
        let mut found: Vec<Link> = Vec::new();
        let mut turn = turn;
        let mut last = start;
        let long = self.way(start).norm();
        loop {
            let corner = self.corners[last.piece][last.out];
            let next = self.at[corner]
                .iter()
                .map(|&piece| Link {
                    piece,
                    out: usize::from(self.corners[piece][0] == corner),
                })
                .filter(|next| next.piece != last.piece && !used[next.piece])
                .filter(|next| alike(self.way(*next).norm(), long))
                .filter(|next| {
                    let by = side * self.turn(last, *next);
                    (LEAST_TURN..=MOST_TURN).contains(&by) && turn.is_none_or(|t| alike(by, t))
                })
                .min_by(|a, b| {
                    let by = |l: &Link| self.turn(last, *l).abs();
                    by(a).total_cmp(&by(b)).then(a.piece.cmp(&b.piece))
                });
            // All the way round, or round and round a chain that is drawn more than once.
            let round = corner == self.corners[start.piece][1 - start.out];
            let (Some(next), false) = (next, round || self.turned(turn, found.len()) > 2.0 * PI)
            else {
                return found;
            };
            turn.get_or_insert(self.turn(last, next).abs());
            found.push(next);
            last = next;
        }
    }

    fn turned(&self, turn: Option<f64>, chords: usize) -> f64 {
        let chords = f64::from(u32::try_from(chords).unwrap_or(u32::MAX));
        // The turns may differ from the first by the share that counts as even.
        turn.unwrap_or(0.0) * chords * (1.0 - ALIKE)
    }

    /// The angle by which one link turns into the next, positive to the left.
    fn turn(&self, from: Link, to: Link) -> f64 {
        let (a, b) = (self.way(from), self.way(to));
        angle(a.perp(&b), a.dot(&b))
    }

    fn closes(&self, start: Link, ahead: &[Link]) -> bool {
        let end = ahead.last().unwrap_or(&start);
        self.corners[end.piece][end.out] == self.corners[start.piece][1 - start.out]
    }

    /// The circle through the corners of a chain, if they lie on one.
    fn polygon(&self, chain: &[Link], tolerance: f64) -> Option<Polygon> {
        let point = |link: &Link, k: usize| P2::from(self.pieces[link.piece].ends[k]);
        let first = chain.first()?;
        let mut corners = vec![point(first, 1 - first.out)];
        corners.extend(chain.iter().map(|link| point(link, link.out)));
        let (center, radius) = fit::through(&corners)?;
        let off = corners.iter().map(|p| ((p - center).norm() - radius).abs());
        if off.fold(0.0, f64::max) > tolerance {
            return None;
        }
        let mut lines: Vec<u32> = chain.iter().map(|l| self.pieces[l.piece].line).collect();
        lines.sort_unstable();
        lines.dedup();
        Some(Polygon {
            view: self.pieces[first.piece].view,
            center,
            radius,
            closed: self.closes(*first, &chain[1..]),
            lines,
            chords: chain.len(),
        })
    }
}

/// Whether two positive numbers differ by no more than the share that counts as alike.
fn alike(a: f64, b: f64) -> bool {
    (a - b).abs() <= ALIKE * a.max(b)
}

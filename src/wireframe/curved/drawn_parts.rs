//! The parts of a curve in space below which all three views have drawn line.

use super::Stretch;
use super::meetings::{Finder, Meetings};
use crate::geom::conic::Conic;
use crate::geom::num::{Diagonal, angle};
use crate::geom::path::Path;
use crate::geom::{P3, V3};
use std::f64::consts::{PI, TAU};

/// A monotone piece of a curve is looked at in this many places.
const LOOKS: u32 = 48;

/// At first, only the box of so many looks is compared with the drawn lines; an even number.
const GLANCE: u32 = 6;

impl Finder<'_> {
    /// The drawn parts of the ellipse with a centre and two half-axes inside a box.
    pub(super) fn ellipse(
        &self,
        (center, u, v): (P3, V3, V3),
        common: &[P3; 2],
        found: &mut Meetings,
    ) {
        for path in arcs(center, u, v) {
            self.drawn_parts(path, common, found);
        }
    }

    /// Whether all three views have drawn line at a point, along a direction if one is given.
    pub(super) fn is_drawn(&self, point: &P3, along: Option<&V3>) -> bool {
        // One view with nothing there is enough, so all are asked quickly before any is asked in earnest.
        let mut near = [&[][..]; 3];
        for (v, near) in near.iter_mut().enumerate() {
            *near = self.drawn[v].near(&self.views[v], point);
            if near.is_empty() {
                return false;
            }
        }
        (0..3).all(|v| self.drawn[v].has(&self.views[v], (point, near[v]), along))
    }

    /// The parts of a monotone path, inside a box, over drawn line in all three views.
    pub(super) fn drawn_parts(&self, path: Path, common: &[P3; 2], found: &mut Meetings) {
        if !self.may_be_drawn(&self.inside(path.bounds(), common)) {
            return;
        }
        let looks = self.looks(&path, common);
        let there = |s: f64| self.is_drawn_below(&path, s);
        let mut from = 0;
        while from <= LOOKS {
            if !looks[from as usize] {
                from += 1;
                continue;
            }
            let mut to = from;
            while to < LOOKS && looks[to as usize + 1] {
                to += 1;
            }
            if to > from {
                let low = match from {
                    0 => 0.0,
                    _ => border(&there, share(from - 1), share(from)),
                };
                let high = match to {
                    LOOKS => 1.0,
                    _ => border(&there, share(to + 1), share(to)),
                };
                found.add(&path, [low, high]);
            }
            from = to + 1;
        }
    }

    /// What of a box is inside another one, but for the tolerance; upside down if nothing is.
    fn inside(&self, [low, high]: [P3; 2], common: &[P3; 2]) -> [P3; 2] {
        let wide = V3::repeat(self.tolerance);
        [low.sup(&(common[0] - wide)), high.inf(&(common[1] + wide))]
    }

    /// In which of many places evenly along a path all three views have drawn line.
    fn looks(&self, path: &Path, common: &[P3; 2]) -> [bool; LOOKS as usize + 1] {
        let mut looks = [false; LOOKS as usize + 1];
        let mut start = path.ends[0];
        for k in (0..LOOKS).step_by(GLANCE as usize) {
            // A part of a monotone path lies in the box of its ends.
            let end = path.point(share(k + GLANCE));
            let bounds = self.inside([start.inf(&end), start.sup(&end)], common);
            if self.may_be_drawn(&bounds) {
                // A part has two places next to each other, so every other one tells where to look closer. The first of
                // them may be known as the last of those before.
                for k in (k..=k + GLANCE).step_by(2) {
                    looks[k as usize] = looks[k as usize] || self.is_drawn_below(path, share(k));
                }
                for k in (k + 1..k + GLANCE).step_by(2) {
                    looks[k as usize] = (looks[k as usize - 1] || looks[k as usize + 1])
                        && self.is_drawn_below(path, share(k));
                }
            }
            start = end;
        }
        // Where a sampled curve ends a little before the corner that it belongs to, there is a gap of a hair's breadth.
        for k in 1..LOOKS as usize {
            looks[k] |= looks[k - 1] && looks[k + 1];
        }
        looks
    }

    /// Whether all three views have drawn line along a path at a share of its way. At its ends a path may have no direction,
    /// so there line must be drawn at all, and along the path a little before: not along that direction at the very end, for
    /// a narrow ellipse turns in no time at its extreme.
    fn is_drawn_below(&self, path: &Path, share: f64) -> bool {
        let inner = share.clamp(0.01, 0.99);
        let (at, along) = path.place(inner);
        self.is_drawn(&at, Some(&along))
            && (share == inner || self.is_drawn(&path.point(share), None))
    }
}

/// The pieces of an ellipse with the half-axes `u` and `v` between its extremes along the object axes.
pub(super) fn arcs(center: P3, u: V3, v: V3) -> impl Iterator<Item = Path> {
    let mut turns: Vec<f64> = (0..3)
        .filter(|&k| u[k].diagonal(v[k]) > 1e-9)
        .flat_map(|k| {
            let t = angle(v[k], u[k]).rem_euclid(PI);
            [t, t + PI]
        })
        .collect();
    turns.sort_unstable_by(f64::total_cmp);
    turns.dedup_by(|a, b| (*a - *b).abs() < 1e-9);
    if turns
        .last()
        .is_some_and(|last| turns[0] + TAU - last < 1e-9)
    {
        turns.pop();
    }
    (0..turns.len()).map(move |k| {
        let from = turns[k];
        let to = turns.get(k + 1).copied().unwrap_or(turns[0] + TAU);
        let conic = Conic {
            center,
            u,
            v,
            from,
            to,
        };
        let mut ends = [conic.point(from), conic.point(to)];
        // At an extreme along an axis the coordinate is exact, whatever the angle is rounded to.
        for end in &mut ends {
            for k in 0..3 {
                let size = u[k].diagonal(v[k]);
                for extreme in [center[k] - size, center[k] + size, center[k]] {
                    if (end[k] - extreme).abs() < 1e-9 * (1.0 + size) {
                        end[k] = extreme;
                    }
                }
            }
        }
        Path::bent(conic, ends)
    })
}

impl Meetings {
    /// Adds the part of a path between two shares of its way.
    fn add(&mut self, path: &Path, shares: [f64; 2]) {
        let whole = shares == [0.0, 1.0];
        let stretch = Stretch {
            path: path.part(shares, shares.map(|share| path.point(share))),
            runs: [None; 3],
            loose: !whole,
        };
        if whole {
            self.whole.push(stretch);
        } else {
            self.partial.push(stretch);
        }
    }
}

/// The share of the way of one of many places.
fn share(look: u32) -> f64 {
    f64::from(look) / f64::from(LOOKS)
}

/// Between a place where something does not hold and one where it does: the last where it does.
fn border(holds: &impl Fn(f64) -> bool, mut not: f64, mut yes: f64) -> f64 {
    for _ in 0..12 {
        let middle = 0.5 * (not + yes);
        if holds(middle) {
            yes = middle;
        } else {
            not = middle;
        }
    }
    yes
}

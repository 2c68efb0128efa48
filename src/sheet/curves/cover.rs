//! What is drawn along a carrier: visible stretches, hidden stretches where nothing visible lies, and the breaks between.
//!
//! Ends within the tolerance of each other or of an extreme are one. Arcs drawn twice, or in parts without a change of type,
//! leave no break; an extreme always does, because another view sees a contour start there.

use super::{Course, free};
use crate::geom::P2;
use crate::geom::carrier::Carrier;
use crate::geom::num::angle;
use std::f64::consts::PI;

/// A place on a carrier where drawn line starts, ends or changes its type, or where the carrier turns along an axis.
#[derive(Clone, Copy, Debug)]
pub(super) struct Break {
    /// Where it is on the carrier.
    pub(super) at: f64,
    /// Its point.
    pub(super) point: P2,
    /// Whether the carrier turns there along the right and the up axis.
    pub(super) turns: [bool; 2],
    /// Whether it stays even if the same type of line runs on: at a turn, or the corner where a curve closes.
    stays: bool,
}

/// A stretch of drawn line between two breaks with none between.
#[derive(Clone, Debug)]
pub(super) struct Stretch {
    /// First and last break, in the direction of growing parameter.
    pub(super) breaks: [usize; 2],
    /// Whether it is hidden.
    pub(super) hidden: bool,
    /// The lines drawn there with the type that counts.
    pub(super) lines: Vec<u32>,
}

/// What is drawn along a carrier.
#[derive(Clone, Debug)]
pub(super) struct Coverage {
    /// Breaks next to drawn line, in order along the carrier.
    pub(super) breaks: Vec<Break>,
    /// Drawn stretches, in order.
    pub(super) stretches: Vec<Stretch>,
}

/// What is drawn between two neighbouring breaks.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Kind {
    Blank,
    Hidden,
    Visible,
}

impl Coverage {
    /// Finds what is drawn along a course.
    pub(super) fn of(course: &Course, tolerance: f64) -> Coverage {
        let line = BreakLine::new(course, tolerance);
        let kinds = line.kinds(course);
        line.coverage(course, &kinds)
    }

    /// Whether anything is drawn at a parameter, or within the tolerance of it.
    pub(super) fn draws(&self, carrier: &Carrier, at: f64, tolerance: f64) -> bool {
        let slack = tolerance / carrier.speed(at);
        self.stretches.iter().any(|stretch| {
            let [from, to] = stretch.breaks.map(|b| self.breaks[b].at);
            let start = from - slack;
            let long = match carrier.period() {
                Some(period) if stretch.breaks[0] == stretch.breaks[1] => period,
                _ => carrier.onward(from, to) - from,
            };
            let on = carrier.onward(start, at) - start;
            (0.0..=long + 2.0 * slack).contains(&on)
        })
    }
}

/// The extremes of a carrier along each axis, as parameters; along no axis: the corner of a curve that closes with one.
fn extremes(carrier: &Carrier, tolerance: f64) -> Vec<(f64, Option<usize>)> {
    match carrier {
        Carrier::Circle { .. } => {
            let [x, y] = [Some(0), Some(1)];
            vec![(0.0, x), (PI, x), (0.5 * PI, y), (-0.5 * PI, y)]
        }
        Carrier::Ellipse { axes, .. } => (0..2)
            .flat_map(|axis| {
                let t = angle(axes[1][axis], axes[0][axis]);
                [(t, Some(axis)), (t + PI, Some(axis))]
            })
            .collect(),
        Carrier::Free { points } => {
            let mut lengths = vec![0.0];
            for pair in points.windows(2) {
                lengths.push(lengths[lengths.len() - 1] + (pair[1] - pair[0]).norm());
            }
            let corner = carrier.period().is_some() && free::has_corner(points);
            let mut extremes: Vec<(f64, Option<usize>)> = Vec::new();
            extremes.extend(corner.then_some((0.0, None)));
            for axis in 0..2 {
                let turns = free::turns(points, axis, tolerance);
                extremes.extend(turns.into_iter().map(|i| (lengths[i], Some(axis))));
            }
            extremes
        }
    }
}

/// All possible breaks along a carrier, and between which of them each member runs.
struct BreakLine {
    breaks: Vec<Break>,
    /// Whether the carrier closes.
    closed: bool,
    /// First and last break of each member; `None`: it goes all the way round.
    members: Vec<Option<[usize; 2]>>,
}

/// A parameter that may become a break, and whose it is.
#[derive(Clone, Copy)]
struct Candidate {
    at: f64,
    /// Whether it is a break in any case.
    stays: bool,
    /// The axis along which the carrier turns there.
    turns: Option<usize>,
    /// Member and which of its ends.
    end: Option<(usize, usize)>,
}

impl BreakLine {
    fn new(course: &Course, tolerance: f64) -> BreakLine {
        let carrier = &course.carrier;
        let period = carrier.period();
        let extremes = extremes(carrier, tolerance);
        // A closed carrier is cut open at an extreme.
        let seam = extremes.first().map_or(0.0, |e| e.0);
        let within = |t: f64| match period {
            Some(period) => seam + (t - seam).rem_euclid(period),
            None => t,
        };
        let mut candidates: Vec<Candidate> = extremes
            .iter()
            .map(|&(t, axis)| Candidate {
                at: within(t),
                stays: true,
                turns: axis,
                end: None,
            })
            .collect();
        for (member, span) in course.spans.iter().enumerate() {
            candidates.extend((0..2).map(|k| Candidate {
                at: within(span[k]),
                stays: false,
                turns: None,
                end: Some((member, k)),
            }));
        }
        let mut line = BreakLine {
            breaks: Vec::new(),
            closed: period.is_some(),
            members: vec![Some([0; 2]); course.spans.len()],
        };
        line.group(carrier, candidates, seam, tolerance);
        for (member, span) in line.members.iter_mut().zip(&course.spans) {
            let around = period.is_some_and(|p| span[1] - span[0] >= 0.5 * p);
            if around && member.is_some_and(|[a, b]| a == b) {
                *member = None;
            }
        }
        line
    }

    /// Makes one break of candidates that follow one another within the tolerance; extremes stay where they are.
    fn group(
        &mut self,
        carrier: &Carrier,
        mut candidates: Vec<Candidate>,
        seam: f64,
        tolerance: f64,
    ) {
        candidates.sort_by(|a, b| a.at.total_cmp(&b.at));
        let apart = |a: f64, b: f64| (carrier.point(a) - carrier.point(b)).norm();
        let chains = candidates.chunk_by(|a, b| {
            apart(a.at, b.at) <= tolerance && (b.at - a.at) * carrier.speed(a.at) <= 4.0 * tolerance
        });
        for chain in chains {
            let fixed: Vec<f64> = chain.iter().filter(|c| c.stays).map(|c| c.at).collect();
            let all: Vec<f64> = chain.iter().map(|c| c.at).collect();
            let at = middle(if fixed.is_empty() { &all } else { &fixed });
            // Just before the seam is at the seam.
            let wrapped = carrier
                .period()
                .is_some_and(|p| apart(at, seam + p) <= tolerance && at > seam + 0.5 * p);
            let place = if wrapped && !self.breaks.is_empty() {
                0
            } else {
                self.breaks.len()
            };
            if place == self.breaks.len() {
                self.breaks.push(Break {
                    at,
                    point: carrier.point(at),
                    turns: [0, 1].map(|axis| chain.iter().any(|c| c.turns == Some(axis))),
                    stays: !fixed.is_empty(),
                });
            } else {
                for axis in 0..2 {
                    self.breaks[0].turns[axis] |= chain.iter().any(|c| c.turns == Some(axis));
                }
            }
            for (member, k) in chain.iter().filter_map(|c| c.end) {
                if let Some(ends) = &mut self.members[member] {
                    ends[k] = place;
                }
            }
        }
    }

    /// How many cells there are: stretches between neighbouring breaks.
    fn cells(&self) -> usize {
        if self.closed {
            self.breaks.len()
        } else {
            self.breaks.len().saturating_sub(1)
        }
    }

    /// What is drawn in each cell, by counting up where members start and down where they end.
    fn kinds(&self, course: &Course) -> Vec<Kind> {
        let mut steps = vec![[0_i64; 2]; self.breaks.len() + 1];
        for (member, ends) in course.members.iter().zip(&self.members) {
            let k = usize::from(member.hidden);
            match *ends {
                None => steps[0][k] += 1,
                Some([a, b]) => {
                    steps[a][k] += 1;
                    steps[b][k] -= 1;
                    if b < a {
                        steps[0][k] += 1;
                    }
                }
            }
        }
        let mut drawn = [0; 2];
        let mut kinds = Vec::with_capacity(self.cells());
        for step in &steps[..self.cells()] {
            drawn = [drawn[0] + step[0], drawn[1] + step[1]];
            kinds.push(match drawn.map(|count| count > 0) {
                [true, _] => Kind::Visible,
                [_, true] => Kind::Hidden,
                _ => Kind::Blank,
            });
        }
        kinds
    }

    /// Keeps the breaks that mean something and gathers the stretches between them.
    fn coverage(&self, course: &Course, kinds: &[Kind]) -> Coverage {
        let cells = kinds.len();
        let before = |i: usize| match i {
            0 if self.closed => kinds[cells - 1],
            0 => Kind::Blank,
            i => kinds[i - 1],
        };
        let after = |i: usize| kinds.get(i).copied().unwrap_or(Kind::Blank);
        let keep: Vec<usize> = (0..self.breaks.len())
            .filter(|&i| {
                let stays = self.breaks[i].stays && after(i) != Kind::Blank;
                before(i) != after(i) || stays
            })
            .collect();
        let mut stretches = Vec::new();
        for (k, &from) in keep.iter().enumerate() {
            let kind = after(from);
            if kind == Kind::Blank {
                continue;
            }
            let hidden = kind == Kind::Hidden;
            let next = (k + 1) % keep.len();
            stretches.push(Stretch {
                breaks: [k, next],
                hidden,
                lines: self.lines(course, hidden, from, keep[next]),
            });
        }
        Coverage {
            breaks: keep.into_iter().map(|i| self.breaks[i]).collect(),
            stretches,
        }
    }

    /// The lines of a type that are drawn somewhere between two breaks.
    fn lines(&self, course: &Course, hidden: bool, from: usize, to: usize) -> Vec<u32> {
        let n = self.breaks.len();
        let along = |i: usize| (i + n - from) % n;
        let long = if to == from { n } else { along(to) };
        let covers = |ends: &Option<[usize; 2]>| match *ends {
            None => true,
            Some([a, b]) if a == b => false,
            // It starts inside the stretch, or it started before and goes on into it.
            Some([a, b]) => along(a) < long || along(b) > 0 && along(b) < along(a),
        };
        let members = course.members.iter().zip(&self.members);
        let mut lines: Vec<u32> = members
            .filter(|(m, ends)| m.hidden == hidden && covers(ends))
            .map(|(m, _)| m.line)
            .collect();
        lines.sort_unstable();
        lines.dedup();
        lines
    }
}

#[allow(
    clippy::cast_precision_loss,
    reason = "a chain has far fewer than 2^52 members"
)]
fn middle(values: &[f64]) -> f64 {
    values[0] + values.iter().map(|v| v - values[0]).sum::<f64>() / values.len() as f64
}

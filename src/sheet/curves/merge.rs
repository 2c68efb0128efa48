//! Gathers the bends of a view that run along one carrier.
//!
//! Large arcs come first: their centres and radii are as good as what is drawn. Circles and ellipses that agree within the
//! tolerance are one carrier at their mean. What is too short to tell its own circle, and sampled curves, join a carrier
//! they lie on; the sampled curves left over are joined among themselves.

use super::cover::Coverage;
use super::free;
use super::read::Raw;
use super::{Bend, Course};
use crate::geom::carrier::Carrier;
use crate::geom::num::Diagonal;
use crate::geom::pairs::{Bounds, BoxIndex};
use crate::geom::{Few, P2, V2};

/// An arc that turns by less than this, in radians, tells its centre badly if it was worked out from its course: 30°.
const FIRM_TURN: f64 = 0.52;

/// Points at which it is looked whether an arc lies on a carrier.
const SAMPLES: [f64; 5] = [0.0, 0.25, 0.5, 0.75, 1.0];

/// The bends of one view by carrier, and what turned out to be straight.
pub(super) fn courses(bends: Vec<Bend>, tolerance: f64) -> (Vec<Course>, Vec<Raw>) {
    let (firm, weak): (Vec<Bend>, Vec<Bend>) = bends.into_iter().partition(Bend::is_firm);
    let mut courses = by_carrier(firm, tolerance);
    let weak = absorb(&mut courses, weak, tolerance);
    let (round, sampled): (Vec<Bend>, Vec<Bend>) = weak.into_iter().partition(Bend::is_round);
    let (mut free, straight) = free::courses(sampled, tolerance);
    let round = absorb(&mut free, round, tolerance);
    courses.extend(by_carrier(round, tolerance));
    courses.extend(free);
    for course in &mut courses {
        course.measure();
    }
    (courses, straight)
}

impl Bend {
    fn is_round(&self) -> bool {
        !matches!(self.carrier, Carrier::Free { .. })
    }

    /// Whether its centre and radius are as good as what is drawn.
    pub(super) fn is_firm(&self) -> bool {
        self.is_round() && self.span[1] - self.span[0] >= FIRM_TURN
    }

    /// A point at a share of its way.
    pub(super) fn at(&self, share: f64) -> P2 {
        let [start, end] = self.span;
        self.carrier.point(start + (end - start) * share)
    }

    fn box_around(&self, margin: f64) -> Bounds<2> {
        let points: Vec<P2> = match &self.carrier {
            Carrier::Free { points } => points.clone(),
            _ => SAMPLES.map(|s| self.at(s)).to_vec(),
        };
        box_of(&points, margin)
    }

    /// Whether all of it lies within `tolerance` of a carrier.
    fn lies_on(&self, carrier: &Carrier, tolerance: f64) -> bool {
        let near = |p: &P2| carrier.distance(p) <= tolerance;
        match &self.carrier {
            Carrier::Free { points } => points.iter().all(near),
            _ => SAMPLES.iter().all(|s| near(&self.at(*s))),
        }
    }
}

/// The box around points, larger by `margin` on all sides.
pub(super) fn box_of(points: &[P2], margin: f64) -> Bounds<2> {
    let (lo, hi) = points
        .iter()
        .fold((points[0], points[0]), |(lo, hi), p| (lo.inf(p), hi.sup(p)));
    [
        [lo.x - margin, lo.y - margin],
        [hi.x + margin, hi.y + margin],
    ]
}

/// The numbers of a circle or ellipse; those of one carrier agree within the tolerance.
fn numbers(bend: &Bend) -> Few<f64, 6> {
    match &bend.carrier {
        Carrier::Circle { center, radius } => Few::from_slice(&[center.x, center.y, *radius]),
        Carrier::Ellipse { center, axes } => {
            let [a, b] = axes;
            Few::from([center.x, center.y, a.x, a.y, b.x, b.y])
        }
        Carrier::Free { .. } => Few::new(),
    }
}

/// Circles and ellipses grouped by what agrees within the tolerance, each group at its mean.
fn by_carrier(bends: Vec<Bend>, tolerance: f64) -> Vec<Course> {
    let mut courses = Vec::new();
    for dimensions in [3, 6] {
        let alike = bends.iter().filter(|b| numbers(b).len() == dimensions);
        let mut open: Vec<(Vec<&Bend>, usize, usize)> = vec![(alike.collect(), 0, 0)];
        while let Some((group, dimension, unsplit)) = open.pop() {
            if group.is_empty() {
                continue;
            }
            if unsplit == dimensions {
                courses.push(at_mean(&group));
                continue;
            }
            let parts = chains(group, |b| numbers(b)[dimension], tolerance);
            let unsplit = if parts.len() == 1 { unsplit + 1 } else { 1 };
            let next = (dimension + 1) % dimensions;
            open.extend(parts.into_iter().map(|part| (part, next, unsplit)));
        }
    }
    courses.sort_by_key(|c| c.members.iter().map(|m| m.line).min());
    courses
}

/// Things sorted by a key and cut where it jumps by more than `gap`.
fn chains<T: Copy>(mut things: Vec<T>, key: impl Fn(T) -> f64, gap: f64) -> Vec<Vec<T>> {
    things.sort_by(|a, b| key(*a).total_cmp(&key(*b)));
    let parts = things.chunk_by(|a, b| key(*b) - key(*a) <= gap);
    parts.map(<[T]>::to_vec).collect()
}

fn at_mean(group: &[&Bend]) -> Course {
    #[allow(
        clippy::cast_precision_loss,
        reason = "a sheet has far fewer than 2^52 lines"
    )]
    let count = group.len() as f64;
    let first = numbers(group[0]);
    let mean: Vec<f64> = (0..first.len())
        // Differences from the first are summed, so that equal numbers have exactly that number as their mean.
        .map(|k| first[k] + group.iter().map(|b| numbers(b)[k] - first[k]).sum::<f64>() / count)
        .collect();
    let center = P2::new(mean[0], mean[1]);
    let carrier = match mean[2..] {
        [radius] => Carrier::Circle { center, radius },
        _ => Carrier::Ellipse {
            center,
            axes: square(V2::new(mean[2], mean[3]), V2::new(mean[4], mean[5])),
        },
    };
    let turn: f64 = group.iter().map(|b| b.span[1] - b.span[0]).sum();
    Course {
        carrier,
        firm: turn >= FIRM_TURN,
        members: group.iter().map(|b| (*b).clone()).collect(),
        spans: Vec::new(),
    }
}

/// Half-axes made exactly perpendicular again.
fn square(first: V2, second: V2) -> [V2; 2] {
    let left = V2::new(-first.y, first.x).normalize();
    [first, left * second.norm()]
}

/// Adds bends to courses that they lie on; returns the others.
fn absorb(courses: &mut [Course], weak: Vec<Bend>, tolerance: f64) -> Vec<Bend> {
    if courses.is_empty() || weak.is_empty() {
        return weak;
    }
    let boxes: Vec<Bounds<2>> = courses.iter().map(|c| c.box_around(tolerance)).collect();
    let index = BoxIndex::new(&boxes);
    let mut left = Vec::new();
    for bend in weak {
        let mut found: Vec<u32> = Vec::new();
        index.touching(&bend.box_around(0.0), |i| {
            if bend.lies_on(&courses[i as usize].carrier, tolerance) {
                found.push(i);
            }
        });
        let worst = |i: &u32| {
            let off = SAMPLES.map(|s| courses[*i as usize].carrier.distance(&bend.at(s)));
            off.into_iter().fold(0.0, f64::max)
        };
        let best = found
            .into_iter()
            .min_by(|a, b| worst(a).total_cmp(&worst(b)).then(a.cmp(b)));
        match best {
            Some(i) => courses[i as usize].members.push(bend),
            None => left.push(bend),
        }
    }
    left
}

/// Takes in short straight pieces that are no more than fragments of drawn arcs; returns the others.
///
/// A kernel or a drawing program may break an arc into parts so short that they are written as straight lines. Such a part
/// never leaves the carrier by more than the tolerance, and runs where an arc of it is drawn anyway.
pub(super) fn absorb_fragments(
    courses: &mut [Course],
    coverages: &[Coverage],
    straight: Vec<Raw>,
    tolerance: f64,
) -> (Vec<Raw>, bool) {
    let boxes: Vec<Bounds<2>> = courses.iter().map(|c| c.box_around(tolerance)).collect();
    let index = BoxIndex::new(&boxes);
    let before = straight.len();
    let mut left = Vec::with_capacity(before);
    for raw in straight {
        let points: Vec<P2> = raw.ends.map(P2::from).to_vec();
        let ends = [
            points[0],
            nalgebra::center(&points[0], &points[1]),
            points[1],
        ];
        let mut found: Option<u32> = None;
        index.touching(&box_of(&points, 0.0), |i| {
            let course = &courses[i as usize];
            let drawn = |p: &P2| {
                course.carrier.distance(p) <= tolerance
                    && coverages[i as usize].draws(
                        &course.carrier,
                        course.carrier.parameter(p),
                        tolerance,
                    )
            };
            if found.is_none_or(|f| i < f) && ends.iter().all(drawn) {
                found = Some(i);
            }
        });
        match found {
            Some(i) => courses[i as usize].members.push(Bend {
                line: raw.line,
                view: raw.view,
                hidden: raw.hidden,
                span: [0.0, (points[1] - points[0]).norm()],
                carrier: Carrier::Free { points },
            }),
            None => left.push(raw),
        }
    }
    let some = left.len() < before;
    (left, some)
}

impl Carrier {
    /// The box around all of a circle or ellipse, or around the points, larger by `margin`.
    fn whole_box(&self, margin: f64) -> Bounds<2> {
        match self {
            Carrier::Circle { center, radius } => {
                let reach = V2::new(*radius, *radius);
                box_of(&[center - reach, center + reach], margin)
            }
            Carrier::Ellipse {
                center,
                axes: [a, b],
            } => {
                let reach = V2::new(a.x.diagonal(b.x), a.y.diagonal(b.y));
                box_of(&[center - reach, center + reach], margin)
            }
            Carrier::Free { points } => box_of(points, margin),
        }
    }
}

impl Course {
    /// The box around its carrier, larger by `margin` on all sides.
    fn box_around(&self, margin: f64) -> Bounds<2> {
        let members = self.members.iter().map(|m| &m.carrier);
        let boxes = members.chain([&self.carrier]).map(|c| c.whole_box(margin));
        boxes
            .reduce(|a, b| {
                [
                    [0, 1].map(|k| a[0][k].min(b[0][k])),
                    [0, 1].map(|k| a[1][k].max(b[1][k])),
                ]
            })
            .expect("a course has a carrier")
    }

    /// Expresses where its members run in parameters of the common carrier.
    pub(super) fn measure(&mut self) {
        let spans = self.members.iter().map(|m| span_on(&self.carrier, m));
        self.spans = spans.collect();
    }
}

/// The span of a bend on another carrier that it lies on, in the direction in which that one's parameter grows.
fn span_on(carrier: &Carrier, bend: &Bend) -> [f64; 2] {
    let [start, middle, end] = [0.0, 0.5, 1.0].map(|s| carrier.parameter(&bend.at(s)));
    let Some(period) = carrier.period() else {
        return [start.min(end), start.max(end)];
    };
    let turn = bend.span[1] - bend.span[0];
    let expected = match (&bend.carrier, carrier) {
        (Carrier::Free { .. }, Carrier::Circle { .. } | Carrier::Ellipse { .. }) => {
            turn / carrier.speed(middle)
        }
        _ => turn,
    };
    let way = |from: f64, to: f64| {
        let way = carrier.onward(from, middle) - from + carrier.onward(middle, to) - middle;
        // The end of a short arc may be a hair's breadth before its start, and seems a whole turn beyond it.
        let turns = ((way - expected) / period).round().max(0.0);
        if expected < 0.25 * period {
            way - turns * period
        } else {
            way
        }
    };
    let [there, back] = [way(start, end), way(end, start)];
    if bend.is_round() || (there - expected).abs() <= (back - expected).abs() {
        [start, start + there.clamp(0.0, period)]
    } else {
        [end, end + back.clamp(0.0, period)]
    }
}

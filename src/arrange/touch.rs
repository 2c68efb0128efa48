//! Where an arc meets a straight line or an arc of another carrier.
//!
//! Ends within the tolerance of the other line count first, as for straight lines. Then the crossings: one goes along the
//! arc and watches the signed distance from the other line. Places between which the two never part by more than the
//! tolerance are one: two crossings that near become one touch half-way between, and what is that near to an end is the end.

use super::Slope;
use super::bows::Element;
use super::meet::Coordinate::{Computed, Known, Sampled};
use super::meet::Meeting;
use super::strips::Strip;
use crate::geom::carrier::Carrier;
use crate::geom::tolerance::Tolerance;
use crate::geom::{Few, P2};

/// Where two lines leave each other slowly, several ends may lie on both within the tolerance: those within this part of it
/// count, or the nearest.
const TIGHT: f64 = 0.05;

/// Halvings of a step until a crossing is as good as the numbers.
const HALVINGS: usize = 50;

/// The smaller part of the golden section.
const GOLDEN: f64 = 0.381_966_011_250_105_1;

/// The line that an arc meets.
#[derive(Clone, Copy)]
pub(super) enum Other<'a> {
    /// A straight one.
    Strip(&'a Strip),
    /// An arc on another carrier.
    Element(&'a Element<'a>),
}

/// All points where an arc meets another line.
pub(super) fn meetings(arc: &Element, other: Other, tolerance: Tolerance) -> Vec<Meeting> {
    let mut places = ends(arc, other, tolerance);
    let known = places.len();
    places.extend(crossings(arc, other, tolerance));
    if places.len() > known {
        places.sort_by(|a, b| a.at.total_cmp(&b.at));
    }
    let near = |a: &Place, b: &Place| {
        let between = [0.25, 0.5, 0.75].map(|s| a.at + (b.at - a.at) * s);
        between
            .iter()
            .all(|&t| other.side(&arc.point(t)).abs() <= tolerance.mm())
    };
    let mut found = Vec::new();
    for group in places.chunk_by(near) {
        let least = group.iter().map(|p| p.off).fold(f64::INFINITY, f64::min);
        let limit = least.max(TIGHT * tolerance.mm());
        let ends = group
            .iter()
            .filter(|p| p.off <= limit)
            .filter_map(|p| p.end);
        let before = found.len();
        found.extend(ends.map(|end| end.map(Known)));
        if found.len() == before {
            let at = f64::midpoint(group[0].at, group[group.len() - 1].at);
            let sampled = arc.chain.is_some() || other.is_sampled();
            found.push(other.meeting(arc.point(at), sampled));
        }
    }
    found
}

/// A place on an arc where it meets another line.
#[derive(Clone, Copy)]
struct Place {
    /// Its parameter on the arc.
    at: f64,
    /// Its places on the axes if it is an end of one of the two.
    end: Option<[u32; 2]>,
    /// How far that end lies from the other line, in millimetres; infinite for a crossing.
    off: f64,
}

/// The ends of each that lie on the other.
fn ends(arc: &Element, other: Other, tolerance: Tolerance) -> Vec<Place> {
    let mut found = Vec::new();
    for (k, at) in arc.at.iter().enumerate() {
        if other.is_at(at, tolerance.mm()) {
            found.push(Place {
                at: arc.span[k],
                end: Some(arc.ends[k]),
                off: other.side(at).abs(),
            });
        }
    }
    let (ends, at) = other.ends();
    for (end, at) in ends.iter().zip(&at) {
        if !arc.ends.contains(end) && Other::Element(arc).is_at(at, tolerance.mm()) {
            let on = arc.parameter(at).clamp(0.0, arc.span[1] - arc.span[0]);
            found.push(Place {
                at: arc.span[0] + on,
                end: Some(*end),
                off: Other::Element(arc).side(at).abs(),
            });
        }
    }
    found
}

/// Where an arc crosses the other line, or comes within the tolerance of it and goes away again.
fn crossings(arc: &Element, other: Other, tolerance: Tolerance) -> Vec<Place> {
    let side = |t: f64| other.side(&arc.point(t));
    let samples: Few<(f64, f64), 16> = arc.steps.iter().map(|(t, p)| (*t, other.side(p))).collect();
    let mut found: Vec<f64> = Vec::new();
    for pair in samples.windows(2) {
        if (pair[0].1 < 0.0) != (pair[1].1 < 0.0) {
            found.push(root(side, pair[0], pair[1].0));
        }
    }
    for (near, steps) in samples.windows(3).zip(arc.steps.windows(3)) {
        let [before, here, after] = [near[0], near[1], near[2]];
        let sign = if here.1 < 0.0 { -1.0 } else { 1.0 };
        let dips = sign * before.1 >= sign * here.1 && sign * here.1 <= sign * after.1;
        // Within a step, which is monotone, the distance changes by no more than the step's length.
        let long = |k: usize| (steps[k + 1].1 - steps[k].1).norm();
        let step = long(0).max(long(1));
        if !dips
            || sign * before.1 < 0.0
            || sign * after.1 < 0.0
            || here.1.abs() > step + tolerance.mm()
        {
            continue;
        }
        let least = least(|t| sign * side(t), before.0, after.0);
        let depth = sign * side(least);
        if depth < 0.0 {
            let deep = (least, side(least));
            found.push(root(side, deep, before.0));
            found.push(root(side, deep, after.0));
        } else if depth <= tolerance.mm() {
            found.push(least);
        }
    }
    found.retain(|&t| other.covers(&arc.point(t), 0.0));
    found
        .into_iter()
        .map(|at| Place {
            at,
            end: None,
            off: f64::INFINITY,
        })
        .collect()
}

/// Where the sign changes between a place with its value and another place.
fn root(side: impl Fn(f64) -> f64, (from, value): (f64, f64), to: f64) -> f64 {
    let (mut low, mut high) = (from, to);
    for _ in 0..HALVINGS {
        let middle = f64::midpoint(low, high);
        if (side(middle) < 0.0) == (value < 0.0) {
            low = middle;
        } else {
            high = middle;
        }
    }
    f64::midpoint(low, high)
}

/// Where a function with one valley is least, by the golden section.
fn least(value: impl Fn(f64) -> f64, mut low: f64, mut high: f64) -> f64 {
    let mut inner = [low + GOLDEN * (high - low), high - GOLDEN * (high - low)];
    let mut values = inner.map(&value);
    for _ in 0..HALVINGS {
        if values[0] < values[1] {
            high = inner[1];
            inner = [low + GOLDEN * (high - low), inner[0]];
            values = [value(inner[0]), values[0]];
        } else {
            low = inner[0];
            inner = [inner[1], high - GOLDEN * (high - low)];
            values = [values[1], value(inner[1])];
        }
    }
    f64::midpoint(low, high)
}

impl Element<'_> {
    fn point(&self, parameter: f64) -> P2 {
        match &self.chain {
            Some(chain) => chain.point(parameter),
            None => self.carrier.point(parameter),
        }
    }

    /// How far behind its start a point near by lies, in the carrier's parameter.
    fn parameter(&self, at: &P2) -> f64 {
        match &self.chain {
            Some(chain) => chain.parameter(at) - self.span[0],
            None => self.onward(self.carrier.parameter(at)),
        }
    }

    /// The signed distance of a point near by from its carrier.
    fn side(&self, at: &P2) -> f64 {
        match (&self.chain, self.carrier) {
            (Some(chain), _) => chain.side(at),
            (None, Carrier::Circle { center, radius }) => (at - center).norm() - radius,
            (None, Carrier::Ellipse { center, axes }) => {
                // The implicit form divided by the length of its gradient is the distance to first order.
                let reach = at - center;
                let [x, y] = axes.map(|a| a.dot(&reach) / a.norm_squared());
                let gradient =
                    axes[0] * (x / axes[0].norm_squared()) + axes[1] * (y / axes[1].norm_squared());
                let steep = 2.0 * gradient.norm();
                let value = x * x + y * y - 1.0;
                if steep > 0.0 {
                    value / steep
                } else {
                    -axes[1].norm()
                }
            }
            (None, Carrier::Free { .. }) => 0.0,
        }
    }
}

impl Other<'_> {
    /// The signed distance of a point near by.
    fn side(self, at: &P2) -> f64 {
        match self {
            Other::Strip(strip) => strip.direction.perp(&(at - strip.at[0])),
            Other::Element(element) => element.side(at),
        }
    }

    /// Whether the foot of a point near by is no more than `slack` millimetres beyond the ends.
    fn covers(self, at: &P2, slack: f64) -> bool {
        match self {
            Other::Strip(strip) => {
                let (_, along) = strip.off_and_along(at);
                (-slack..=strip.length + slack).contains(&along)
            }
            Other::Element(element) => {
                if let Some(chain) = &element.chain {
                    return chain.covers(at, slack);
                }
                let on = element.parameter(at);
                let slack = slack / element.carrier.speed(element.span[0] + on);
                (-slack..=element.span[1] - element.span[0] + slack).contains(&on)
            }
        }
    }

    /// Whether a point lies on it within the tolerance.
    fn is_at(self, at: &P2, tolerance: f64) -> bool {
        self.side(at).abs() <= tolerance && self.covers(at, tolerance)
    }

    fn ends(self) -> ([[u32; 2]; 2], [P2; 2]) {
        match self {
            Other::Strip(strip) => (strip.ends, strip.at),
            Other::Element(element) => (element.ends, element.at),
        }
    }

    /// Whether it is known by some of its points only.
    fn is_sampled(self) -> bool {
        matches!(self, Other::Element(element) if element.chain.is_some())
    }

    /// A point as a meeting: a level or upright line gives its own place.
    fn meeting(self, at: P2, sampled: bool) -> Meeting {
        let coordinate = if sampled { Sampled } else { Computed };
        let mut meeting = [at.x, at.y].map(coordinate);
        if let Other::Strip(strip) = self {
            match strip.slope {
                Slope::Level => meeting[1] = Known(strip.ends[0][1]),
                Slope::Upright => meeting[0] = Known(strip.ends[0][0]),
                Slope::Sloping | Slope::Curved => {}
            }
        }
        meeting
    }
}

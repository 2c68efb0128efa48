//! Where two strips of a view meet: at an end of one, or by crossing.

use super::Slope;
use super::strips::Strip;
use crate::geom::P2;
use crate::geom::tolerance::Tolerance;

/// A coordinate of a meeting point: a place on the snapped axis, or still a number.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) enum Coordinate {
    /// A place on the axis.
    Known(u32),
    /// Millimetres; a crossing of sloping lines, to be matched with the axis afterwards.
    Computed(f64),
    /// The same of a curve known by some of its points only, which is no better than the tolerance.
    Sampled(f64),
}
use Coordinate::{Computed, Known};

/// A meeting point, right and up.
pub(super) type Meeting = [Coordinate; 2];

/// All points where two strips meet.
///
/// Ends count before crossings: a line that ends within the tolerance of another ends on it.
pub(super) fn meetings(a: &Strip, b: &Strip, tolerance: Tolerance) -> Vec<Meeting> {
    match (a.slope, b.slope) {
        (Slope::Level, Slope::Upright) => level_upright(a, b).into_iter().collect(),
        (Slope::Upright, Slope::Level) => level_upright(b, a).into_iter().collect(),
        (Slope::Level, Slope::Level) | (Slope::Upright, Slope::Upright) => Vec::new(),
        _ => {
            let mut found: Vec<Meeting> = Vec::new();
            for (one, other) in [(a, b), (b, a)] {
                for (end, at) in one.ends.iter().zip(&one.at) {
                    let (off, along) = other.off_and_along(at);
                    let within = -tolerance.mm()..=other.length + tolerance.mm();
                    if off <= tolerance.mm() && within.contains(&along) {
                        found.push(end.map(Known));
                    }
                }
            }
            if found.is_empty() {
                found.extend(crossing(a, b));
            }
            found
        }
    }
}

fn level_upright(level: &Strip, upright: &Strip) -> Option<Meeting> {
    let (right, up) = (upright.ends[0][0], level.ends[0][1]);
    let on_level = (level.ends[0][0]..=level.ends[1][0]).contains(&right);
    let on_upright = (upright.ends[0][1]..=upright.ends[1][1]).contains(&up);
    (on_level && on_upright).then_some([Known(right), Known(up)])
}

/// The point where two strips, at least one of them sloping, cross inside both.
fn crossing(a: &Strip, b: &Strip) -> Option<Meeting> {
    let (u, v) = (a.at[1] - a.at[0], b.at[1] - b.at[0]);
    let apart = b.at[0] - a.at[0];
    let area = u.perp(&v);
    let (s, t) = (apart.perp(&v) / area, apart.perp(&u) / area);
    if !((0.0..=1.0).contains(&s) && (0.0..=1.0).contains(&t)) {
        return None;
    }
    let at: P2 = a.at[0] + u * s;
    let mut meeting = [Computed(at.x), Computed(at.y)];
    for strip in [a, b] {
        match strip.slope {
            Slope::Level => meeting[1] = Known(strip.ends[0][1]),
            Slope::Upright => meeting[0] = Known(strip.ends[0][0]),
            Slope::Sloping | Slope::Curved => {}
        }
    }
    Some(meeting)
}

//! Paths as a view sees them: where they cross, what they pass near by, and which points lie in an area between them.

use super::conic::{Bent, UNBENT};
use super::num::{Diagonal, angle, arc_cosine};
use super::path::{Course, Path};
use super::{Few, P2, P3, V2, V3};
use std::f64::consts::PI;

impl Path {
    /// Where another path is seen to cross this one in a view, as shares of this one; where they run along each other there
    /// may be some or none. `axes` are those that run right and up.
    pub(crate) fn crossings(&self, other: &Path, axes: [usize; 2]) -> Few<f64, 4> {
        let mut found = Few::new();
        let [[a, b], [c, d]] = [self, other].map(Path::bounds);
        let common = b.inf(&d) - a.sup(&c);
        if axes.iter().all(|&k| common[k] <= UNBENT) {
            // No more than ends meet there.
            return found;
        }
        if let Some(chord) = self.seen_as_chord(axes) {
            let wide = axes[chord.widest(axes)];
            let share = |s: f64| self.at(wide, chord.point(s)[wide]);
            return chord
                .crossings(other, axes)
                .into_iter()
                .map(share)
                .collect();
        }
        if let Some(chord) = other.seen_as_chord(axes) {
            return self.crossings(&chord, axes);
        }
        match (&self.course, &other.course) {
            (Course::Straight, Course::Conic(conic)) => {
                found.extend(
                    line_and_conic(self.ends, conic, axes)
                        .into_iter()
                        .map(|(s, _)| s),
                );
            }
            (Course::Conic(conic), Course::Straight) => {
                found.extend(
                    line_and_conic(other.ends, conic, axes)
                        .into_iter()
                        .map(|(_, t)| t),
                );
            }
            (Course::Conic(one), Course::Conic(other)) if are_apart(one, other, axes) => {}
            (Course::Straight, Course::Meeting(_)) if self.is_level(axes) => {
                found.extend(self.crossing_of_level(other, axes));
            }
            _ => {
                let mut budget = MOST_HALVINGS;
                let whole = |path| Seen::whole(path, axes);
                crossings_between([whole(self), whole(other)], axes, &mut budget, &mut found);
            }
        }
        found.sort_unstable_by(f64::total_cmp);
        found.dedup_by(|a, b| (*a - *b).abs() < 1e-6);
        found
    }

    /// The straight line that a view sees of a conic in a plane seen edge-on.
    fn seen_as_chord(&self, axes: [usize; 2]) -> Option<Path> {
        let conic = self.exact_conic()?;
        let [u, v] = [&conic.u, &conic.v].map(|w| V2::new(w[axes[0]], w[axes[1]]));
        let edge_on = u.perp(&v).abs() <= EDGE_ON * conic.u.norm() * conic.v.norm();
        edge_on.then(|| Path::straight(self.ends[0], self.ends[1]))
    }

    /// The axis of a view, 0 or 1, along which it reaches farther.
    fn widest(&self, axes: [usize; 2]) -> usize {
        let [right, up] = axes.map(|k| (self.ends[1][k] - self.ends[0][k]).abs());
        usize::from(up > right)
    }

    /// Whether it runs exactly along one of the axes of a view.
    fn is_level(&self, axes: [usize; 2]) -> bool {
        let [a, b] = &self.ends;
        axes.iter().filter(|&&k| a[k] == b[k]).count() == 1
    }

    /// Where a level or upright line is seen to cross a monotone path, which is in one place at most.
    fn crossing_of_level(&self, other: &Path, axes: [usize; 2]) -> Option<f64> {
        let [a, b] = &self.ends;
        let [across, along] = if a[axes[0]] == b[axes[0]] {
            axes
        } else {
            [axes[1], axes[0]]
        };
        let [p, q] = other.ends.map(|end| end[across] - a[across]);
        if p.min(q) > 0.0 || p.max(q) < 0.0 || p == q {
            return None;
        }
        let share = (other.height(across, a[across], along) - a[along]) / (b[along] - a[along]);
        (-1e-9..=1.0 + 1e-9).contains(&share).then_some(share)
    }

    /// Whether a point of a view lies within `reach` millimetres of the path seen there; what is up to a factor of about 1.4
    /// nearer may be taken for farther. `axes` are those that run right and up.
    pub(crate) fn is_near(&self, axes: [usize; 2], at: &P2, reach: f64) -> bool {
        let span = |k: usize| {
            let (a, b) = (self.ends[0][axes[k]], self.ends[1][axes[k]]);
            [a.min(b), a.max(b)]
        };
        let outside = |k: usize| {
            let [low, high] = span(k);
            at[k] < low - reach || at[k] > high + reach
        };
        if outside(0) || outside(1) || self.is_clear_of(axes, at, reach) {
            return false;
        }
        // Straight across and straight up, the shorter way counts.
        let near = |k: usize| {
            let [low, high] = span(k);
            let abreast = at[k].clamp(low, high);
            let height = self.height(axes[k], abreast, axes[1 - k]);
            (abreast - at[k]).diagonal(height - at[1 - k]) < reach
        };
        near(0) || near(1)
    }

    /// Whether the whole line or conic that the path is part of is seen farther from a point than `reach`, as far as a quick
    /// look tells.
    fn is_clear_of(&self, [right, up]: [usize; 2], at: &P2, reach: f64) -> bool {
        let flat = |w: &V3| V2::new(w[right], w[up]);
        match &self.course {
            Course::Straight => {
                let [a, b] = &self.ends;
                let along = flat(&(b - a));
                let across = along.perp(&(at.coords - flat(&a.coords)));
                across.abs() > reach * along.norm()
            }
            Course::Conic(conic) => {
                // In the measure of u and v the conic is a circle of radius 1. Nothing is stretched by less than its area is
                // shared by the longest there can be.
                let (u, v) = (flat(&conic.u), flat(&conic.v));
                let out = at.coords - flat(&conic.center.coords);
                let area = u.perp(&v).abs();
                let [p, q] = [out.perp(&v), u.perp(&out)];
                let bend = 1.5 * conic.bend();
                let longest = (u.norm_squared() + v.norm_squared()).sqrt();
                ((p * p + q * q).sqrt() - area).abs() > (reach + bend) * longest
            }
            Course::Meeting(meeting) => {
                let clear = |along: usize, across: usize, [x, y]: [f64; 2]| {
                    meeting.around(along, x).is_some_and(|points| {
                        let [a, b] = points.map(|p| p[across]);
                        y < a.min(b) - reach || y > a.max(b) + reach
                    })
                };
                clear(right, up, [at.x, at.y]) && clear(up, right, [at.y, at.x])
            }
        }
    }
}

/// Whether two conics are seen as circles that stay apart, one within or beside the other.
fn are_apart(one: &Bent, other: &Bent, axes: [usize; 2]) -> bool {
    let [Some((c, r)), Some((d, s))] = [one, other].map(|conic| conic.seen_circle(axes)) else {
        return false;
    };
    let distance = (c - d).norm();
    let spare = 2.0 * (one.bend() + other.bend() + UNBENT);
    distance > r + s + spare || distance + r.min(s) + spare < r.max(s)
}

/// Where a straight line is seen to cross a conic, as shares of the ways on both.
fn line_and_conic(ends: [P3; 2], conic: &Bent, axes: [usize; 2]) -> Few<(f64, f64), 4> {
    let flat = |w: &V3| V2::new(w[axes[0]], w[axes[1]]);
    let [a, b] = ends.map(|end| flat(&end.coords));
    let (along, apart) = (b - a, flat(&conic.center.coords) - a);
    // Off the line by nothing: p cos t + q sin t + off = 0.
    let (p, q) = (along.perp(&flat(&conic.u)), along.perp(&flat(&conic.v)));
    let (reach, off) = (p.diagonal(q), along.perp(&apart));
    let mut found = Few::new();
    if off.abs() > reach || reach == 0.0 {
        return found;
    }
    let spare = 1e-9 + conic.bend() / conic.u.norm().min(conic.v.norm());
    let (low, high) = (conic.from.min(conic.to), conic.from.max(conic.to));
    let (middle, turn) = (angle(q, p), arc_cosine(-off / reach));
    for t in [middle + turn, middle - turn] {
        let t = t - 2.0 * PI * ((t - 0.5 * (low + high)) / (2.0 * PI)).round();
        let place = flat(&conic.point(t).coords) - a;
        let share = along.dot(&place) / along.norm_squared();
        if (low - spare..=high + spare).contains(&t) && (-1e-9..=1.0 + 1e-9).contains(&share) {
            let rest = (t - conic.from) / (conic.to - conic.from);
            found.push((share, rest.clamp(0.0, 1.0)));
        }
    }
    found
}

/// A conic is seen edge-on if the area of its axes is this share of what it could be, at most.
const EDGE_ON: f64 = 1e-12;

/// A share of the way of a bent path that is as good as straight.
const AS_STRAIGHT: f64 = 0.01;

/// Paths that run along each other would be halved for ever.
const MOST_HALVINGS: u32 = 400;

/// A part of a path as a view sees it.
#[derive(Clone, Copy)]
struct Seen<'p> {
    path: &'p Path,
    shares: [f64; 2],
    ends: [P2; 2],
}

impl<'p> Seen<'p> {
    fn whole(path: &'p Path, axes: [usize; 2]) -> Self {
        Seen {
            path,
            shares: [0.0, 1.0],
            ends: path.ends.map(|p| P2::new(p[axes[0]], p[axes[1]])),
        }
    }

    fn halves(&self, axes: [usize; 2]) -> [Self; 2] {
        let [low, high] = self.shares;
        let middle = 0.5 * (low + high);
        let p = self.path.point(middle);
        let at = P2::new(p[axes[0]], p[axes[1]]);
        let part = |shares, ends| Seen {
            shares,
            ends,
            ..*self
        };
        [
            part([low, middle], [self.ends[0], at]),
            part([middle, high], [at, self.ends[1]]),
        ]
    }
}

/// Halves both paths as long as the boxes around the halves, which their ends span, overlap.
fn crossings_between(both: [Seen; 2], axes: [usize; 2], budget: &mut u32, found: &mut Few<f64, 4>) {
    let [p, q] = both.map(|part| part.ends);
    let apart = (0..2).any(|k| {
        p[0][k].min(p[1][k]) > q[0][k].max(q[1][k]) || q[0][k].min(q[1][k]) > p[0][k].max(p[1][k])
    });
    if apart || *budget == 0 {
        return;
    }
    *budget -= 1;
    let s = both[0].shares;
    if both.iter().all(|part| part.path.is_straight()) || s[1] - s[0] < AS_STRAIGHT {
        // As good as straight: cut one chord with the other.
        let (u, v, w) = (p[1] - p[0], q[1] - q[0], q[0] - p[0]);
        let size = u.perp(&v);
        let (x, y) = (w.perp(&v) / size, w.perp(&u) / size);
        let inside = |x: f64| (-1e-9..=1.0 + 1e-9).contains(&x);
        if inside(x) && inside(y) {
            found.push(s[0] + (s[1] - s[0]) * x);
        }
        return;
    }
    let [one, other] = both.map(|part| part.halves(axes));
    for a in one {
        for b in other {
            crossings_between([a, b], axes, budget, found);
        }
    }
}

/// Where a point of a view lies with respect to an area bounded by paths.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Place {
    Inside,
    Outside,
    /// Within the tolerance of its border.
    Border,
}

/// Locates a point of a view in the area that `borders` bound there; `axes` run right and up in the view, `tolerance` is
/// in millimetres.
pub(crate) fn locate<'p>(
    borders: impl Iterator<Item = &'p Path>,
    axes: [usize; 2],
    at: &P2,
    tolerance: f64,
) -> Place {
    let [right, up] = axes;
    let mut inside = false;
    for path in borders {
        let [from, to] = &path.ends;
        let [low, high] = [from[up].min(to[up]), from[up].max(to[up])];
        // Most are above or below.
        if at.y < low - tolerance || at.y > high + tolerance {
            continue;
        }
        if path.is_near(axes, at, tolerance) {
            return Place::Border;
        }
        // Borders share their ends exactly, so each height is counted on one side only.
        if (from[up] <= at.y) == (to[up] <= at.y) {
            continue;
        }
        let beyond = if from[right].max(to[right]) <= at.x {
            false
        } else if from[right].min(to[right]) > at.x {
            true
        } else {
            path.height(up, at.y, right) > at.x
        };
        inside ^= beyond;
    }
    if inside {
        Place::Inside
    } else {
        Place::Outside
    }
}

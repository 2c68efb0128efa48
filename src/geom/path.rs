//! The ways edges take through space: straight, along a circle or ellipse, or where two curved surfaces meet.
//!
//! A path is monotone in each of x, y and z, so that a coordinate picks one point of it; whoever makes one cuts it at its
//! extremes. It starts and ends exactly at its ends, which may lie off its curve by the tolerance of the drawing.

use super::meeting::{Meeting, share_of};
use super::num::{angle, arc_cosine, sin_cos};
use super::{Few, P2, P3, V2, V3};
use crate::geom::num::Diagonal;
use std::f64::consts::PI;
use std::ops::Deref;

/// A piece of curve from one end to the other, monotone in each coordinate.
#[derive(Clone, Debug)]
pub(crate) struct Path {
    pub(crate) ends: [P3; 2],
    pub(crate) course: Course,
}

/// What curve a path follows.
#[derive(Clone, Debug)]
pub(crate) enum Course {
    Straight,
    Conic(Bent),
    Meeting(Meeting),
}

/// A conic and how far the path's ends lie off it; reads like the conic itself.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Bent {
    conic: Conic,
    off: [V3; 2],
}

/// Ends that lie off their conic by less than this, in millimetres, do not bend it.
pub(super) const UNBENT: f64 = 1e-6;

impl Deref for Bent {
    type Target = Conic;

    fn deref(&self) -> &Conic {
        &self.conic
    }
}

impl Bent {
    /// The most that an end lies off along an axis.
    fn bend(&self) -> f64 {
        self.off[0].amax().max(self.off[1].amax())
    }

    /// Whether the whole curve is farther from a point than `reach`, as far as a quick look tells.
    pub(crate) fn is_clear_of(&self, point: &P3, reach: f64) -> bool {
        let Conic { center, u, v, .. } = &self.conic;
        let (uu, vv, out) = (u.norm_squared(), v.norm_squared(), point - center);
        let (p, q) = (out.dot(u) / uu, out.dot(v) / vv);
        let reach = reach + 1.8 * self.bend();
        let above = (out - u * p - v * q).norm();
        // In the measure of u and v the curve is a circle of radius 1.
        let aside = ((p * p + q * q).sqrt() - 1.0).abs() * uu.min(vv).sqrt();
        above > reach || aside > reach
    }

    /// Coordinate `across` where coordinate `along` is `value`, without angles; `span` are its values at the ends. None where
    /// that is not plain: the path is bent, or both places of the conic with that coordinate may be on it.
    fn height(&self, along: usize, value: f64, across: usize, span: [f64; 2]) -> Option<f64> {
        if self.bend() > UNBENT {
            return None;
        }
        let ([p, r], [q, s]) = (
            [along, across].map(|k| self.u[k]),
            [along, across].map(|k| self.v[k]),
        );
        let (square, out) = (p * p + q * q, value - self.center[along]);
        let half = (square - out * out).max(0.0).sqrt();
        let middle = self.center[across] + out * (p * r + q * s) / square;
        let swing = half * (p * s - q * r) / square;
        let (low, high) = (span[0].min(span[1]) - UNBENT, span[0].max(span[1]) + UNBENT);
        let within = |height: &f64| (low..=high).contains(height);
        match [middle + swing, middle - swing] {
            [one, other] if within(&one) && !within(&other) => Some(one),
            [one, other] if within(&other) && !within(&one) => Some(other),
            [one, _] if within(&one) && swing.abs() < UNBENT => Some(one),
            _ => None,
        }
    }
}

/// The points `center + u cos t + v sin t` for `t` from `from` to `to` (radians); `u` and `v` are perpendicular, a circle
/// has both of one length.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Conic {
    pub(crate) center: P3,
    pub(crate) u: V3,
    pub(crate) v: V3,
    pub(crate) from: f64,
    pub(crate) to: f64,
}

impl Conic {
    /// The point at angle `t`.
    pub(crate) fn point(&self, t: f64) -> P3 {
        let (sin, cos) = sin_cos(t);
        self.center + self.u * cos + self.v * sin
    }

    /// The change of the point per radian at angle `t`.
    pub(crate) fn velocity(&self, t: f64) -> V3 {
        let (sin, cos) = sin_cos(t);
        self.v * cos - self.u * sin
    }

    /// The angle of the point of the curve towards which `point` lies from the centre, in `(-pi, pi]`.
    pub(crate) fn angle(&self, point: &P3) -> f64 {
        let reach = point - self.center;
        angle(
            reach.dot(&self.v) / self.v.norm_squared(),
            reach.dot(&self.u) / self.u.norm_squared(),
        )
    }

    /// Centre and radius, if a view sees it as a circle.
    fn seen_circle(&self, [right, up]: [usize; 2]) -> Option<(P2, f64)> {
        let flat = |w: &V3| V2::new(w[right], w[up]);
        let (u, v) = (flat(&self.u), flat(&self.v));
        let square = u.norm_squared();
        let out_of_round = (square - v.norm_squared()).abs().max(u.dot(&v).abs());
        let center = P2::from(flat(&self.center.coords));
        (out_of_round < 1e-9 * square).then(|| (center, square.sqrt()))
    }

    /// The angle in the range of this piece at which coordinate `axis` is `value`, or the nearer end.
    fn at(&self, axis: usize, value: f64) -> f64 {
        let (p, q) = (self.u[axis], self.v[axis]);
        let size = p.diagonal(q);
        if size == 0.0 {
            return self.from;
        }
        let (middle, off) = (angle(q, p), arc_cosine((value - self.center[axis]) / size));
        let (low, high) = (self.from.min(self.to), self.from.max(self.to));
        let beyond = |t: &f64| (low - t).max(t - high);
        let turned = |t: f64| {
            // Into the turn around the middle of the range.
            let centre = 0.5 * (low + high);
            t - 2.0 * PI * ((t - centre) / (2.0 * PI)).round()
        };
        let (one, other) = (turned(middle + off), turned(middle - off));
        let nearest = if beyond(&one) <= beyond(&other) {
            one
        } else {
            other
        };
        nearest.clamp(low, high)
    }
}

impl Path {
    /// Straight from one point to another.
    pub(crate) fn straight(from: P3, to: P3) -> Self {
        Path {
            ends: [from, to],
            course: Course::Straight,
        }
    }

    /// Along a conic between points on it.
    pub(crate) fn conic(conic: Conic) -> Self {
        Path {
            ends: [conic.point(conic.from), conic.point(conic.to)],
            course: Course::Conic(Bent {
                conic,
                off: [V3::zeros(); 2],
            }),
        }
    }

    /// Along a conic between points beside it: drawn a little inaccurately, the path bends over to them.
    pub(crate) fn bent(conic: Conic, ends: [P3; 2]) -> Self {
        let off = [
            ends[0] - conic.point(conic.from),
            ends[1] - conic.point(conic.to),
        ];
        Path {
            ends,
            course: Course::Conic(Bent { conic, off }),
        }
    }

    /// The conic that it runs along exactly, if there is one.
    pub(crate) fn exact_conic(&self) -> Option<&Conic> {
        match &self.course {
            Course::Conic(bent) if bent.bend() <= UNBENT => Some(&bent.conic),
            _ => None,
        }
    }

    /// Centre and radius of the circle along which it is seen to run exactly, if there is one; `axes` are those that run right
    /// and up.
    pub(crate) fn seen_circle(&self, axes: [usize; 2]) -> Option<(P2, f64)> {
        self.exact_conic()?.seen_circle(axes)
    }

    /// Whether it runs straight.
    pub(crate) fn is_straight(&self) -> bool {
        matches!(self.course, Course::Straight)
    }

    /// The point at `share` of the way, 0 at the start, 1 at the end.
    pub(crate) fn point(&self, share: f64) -> P3 {
        let [a, b] = self.ends;
        match &self.course {
            Course::Straight => a + (b - a) * share,
            Course::Conic(_) if share == 0.0 => a,
            Course::Conic(_) if share == 1.0 => b,
            Course::Conic(conic) => {
                let on = conic.point(conic.from + (conic.to - conic.from) * share);
                on + conic.off[0] * (1.0 - share) + conic.off[1] * share
            }
            Course::Meeting(meeting) => {
                if share <= 0.0 {
                    a
                } else if share >= 1.0 {
                    b
                } else {
                    meeting.point(share)
                }
            }
        }
    }

    /// The middle.
    pub(crate) fn middle(&self) -> P3 {
        self.point(0.5)
    }

    /// The unit direction at `share` of the way.
    pub(crate) fn direction(&self, share: f64) -> V3 {
        match &self.course {
            Course::Straight => (self.ends[1] - self.ends[0]).normalize(),
            Course::Conic(conic) => {
                let turn = conic.to - conic.from;
                (conic.velocity(conic.from + turn * share) * turn.signum()).normalize()
            }
            Course::Meeting(meeting) => meeting.direction(share, &self.point(share)),
        }
    }

    /// The point and the unit direction at `share` of the way.
    pub(crate) fn place(&self, share: f64) -> (P3, V3) {
        match &self.course {
            Course::Straight => (self.point(share), self.direction(share)),
            Course::Conic(conic) => {
                let turn = conic.to - conic.from;
                let (sin, cos) = sin_cos(conic.from + turn * share);
                let on = conic.center + conic.u * cos + conic.v * sin;
                let at = on + conic.off[0] * (1.0 - share) + conic.off[1] * share;
                let along = (conic.v * cos - conic.u * sin) * turn.signum();
                (at, along.normalize())
            }
            Course::Meeting(meeting) => {
                let at = self.point(share);
                (at, meeting.direction(share, &at))
            }
        }
    }

    /// About how fast the point moves per share of the way.
    pub(crate) fn velocity(&self, share: f64) -> V3 {
        let [a, b] = self.ends;
        match &self.course {
            Course::Straight => b - a,
            Course::Conic(conic) => {
                let turn = conic.to - conic.from;
                let bend = conic.off[1] - conic.off[0];
                conic.velocity(conic.from + turn * share) * turn + bend
            }
            Course::Meeting(meeting) => meeting.velocity(share, &self.point(share)),
        }
    }

    /// The point, and about how fast it moves per share of the way.
    pub(crate) fn motion(&self, share: f64) -> (P3, V3) {
        match &self.course {
            Course::Meeting(meeting) => {
                let at = self.point(share);
                (at, meeting.velocity(share, &at))
            }
            _ => (self.point(share), self.velocity(share)),
        }
    }

    /// The share of the way at which coordinate `axis` is `value`; the nearer end beyond its range, the start if that
    /// coordinate does not change.
    pub(crate) fn at(&self, axis: usize, value: f64) -> f64 {
        let [a, b] = self.ends.map(|end| end[axis]);
        match &self.course {
            Course::Straight => {
                let share = (value - a) / (b - a);
                if share.is_finite() {
                    share.clamp(0.0, 1.0)
                } else {
                    0.0
                }
            }
            Course::Conic(conic) => (conic.at(axis, value) - conic.from) / (conic.to - conic.from),
            Course::Meeting(meeting) => meeting.at(axis, value),
        }
    }

    /// The point at which coordinate `axis` is `value`, with exactly that value if it is within the path's range.
    pub(crate) fn point_at(&self, axis: usize, value: f64) -> P3 {
        let [a, b] = self.ends;
        if value == a[axis] {
            return a;
        }
        if value == b[axis] {
            return b;
        }
        if let Course::Meeting(meeting) = &self.course
            && let Some(point) = meeting.abreast(axis, value)
        {
            return point;
        }
        let mut point = self.point(self.at(axis, value));
        if (a[axis] < value) == (value < b[axis]) {
            point[axis] = value;
        }
        point
    }

    /// The part between two shares of the way, `from` before `to`, with given ends.
    pub(crate) fn part(&self, [from, to]: [f64; 2], ends: [P3; 2]) -> Self {
        let course = match &self.course {
            Course::Straight => Course::Straight,
            Course::Conic(conic) => {
                let turn = conic.to - conic.from;
                let part = Conic {
                    from: conic.from + turn * from,
                    to: conic.from + turn * to,
                    ..conic.conic
                };
                return Path::bent(part, ends);
            }
            Course::Meeting(meeting) => {
                let steps = meeting.points.len() - 1;
                let inner = (0..=steps).filter(|&k| {
                    let share = share_of(k, 0.0, steps);
                    from + 1e-9 < share && share < to - 1e-9
                });
                let points = [ends[0]]
                    .into_iter()
                    .chain(inner.map(|k| meeting.points[k]))
                    .chain([ends[1]])
                    .collect();
                Course::Meeting(Meeting { points, ..*meeting })
            }
        };
        Path { ends, course }
    }

    /// The same path run the other way.
    #[cfg(test)]
    pub(crate) fn reversed(&self) -> Self {
        let [a, b] = self.ends;
        let course = match &self.course {
            Course::Straight => Course::Straight,
            Course::Conic(bent) => Course::Conic(Bent {
                conic: Conic {
                    from: bent.to,
                    to: bent.from,
                    ..bent.conic
                },
                off: [bent.off[1], bent.off[0]],
            }),
            Course::Meeting(meeting) => Course::Meeting(Meeting {
                points: meeting.points.iter().rev().copied().collect(),
                ..*meeting
            }),
        };
        Path {
            ends: [b, a],
            course,
        }
    }

    /// The box around it, least and greatest corner.
    pub(crate) fn bounds(&self) -> [P3; 2] {
        let [a, b] = &self.ends;
        [a.inf(b), a.sup(b)]
    }

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

    /// Coordinate `across` of the point at which coordinate `along` is `value`, which must be within the path's range.
    pub(crate) fn height(&self, along: usize, value: f64, across: usize) -> f64 {
        let [a, b] = &self.ends;
        match &self.course {
            Course::Straight => {
                let share = (value - a[along]) / (b[along] - a[along]);
                let share = if share.is_finite() { share } else { 0.0 };
                a[across] + (b[across] - a[across]) * share
            }
            Course::Conic(conic) => conic
                .height(along, value, across, [a[across], b[across]])
                .unwrap_or_else(|| self.point_at(along, value)[across]),
            Course::Meeting(_) => self.point_at(along, value)[across],
        }
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

#[cfg(test)]
mod tests {
    use super::super::surface::{Profile, Surface, Turned};
    use super::*;
    use std::f64::consts::FRAC_PI_2;

    fn quarter(k: f64) -> Path {
        Path::conic(Conic {
            center: P3::new(5.0, 6.0, 7.0),
            u: V3::x() * 4.0,
            v: V3::y() * 4.0,
            from: k * FRAC_PI_2,
            to: (k + 1.0) * FRAC_PI_2,
        })
    }

    /// Where a cylinder of radius 3 along x meets one of radius 5 along z, one of eight pieces.
    fn meeting() -> Path {
        let cylinder = |axis, radius| {
            Surface::Turned(Turned {
                origin: P3::origin(),
                axis,
                profile: Profile::Cylinder { radius },
            })
        };
        let point = |y: f64| P3::new((25.0 - y * y).sqrt(), y, (9.0 - y * y).max(0.0).sqrt());
        let points: Vec<P3> = (0..=8).map(|k| point(3.0 * f64::from(k) / 8.0)).collect();
        Path {
            ends: [points[0], points[8]],
            course: Course::Meeting(Meeting {
                surfaces: [cylinder(V3::x(), 3.0), cylinder(V3::z(), 5.0)],
                points: points.into(),
            }),
        }
    }

    #[test]
    fn a_coordinate_picks_the_point_that_has_it() {
        for path in [
            quarter(0.0),
            quarter(1.0),
            quarter(2.0),
            quarter(3.0),
            meeting(),
        ] {
            for k in 1..20 {
                let share = f64::from(k) / 20.0;
                let point = path.point(share);
                for axis in 0..3 {
                    if path.ends[0][axis] != path.ends[1][axis] {
                        let found = path.point_at(axis, point[axis]);
                        assert!((found - point).norm() < 1e-7, "{path:?} {share} {axis}");
                        for across in 0..3 {
                            let height = path.height(axis, point[axis], across);
                            assert!((height - point[across]).abs() < 1e-7, "{path:?} {share}");
                        }
                    }
                }
            }
        }
    }

    #[test]
    fn a_meeting_stays_on_both_surfaces() {
        let path = meeting();
        for k in 0..=100 {
            let p = path.point(f64::from(k) / 100.0);
            assert!((p.x.diagonal(p.y) - 5.0).abs() < 1e-12);
            assert!((p.y.diagonal(p.z) - 3.0).abs() < 1e-12);
        }
        let part = path.part([0.2, 0.7], [path.point(0.2), path.point(0.7)]);
        assert!((part.middle().y.diagonal(part.middle().z) - 3.0).abs() < 1e-12);
    }

    #[test]
    fn a_level_line_crosses_a_meeting_at_its_height() {
        let path = meeting();
        for share in [0.1, 0.45, 0.9] {
            let at = path.point(share);
            let line = |from: f64, to: f64| {
                Path::straight(P3::new(from, 0.0, at.z), P3::new(to, 0.0, at.z))
            };
            let found = line(at.x - 3.0, at.x + 1.0).crossings(&path, [0, 2]);
            assert_eq!(found.len(), 1);
            assert!((found[0] - 0.75).abs() < 1e-7, "{found:?}");
            assert!(
                line(at.x + 1.0, at.x + 3.0)
                    .crossings(&path, [0, 2])
                    .is_empty()
            );
        }
        let above = Path::straight(P3::new(0.0, 0.0, 3.5), P3::new(9.0, 0.0, 3.5));
        assert!(above.crossings(&path, [0, 2]).is_empty());
    }

    #[test]
    fn directions_point_from_start_to_end() {
        for path in [
            quarter(1.0),
            quarter(1.0).reversed(),
            meeting(),
            meeting().reversed(),
        ] {
            for share in [0.1, 0.5, 0.9] {
                let step = path.point(share + 1e-6) - path.point(share - 1e-6);
                assert!((step.normalize() - path.direction(share)).norm() < 1e-4);
            }
        }
    }

    #[test]
    fn a_disc_has_an_inside_an_outside_and_a_border() {
        let disc: Vec<Path> = (0..4).map(|k| quarter(f64::from(k))).collect();
        for x in 0..=40 {
            for y in 0..=40 {
                let at = P2::new(0.3 + 0.25 * f64::from(x), 1.2 + 0.25 * f64::from(y));
                let off = (at - P2::new(5.0, 6.0)).norm() - 4.0;
                let expected = if off < 0.0 {
                    Place::Inside
                } else {
                    Place::Outside
                };
                if off.abs() > 0.01 {
                    assert_eq!(locate(disc.iter(), [0, 1], &at, 0.001), expected, "{at:?}");
                }
            }
        }
        assert_eq!(
            locate(disc.iter(), [0, 1], &P2::new(9.0, 6.0), 0.001),
            Place::Border
        );
    }
}

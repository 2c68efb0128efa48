//! Edges as they are seen in a view, and where two of them cross there.
//!
//! A trace is monotone in both directions of the view. Straight ones and ellipses cross by formula; any other two are
//! compared as heights over the direction in which they share more: between places where the one changes from above to
//! below the other they cross, where it merely comes down to it they touch.

use crate::geom::num::Diagonal;
use crate::geom::num::{angle, arc_cosine};
use crate::geom::pairs::Bounds;
use crate::geom::path::{Course, Path};
use crate::geom::{Few, P2, P3, V2};
use std::f64::consts::PI;

/// Two directions, as unit vectors, that differ by less are one.
const ONE_DIRECTION: f64 = 1e-9;

/// An edge as seen in a view.
pub(crate) struct Trace<'p> {
    path: &'p Path,
    axes: [usize; 2],
    ends: [P2; 2],
    shape: Shape,
}

/// What an edge looks like in a view.
enum Shape {
    Straight,
    Round(Round),
    Free,
}

/// The points `center + u cos t + v sin t`, `t` from `from` to `to`.
#[derive(Clone, Copy, PartialEq)]
struct Round {
    center: P2,
    u: V2,
    v: V2,
    from: f64,
    to: f64,
}

impl<'p> Trace<'p> {
    /// An edge's path in the view with the given axes right and up.
    pub(crate) fn new(path: &'p Path, axes: [usize; 2]) -> Self {
        let [i, j] = axes;
        let shape = match &path.course {
            Course::Straight => Shape::Straight,
            Course::Conic(conic) => {
                let flat = |v: &crate::geom::V3| V2::new(v[i], v[j]);
                let (u, v) = (flat(&conic.u), flat(&conic.v));
                if u.perp(&v).abs() <= ONE_DIRECTION * conic.u.norm() * conic.v.norm() {
                    Shape::Straight
                } else {
                    Shape::Round(Round {
                        center: P2::new(conic.center[i], conic.center[j]),
                        u,
                        v,
                        from: conic.from,
                        to: conic.to,
                    })
                }
            }
            Course::Meeting(_) => Shape::Free,
        };
        Trace {
            path,
            axes,
            ends: path.ends.map(|p| P2::new(p[i], p[j])),
            shape,
        }
    }

    /// Its ends in the view.
    pub(crate) fn ends(&self) -> [P2; 2] {
        self.ends
    }

    /// Width and height.
    pub(crate) fn extent(&self) -> V2 {
        (self.ends[1] - self.ends[0]).abs()
    }

    /// The box around it, widened by `margin` millimetres.
    pub(crate) fn bounds(&self, margin: f64) -> Bounds<2> {
        let by = V2::repeat(margin);
        let [a, b] = &self.ends;
        [(a.inf(b) - by).into(), (a.sup(b) + by).into()]
    }

    /// The point at a share of the way.
    pub(crate) fn point(&self, share: f64) -> P2 {
        let at = self.path.point(share);
        P2::new(at[self.axes[0]], at[self.axes[1]])
    }

    /// The point in space at a share of the way.
    pub(crate) fn place(&self, share: f64) -> P3 {
        self.path.point(share)
    }

    /// The share of the way of a point on it or close by.
    pub(crate) fn share(&self, at: &P2) -> f64 {
        if let Shape::Round(round) = &self.shape {
            return round.share(round.angle(at));
        }
        let longer = self.extent().imax();
        self.path.at(self.axes[longer], at[longer])
    }

    /// Whether a point lies within `reach` millimetres of it, as [`Path::is_near`] says.
    pub(crate) fn is_near(&self, at: &P2, reach: f64) -> bool {
        self.path.is_near(self.axes, at, reach)
    }

    /// The direction at a share of the way, a unit vector; nought where it runs along the view.
    pub(crate) fn direction(&self, share: f64) -> V2 {
        let along = self.path.direction(share);
        let along = V2::new(along[self.axes[0]], along[self.axes[1]]);
        along.try_normalize(1e-9).unwrap_or_default()
    }

    /// Whether a place is farther than `margin` millimetres from both ends.
    pub(crate) fn is_inner(&self, share: f64, margin: f64) -> bool {
        let at = self.point(share);
        self.ends.iter().all(|end| (end - at).norm() > margin)
    }

    /// Whether it goes up where it goes right.
    fn rises(&self) -> bool {
        let along = self.ends[1] - self.ends[0];
        (along.x > 0.0) == (along.y > 0.0)
    }

    /// The height (coordinate `1 - over`) above the place `at` along direction `over`.
    fn height(&self, over: usize, at: f64) -> f64 {
        self.path.point_at(self.axes[over], at)[self.axes[1 - over]]
    }

    /// Whether it is straight as seen here.
    pub(crate) fn is_straight(&self) -> bool {
        matches!(self.shape, Shape::Straight)
    }
}

impl Round {
    /// The angle of a point, in the turn around the middle of this piece.
    fn angle(&self, at: &P2) -> f64 {
        let reach = at - self.center;
        // u and v need not be perpendicular as seen here.
        let spread = self.u.perp(&self.v);
        let turn = angle(self.u.perp(&reach) / spread, reach.perp(&self.v) / spread);
        self.in_turn(turn)
    }

    fn in_turn(&self, t: f64) -> f64 {
        let middle = 0.5 * (self.from + self.to);
        t - 2.0 * PI * ((t - middle) / (2.0 * PI)).round()
    }

    fn share(&self, t: f64) -> f64 {
        ((t - self.from) / (self.to - self.from)).clamp(0.0, 1.0)
    }

    fn point(&self, t: f64) -> P2 {
        let (sin, cos) = crate::geom::num::sin_cos(t);
        self.center + self.u * cos + self.v * sin
    }

    /// Whether a point of the whole curve lies on this piece.
    fn passes(&self, point: &P2, slack: f64) -> bool {
        let spare = slack / self.u.norm().min(self.v.norm());
        let (low, high) = (self.from.min(self.to), self.from.max(self.to));
        (low - spare..=high + spare).contains(&self.angle(point))
    }

    /// Whether it is a part of the same circle, or of one around the same centre that never meets it.
    fn is_around_the_same(&self, other: &Round, slack: f64) -> bool {
        self.is_circle(slack)
            && other.is_circle(slack)
            && (self.center - other.center).norm() <= slack
    }

    fn is_circle(&self, slack: f64) -> bool {
        (self.u.norm() - self.v.norm()).abs() <= slack
            && self.u.dot(&self.v).abs() <= slack * self.u.norm()
    }
}

/// Calls `cut` with the share on one trace of each end of another that lies on it, but for its own ends, and with that end
/// in space. Places nearer than `slack` millimetres are one.
pub(crate) fn ends_on(one: &Trace, other: &Trace, slack: f64, cut: &mut impl FnMut(f64, &P3)) {
    for (end, there) in other.ends.iter().zip(&other.path.ends) {
        let own = |p: &P2| (end - p).abs().amax() <= slack;
        if !one.ends.iter().any(own) && one.is_near(end, slack) {
            cut(one.share(end), there);
        }
    }
}

/// Calls `cut` with the shares, on the first and on the second trace, of each place where two traces cross or touch. Of
/// places where one ends on the other, or which they have in common, not all are told.
pub(crate) fn crossings(a: &Trace, b: &Trace, slack: f64, cut: &mut impl FnMut(f64, f64)) {
    let mut at = |p: &P2| cut(a.share(p), b.share(p));
    match (&a.shape, &b.shape) {
        (Shape::Straight, Shape::Straight) => straight_lines(a.ends, b.ends, slack, &mut at),
        (Shape::Straight, Shape::Round(round)) => line_and_round(a.ends, round, slack, &mut at),
        (Shape::Round(round), Shape::Straight) => line_and_round(b.ends, round, slack, &mut at),
        (Shape::Round(one), Shape::Round(other)) if one.is_around_the_same(other, slack) => {}
        (Shape::Round(one), Shape::Round(other))
            if one.is_circle(slack) && other.is_circle(slack) =>
        {
            circles(one, other, slack, &mut at);
        }
        _ => curves(a, b, slack, &mut at),
    }
}

fn straight_lines([a, b]: [P2; 2], [c, d]: [P2; 2], slack: f64, at: &mut impl FnMut(&P2)) {
    let (along, other) = (b - a, d - c);
    let (length, width) = (along.norm(), other.norm());
    let spread = along.perp(&other);
    if spread.abs() <= ONE_DIRECTION * length * width {
        return;
    }
    let share = (c - a).perp(&other) / spread;
    let rest = (c - a).perp(&along) / spread;
    let within =
        |share: f64, length: f64| -slack <= share * length && share * length <= length + slack;
    if within(share, length) && within(rest, width) {
        at(&(a + along * share));
    }
}

fn line_and_round([a, b]: [P2; 2], round: &Round, slack: f64, at: &mut impl FnMut(&P2)) {
    let length = (b - a).norm();
    let along = (b - a) / length;
    // Off the line by nothing: p cos t + q sin t = off.
    let (p, q) = (along.perp(&round.u), along.perp(&round.v));
    let off = along.perp(&(a - round.center));
    let reach = p.diagonal(q);
    if off.abs() > reach + slack {
        return;
    }
    let (middle, turn) = (angle(q, p), arc_cosine(off / reach));
    let (low, high) = (round.from.min(round.to), round.from.max(round.to));
    let spare = slack / round.u.norm().min(round.v.norm());
    for t in [middle + turn, middle - turn] {
        let t = round.in_turn(t);
        if t < low - spare || t > high + spare {
            continue;
        }
        let point = round.point(t);
        let ahead = along.dot(&(point - a));
        if -slack <= ahead && ahead <= length + slack {
            at(&point);
        }
    }
}

fn circles(one: &Round, other: &Round, slack: f64, at: &mut impl FnMut(&P2)) {
    let apart = other.center - one.center;
    let (distance, r, s) = (apart.norm(), one.u.norm(), other.u.norm());
    if distance > r + s + slack || distance < (r - s).abs() - slack {
        return;
    }
    let way = apart / distance;
    let forth = (distance * distance + r * r - s * s) / (2.0 * distance);
    let aside = (r * r - forth * forth).max(0.0).sqrt();
    for off in [aside, -aside] {
        let point = one.center + way * forth + V2::new(-way.y, way.x) * off;
        if one.passes(&point, slack) && other.passes(&point, slack) {
            at(&point);
        }
    }
}

/// Into how many steps the shared part of two curves is cut to look for crossings.
const STEPS: u32 = 12;

/// How often a step is halved (or cut by the golden ratio) to pin down a crossing or touching.
const HALVINGS: u32 = 44;

fn curves(a: &Trace, b: &Trace, slack: f64, at: &mut impl FnMut(&P2)) {
    let [low, high] = [
        shared(a, b, f64::max, f64::min),
        shared(a, b, f64::min, f64::max),
    ];
    let over = if high[0] - low[0] >= high[1] - low[1] {
        0
    } else {
        1
    };
    let (from, to) = (low[over], high[over]);
    if to - from <= slack {
        return;
    }
    let gap = |x: f64| a.height(over, x) - b.height(over, x);
    let mut found = |x: f64| {
        let height = a.height(over, x);
        at(&if over == 0 {
            P2::new(x, height)
        } else {
            P2::new(height, x)
        });
    };
    let side = |gap: f64| {
        if gap.abs() <= slack {
            0
        } else if gap < 0.0 {
            -1
        } else {
            1
        }
    };
    let place = |share: f64| from + (to - from) * share;
    if [0.25, 0.5, 0.75]
        .iter()
        .all(|share| side(gap(place(*share))) == 0)
    {
        // One line as seen here.
        return;
    }
    // One rises where the other falls: they cross once or not at all.
    let steps = if a.rises() == b.rises() { STEPS } else { 1 };
    let places = (0..=steps).map(|k| place(f64::from(k) / f64::from(steps)));
    let samples: Few<(f64, f64), 16> = places.map(|x| (x, gap(x))).collect();
    for (k, pair) in samples.windows(2).enumerate() {
        let [(x, f), (y, g)] = [pair[0], pair[1]];
        match (side(f), side(g)) {
            (0, 0) => {}
            (0, _) => found(x),
            (_, 0) => found(y),
            (s, t) if s != t => found(crossing(&gap, [x, y], slack)),
            _ => {
                let Some((z, h)) = samples.get(k + 2) else {
                    continue;
                };
                // It comes nearer and goes away again: at the bottom it may touch, or cross and come back.
                if side(*h) == side(f) && g.abs() < f.abs() && g.abs() <= h.abs() {
                    let bottom = lowest(&gap, [x, *z], f.signum());
                    let depth = gap(bottom);
                    if side(depth) == 0 {
                        found(bottom);
                    } else if side(depth) != side(f) {
                        found(crossing(&gap, [x, bottom], slack));
                        found(crossing(&gap, [bottom, *z], slack));
                    }
                }
            }
        }
    }
}

/// A corner of the box that two traces share.
fn shared(
    a: &Trace,
    b: &Trace,
    outer: fn(f64, f64) -> f64,
    inner: fn(f64, f64) -> f64,
) -> [f64; 2] {
    [0, 1].map(|k| {
        let of = |trace: &Trace| inner(trace.ends[0][k], trace.ends[1][k]);
        outer(of(a), of(b))
    })
}

/// Where a function changes its sign between two places: where it is less than a hundredth of `slack`, by false position
/// with the weight of an end halved that stays (the Illinois rule), by halving if that is slow.
fn crossing(f: &impl Fn(f64) -> f64, [mut low, mut high]: [f64; 2], slack: f64) -> f64 {
    let (mut f_low, mut f_high) = (f(low), f(high));
    for k in 0..2 * HALVINGS {
        let by_chord = low - f_low * (high - low) / (f_high - f_low);
        let mid = if k % 8 == 7 || !by_chord.is_finite() {
            0.5 * (low + high)
        } else {
            by_chord
        };
        let f_mid = f(mid);
        if f_mid.abs() <= 0.01 * slack {
            return mid;
        }
        if (f_mid < 0.0) == (f_low < 0.0) {
            (low, f_low) = (mid, f_mid);
            f_high *= 0.5;
        } else {
            (high, f_high) = (mid, f_mid);
            f_low *= 0.5;
        }
    }
    0.5 * (low + high)
}

/// Where `sign * f` is least between two places, by the golden section.
fn lowest(f: &impl Fn(f64) -> f64, [mut low, mut high]: [f64; 2], sign: f64) -> f64 {
    const GOLDEN: f64 = 0.618_033_988_749_894_8;
    let place = |low: f64, high: f64, share: f64| low + (high - low) * share;
    let (mut x, mut y) = (place(low, high, 1.0 - GOLDEN), place(low, high, GOLDEN));
    let (mut f_x, mut f_y) = (sign * f(x), sign * f(y));
    for _ in 0..HALVINGS {
        if f_x < f_y {
            (high, y, f_y) = (y, x, f_x);
            x = place(low, high, 1.0 - GOLDEN);
            f_x = sign * f(x);
        } else {
            (low, x, f_x) = (x, y, f_y);
            y = place(low, high, GOLDEN);
            f_y = sign * f(y);
        }
        if f_x < 0.0 || f_y < 0.0 {
            break;
        }
    }
    if f_x < f_y { x } else { y }
}

#[cfg(test)]
#[allow(
    clippy::cast_possible_truncation,
    reason = "numbers in tests are small"
)]
mod tests {
    use super::*;
    use crate::geom::V3;
    use crate::geom::conic::Conic;
    use std::f64::consts::FRAC_PI_2;

    fn quarter(center: [f64; 2], radii: [f64; 2], k: u32) -> Path {
        Path::conic(Conic {
            center: P3::new(center[0], center[1], 3.0),
            u: V3::x() * radii[0],
            v: V3::y() * radii[1],
            from: f64::from(k) * FRAC_PI_2,
            to: f64::from(k + 1) * FRAC_PI_2,
        })
    }

    /// The places where two paths meet, seen along z, sorted and each once.
    fn places(a: &Path, b: &Path) -> Vec<[i64; 2]> {
        let [a, b] = [a, b].map(|path| Trace::new(path, [0, 1]));
        let mut found = Vec::new();
        let mut push = |p: P2| found.push([p.x, p.y].map(|c| (c * 1000.0).round() as i64));
        crossings(&a, &b, 1e-7, &mut |s, t| {
            let (p, q) = (a.point(s), b.point(t));
            assert!((p - q).norm() < 1e-5, "{p:?} {q:?}");
            push(p);
        });
        ends_on(&a, &b, 1e-7, &mut |s, _| push(a.point(s)));
        ends_on(&b, &a, 1e-7, &mut |t, _| push(b.point(t)));
        found.sort_unstable();
        found.dedup();
        found
    }

    fn line(a: [f64; 2], b: [f64; 2]) -> Path {
        Path::straight(P3::new(a[0], a[1], 0.0), P3::new(b[0], b[1], 9.0))
    }

    // Places worked by hand; on circles by right-angled triangles of sides 3, 4 and 5.
    #[test]
    fn lines_and_circles_meet_where_the_formula_says() {
        let round = quarter([0.0, 0.0], [5.0, 5.0], 0);
        let meet = |a, b| places(&round, &line(a, b));
        assert_eq!(meet([3.0, 0.0], [3.0, 9.0]), [[3000, 4000]]);
        assert_eq!(meet([7.0, 0.0], [0.0, 7.0]), [[3000, 4000], [4000, 3000]]);
        assert_eq!(meet([-3.0, 0.0], [-3.0, 9.0]), [[0_i64; 2]; 0]);
        // It ends before it gets there.
        assert_eq!(meet([3.0, 0.0], [3.0, 3.0]), [[0_i64; 2]; 0]);
        // A tangent, and an end on the circle.
        assert_eq!(meet([6.25, 0.0], [0.0, 25.0 / 3.0]), [[4000, 3000]]);
        assert_eq!(meet([0.0, 0.0], [3.0, 4.0]), [[3000, 4000]]);
    }

    #[test]
    fn circles_meet_circles_and_ellipses() {
        let round = quarter([0.0, 0.0], [5.0, 5.0], 0);
        let other = quarter([6.0, 0.0], [5.0, 5.0], 1);
        assert_eq!(places(&round, &other), [[3000, 4000]]);
        // Circles that touch from outside at (3, 4): centre twice as far.
        assert_eq!(
            places(&round, &quarter([6.0, 8.0], [5.0, 5.0], 2)),
            [[3000, 4000]]
        );
        // Around the same centre; and two parts of one circle share an end.
        assert!(places(&round, &quarter([0.0, 0.0], [4.0, 4.0], 0)).is_empty());
        // Parts of one circle are cut where the other ends, but for their own ends.
        let part = round.part([0.0, 0.5], [0.0, 0.5].map(|share| round.point(share)));
        assert_eq!(places(&round, &part), [[3536, 3536]]);
        assert!(places(&round, &round).is_empty());
        // x = y on x²/100 + y²/k = 1 with k = 100/7 and on x² + y² = 25: both at 5/√2.
        let flat = quarter([0.0, 0.0], [10.0, (100.0_f64 / 7.0).sqrt()], 0);
        assert_eq!(places(&round, &flat), [[3536, 3536]]);
    }

    #[test]
    fn curves_that_cross_twice_close_together_are_cut_twice() {
        // Two circles of radius 10 whose chord is 0.2: half of it over the middle of their centres.
        let apart = 2.0 * (100.0_f64 - 0.01).sqrt();
        let (sin, cos) = crate::geom::num::sin_cos(0.7);
        let one = quarter([0.0, 0.0], [10.0, 10.0], 0);
        let other = quarter([apart * cos, apart * sin], [10.0, 10.0], 2);
        let [p, q] =
            [-0.1, 0.1].map(|off| [apart / 2.0 * cos - off * sin, apart / 2.0 * sin + off * cos]);
        let mut expected = [p, q].map(|p| p.map(|c| (c * 1000.0).round() as i64));
        expected.sort_unstable();
        assert_eq!(places(&one, &other), expected);
    }
}

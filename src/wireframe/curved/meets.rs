//! Where two paths in space meet: at an end of one on the other, by crossing, or by touching.

use crate::geom::conic::Conic;
use crate::geom::meeting::Meeting;
use crate::geom::path::{Course, Path};
use crate::geom::{Few, P2, P3, V3};
use std::f64::consts::FRAC_PI_4;

/// A place where two paths meet: the share of the way on each.
pub(super) type Met = [f64; 2];

/// Two paths run along each other at a place if the sine of the angle between them is less than this.
const TANGENT: f64 = 0.2;

/// The part of the tolerance within which a point must lie to be on a path for certain.
pub(super) const TIGHT: f64 = 0.05;

/// All places where two different paths come within `tolerance` millimetres; where they run along each other, the ends of
/// the common stretch.
///
/// Where a path of one kind is tangent to one of another, they stay near each other for a while: there an end of the one
/// counts as on the other only if it is so for certain, or near the place where they touch.
pub(super) fn meets(a: &Path, b: &Path, tolerance: f64) -> Few<Met, 4> {
    let mut found = Few::new();
    for met in inner(a, b, tolerance) {
        add(&mut found, met, a, b, tolerance);
    }
    for (k, end) in a.ends.iter().enumerate() {
        if let Some(share) = share_near(b, end, tolerance) {
            let met = [end_share(k), share];
            if !leaves_slowly(a, b, met, tolerance) {
                add(&mut found, met, a, b, tolerance);
            }
        }
    }
    for (k, end) in b.ends.iter().enumerate() {
        if let Some(share) = share_near(a, end, tolerance) {
            let met = [share, end_share(k)];
            if !leaves_slowly(a, b, met, tolerance) {
                add(&mut found, met, a, b, tolerance);
            }
        }
    }
    found
}

/// Whether two paths that are not one curve are near each other at a place only because they leave each other slowly.
fn leaves_slowly(a: &Path, b: &Path, [s, t]: Met, tolerance: f64) -> bool {
    let both_straight = a.is_straight() && b.is_straight();
    !both_straight
        && (a.point(s) - b.point(t)).norm() > TIGHT * tolerance
        && a.direction(s).cross(&b.direction(t)).norm() < TANGENT
}

fn end_share(k: usize) -> f64 {
    if k == 0 { 0.0 } else { 1.0 }
}

/// Notes a place unless one is known within the tolerance along both paths.
fn add(found: &mut Few<Met, 4>, met: Met, a: &Path, b: &Path, tolerance: f64) {
    let known = found.iter().any(|other| {
        (a.point(other[0]) - a.point(met[0])).norm() <= 2.0 * tolerance
            && (b.point(other[1]) - b.point(met[1])).norm() <= 2.0 * tolerance
    });
    if !known {
        found.push(met);
    }
}

/// The share of the way at which a path passes a point, if it does within the tolerance.
pub(super) fn share_near(path: &Path, point: &P3, tolerance: f64) -> Option<f64> {
    if let Some(end) = path.ends.iter().position(|end| end == point) {
        return Some(end_share(end));
    }
    let [low, high] = path.bounds();
    if (0..3).any(|k| point[k] < low[k] - tolerance || point[k] > high[k] + tolerance) {
        return None;
    }
    let share = match &path.course {
        Course::Straight => {
            let [a, b] = path.ends;
            let along = b - a;
            (along.dot(&(point - a)) / along.norm_squared()).clamp(0.0, 1.0)
        }
        Course::Conic(conic) if conic.is_clear_of(point, tolerance) => return None,
        Course::Conic(conic) => conic_share(conic, point),
        Course::Meeting(meeting) => meeting_share(meeting, path, point, tolerance)?,
    };
    ((path.point(share) - point).norm() <= tolerance).then_some(share)
}

/// The share of a conic's range at the angle of a point, or the nearer end.
fn conic_share(conic: &Conic, point: &P3) -> f64 {
    use std::f64::consts::PI;
    let middle = 0.5 * (conic.from + conic.to);
    let angle = conic.angle(point);
    let angle = angle - 2.0 * PI * ((angle - middle) / (2.0 * PI)).round();
    ((angle - conic.from) / (conic.to - conic.from)).clamp(0.0, 1.0)
}

/// The share of the way of the point of a meeting nearest to one within `tolerance` of it.
fn meeting_share(meeting: &Meeting, path: &Path, point: &P3, tolerance: f64) -> Option<f64> {
    if meeting
        .surfaces
        .iter()
        .any(|s| s.distance(point).abs() > 1.5 * tolerance)
    {
        return None;
    }
    let start = meeting.share_on_chords(point);
    let (mut share, mut least) = (start, (path.point(start) - point).norm());
    for _ in 0..20 {
        // A step along the tangent to the foot of the point on it.
        let at = path.point(share);
        let velocity = path.velocity(share);
        let step = velocity.dot(&(point - at)) / velocity.norm_squared();
        let next = (share + step).clamp(0.0, 1.0);
        let off = (path.point(next) - point).norm();
        if off >= least || (next - share).abs() < 1e-13 {
            break;
        }
        (share, least) = (next, off);
    }
    Some(share)
}

/// Crossings and touchings away from the ends.
fn inner(a: &Path, b: &Path, tolerance: f64) -> Few<Met, 4> {
    match (&a.course, &b.course) {
        (Course::Straight, Course::Straight) => {
            straight_straight(a, b, tolerance).into_iter().collect()
        }
        (Course::Straight, Course::Conic(conic)) => straight_conic(a, b, conic, tolerance),
        (Course::Conic(conic), Course::Straight) => straight_conic(b, a, conic, tolerance)
            .into_iter()
            .map(|[s, t]| [t, s])
            .collect(),
        (Course::Conic(one), Course::Conic(other)) => conic_conic((a, one), (b, other), tolerance),
        _ => sampled(a, b, tolerance),
    }
}

/// Two lines at less than this angle count as parallel.
const PARALLEL: f64 = 1e-4;

fn straight_straight(a: &Path, b: &Path, tolerance: f64) -> Option<Met> {
    let (u, v) = (a.ends[1] - a.ends[0], b.ends[1] - b.ends[0]);
    let across = u.cross(&v);
    let size = across.norm_squared();
    if size <= u.norm_squared() * v.norm_squared() * PARALLEL * PARALLEL {
        return None;
    }
    let apart = b.ends[0] - a.ends[0];
    if apart.dot(&across).abs() > tolerance * size.sqrt() {
        return None;
    }
    let (s, t) = (
        apart.cross(&v).dot(&across) / size,
        apart.cross(&u).dot(&across) / size,
    );
    let inside = |x: f64| (0.0..=1.0).contains(&x);
    (inside(s) && inside(t)).then_some([s, t])
}

fn straight_conic(line: &Path, path: &Path, conic: &Conic, tolerance: f64) -> Few<Met, 4> {
    let [from, to] = line.ends;
    let along = to - from;
    let normal = conic.u.cross(&conic.v).normalize();
    let (rise, start) = (normal.dot(&along), normal.dot(&(from - conic.center)));
    let mut shares: Few<f64, 4> = Few::new();
    if rise.abs() <= tolerance {
        if start.abs().min((start + rise).abs()) <= tolerance {
            shares = in_plane(conic, &from, &along, tolerance);
        }
    } else {
        shares.push(-start / rise);
    }
    let length = along.norm();
    shares
        .into_iter()
        .filter(|s| (-tolerance..=length + tolerance).contains(&(s * length)))
        .map(|s| s.clamp(0.0, 1.0))
        .filter_map(|s| Some([s, share_near(path, &line.point(s), tolerance)?]))
        .collect()
}

/// Where a line in the plane of a conic meets it, as shares of `along`; where it touches within the tolerance, one place.
fn in_plane(conic: &Conic, from: &P3, along: &V3, tolerance: f64) -> Few<f64, 4> {
    // In the conic's own measure it is a circle of radius 1.
    let flat = |w: &V3| {
        P2::new(
            w.dot(&conic.u) / conic.u.norm_squared(),
            w.dot(&conic.v) / conic.v.norm_squared(),
        )
    };
    let (p, d) = (flat(&(from - conic.center)).coords, flat(along).coords);
    let foot = -p.dot(&d) / d.norm_squared();
    let distance = (p + d * foot).norm();
    let size = conic.u.norm().min(conic.v.norm());
    let mut shares = Few::new();
    if (distance - 1.0).abs() * size <= tolerance {
        shares.push(foot);
    } else if distance < 1.0 {
        let half = ((1.0 - distance * distance) / d.norm_squared()).sqrt();
        shares.extend([foot - half, foot + half]);
    }
    shares
}

fn conic_conic(
    (a, one): (&Path, &Conic),
    (b, other): (&Path, &Conic),
    tolerance: f64,
) -> Few<Met, 4> {
    let normals = [one, other].map(|c| c.u.cross(&c.v).normalize());
    let way = normals[0].cross(&normals[1]);
    let apart = other.center - one.center;
    if way.norm() > 1e-6 {
        // The planes meet in a line, which meets each conic twice at most.
        let way = way.normalize();
        let across = way.cross(&normals[0]);
        let share = normals[1].dot(&apart) / normals[1].dot(&across);
        let from = one.center + across * share;
        return in_plane(one, &from, &way, tolerance)
            .into_iter()
            .map(|s| from + way * s)
            .filter_map(|p| Some([share_near(a, &p, tolerance)?, share_near(b, &p, tolerance)?]))
            .collect();
    }
    if normals[0].dot(&apart).abs() > tolerance {
        return Few::new();
    }
    let circle = |c: &Conic| (c.u.norm() - c.v.norm()).abs() <= tolerance;
    if !(circle(one) && circle(other)) {
        if is_same(one, other, tolerance) {
            return Few::new();
        }
        return sampled(a, b, tolerance);
    }
    let (r, s, distance) = (one.u.norm(), other.u.norm(), apart.norm());
    if distance <= tolerance || distance > r + s + tolerance || distance < (r - s).abs() - tolerance
    {
        return Few::new();
    }
    let way = apart / distance;
    let forth = (r * r - s * s + distance * distance) / (2.0 * distance);
    let touching = (distance - r - s)
        .abs()
        .min((distance - (r - s).abs()).abs())
        <= tolerance;
    let half = if touching {
        0.0
    } else {
        (r * r - forth * forth).max(0.0).sqrt()
    };
    let forth = if touching { forth.signum() * r } else { forth };
    let side = normals[0].cross(&way);
    [half, -half]
        .into_iter()
        .take(if touching { 1 } else { 2 })
        .map(|off| one.center + way * forth + side * off)
        .filter_map(|p| {
            Some([
                share_near(a, &p, 2.0 * tolerance)?,
                share_near(b, &p, 2.0 * tolerance)?,
            ])
        })
        .collect()
}

/// Whether two conics in one plane are the same curve.
fn is_same(one: &Conic, other: &Conic, tolerance: f64) -> bool {
    let on_one = |at: P3| (at - one.point(one.angle(&at))).norm() <= tolerance;
    (0..8).all(|k| on_one(other.point(f64::from(k) * FRAC_PI_4)))
}

/// By comparing short chords, and settling on the nearest points.
fn sampled(a: &Path, b: &Path, tolerance: f64) -> Few<Met, 4> {
    let mut chains = [Chain::of(a), Chain::of(b)];
    let mut near: Few<Met, 16> = Few::new();
    let whole = [0, STEPS];
    near_steps(&mut chains, [whole; 2], tolerance, &mut near);
    let mut found: Few<Met, 4> = Few::new();
    for start in near {
        let Some(met) = settled(a, b, start, tolerance) else {
            continue;
        };
        let fresh = found
            .iter()
            .all(|m| (a.point(m[0]) - a.point(met[0])).norm() > 2.0 * tolerance);
        if fresh {
            found.push(met);
        }
    }
    found
}

/// Into how many steps paths are cut to see where they come near each other; a power of two.
const STEPS: usize = 32;

/// Farther than this share of the way from a guess another one is nearer.
const ASTRAY: f64 = 2.0 / STEPS as f64;

/// A path in steps, each worked out when it is asked for.
struct Chain<'p> {
    path: &'p Path,
    points: [Option<P3>; STEPS + 1],
}

impl<'p> Chain<'p> {
    fn of(path: &'p Path) -> Self {
        Chain {
            path,
            points: [None; STEPS + 1],
        }
    }

    fn share(steps: f64) -> f64 {
        steps / STEPS as f64
    }

    fn point(&mut self, k: usize) -> P3 {
        *self.points[k].get_or_insert_with(|| self.path.point(Self::share(k as f64)))
    }

    /// The box around a part: the path is monotone.
    fn bounds(&mut self, [from, to]: [usize; 2]) -> [P3; 2] {
        let (p, q) = (self.point(from), self.point(to));
        [p.inf(&q), p.sup(&q)]
    }
}

/// The middles of all steps of two paths that may come within `tolerance`, found by halving parts whose boxes do.
fn near_steps(
    chains: &mut [Chain; 2],
    parts: [[usize; 2]; 2],
    tolerance: f64,
    near: &mut Few<Met, 16>,
) {
    let ([a, b], [c, d]) = (chains[0].bounds(parts[0]), chains[1].bounds(parts[1]));
    if (0..3).any(|k| c[k] > b[k] + tolerance || a[k] > d[k] + tolerance) {
        return;
    }
    if parts[0][1] - parts[0][0] == 1 {
        near.push(parts.map(|[from, _]| Chain::share(from as f64 + 0.5)));
        return;
    }
    let halves = parts.map(|[from, to]| {
        let middle = usize::midpoint(from, to);
        [[from, middle], [middle, to]]
    });
    for one in halves[0] {
        for other in halves[1] {
            near_steps(chains, [one, other], tolerance, near);
        }
    }
}

/// Nearest points by turns, from a first guess; given up where it leads to places that are a guess of their own.
fn settled(a: &Path, b: &Path, guess: Met, tolerance: f64) -> Option<Met> {
    let [mut s, mut t] = guess;
    for _ in 0..12 {
        let ((p, u), (q, v)) = (a.motion(s), b.motion(t));
        let apart = q - p;
        let (uu, uv, vv) = (u.norm_squared(), u.dot(&v), v.norm_squared());
        let spread = uu * vv - uv * uv;
        if spread <= 1e-9 * uu * vv {
            return None;
        }
        let (f, g) = (u.dot(&apart), v.dot(&apart));
        let before = [s, t];
        s = (s + (f * vv - g * uv) / spread).clamp(0.0, 1.0);
        t = (t + (f * uv - g * uu) / spread).clamp(0.0, 1.0);
        if (s - before[0]).abs() + (t - before[1]).abs() < 1e-13 {
            break;
        }
        if (s - guess[0]).abs().max((t - guess[1]).abs()) > ASTRAY {
            return None;
        }
    }
    ((a.point(s) - b.point(t)).norm() <= tolerance).then_some([s, t])
}

//! Integrals over a patch, worked out along its border.
//!
//! In coordinates of its own (angle about the axis and angle or length along the profile; two lengths for a plane) a patch
//! is an area of the plane, and by Green's theorem an integral over it is one along its border: at each point of the border
//! the integrand is first integrated along the profile, from a fixed start to that point, then this along the border.
//! Where a patch reaches the axis that start is the place on the axis, so the jump of the angle there counts nothing.

use crate::geom::meeting::Meeting;
use crate::geom::num::{angle, sin_cos};
use crate::geom::path::{Course, Path};
use crate::geom::surface::{Profile, Surface, Turned};
use crate::geom::{P3, V3};
use smallvec::SmallVec;
use std::f64::consts::PI;

/// Gauss and Legendre's eight places in `[-1, 1]`, the positive half, with their weights (Abramowitz and Stegun, table
/// 25.4).
const GAUSS: [[f64; 2]; 4] = [
    [0.183_434_642_495_649_8, 0.362_683_783_378_362],
    [0.525_532_409_916_329, 0.313_706_645_877_887_3],
    [0.796_666_477_413_626_7, 0.222_381_034_453_374_5],
    [0.960_289_856_497_536_3, 0.101_228_536_290_376_3],
];

/// How often a stretch of border may be halved.
const MOST_HALVINGS: u32 = 16;

/// A border of a patch: its paths with the direction in which they are run, the patch to the left as seen from outside.
pub(crate) type Border<'a> = SmallVec<[(&'a Path, bool); 8]>;

/// The volume of the cone between the origin and a patch: the integral of `p · n / 3` over it, `n` the surface's own normal,
/// in cubic millimetres.
///
/// The borders run with the patch to the left as seen from the side `n` points to; run the other way round, the sign
/// changes. Good to about 1e-9 for straight and circular borders, to about 1e-6 where surfaces meet in space curves.
pub(crate) fn flux<'p>(surface: &Surface, borders: impl Iterator<Item = (&'p Path, bool)>) -> f64 {
    let border: Border<'p> = borders.collect();
    let patch = Patched::new(surface, &border);
    let mut sum = 0.0;
    for &(path, forward) in &border {
        let [along] = flux_along(path, [&patch]);
        sum -= if forward { along } else { -along };
    }
    sum / 3.0
}

/// Three times what a path takes away from [`flux`] over each of some patches to its left.
pub(crate) fn flux_along<const N: usize>(path: &Path, patches: [&Patched<'_>; N]) -> [f64; N] {
    let run = Run::new(path);
    let mut along = [0.0; N];
    let mut add = |(share, weight): (f64, f64)| {
        let (point, velocity) = run.at(share);
        for (along, patch) in along.iter_mut().zip(patches) {
            let turn = patch.chart.turn(&point, &velocity);
            if turn != 0.0 {
                *along += patch.chart.flux_below(&point) * turn * weight;
            }
        }
    };
    match pieces_of(path) {
        // Straight borders of curved surfaces run along the profile: nothing, or next to it.
        1 if path.is_straight() => pair([0.0, 1.0]).into_iter().for_each(add),
        1 => places([0.0, 1.0]).for_each(add),
        pieces => (0..pieces)
            .flat_map(|k| pair(cut(k, pieces)))
            .for_each(&mut add),
    }
    along
}

/// What is integrated over patches.
#[derive(Clone, Copy, Debug, Default)]
pub(crate) struct Sums {
    /// Area in square millimetres.
    pub(crate) area: f64,
    /// Three times the volume of the cone between a point and the patch, negative where the surface's normal points
    /// towards the point.
    pub(crate) flux: f64,
    /// Four times the integral of the position relative to that point over the cone.
    pub(crate) first: V3,
}

impl Sums {
    /// Adds some of another.
    pub(crate) fn add(&mut self, other: &Sums, factor: f64) {
        self.area += factor * other.area;
        self.flux += factor * other.flux;
        self.first += other.first * factor;
    }

    /// How much it differs from another, each sum measured by the matching power of `size`.
    fn differs(&self, other: &Sums, size: f64) -> f64 {
        let squared = size * size;
        let area = (self.area - other.area).abs() / squared;
        let flux = (self.flux - other.flux).abs() / (squared * size);
        let first = (self.first - other.first).amax() / (squared * squared);
        area.max(flux).max(first)
    }
}

/// A patch to integrate over.
pub(crate) struct Patched<'s> {
    surface: &'s Surface,
    chart: Chart,
}

impl<'s> Patched<'s> {
    pub(crate) fn new(surface: &'s Surface, border: &Border<'_>) -> Self {
        Patched {
            surface,
            chart: Chart::new(surface, border),
        }
    }
}

/// What a path adds to the sums, as seen from `point`, over each of the two patches that it is a border of: with the sign for
/// the first, which it runs round as for [`flux`], and with that for the second, which it runs round the other way.
///
/// Good to 1e-12 of `size`, that of the solid, raised to the power that fits. Positive as [`flux`] is.
pub(crate) fn sums(path: &Path, patches: [&Patched<'_>; 2], point: &P3, size: f64) -> [Sums; 2] {
    let run = Run::new(path);
    let on = |range: [f64; 2]| {
        let mut both = [Sums::default(); 2];
        let mut add = |(t, weight): (f64, f64)| {
            let (at, velocity) = run.at(t);
            for (sums, patch) in both.iter_mut().zip(patches) {
                let turn = patch.chart.turn(&at, &velocity);
                if turn != 0.0 {
                    sums.add(&patch.chart.below(&at, point), turn * weight);
                }
            }
        };
        match &path.course {
            // Of the second degree on a plane, next to nothing along the profile of anything else.
            Course::Straight => pair(range).into_iter().for_each(add),
            Course::Conic(_) => places(range).for_each(add),
            // Its pieces are small turns.
            Course::Meeting(_) => four(range).into_iter().for_each(&mut add),
        }
        both
    };
    let mut total = [Sums::default(); 2];
    let mut add = |sums: &[Sums; 2]| {
        total[0].add(&sums[0], -1.0);
        total[1].add(&sums[1], 1.0);
    };
    if patches.iter().all(|patch| is_low(patch.surface, path)) {
        add(&on([0.0, 1.0]));
        return total;
    }
    let pieces = pieces_of(path);
    for k in 0..pieces {
        let range = cut(k, pieces);
        let mut todo = vec![(range, on(range), MOST_HALVINGS)];
        while let Some(([from, to], whole, halvings)) = todo.pop() {
            let mid = 0.5 * (from + to);
            let halves = [[from, mid], [mid, to]].map(|half| (half, on(half)));
            let same = |k: usize| {
                let mut both = halves[0].1[k];
                both.add(&halves[1].1[k], 1.0);
                both.differs(&whole[k], size) < 1e-12
            };
            if halvings == 0 || same(0) && same(1) {
                halves.iter().for_each(|(_, sums)| add(sums));
            } else {
                todo.extend(halves.map(|(range, sums)| (range, sums, halvings - 1)));
            }
        }
    }
    total
}

/// A path with its speed at every share of the way.
struct Run<'p> {
    path: &'p Path,
    /// How far its ends lie off its curve.
    off: [V3; 2],
}

impl<'p> Run<'p> {
    fn new(path: &'p Path) -> Self {
        let off = match &path.course {
            Course::Conic(conic) => [
                path.ends[0] - conic.point(conic.from),
                path.ends[1] - conic.point(conic.to),
            ],
            _ => [V3::zeros(); 2],
        };
        Run { path, off }
    }

    /// The point at a share of the way, and how it moves with the share.
    fn at(&self, share: f64) -> (P3, V3) {
        let [a, b] = self.path.ends;
        match &self.path.course {
            Course::Straight => (a + (b - a) * share, b - a),
            Course::Conic(conic) => {
                let turn = conic.to - conic.from;
                let (sin, cos) = sin_cos(conic.from + turn * share);
                let on = conic.center + conic.u * cos + conic.v * sin;
                let velocity = (conic.v * cos - conic.u * sin) * turn;
                let [c, d] = self.off;
                (on + c * (1.0 - share) + d * share, velocity + d - c)
            }
            Course::Meeting(meeting) => along_meeting(meeting, share),
        }
    }
}

/// The point of the curve abreast of a place on its chords, and how it moves with the share.
///
/// The point and its chord fix a plane across the chord; Newton's method finds where the two surfaces meet in it.
#[allow(
    clippy::cast_possible_truncation,
    clippy::cast_precision_loss,
    clippy::cast_sign_loss,
    reason = "a share between 0 and 1 of a short list"
)]
fn along_meeting(meeting: &Meeting, share: f64) -> (P3, V3) {
    let last = meeting.points.len() - 1;
    let k = ((share * last as f64) as usize).min(last - 1);
    let (from, chord) = (meeting.points[k], meeting.points[k + 1] - meeting.points[k]);
    let abreast = from + chord * (share * last as f64 - k as f64);
    let [a, b] = &meeting.surfaces;
    let unit = chord.normalize();
    let mut point = abreast;
    for _ in 0..8 {
        let ((f, n), (g, m)) = (a.off(&point), b.off(&point));
        let along = n.cross(&m);
        // The step that undoes all three offs, by Cramer's rule.
        let undone = m.cross(&unit) * f + unit.cross(&n) * g + along * unit.dot(&(point - abreast));
        let step = undone / along.dot(&unit);
        // Where the surfaces touch it is too long, or no number.
        let sensible = step.norm() < chord.norm();
        if !sensible {
            break;
        }
        point -= step;
        // Each step squares the error.
        if step.norm() < 1e-8 * (1.0 + chord.norm()) {
            break;
        }
    }
    let along = a.normal(&point).cross(&b.normal(&point));
    let speed = along.dot(&unit);
    // Where the surfaces touch, the chord is the best there is.
    let velocity = if speed.abs() < 1e-9 {
        chord
    } else {
        along * (chord.norm() / speed)
    };
    (point, velocity * last as f64)
}

/// A turn smaller than this, as a share of what the speed would allow, is none: the path runs along the profile.
const ALONG_PROFILE: f64 = 1e-14;

/// A little more than a quarter turn.
const QUARTER: f64 = 0.5 * PI + 1e-6;

/// Whether the integral along a path is right to 1e-12 without a closer look: that of a polynomial along a straight border,
/// or one of the third degree in sine and cosine along a quarter of a conic on a plane or cylinder, or about the axis.
fn is_low(surface: &Surface, path: &Path) -> bool {
    let conic = match &path.course {
        Course::Straight => return true,
        Course::Conic(conic) if (conic.to - conic.from).abs() <= QUARTER => conic,
        _ => return false,
    };
    let Some(turned) = surface.turned() else {
        return true;
    };
    let slack = 1e-9 * conic.u.norm();
    let level = [conic.u, conic.v]
        .iter()
        .all(|way| way.dot(&turned.axis).abs() <= slack);
    let about_axis = level && turned.split(&conic.center).1.norm() <= slack;
    about_axis || matches!(turned.profile, Profile::Cylinder { .. })
}

/// A path is smooth within each of these equal shares of the way.
fn pieces_of(path: &Path) -> usize {
    match &path.course {
        Course::Meeting(meeting) => meeting.points.len() - 1,
        _ => 1,
    }
}

#[allow(clippy::cast_precision_loss, reason = "a short list")]
fn cut(k: usize, pieces: usize) -> [f64; 2] {
    [k, k + 1].map(|k| k as f64 / pieces as f64)
}

/// Eight places in a range with their weights.
fn places([from, to]: [f64; 2]) -> impl Iterator<Item = (f64, f64)> {
    let (mid, half) = (0.5 * (from + to), 0.5 * (to - from));
    GAUSS
        .into_iter()
        .flat_map(|[place, weight]| [(-place, weight), (place, weight)])
        .map(move |(place, weight)| (mid + half * place, weight * half))
}

/// Gauss and Legendre's four places in a range with their weights (Abramowitz and Stegun, table 25.4).
fn four([from, to]: [f64; 2]) -> [(f64, f64); 4] {
    const INNER: [f64; 2] = [0.339_981_043_584_856_3, 0.652_145_154_862_546_1];
    const OUTER: [f64; 2] = [0.861_136_311_594_052_6, 0.347_854_845_137_453_9];
    let (mid, half) = (0.5 * (from + to), 0.5 * (to - from));
    let place = |side: f64, [place, weight]: [f64; 2]| (mid + side * half * place, half * weight);
    [
        place(-1.0, OUTER),
        place(-1.0, INNER),
        place(1.0, INNER),
        place(1.0, OUTER),
    ]
}

/// Gauss and Legendre's two places in a range with their weights.
fn pair([from, to]: [f64; 2]) -> [(f64, f64); 2] {
    let (mid, half) = (0.5 * (from + to), 0.5 * (to - from));
    [-half, half].map(|side| (mid + side / 3.0_f64.sqrt(), half))
}

/// The coordinates of a patch: one that turns about the axis (or runs along a plane), one along the profile.
enum Chart {
    Plane {
        normal: V3,
        offset: f64,
        right: V3,
        up: V3,
        start: f64,
    },
    Turned {
        turned: Turned,
        /// The point of the profile at which the inner integrals start, as height, or for spheres and tori as an angle.
        start: f64,
        /// Angles on a torus tube are counted from this direction, from the axis and along it.
        reference: [f64; 2],
    },
}

impl Chart {
    fn new(surface: &Surface, border: &Border<'_>) -> Self {
        let ends = || border.iter().flat_map(|(path, _)| path.ends);
        match surface {
            Surface::Plane(plane) => {
                let axis = V3::ith(plane.normal.iamin(), 1.0);
                let right = axis.cross(&plane.normal).normalize();
                let up = plane.normal.cross(&right);
                let start = ends().next().map_or(0.0, |p| up.dot(&p.coords));
                Chart::Plane {
                    normal: plane.normal,
                    offset: plane.offset,
                    right,
                    up,
                    start,
                }
            }
            Surface::Turned(turned) => {
                let from_axis = |p: &P3| turned.split(p).1.norm();
                let nearest = ends().min_by(|a, b| from_axis(a).total_cmp(&from_axis(b)));
                let mut chart = Chart::Turned {
                    turned: *turned,
                    start: 0.0,
                    reference: reference(turned, ends()),
                };
                let at = nearest.map_or(0.0, |p| chart.along_profile(&p));
                if let Chart::Turned { start, .. } = &mut chart {
                    *start = at;
                }
                chart
            }
        }
    }

    /// The coordinate along the profile.
    fn along_profile(&self, point: &P3) -> f64 {
        match self {
            Chart::Plane { up, .. } => up.dot(&point.coords),
            Chart::Turned {
                turned, reference, ..
            } => {
                let (height, out) = turned.split(point);
                match turned.profile {
                    Profile::Cylinder { .. } | Profile::Cone { .. } => height,
                    Profile::Sphere { .. } => angle(height, out.norm()),
                    Profile::Torus { major, .. } => {
                        let [c, s] = *reference;
                        let (x, y) = (out.norm() - major, height);
                        angle(s, c) + angle(c * y - s * x, c * x + s * y)
                    }
                }
            }
        }
    }

    /// How fast the other coordinate changes for a point of the patch that moves.
    fn turn(&self, point: &P3, velocity: &V3) -> f64 {
        match self {
            Chart::Plane { right, .. } => right.dot(velocity),
            Chart::Turned { turned, .. } => {
                let (_, out) = turned.split(point);
                let across = turned.axis.dot(&out.cross(velocity));
                let turn = across / out.norm_squared();
                let turns = across.abs() > ALONG_PROFILE * out.norm() * velocity.norm();
                // On the axis the angle has no speed, and nothing lies between the point and the start.
                if turns && turn.is_finite() { turn } else { 0.0 }
            }
        }
    }

    /// The integral of `p · n` along the profile from the start to a point, per unit of the other coordinate.
    fn flux_below(&self, point: &P3) -> f64 {
        let to = self.along_profile(point);
        match self {
            Chart::Plane { offset, start, .. } => offset * (to - start),
            Chart::Turned { turned, start, .. } => {
                let (_, out) = turned.split(point);
                let out = out.try_normalize(0.0).unwrap_or_else(V3::zeros);
                let origin = [out, turned.axis].map(|unit| unit.dot(&turned.origin.coords));
                flux_up_to(&turned.profile, origin, to)
                    - flux_up_to(&turned.profile, origin, *start)
            }
        }
    }

    /// The sums along the profile from the start to a point, per unit of the other coordinate, as seen from `from`.
    fn below(&self, point: &P3, from: &P3) -> Sums {
        let to = self.along_profile(point);
        let mut sums = Sums::default();
        match self {
            Chart::Plane {
                normal,
                offset,
                up,
                start,
                ..
            } => {
                let height = offset - normal.dot(&from.coords);
                let area = to - start;
                // Half way down to the start.
                let mean = point - from - up * (0.5 * area);
                sums.add(&weighed(height, &mean), area);
            }
            Chart::Turned { turned, start, .. } => {
                let (_, out) = turned.split(point);
                let out = out.try_normalize(0.0).unwrap_or_else(V3::zeros);
                let mut add = |(s, weight): (f64, f64)| {
                    let spot = Spot::of(turned, s);
                    let normal = out * spot.normal[0] + turned.axis * spot.normal[1];
                    let at = turned.origin - from + out * spot.radius + turned.axis * spot.height;
                    sums.add(&weighed(at.dot(&normal), &at), spot.area * weight);
                };
                match turned.profile {
                    // A polynomial of the second degree.
                    Profile::Cylinder { .. } | Profile::Cone { .. } => {
                        pair([*start, to]).into_iter().for_each(add);
                    }
                    // One of the third degree in sine and cosine, over no more than a quarter turn.
                    Profile::Sphere { .. } | Profile::Torus { .. } => {
                        places([*start, to]).for_each(&mut add);
                    }
                }
            }
        }
        sums
    }
}

/// The sums of a unit of area at a place, its plane at `height` above the point from which it is seen.
fn weighed(height: f64, place: &V3) -> Sums {
    Sums {
        area: 1.0,
        flux: height,
        first: place * height,
    }
}

/// The middle of some points on a torus tube, as a direction from its centre.
fn reference(turned: &Turned, points: impl Iterator<Item = P3>) -> [f64; 2] {
    let Profile::Torus { major, .. } = turned.profile else {
        return [1.0, 0.0];
    };
    points.fold([0.0, 0.0], |[x, y], point| {
        let (height, out) = turned.split(&point);
        [x + out.norm() - major, y + height]
    })
}

/// A point of a profile.
struct Spot {
    radius: f64,
    height: f64,
    /// The normal's parts away from the axis and along it.
    normal: [f64; 2],
    /// Area per unit of both coordinates.
    area: f64,
}

impl Spot {
    fn of(turned: &Turned, at: f64) -> Self {
        match turned.profile {
            Profile::Cylinder { radius } => Spot {
                radius,
                height: at,
                normal: [1.0, 0.0],
                area: radius,
            },
            Profile::Cone { radius, slope } => {
                let (radius, stretch) = (radius + slope * at, (1.0 + slope * slope).sqrt());
                Spot {
                    radius,
                    height: at,
                    normal: [1.0 / stretch, -slope / stretch],
                    area: radius * stretch,
                }
            }
            Profile::Sphere { radius } => Spot::on_tube(0.0, radius, at),
            Profile::Torus { major, minor } => Spot::on_tube(major, minor, at),
        }
    }

    fn on_tube(major: f64, minor: f64, at: f64) -> Self {
        let (sin, cos) = sin_cos(at);
        let radius = major + minor * cos;
        Spot {
            radius,
            height: minor * sin,
            normal: [cos, sin],
            area: radius * minor,
        }
    }
}

/// An antiderivative of `p · n` times the area along a profile; the axis passes at `out` from the origin in the direction
/// of the point, and starts at `up` along itself.
fn flux_up_to(profile: &Profile, [out, up]: [f64; 2], at: f64) -> f64 {
    match *profile {
        Profile::Cylinder { radius } => (out + radius) * radius * at,
        Profile::Cone { radius, slope } => {
            (out + radius - slope * up) * at * (radius + 0.5 * slope * at)
        }
        Profile::Sphere { radius } => tube_flux([0.0, radius], [out, up], at),
        Profile::Torus { major, minor } => tube_flux([major, minor], [out, up], at),
    }
}

/// Of `(minor + (out + major) cos t + up sin t) (major + minor cos t) minor`.
fn tube_flux([major, minor]: [f64; 2], [out, up]: [f64; 2], t: f64) -> f64 {
    let (sin, cos) = sin_cos(t);
    let cos_squared = 0.5 * (t + sin * cos);
    let away = (out + major) * (major * sin + minor * cos_squared);
    let along = up * (0.5 * minor * sin * sin - major * cos);
    minor * (away + along + minor * (major * t + minor * sin))
}

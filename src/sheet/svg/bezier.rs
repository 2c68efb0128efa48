//! Circles, ellipses and their arcs, found again in the cubic Béziers that a path is made of.
//!
//! A drawing program writes an arc as a few cubics that start and end on it and touch it there. From the two tangents the
//! conic follows in closed form; whether the cubic is that arc is then measured. What is none becomes points on a curve.

use crate::geom::num::Diagonal;
use crate::geom::num::direction_degrees;
use crate::sheet::Shape;
use crate::sheet::read::MAX_POINTS_PER_LINE;

type Point = [f64; 2];

/// How far a cubic may leave a quarter to stand for it, in radii. The usual one is off by 0.00027 radii, and the error
/// goes with the sixth power of the angle.
const ARC_ERROR: f64 = 5e-4;

/// How far an arc may leave the conic of its neighbour to continue it, in radii.
const SAME_CONIC: f64 = 2e-3;

/// Rounding of coordinates in single precision, relative.
const ROUNDING: f64 = 1e-6;

/// Sine of the angle up to which two pieces run into each other smoothly.
const SMOOTH: f64 = 2e-3;

/// The most points put on one cubic.
const MAX_POINTS_PER_CUBIC: f64 = 500.0;

/// A stretch of a path.
#[derive(Clone, Copy, Debug)]
pub(super) enum Piece {
    /// From a point straight to another.
    Straight([Point; 2]),
    /// A cubic Bézier: start, two control points, end.
    Cubic([Point; 4]),
}

/// Follows a path piece by piece and gathers its shapes.
pub(super) struct Tracer {
    shapes: Vec<Shape>,
    /// Cubics so far that run smoothly into each other.
    run: Vec<[Point; 4]>,
    chord_error: f64,
    curve: bool,
}

impl Tracer {
    /// A pen that puts points on curves so densely that no chord is off by more than `chord_error` sheet units. If
    /// the path is known to be one smooth `curve`, no arcs or straight pieces are looked for in it.
    pub(super) fn new(chord_error: f64, curve: bool) -> Self {
        Tracer {
            shapes: Vec::new(),
            run: Vec::new(),
            chord_error,
            curve,
        }
    }

    /// The pen is lifted: what comes next does not continue what was.
    pub(super) fn lift(&mut self) {
        self.end_run();
    }

    /// The next piece.
    pub(super) fn draw(&mut self, piece: Piece) {
        match piece {
            Piece::Straight([from, to]) => {
                self.end_run();
                self.shapes.push(Shape::Line { from, to });
            }
            Piece::Cubic(cubic) if !self.curve && is_straight(&cubic) => {
                self.draw(Piece::Straight([cubic[0], cubic[3]]))
            }
            Piece::Cubic(cubic) => {
                if !self.curve && self.run.last().is_some_and(|last| !smooth(last, &cubic)) {
                    self.end_run();
                }
                self.run.push(cubic);
            }
        }
    }

    /// All shapes, in the order drawn.
    pub(super) fn finish(mut self) -> Vec<Shape> {
        self.end_run();
        self.shapes
    }

    fn end_run(&mut self) {
        let run = std::mem::take(&mut self.run);
        if run.is_empty() {
            return;
        }
        match arcs(&run).filter(|_| !self.curve) {
            Some(arcs) => self.shapes.extend(arcs.iter().map(Arc::shape)),
            None => self.shapes.extend(curves(&run, self.chord_error)),
        }
    }
}

/// The run as arcs, if all of it is arcs; neighbours on one conic are joined.
fn arcs(run: &[[Point; 4]]) -> Option<Vec<Arc>> {
    let mut arcs: Vec<Arc> = Vec::new();
    for cubic in run {
        match arcs.last_mut() {
            Some(last) if last.continues(cubic) => last.extend(cubic)?,
            _ => arcs.push(Arc::of(cubic)?),
        }
    }
    // Any short piece of any curve is nearly an arc. Arcs are meant where they are large, or where there is only one and it
    // is circular or made of several pieces.
    let alone = arcs.len() == 1;
    let meant = |arc: &Arc| {
        let circle = arc.conic.is_circle();
        arc.half_turn() > if circle { 10.0 } else { 40.0 } || (alone && (circle || arc.pieces > 1))
    };
    arcs.iter().all(meant).then_some(arcs)
}

fn curves(run: &[[Point; 4]], chord_error: f64) -> Vec<Shape> {
    let mut curves = Vec::new();
    let mut points = vec![run[0][0]];
    for cubic in run {
        let new = sampled(cubic, chord_error);
        if points.len() + new.len() > MAX_POINTS_PER_LINE {
            let last = points[points.len() - 1];
            curves.push(Shape::Curve(std::mem::replace(&mut points, vec![last])));
        }
        points.extend(new);
    }
    curves.push(Shape::Curve(points));
    curves
}

/// Points on a cubic, without its start, so dense that no chord leaves it by more than `chord_error`.
///
/// A chord over 1/n of the parameter leaves a curve by at most its second derivative / (8 n²).
fn sampled(cubic: &[Point; 4], chord_error: f64) -> Vec<Point> {
    let [a, b, c, d] = cubic;
    let bend = |p: &Point, q: &Point, r: &Point| {
        length([p[0] - 2.0 * q[0] + r[0], p[1] - 2.0 * q[1] + r[1]])
    };
    let second = 6.0 * bend(a, b, c).max(bend(b, c, d));
    let n = (second / (8.0 * chord_error))
        .sqrt()
        .ceil()
        .clamp(1.0, MAX_POINTS_PER_CUBIC);
    let mut points = Vec::new();
    let mut i = 1.0;
    while i < n {
        points.push(at(cubic, i / n));
        i += 1.0;
    }
    points.push(*d);
    points
}

fn at([a, b, c, d]: &[Point; 4], t: f64) -> Point {
    let s = 1.0 - t;
    [0, 1].map(|i| {
        s * s * s * a[i] + 3.0 * s * s * t * b[i] + 3.0 * s * t * t * c[i] + t * t * t * d[i]
    })
}

fn minus(p: Point, q: Point) -> Point {
    [p[0] - q[0], p[1] - q[1]]
}

fn along(p: Point, v: Point, t: f64) -> Point {
    [p[0] + t * v[0], p[1] + t * v[1]]
}

fn cross(u: Point, v: Point) -> f64 {
    u[0] * v[1] - u[1] * v[0]
}

fn dot(u: Point, v: Point) -> f64 {
    u[0] * v[0] + u[1] * v[1]
}

fn length(v: Point) -> f64 {
    v[0].diagonal(v[1])
}

fn middle(p: Point, q: Point) -> Point {
    [f64::midpoint(p[0], q[0]), f64::midpoint(p[1], q[1])]
}

/// Rounding to be expected of coordinates like these.
fn rounding(cubic: &[Point; 4]) -> f64 {
    let largest = cubic.iter().flatten().fold(0.0, |m: f64, c| m.max(c.abs()));
    ROUNDING * largest
}

/// Whether all four points lie on one straight line, the inner ones between the outer ones.
fn is_straight(cubic: &[Point; 4]) -> bool {
    let [a, b, c, d] = *cubic;
    let chord = minus(d, a);
    let long = length(chord);
    let close = rounding(cubic).max(1e-9);
    if long <= close {
        return [b, c].iter().all(|p| length(minus(*p, a)) <= close);
    }
    [b, c].iter().all(|p| {
        let v = minus(*p, a);
        cross(chord, v).abs() <= close * long
            && (-close..=long + close).contains(&(dot(chord, v) / long))
    })
}

/// The directions in which a cubic starts and ends; zero if it stands still there.
fn ends(cubic: &[Point; 4]) -> [Point; 2] {
    let [a, b, c, d] = *cubic;
    [minus(b, a), minus(d, c)]
}

fn smooth(last: &[Point; 4], next: &[Point; 4]) -> bool {
    let (out, on) = (ends(last)[1], ends(next)[0]);
    let size = length(out) * length(on);
    let slack = SMOOTH * size + rounding(next) * (length(out) + length(on));
    size > 0.0 && dot(out, on) > 0.0 && cross(out, on).abs() <= slack
}

/// The points `center + u cos t + v sin t`: a circle or ellipse by two conjugate half-diameters.
#[derive(Clone, Copy, Debug)]
struct Conic {
    center: Point,
    u: Point,
    v: Point,
}

impl Conic {
    /// The conic through `a` and `d` whose tangents there meet in `meeting`; `half` are cosine and sine of half the angle
    /// it turns by between them.
    fn touching(a: Point, meeting: Point, d: Point, half: [f64; 2]) -> Conic {
        let [cos, sin] = half;
        let chord = minus(d, a);
        let back = minus(meeting, middle(a, d));
        let center = along(middle(a, d), back, -(cos * cos) / (sin * sin));
        Conic {
            center,
            u: minus(meeting, center).map(|c| c * cos),
            v: chord.map(|c| c / (2.0 * sin)),
        }
    }

    fn is_circle(&self) -> bool {
        let (u, v) = (length(self.u), length(self.v));
        (u - v).abs() <= ARC_ERROR * u && dot(self.u, self.v).abs() <= ARC_ERROR * u * v
    }

    /// How far a point is off, in radii.
    fn error(&self, p: Point) -> f64 {
        let area = cross(self.u, self.v);
        let w = minus(p, self.center);
        let t = [cross(w, self.v) / area, cross(self.u, w) / area];
        (length(t) - 1.0).abs()
    }

    /// The largest error along a cubic, less what rounding explains.
    fn error_along(&self, cubic: &[Point; 4]) -> f64 {
        let slack = rounding(cubic) / length(self.u).min(length(self.v));
        let points = [0.0, 0.25, 0.5, 0.75, 1.0].map(|t| self.error(at(cubic, t)));
        points.into_iter().fold(0.0, f64::max) - 4.0 * slack
    }

    /// The principal radii and the direction of the first (Rytz's construction, by the double angle).
    fn axes(&self) -> ([f64; 2], Point) {
        let (u, v) = (self.u, self.v);
        let twice = direction_degrees(dot(u, u) - dot(v, v), 2.0 * dot(u, v));
        let (sin, cos) = crate::geom::num::sin_cos_degrees(twice / 2.0);
        let a = [u[0] * cos + v[0] * sin, u[1] * cos + v[1] * sin];
        let b = [v[0] * cos - u[0] * sin, v[1] * cos - u[1] * sin];
        let (ra, rb) = (length(a), length(b));
        ([ra, rb], [a[0] / ra, a[1] / ra])
    }
}

/// An arc of a conic, made of one or more cubics.
#[derive(Clone, Debug)]
struct Arc {
    conic: Conic,
    /// Cosine and sine of half the angle its largest piece turns by, as seen with the conic made round.
    half: [f64; 2],
    pieces: usize,
    joints: Vec<Point>,
    counter_clockwise: bool,
}

impl Arc {
    /// The arc that a cubic stands for, if it stands for one of at most half a turn.
    fn of(cubic: &[Point; 4]) -> Option<Arc> {
        let [a, _, _, d] = *cubic;
        let [out, on] = ends(cubic);
        let turn = cross(out, on);
        let chord = minus(d, a);
        // How far beyond the control points the tangents meet.
        let [s, t] = [cross(chord, on) / turn, cross(out, chord) / turn];
        if !(s.is_finite() && t.is_finite() && s > 1.0 && t > 1.0) {
            return None;
        }
        let meeting = along(a, out, s);
        let halves = [
            Some(half_of_circle(out, on)),
            half_of_ellipse(2.0 / (s + t)),
        ];
        halves.into_iter().flatten().find_map(|half| {
            let conic = Conic::touching(a, meeting, d, half);
            let quarters = direction_degrees(half[0], half[1]) / 45.0;
            let allowed = ARC_ERROR * quarters.powi(6).min(1.0);
            (conic.error_along(cubic) <= allowed).then(|| Arc {
                conic,
                half,
                pieces: 1,
                joints: vec![a, d],
                counter_clockwise: turn > 0.0,
            })
        })
    }

    /// Half the angle its largest piece turns by, in degrees.
    fn half_turn(&self) -> f64 {
        direction_degrees(self.half[0], self.half[1])
    }

    fn continues(&self, cubic: &[Point; 4]) -> bool {
        let [out, on] = ends(cubic);
        (cross(out, on) > 0.0) == self.counter_clockwise
            && self.conic.error_along(cubic) <= SAME_CONIC
    }

    fn extend(&mut self, cubic: &[Point; 4]) -> Option<()> {
        let next = Arc::of(cubic)?;
        // The larger piece tells the conic better.
        if next.half[0] < self.half[0] {
            self.conic = next.conic;
            self.half = next.half;
        }
        self.pieces += 1;
        self.joints.push(cubic[3]);
        Some(())
    }

    fn is_closed(&self) -> bool {
        let (first, last) = (self.joints[0], self.joints[self.joints.len() - 1]);
        self.pieces > 1 && length(minus(first, last)) <= ARC_ERROR * length(self.conic.u)
    }

    fn shape(&self) -> Shape {
        let mut conic = self.conic;
        if let (true, [a, b, c, d, _]) = (self.is_closed(), self.joints.as_slice()) {
            // Four quarters: their joints give centre and half-diameters better than any one of them.
            conic = Conic {
                center: middle(middle(*a, *c), middle(*b, *d)),
                u: minus(*a, *c).map(|x| x / 2.0),
                v: minus(*b, *d).map(|x| x / 2.0),
            };
        }
        if conic.is_circle() {
            self.circle(&conic)
        } else {
            self.ellipse(&conic)
        }
    }

    fn circle(&self, conic: &Conic) -> Shape {
        let center = conic.center;
        let radius = f64::midpoint(length(conic.u), length(conic.v));
        if self.is_closed() {
            return Shape::Circle { center, radius };
        }
        let [start, end] = self.span(|p| {
            let w = minus(p, center);
            direction_degrees(w[0], w[1])
        });
        Shape::Arc {
            center,
            radius,
            start,
            end,
        }
    }

    fn ellipse(&self, conic: &Conic) -> Shape {
        let center = conic.center;
        let (radii, first) = conic.axes();
        let rotation = direction_degrees(first[0], first[1]);
        if self.is_closed() {
            return Shape::Ellipse {
                center,
                radii,
                rotation,
            };
        }
        let [start, end] = self.span(|p| {
            let w = minus(p, center);
            direction_degrees(dot(first, w) / radii[0], cross(first, w) / radii[1])
        });
        Shape::EllipticalArc {
            center,
            radii,
            rotation,
            start,
            end,
        }
    }

    /// Start and end counter-clockwise, the end after the start.
    fn span(&self, angle: impl Fn(Point) -> f64) -> [f64; 2] {
        let (first, last) = (self.joints[0], self.joints[self.joints.len() - 1]);
        let (start, end) = if self.counter_clockwise {
            (first, last)
        } else {
            (last, first)
        };
        let start = angle(start);
        let turn = (angle(end) - start).rem_euclid(360.0);
        [start, start + turn]
    }
}

/// Cosine and sine of half the angle between two tangents of a circle.
fn half_of_circle(out: Point, on: Point) -> [f64; 2] {
    let (a, b) = (length(out), length(on));
    let sin = length([out[0] / a - on[0] / b, out[1] / a - on[1] / b]) / 2.0;
    [(1.0 - sin * sin).max(0.0).sqrt(), sin]
}

/// Cosine and sine of half the angle an elliptical arc turns by, made round.
///
/// A cubic for an arc of angle θ has control arms of (4/3) tan(θ/4) radii, and its tangents meet after tan(θ/2) radii; the
/// ratio ρ of the two is the same in every affine image and gives tan²(θ/4) = 1 - 1.5 ρ.
fn half_of_ellipse(ratio: f64) -> Option<[f64; 2]> {
    let square = 1.0 - 1.5 * ratio;
    (square > 0.0).then(|| {
        [
            (1.0 - square) / (1.0 + square),
            2.0 * square.sqrt() / (1.0 + square),
        ]
    })
}

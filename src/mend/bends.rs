//! Curved lines that a view may lack, by four signs.
//!
//! Lines that end in the open ask for an arc that goes on smoothly, that runs about a centre drawn already, or that reaches
//! just to the edge of the view. Most parts are symmetric, so a curve may be missing where its mirror image is drawn. A
//! solid of revolution looks the same from all sides, so a curve that one side view shows may be missing in the other. And
//! where the other two views show how a curve runs, they show how it looks in the third.

use super::conics::through;
use super::sides::{Side, centers, is_on_line, middles, place, sides};
use crate::arrange::{Arrangement, Node, Run};
use crate::export::stretch::spans;
use crate::geom::arena::Id;
use crate::geom::carrier::Carrier;
use crate::geom::num::sin_cos;
use crate::geom::{P2, V2};
use crate::sheet::View;
use itertools::Itertools;
use std::f64::consts::PI;

/// Two directions that differ by less (radians) are the same; lines by hand are not more exact.
const SAME_WAY: f64 = 0.02;

/// An arc whose chord leaves its end at a smaller sine than this is a straight line.
const FLAT: f64 = 0.02;

/// An image of a curve is computed in so many points.
const POINTS: u32 = 24;

/// A curve in a view's own millimetres.
#[derive(Clone, Debug)]
pub(super) struct Bend {
    pub(super) carrier: Carrier,
    /// From where to where, in the direction in which the carrier's parameter grows.
    pub(super) ends: [P2; 2],
    /// Whether it is the whole of a closed curve.
    pub(super) whole: bool,
}

impl Bend {
    fn new(carrier: Carrier, ends: [P2; 2]) -> Self {
        Bend {
            carrier,
            ends,
            whole: false,
        }
    }

    /// From where to where it reaches.
    pub(super) fn reach(&self) -> [P2; 2] {
        let points = (0..=POINTS).map(|k| self.point(f64::from(k) / f64::from(POINTS)));
        let start = self.ends[0];
        points.fold([start; 2], |[low, high], p| [low.inf(&p), high.sup(&p)])
    }

    fn is_same(&self, other: &Bend, tolerance: f64) -> bool {
        [0.0, 0.3, 0.7, 1.0].iter().all(|&share| {
            let at = other.point(share);
            let near = |s: f64| (self.point(s) - at).norm() <= tolerance;
            near(share) || near(1.0 - share)
        })
    }

    /// Points all along it, closer to one another where it is no more than points itself.
    fn points(&self) -> Vec<P2> {
        let count = match self.carrier {
            Carrier::Free { .. } => 4 * POINTS,
            _ => POINTS,
        };
        shares(count).map(|share| self.point(share)).collect()
    }

    /// The point at a share of the way.
    fn point(&self, share: f64) -> P2 {
        let [from, to] = self.ends.map(|p| self.carrier.parameter(&p));
        let to = match self.carrier.period() {
            Some(period) if self.whole => from + period,
            _ => self.carrier.onward(from, to),
        };
        self.carrier.point(from + share * (to - from))
    }
}

/// The curved lines that could be added to a view, likeliest first, and how many ends of each are not where drawn line ends in
/// the open.
pub(super) fn missing(
    views: &[Arrangement; 3],
    lacking: View,
    tolerance: f64,
) -> Vec<(usize, Bend)> {
    let sides = sides(views, lacking, tolerance);
    let mut finder = Finder {
        lacking: &views[lacking.index()],
        tolerance,
        found: Vec::new(),
    };
    finder.rests();
    finder.smooth_arcs();
    finder.concentric_arcs();
    finder.mirrored(sides.each_ref().map(Side::reach));
    finder.slanting_mouths(&sides);
    for k in 0..2 {
        finder.turned(k, &sides);
    }
    finder.images(&sides);
    let likely = finder.found.len();
    finder.touching_arcs(sides.each_ref().map(Side::reach));
    // These are guessed from the least.
    for (unlikely, _) in &mut finder.found[likely..] {
        *unlikely += 1;
    }
    finder.likeliest_first()
}

/// Where drawn line ends, and the unit direction in which it would go on.
struct End {
    node: Id<Node>,
    at: P2,
    way: V2,
}

struct Finder<'a> {
    lacking: &'a Arrangement,
    tolerance: f64,
    found: Vec<(usize, Bend)>,
}

impl Finder<'_> {
    fn add(&mut self, bend: Bend) {
        let points = [0.25, 0.5, 0.75].map(|share| bend.point(share));
        let drawn = |p: &P2| is_on_line(self.lacking, p, self.tolerance);
        let same = |other: &(usize, Bend)| bend.is_same(&other.1, self.tolerance);
        if points.iter().all(drawn) || self.found.iter().any(same) {
            return;
        }
        let bare = bend.ends.iter().filter(|end| !self.is_loose(end));
        let unlikely = if bend.whole { 1 } else { bare.count() };
        self.found.push((unlikely, bend));
    }

    fn is_loose(&self, at: &P2) -> bool {
        let near = |node: &Id<Node>| (self.lacking.nodes[*node].at - at).norm() <= self.tolerance;
        let mut nodes = self.lacking.nodes.ids().filter(near);
        nodes.any(|node| self.lacking.is_loose(node))
    }

    /// Where every run that is not closed ends.
    fn ends(&self) -> Vec<End> {
        let open = |run: &&Run| run.nodes.first() != run.nodes.last();
        let runs = self.lacking.runs.iter().filter(open);
        let ends = runs.flat_map(|run| {
            let last = run.nodes.len() - 1;
            [(0, 0, -1.0), (last, last - 1, 1.0)].map(|(node, piece, sign)| {
                let at = self.lacking.nodes[run.nodes[node]].at;
                End {
                    node: run.nodes[node],
                    at,
                    way: self.lacking.direction(run.pieces[piece], &at) * sign,
                }
            })
        });
        ends.collect()
    }

    /// Arcs that go on smoothly where drawn line ends, from one end to another.
    fn smooth_arcs(&mut self) {
        let ends = self.ends();
        for [a, b] in ends.iter().array_combinations() {
            let loose = self.lacking.is_loose(a.node) || self.lacking.is_loose(b.node);
            if loose && let Some(bend) = self.smooth_arc(a, b) {
                self.add(bend);
            }
        }
    }

    /// An arc leaves its chord at the same angle at either end.
    fn smooth_arc(&self, a: &End, b: &End) -> Option<Bend> {
        let reach = b.at - a.at;
        let chord = reach.try_normalize(self.tolerance)?;
        let mirrored = a.way - chord * (2.0 * chord.dot(&a.way));
        let left = V2::new(-a.way.y, a.way.x);
        let rise = left.dot(&chord);
        if (b.way - mirrored).norm() > SAME_WAY || rise.abs() < FLAT {
            return None;
        }
        let radius = 0.5 * reach.norm() / rise.abs();
        let center = a.at + left * (radius * rise.signum());
        let ends = if rise > 0.0 {
            [a.at, b.at]
        } else {
            [b.at, a.at]
        };
        Some(Bend::new(Carrier::Circle { center, radius }, ends))
    }

    /// The nodes at which drawn line ends in the open.
    fn loose(&self) -> Vec<P2> {
        let nodes = self.lacking.nodes.ids();
        let loose = nodes.filter(|&node| self.lacking.is_loose(node));
        loose.map(|node| self.lacking.nodes[node].at).collect()
    }

    /// What lies along a closed curve between one drawn stretch of it and the next.
    fn rests(&mut self) {
        let view = self.lacking;
        for (number, carrier) in view.carriers.iter().enumerate() {
            let Some(period) = carrier.period() else {
                continue;
            };
            let along = |run: &&Run| run.carrier.is_some_and(|c| c as usize == number);
            let spans = view.runs.iter().filter(along).map(|run| {
                let last = run.nodes.len() - 1;
                [0, last].map(|place| view.nodes[run.nodes[place]].at)
            });
            let start = |p: &P2| carrier.parameter(p).rem_euclid(period);
            let spans = spans.sorted_by(|a, b| start(&a[0]).total_cmp(&start(&b[0])));
            let spans = spans.collect_vec();
            for (span, next) in spans.iter().zip(spans.iter().cycle().skip(1)) {
                if (span[1] - next[0]).norm() > self.tolerance {
                    self.add(Bend::new(carrier.clone(), [span[1], next[0]]));
                }
            }
        }
    }

    /// Arcs about the centre of a drawn circle or arc, between two ends in the open.
    fn concentric_arcs(&mut self) {
        let centers = centers(self.lacking);
        for [p, q] in self.loose().into_iter().array_combinations() {
            for center in &centers {
                let [r, s] = [p, q].map(|at| (at - center).norm());
                if (r - s).abs() > self.tolerance || r <= self.tolerance {
                    continue;
                }
                let (center, radius) = (*center, f64::midpoint(r, s));
                for ends in [[p, q], [q, p]] {
                    self.add(Bend::new(Carrier::Circle { center, radius }, ends));
                }
            }
        }
    }

    /// Arcs between two ends in the open that reach just to the edge of the view.
    fn touching_arcs(&mut self, size: [f64; 2]) {
        for [p, q] in self.loose().into_iter().array_combinations() {
            for (axis, far) in size.into_iter().enumerate() {
                for edge in [0.0, far] {
                    for carrier in touching([p, q], axis, edge) {
                        self.touching_arc(carrier, [p, q], axis, edge);
                    }
                }
            }
        }
    }

    fn touching_arc(&mut self, carrier: Carrier, [p, q]: [P2; 2], axis: usize, edge: f64) {
        let Carrier::Circle { mut center, .. } = carrier else {
            return;
        };
        center[axis] = edge;
        let [from, at] = [p, center].map(|p| carrier.parameter(&p));
        let to = carrier.onward(from, carrier.parameter(&q));
        let ends = if carrier.onward(from, at) < to {
            [p, q]
        } else {
            [q, p]
        };
        self.add(Bend::new(carrier, ends));
    }

    /// The mirror images of what is drawn, about the middle of the view and about the centres in it.
    fn mirrored(&mut self, size: [f64; 2]) {
        let drawn = drawn(self.lacking);
        for axis in 0..2 {
            let middles = middles(self.lacking, axis, size[axis], self.tolerance);
            for (middle, bend) in middles.iter().cartesian_product(&drawn) {
                let mut points = bend.points();
                for point in &mut points {
                    point[axis] = 2.0 * middle - point[axis];
                }
                self.add_through(&points);
            }
        }
    }

    /// Ellipses through two ends in the open that a view beside shows edge-on: where a slanting hole or bar ends.
    fn slanting_mouths(&mut self, sides: &[Side<'_>; 2]) {
        let loose = self.loose();
        for (k, side) in sides.iter().enumerate() {
            for [p, q] in side.slope_ends().into_iter().array_combinations() {
                let wide = 0.5 * (p[1] - q[1]).abs();
                if (p[0] - q[0]).abs() > self.tolerance || wide <= self.tolerance {
                    continue;
                }
                let middle = f64::midpoint(p[1], q[1]);
                for [a, b] in loose.iter().array_combinations() {
                    let is_middle = |end: &P2| (end[k] - middle).abs() <= self.tolerance;
                    let high = 0.5 * (a[1 - k] - b[1 - k]).abs();
                    if is_middle(a) && is_middle(b) && high > self.tolerance {
                        self.add(whole_ellipse(nalgebra::center(a, b), k, [wide, high]));
                    }
                }
            }
        }
    }

    /// Curves of one side view as the other side view of a solid of revolution shows them; side `k` sees it end-on.
    fn turned(&mut self, k: usize, sides: &[Side<'_>; 2]) {
        let (end_on, side) = (&sides[k], &sides[1 - k]);
        let centers = centers(end_on.view);
        for bend in drawn(side.view) {
            let points = bend.points();
            for center in &centers {
                let middle = end_on.turned(center);
                for sign in [1.0, -1.0] {
                    let image = points.iter().map(|p| {
                        let [along, up] = side.turned(p);
                        place(k, middle[1] + sign * (along - middle[0]), up)
                    });
                    self.add_through(&image.collect_vec());
                }
            }
        }
    }

    /// Curves of which the other two views show how they run.
    fn images(&mut self, [a, b]: &[Side<'_>; 2]) {
        let mut images = Vec::new();
        for first in &a.courses {
            for second in &b.courses {
                let span = [
                    first.span[0].max(second.span[0]),
                    first.span[1].min(second.span[1]),
                ];
                if !(first.curved || second.curved) || span[1] - span[0] <= self.tolerance {
                    continue;
                }
                let at = |share: f64| {
                    let along = span[0] + share * (span[1] - span[0]);
                    P2::new(a.at(first, along), b.at(second, along))
                };
                let image: Vec<P2> = shares(POINTS).map(at).collect();
                if !is_straight(&image, self.tolerance) {
                    images.push(([first.run, second.run], image));
                }
            }
        }
        // Only what two views show as one run each is one curve.
        images.sort_by_key(|(runs, _)| *runs);
        let mut halves = Vec::new();
        for same in images.chunk_by(|a, b| a.0 == b.0) {
            let pieces: Vec<Vec<P2>> = same.iter().map(|(_, image)| image.clone()).collect();
            for image in joined(pieces.clone(), |a, b| self.chained(a, b)) {
                self.add_through(&image);
            }
            halves.extend(joined(pieces, |a, b| {
                self.going_on(a, b).or_else(|| self.going_on(b, a))
            }));
        }
        for image in &halves {
            self.add_through(image);
        }
        // Where the curve turns back, one view may show in two types of line what another shows as one.
        for [a, b] in halves.iter().array_combinations() {
            if let Some(image) = self.chained(a, b) {
                self.add_through(&image);
            }
        }
    }

    /// One image after another, either way round, if they go on smoothly.
    fn chained(&self, a: &[P2], b: &[P2]) -> Option<Vec<P2>> {
        let turned = |points: &[P2]| points.iter().rev().copied().collect_vec();
        let (a, b) = ([a.to_vec(), turned(a)], [b.to_vec(), turned(b)]);
        let mut both = a.iter().cartesian_product(&b);
        both.find_map(|(a, b)| self.going_on(a, b))
    }

    /// One image after another, if they go on smoothly over a place where the view has no node.
    fn going_on(&self, a: &[P2], b: &[P2]) -> Option<Vec<P2>> {
        let (end, start) = (a[a.len() - 1], b[0]);
        let ways = [end - a[a.len() - 2], b[1] - start].map(|way| way.normalize());
        let near = |node: &Node| (node.at - end).norm() <= self.tolerance;
        let smooth = (end - start).norm() <= self.tolerance && ways[0].dot(&ways[1]) > 0.9;
        (smooth && !self.lacking.nodes.iter().any(near))
            .then(|| a.iter().chain(&b[1..]).copied().collect())
    }

    fn add_through(&mut self, points: &[P2]) {
        self.add(through(points, self.tolerance));
    }

    fn likeliest_first(mut self) -> Vec<(usize, Bend)> {
        self.found.sort_by_key(|(unlikely, _)| *unlikely);
        self.found
    }
}

/// An ellipse with its half axes along the given one of the view's axes and along the other.
fn whole_ellipse(center: P2, axis: usize, [along, across]: [f64; 2]) -> Bend {
    let half = [0, 1].map(|k| if k == axis { along } else { across });
    let carrier = Carrier::Ellipse {
        center,
        axes: [V2::x() * half[0], V2::y() * half[1]],
    };
    Bend {
        ends: [carrier.point(0.0); 2],
        carrier,
        whole: true,
    }
}

/// The curves that a view shows, each as far as it is of one type.
fn drawn(view: &Arrangement) -> Vec<Bend> {
    let mut bends = Vec::new();
    for run in view.runs.iter() {
        let Some(carrier) = run.carrier else { continue };
        let count = run.pieces.len();
        let at = |place: usize| view.nodes[run.nodes[place]].at;
        for (from, to) in spans(run, |i| Some(view.pieces[run.pieces[i]].hidden)) {
            bends.push(Bend {
                carrier: view.carriers[carrier as usize].clone(),
                ends: [at(from % count), at((to - 1) % count + 1)],
                whole: to - from == count && run.nodes[0] == run.nodes[count],
            });
        }
    }
    bends
}

/// Shares of a way from 0 to 1, closer to one another near its ends, where an image may turn back.
fn shares(count: u32) -> impl Iterator<Item = f64> {
    (0..=count).map(move |k| 0.5 - 0.5 * sin_cos(PI * f64::from(k) / f64::from(count)).1)
}

/// Images put together as far as two of them can be.
fn joined(
    mut images: Vec<Vec<P2>>,
    together: impl Fn(&[P2], &[P2]) -> Option<Vec<P2>>,
) -> Vec<Vec<P2>> {
    let mut i = 0;
    while i < images.len() {
        let next = (i + 1..images.len())
            .find_map(|j| together(&images[i], &images[j]).map(|chain| (j, chain)));
        match next {
            Some((j, chain)) => {
                images[i] = chain;
                images.remove(j);
            }
            None => i += 1,
        }
    }
    images
}

fn is_straight(points: &[P2], tolerance: f64) -> bool {
    let [start, end] = [points[0], points[points.len() - 1]];
    let Some(way) = (end - start).try_normalize(tolerance) else {
        return true;
    };
    let off = |p: &P2| way.perp(&(p - start)).abs();
    points.iter().all(|p| off(p) <= tolerance)
}

/// The circles through two points that touch a line across an axis.
///
/// Their centres lie on the perpendicular bisector, at `t` from the middle of the points: as far from both points as from the line, which is an equation of the
/// second degree in `t`.
fn touching([p, q]: [P2; 2], axis: usize, edge: f64) -> Vec<Carrier> {
    let (middle, half) = (nalgebra::center(&p, &q), 0.5 * (q - p).norm());
    let Some(way) = (q - p).try_normalize(0.0) else {
        return Vec::new();
    };
    let across = V2::new(-way.y, way.x);
    // half² + t² = (off + t · lean)²
    let (off, lean) = (middle[axis] - edge, across[axis]);
    let [a, b, c] = [
        1.0 - lean * lean,
        -2.0 * off * lean,
        half * half - off * off,
    ];
    let roots = if a.abs() < 1e-9 {
        vec![-c / b]
    } else {
        let root = (b * b - 4.0 * a * c).max(0.0).sqrt();
        vec![(-b - root) / (2.0 * a), (-b + root) / (2.0 * a)]
    };
    let centers = roots
        .into_iter()
        .filter(|t| t.is_finite())
        .map(|t| middle + across * t);
    let circles = centers.map(|center| Carrier::Circle {
        center,
        radius: (center - p).norm(),
    });
    circles.collect()
}

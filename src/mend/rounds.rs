//! Straight lines that curves support: what a view may lack beside a curve that another view shows.
//!
//! The contour of a surface that another view sees end-on stands where that view's curve turns back. A curve in a plane seen
//! edge-on, and one of two curves that go equally far, look straight. A solid of revolution looks the same from all sides:
//! a slanting contour that one side view shows the other one must show too.

use super::ghosts::Stroke;
use crate::arrange::{Arrangement, Node, Piece, Slope};
use crate::geom::P2;
use crate::geom::arena::Id;
use crate::geom::axis::Axes;
use crate::geom::carrier::Carrier;
use crate::geom::tolerance::Tolerance;
use crate::sheet::View;

/// Halvings on the way to the place of a point on a curve.
const HALVINGS: usize = 50;

/// More strokes than this in a view are not drawn in, so that they do not crowd the search.
const MOST_STROKES: usize = 600;

/// The straight lines that could be added to each view, by [`View::index`]; their ends get places on the axes.
pub(super) fn straight(
    views: &[Arrangement; 3],
    axes: &mut Axes,
    tolerance: Tolerance,
) -> [Vec<Stroke>; 3] {
    View::ALL.map(|view| {
        let mut finder = Finder::new(views, view, tolerance.mm());
        finder.contours();
        finder.images();
        finder.cones();
        finder.strokes(axes)
    })
}

/// A piece of a view as a function of the axis shared with another view.
#[derive(Clone, Copy, Debug)]
struct Course {
    piece: Id<Piece>,
    /// From where to where it goes along the shared axis.
    span: [f64; 2],
    /// Where it is across at these ends.
    across: [f64; 2],
    curved: bool,
}

/// A view that supports lines, with the shared axis first.
struct Side<'a> {
    view: &'a Arrangement,
    /// Which of the view's axes is the shared one.
    along: usize,
    courses: Vec<Course>,
}

impl<'a> Side<'a> {
    fn new(view: &'a Arrangement, shared: usize, tolerance: f64) -> Self {
        let along = usize::from(view.view.axes()[0] != shared);
        let mut side = Side {
            view,
            along,
            courses: Vec::new(),
        };
        for (id, piece) in view.pieces.enumerate() {
            let mut ends = piece.ends.map(|n| side.turned(&view.nodes[n].at));
            ends.sort_by(|a, b| a[0].total_cmp(&b[0]));
            if ends[1][0] - ends[0][0] > tolerance {
                side.courses.push(Course {
                    piece: id,
                    span: [ends[0][0], ends[1][0]],
                    across: [ends[0][1], ends[1][1]],
                    curved: piece.carrier.is_some(),
                });
            }
        }
        side
    }

    /// A point as its coordinates along the shared axis and across.
    fn turned(&self, at: &P2) -> [f64; 2] {
        [at[self.along], at[1 - self.along]]
    }

    /// Where a course is across, at a place along the shared axis.
    fn at(&self, course: &Course, along: f64) -> f64 {
        let [from, to] = course.span;
        let piece = &self.view.pieces[course.piece];
        let Some(carrier) = piece.carrier.map(|c| &self.view.carriers[c as usize]) else {
            let share = ((along - from) / (to - from)).clamp(0.0, 1.0);
            return course.across[0] + share * (course.across[1] - course.across[0]);
        };
        if along <= from {
            return course.across[0];
        }
        if along >= to {
            return course.across[1];
        }
        let [a, b] = piece.ends.map(|n| self.view.nodes[n].at);
        let rising = b[self.along] > a[self.along];
        let start = carrier.parameter(&a);
        let mut bounds = [start, carrier.onward(start, carrier.parameter(&b))];
        for _ in 0..HALVINGS {
            let middle = f64::midpoint(bounds[0], bounds[1]);
            let before = (carrier.point(middle)[self.along] < along) == rising;
            bounds[usize::from(!before)] = middle;
        }
        carrier.point(bounds[0])[1 - self.along]
    }

    /// Where drawn line crosses, touches or runs at a place along the shared axis.
    fn heights(&self, along: f64, tolerance: f64) -> Vec<f64> {
        let over = self
            .courses
            .iter()
            .filter(|c| c.span[0] - tolerance <= along && along <= c.span[1] + tolerance);
        let mut heights: Vec<f64> = over.map(|c| self.at(c, along)).collect();
        let nodes = self.view.nodes.iter().map(|n| self.turned(&n.at));
        heights.extend(
            nodes
                .filter(|n| (n[0] - along).abs() <= tolerance)
                .map(|n| n[1]),
        );
        heights.sort_unstable_by(f64::total_cmp);
        heights.dedup_by(|a, b| (*a - *b).abs() <= tolerance);
        heights
    }

    /// The nodes at which a curve turns back from its farthest place across.
    fn turns(&self) -> Vec<[f64; 2]> {
        let at = |n: Id<Node>| self.turned(&self.view.nodes[n].at);
        let mut found = Vec::new();
        for run in self.view.runs.iter().filter(|r| r.carrier.is_some()) {
            let closed = run.nodes.first() == run.nodes.last();
            let count = run.pieces.len();
            for i in 0..count {
                let next = match i + 1 {
                    n if n < count => n + 1,
                    _ if closed => 1,
                    _ => continue,
                };
                let [a, b, c] = [run.nodes[i], run.nodes[i + 1], run.nodes[next]].map(at);
                if (b[1] - a[1]) * (c[1] - b[1]) < 0.0 {
                    found.push(b);
                }
            }
        }
        found
    }

    /// The centres and radii of its circles.
    fn circles(&self) -> Vec<([f64; 2], f64)> {
        let circle = |c: &Carrier| match c {
            Carrier::Circle { center, radius } => Some((self.turned(center), *radius)),
            _ => None,
        };
        self.view.carriers.iter().filter_map(circle).collect()
    }
}

/// Looks for the lines that one view may lack.
struct Finder<'a> {
    lacking: &'a Arrangement,
    /// The other views: the one that shows the lacking view's right axis, and the one that shows its up axis.
    sides: [Side<'a>; 2],
    tolerance: f64,
    found: Vec<[P2; 2]>,
}

impl<'a> Finder<'a> {
    fn new(views: &'a [Arrangement; 3], lacking: View, tolerance: f64) -> Self {
        let shared = lacking.depth_axis();
        let sides = lacking.axes().map(|axis| {
            let shows = |v: &&Arrangement| v.view != lacking && v.view.axes().contains(&axis);
            let view = views
                .iter()
                .find(shows)
                .expect("every axis is in two views");
            Side::new(view, shared, tolerance)
        });
        Finder {
            lacking: &views[lacking.index()],
            sides,
            tolerance,
            found: Vec::new(),
        }
    }

    /// A point of the lacking view from what a side and the other side show across.
    fn place(&self, side: usize, across: f64, other: f64) -> P2 {
        match side {
            0 => P2::new(across, other),
            _ => P2::new(other, across),
        }
    }

    fn add(&mut self, ends: [P2; 2]) {
        if (ends[1] - ends[0]).norm() > self.tolerance && !self.is_drawn(&ends) {
            self.found.push(ends);
        }
    }

    /// Contours of surfaces that one of the other views sees end-on.
    fn contours(&mut self) {
        for k in 0..2 {
            for [along, across] in self.sides[k].turns() {
                let heights = self.sides[1 - k].heights(along, self.tolerance);
                let points = heights.into_iter().map(|h| self.place(k, across, h));
                let shown = |p: &P2| self.is_on_line(p);
                // A contour ends only where the view shows something.
                let points: Vec<P2> = points.collect();
                let last = points.len().saturating_sub(1);
                let ends = points.iter().enumerate();
                let ends: Vec<P2> = ends
                    .filter(|(i, p)| *i == 0 || *i == last || shown(p))
                    .map(|(_, p)| *p)
                    .collect();
                ends.windows(2)
                    .for_each(|pair| self.add([pair[0], pair[1]]));
            }
        }
    }

    /// Curves of which two views show how they run, if they look straight.
    fn images(&mut self) {
        let [a, b] = &self.sides;
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
                let ends = [at(0.0), at(1.0)];
                let way = ends[1] - ends[0];
                let off = |p: P2| way.perp(&(p - ends[0])).abs() / way.norm();
                let straight = [0.5, 0.2, 0.8]
                    .into_iter()
                    .all(|share| off(at(share)) <= self.tolerance);
                if way.norm() > self.tolerance && straight {
                    images.push(ends);
                }
            }
        }
        let images = joined(images, self.tolerance, |p| {
            self.lacking
                .nodes
                .iter()
                .any(|n| (n.at - p).norm() <= self.tolerance)
        });
        images.into_iter().for_each(|ends| self.add(ends));
    }

    /// Slanting contours of solids of revolution, as the other side shows them.
    fn cones(&mut self) {
        let mut found = Vec::new();
        for k in 0..2 {
            let (end_on, side) = (&self.sides[k], &self.sides[1 - k]);
            let circles = end_on.circles();
            for run in side.view.runs.iter().filter(|r| r.slope == Slope::Sloping) {
                let ends = [run.nodes[0], run.nodes[run.nodes.len() - 1]];
                let [p, q] = ends.map(|n| side.turned(&side.view.nodes[n].at));
                for &(center, radius) in &circles {
                    let out = [p[0] - center[0], q[0] - center[0]];
                    if out[0] * out[1] < 0.0
                        || out
                            .iter()
                            .all(|o| (o.abs() - radius).abs() > self.tolerance)
                    {
                        continue;
                    }
                    found.extend([1.0, -1.0].map(|sign| {
                        [
                            self.place(k, center[1] + sign * out[0], p[1]),
                            self.place(k, center[1] + sign * out[1], q[1]),
                        ]
                    }));
                }
            }
        }
        found.into_iter().for_each(|ends| self.add(ends));
    }

    /// Whether a straight drawn run goes from one point to the other, or on beyond them.
    fn is_drawn(&self, ends: &[P2; 2]) -> bool {
        let mut straight = self.lacking.runs.iter().filter(|r| r.carrier.is_none());
        straight.any(|run| {
            let reach = [run.nodes[0], run.nodes[run.nodes.len() - 1]];
            let reach = reach.map(|n| self.lacking.nodes[n].at);
            ends.iter().all(|p| is_between(p, &reach, self.tolerance))
        })
    }

    /// Whether drawn line passes a point of the lacking view.
    fn is_on_line(&self, at: &P2) -> bool {
        self.lacking.pieces.iter().any(|piece| {
            let ends = piece.ends.map(|n| self.lacking.nodes[n].at);
            match piece.carrier.map(|c| &self.lacking.carriers[c as usize]) {
                None => is_between(at, &ends, self.tolerance),
                Some(carrier) => {
                    let (low, high) = (ends[0].inf(&ends[1]), ends[0].sup(&ends[1]));
                    let inside = |k: usize| {
                        low[k] - self.tolerance <= at[k] && at[k] <= high[k] + self.tolerance
                    };
                    inside(0) && inside(1) && carrier.distance(at) <= self.tolerance
                }
            }
        })
    }

    /// What was found as places on the axes.
    fn strokes(self, axes: &mut Axes) -> Vec<Stroke> {
        let [right, up] = self.lacking.view.axes();
        let place = |axes: &mut Axes, p: &P2| [axes.place(right, p.x), axes.place(up, p.y)];
        let mut strokes: Vec<Stroke> = self
            .found
            .iter()
            .map(|[p, q]| {
                let ends = [place(axes, p), place(axes, q)];
                [ends[0].min(ends[1]), ends[0].max(ends[1])]
            })
            .collect();
        strokes.sort_unstable();
        strokes.dedup();
        strokes.retain(|[p, q]| p != q);
        strokes.truncate(MOST_STROKES);
        strokes
    }
}

/// Whether a point lies between two others, or near them.
fn is_between(at: &P2, ends: &[P2; 2], tolerance: f64) -> bool {
    let along = ends[1] - ends[0];
    let length = along.norm();
    let (off, forth) = (
        along.perp(&(at - ends[0])) / length,
        along.dot(&(at - ends[0])) / length,
    );
    off.abs() <= tolerance && -tolerance <= forth && forth <= length + tolerance
}

/// Lines that go on straight over a place where nothing else ends are one.
fn joined(mut lines: Vec<[P2; 2]>, tolerance: f64, kept: impl Fn(P2) -> bool) -> Vec<[P2; 2]> {
    let same = |a: &P2, b: &P2| (a - b).norm() <= tolerance;
    for line in &mut lines {
        let [a, b] = *line;
        if (b.x, b.y) < (a.x, a.y) {
            *line = [b, a];
        }
    }
    lines.sort_by(|a, b| {
        let key = |l: &[P2; 2]| [l[0].x, l[0].y, l[1].x, l[1].y];
        let (a, b) = (key(a), key(b));
        (0..4).fold(std::cmp::Ordering::Equal, |o, k| {
            o.then(a[k].total_cmp(&b[k]))
        })
    });
    lines.dedup_by(|a, b| same(&a[0], &b[0]) && same(&a[1], &b[1]));
    let mut i = 0;
    while i < lines.len() {
        let [start, end] = lines[i];
        let goes_on = |l: &[P2; 2]| {
            let way = (end - start).normalize();
            same(&l[0], &end) && way.perp(&(l[1] - start)).abs() <= tolerance
        };
        let next = (i + 1..lines.len()).find(|&j| goes_on(&lines[j]));
        match next.filter(|_| !kept(end)) {
            Some(j) => {
                lines[i][1] = lines[j][1];
                lines.remove(j);
            }
            None => i += 1,
        }
    }
    lines
}

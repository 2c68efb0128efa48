//! Straight lines that curves support: what a view may lack beside a curve that another view shows.
//!
//! The contour of a surface that another view sees end-on stands where that view's curve turns back. A curve in a plane seen
//! edge-on, and one of two curves that go equally far, look straight. A solid of revolution looks the same from all sides:
//! a slanting contour that one side view shows the other one must show too.

use super::ghosts::Stroke;
use super::sides::{Side, is_between, is_on_line, place, sides};
use crate::arrange::{Arrangement, Slope};
use crate::geom::axis::Axes;
use crate::geom::tolerance::Tolerance;
use crate::geom::{P2, V2};
use crate::sheet::View;
use itertools::Itertools;

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
        finder.slanting_contours();
        finder.images();
        finder.cones();
        finder.strokes(axes)
    })
}

/// Looks for the lines that one view may lack.
struct Finder<'a> {
    lacking: &'a Arrangement,
    sides: [Side<'a>; 2],
    tolerance: f64,
    found: Vec<[P2; 2]>,
}

impl<'a> Finder<'a> {
    fn new(views: &'a [Arrangement; 3], lacking: View, tolerance: f64) -> Self {
        Finder {
            lacking: &views[lacking.index()],
            sides: sides(views, lacking, tolerance),
            tolerance,
            found: Vec::new(),
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
                let points = heights.into_iter().map(|h| place(k, across, h));
                let shown = |p: &P2| is_on_line(self.lacking, p, self.tolerance);
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

    /// Contours that slope as a drawn line does: the two of a cylinder with an inclined axis are parallel.
    fn slanting_contours(&mut self) {
        let mut places = Vec::new();
        for k in 0..2 {
            for [along, across] in self.sides[k].turns() {
                let heights = self.sides[1 - k].heights(along, self.tolerance);
                places.extend(heights.into_iter().map(|h| place(k, across, h)));
            }
        }
        let sloping = self
            .lacking
            .runs
            .iter()
            .filter(|r| r.slope == Slope::Sloping);
        let ways: Vec<V2> = sloping
            .filter_map(|run| {
                let ends = [run.nodes[0], run.nodes[run.nodes.len() - 1]];
                let [a, b] = ends.map(|n| self.lacking.nodes[n].at);
                (b - a).try_normalize(self.tolerance)
            })
            .collect();
        for [p, q] in places.into_iter().array_combinations() {
            let parallel = |way: &V2| way.perp(&(q - p)).abs() <= self.tolerance;
            if ways.iter().any(parallel) && is_on_line(self.lacking, &p, self.tolerance) {
                self.add([p, q]);
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
                    images.push(([first.run, second.run], ends));
                }
            }
        }
        let kept = |p: P2| {
            let mut nodes = self.lacking.nodes.iter();
            nodes.any(|n| (n.at - p).norm() <= self.tolerance)
        };
        // Only what two views show as one run each is one line.
        images.sort_by_key(|(runs, _)| *runs);
        let images: Vec<[P2; 2]> = images
            .chunk_by(|a, b| a.0 == b.0)
            .map(|same| same.iter().map(|(_, ends)| *ends).collect())
            .flat_map(|lines| joined(lines, self.tolerance, kept))
            .collect();
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
                            place(k, center[1] + sign * out[0], p[1]),
                            place(k, center[1] + sign * out[1], q[1]),
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

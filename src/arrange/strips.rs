//! Strips: the longest straight connected stretches of drawn line in a view, before anything is cut.
//!
//! Lines that overlap, continue one another or are drawn twice become one strip; a gap starts another.

use super::Slope;
use crate::geom::crowded::CrowdedError;
use crate::geom::pairs::{Bounds, overlapping};
use crate::geom::tolerance::Tolerance;
use crate::geom::{Few, P2, V2};
use crate::sheet::{Drawing, Segment, View};
use petgraph::unionfind::UnionFind;
use smallvec::smallvec;

/// A straight connected stretch of drawn line.
#[derive(Clone, Debug)]
pub(super) struct Strip {
    pub(super) slope: Slope,
    /// Its ends as axis places, ascending along the right axis (along the up axis if upright).
    pub(super) ends: [[u32; 2]; 2],
    /// The same in millimetres.
    pub(super) at: [P2; 2],
    /// The unit direction from the first end to the second, and how far apart they are in millimetres.
    pub(super) direction: V2,
    pub(super) length: f64,
    /// The segments it is made of, as places in the view's list.
    pub(super) segments: Few<u32, 2>,
}

impl Strip {
    /// The box around it, larger by the tolerance on all sides.
    pub(super) fn bounds(&self, tolerance: Tolerance) -> Bounds<2> {
        let [a, b] = self.at;
        let margin = P2::new(tolerance.mm(), tolerance.mm()).coords;
        let (lo, hi) = (a.inf(&b) - margin, a.sup(&b) + margin);
        [[lo.x, lo.y], [hi.x, hi.y]]
    }

    /// Distance of `point` from the strip's line, and its place along it from the first end, both in millimetres.
    pub(super) fn off_and_along(&self, point: &P2) -> (f64, f64) {
        let reach = point - self.at[0];
        (
            self.direction.perp(&reach).abs(),
            self.direction.dot(&reach),
        )
    }

    fn new(drawing: &Drawing, view: View, slope: Slope, ends: [[u32; 2]; 2], segment: u32) -> Self {
        let mut strip = Strip {
            slope,
            ends,
            at: [P2::origin(); 2],
            direction: V2::zeros(),
            length: 0.0,
            segments: smallvec![segment],
        };
        strip.measure(drawing, view);
        strip
    }

    /// Brings positions, direction and length in line with the ends.
    fn measure(&mut self, drawing: &Drawing, view: View) {
        self.at = self.ends.map(|end| drawing.at(view, end).into());
        let along = self.at[1] - self.at[0];
        self.length = along.norm();
        self.direction = along / self.length;
    }
}

/// All strips of a view, in a fixed order.
///
/// # Errors
/// If too many sloping lines lie near one another.
pub(super) fn strips(drawing: &Drawing, view: View) -> Result<Vec<Strip>, CrowdedError> {
    let segments = &drawing.views[view.index()];
    let mut strips = Vec::new();
    strips.extend(straight(drawing, view, segments, Slope::Level));
    strips.extend(straight(drawing, view, segments, Slope::Upright));
    strips.extend(sloping(drawing, view, segments)?);
    Ok(strips)
}

fn slope(segment: &Segment) -> Slope {
    if segment.from[1] == segment.to[1] {
        Slope::Level
    } else if segment.from[0] == segment.to[0] {
        Slope::Upright
    } else {
        Slope::Sloping
    }
}

/// Level or upright strips: the places on the axes decide, no tolerance is needed.
fn straight(drawing: &Drawing, view: View, segments: &[Segment], which: Slope) -> Vec<Strip> {
    let along = usize::from(which == Slope::Upright);
    let mut sorted: Vec<(u32, u32, u32, u32)> = (0..)
        .zip(segments)
        .filter(|(_, s)| slope(s) == which)
        .map(|(i, s)| {
            let (a, b) = (s.from[along], s.to[along]);
            (s.from[1 - along], a.min(b), a.max(b), i)
        })
        .collect();
    sorted.sort_unstable();

    let mut strips: Vec<Strip> = Vec::new();
    for (across, lo, hi, segment) in sorted {
        let end = |place| match which {
            Slope::Upright => [across, place],
            _ => [place, across],
        };
        match strips.last_mut() {
            Some(last) if last.ends[0][1 - along] == across && last.ends[1][along] >= lo => {
                last.ends[1][along] = last.ends[1][along].max(hi);
                last.segments.push(segment);
            }
            _ => strips.push(Strip::new(
                drawing,
                view,
                which,
                [end(lo), end(hi)],
                segment,
            )),
        }
    }
    for strip in strips.iter_mut().filter(|s| s.segments.len() > 1) {
        strip.measure(drawing, view);
    }
    strips
}

/// Sloping strips: segments that lie on one line within the tolerance and overlap or touch.
fn sloping(
    drawing: &Drawing,
    view: View,
    segments: &[Segment],
) -> Result<Vec<Strip>, CrowdedError> {
    let single: Vec<Strip> = (0..)
        .zip(segments)
        .filter(|(_, s)| slope(s) == Slope::Sloping)
        .map(|(i, s)| {
            let mut ends = [s.from, s.to];
            ends.sort_unstable();
            Strip::new(drawing, view, Slope::Sloping, ends, i)
        })
        .collect();
    if single.is_empty() {
        return Ok(single);
    }
    let boxes: Vec<_> = single.iter().map(|s| s.bounds(drawing.tolerance)).collect();
    let mut groups = UnionFind::<usize>::new(single.len());
    for (i, j) in overlapping(&boxes)? {
        let (i, j) = (i as usize, j as usize);
        if continues(&single[i], &single[j], drawing.tolerance) {
            groups.union(i, j);
        }
    }
    let mut strips: Vec<Strip> = Vec::new();
    let mut strip_of = vec![usize::MAX; single.len()];
    for (i, strip) in single.into_iter().enumerate() {
        let group = groups.find(i);
        if strip_of[group] == usize::MAX {
            strip_of[group] = strips.len();
            strips.push(strip);
        } else {
            join(&mut strips[strip_of[group]], strip);
            strips[strip_of[group]].measure(drawing, view);
        }
    }
    Ok(strips)
}

/// Whether two sloping strips lie on one line and overlap or touch.
///
/// The line is the one between their farthest ends: where they join, an end may be off by the tolerance, and a line drawn
/// on from there would be off by more.
fn continues(a: &Strip, b: &Strip, tolerance: Tolerance) -> bool {
    let (long, short) = if a.length >= b.length { (a, b) } else { (b, a) };
    let places = short.at.map(|end| long.off_and_along(&end).1);
    let [near, far] = [0, 1].map(|k| if places[0] < places[1] { k } else { 1 - k });
    if places[far] < -tolerance.mm() || places[near] > long.length + tolerance.mm() {
        return false;
    }
    let from = if places[near] < 0.0 {
        short.at[near]
    } else {
        long.at[0]
    };
    let to = if places[far] > long.length {
        short.at[far]
    } else {
        long.at[1]
    };
    let along = (to - from).normalize();
    let off = |point: &P2| along.perp(&(point - from)).abs();
    a.at.iter()
        .chain(&b.at)
        .all(|point| off(point) <= tolerance.mm())
}

fn join(strip: &mut Strip, other: Strip) {
    let mut reach = [0.0, strip.length];
    for (end, at) in other.ends.into_iter().zip(other.at) {
        let (_, along) = strip.off_and_along(&at);
        if along < reach[0] {
            (reach[0], strip.ends[0]) = (along, end);
        } else if along > reach[1] {
            (reach[1], strip.ends[1]) = (along, end);
        }
    }
    strip.segments.extend(other.segments);
}

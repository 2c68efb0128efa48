//! A face laid flat, to ask where points and lines lie in it.
//!
//! The border of a large face is sorted into strips, so that a question looks only at the part of the border that is
//! level with it.

use super::{Face, Polyhedron};
use crate::geom::{P3, V2, V3};

/// Border steps per strip, about.
const PER_STRIP: usize = 16;

/// Where a point lies in a face.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Place {
    Inside,
    Border,
    Outside,
}

/// A step of the border.
#[derive(Clone, Copy, Debug)]
struct Step {
    from: V2,
    to: V2,
    /// Which loop it is part of.
    border: usize,
}

/// A face laid flat along the axis its normal is nearest to, seen from outside.
pub(super) struct Region {
    axes: [usize; 2],
    steps: Vec<Step>,
    /// The steps that reach into each strip, places in `steps`.
    strips: Vec<Vec<u32>>,
    /// Lower border of the first strip and height of each.
    scale: [f64; 2],
}

impl Region {
    pub(super) fn of(solid: &Polyhedron, face: &Face) -> Self {
        let axes = axes_across(&face.plane.normal);
        let at = |v: u32| flat(axes, &solid.vertices[v as usize]);
        let mut steps = Vec::with_capacity(face.loops.iter().map(Vec::len).sum());
        for (border, corners) in face.loops.iter().enumerate() {
            let mut from = at(corners[corners.len() - 1]);
            for corner in corners {
                let to = at(*corner);
                steps.push(Step { from, to, border });
                from = to;
            }
        }
        let lo = steps.iter().fold(f64::MAX, |lo, s| lo.min(s.to.y));
        let hi = steps.iter().fold(f64::MIN, |hi, s| hi.max(s.to.y));
        let count = 1 + steps.len() / PER_STRIP;
        #[allow(clippy::cast_precision_loss, reason = "a small number of strips")]
        let height = (hi - lo) / count as f64;
        let mut region = Region {
            axes,
            steps,
            strips: vec![Vec::new(); count],
            scale: [lo, height],
        };
        if count > 1 {
            for (k, step) in (0_u32..).zip(&region.steps) {
                let reached = region.strips_between(step.from.y, step.to.y);
                region.strips[reached]
                    .iter_mut()
                    .for_each(|strip| strip.push(k));
            }
        } else {
            region.strips[0] = (0_u32..).take(region.steps.len()).collect();
        }
        region
    }

    /// The point laid flat.
    pub(super) fn flat(&self, point: &P3) -> V2 {
        flat(self.axes, point)
    }

    /// Where a point lies; within `slack` of the border it is on the border.
    pub(super) fn place(&self, point: V2, slack: f64) -> Place {
        self.place_among(point, slack, |_| true)
    }

    /// The outer loop runs counter-clockwise; any other clockwise, inside the outer one and outside the others.
    pub(super) fn is_well_placed(&self, border: usize) -> bool {
        let own = || self.steps.iter().filter(|step| step.border == border);
        let Some(first) = own().next() else {
            return false;
        };
        let double_area: f64 = own()
            .map(|s| (s.from - first.from).perp(&(s.to - first.from)))
            .sum();
        if border == 0 {
            return double_area > 0.0;
        }
        let middle = (first.from + first.to) / 2.0;
        double_area < 0.0 && self.place_among(middle, 0.0, |b| b != border) == Place::Inside
    }

    /// Distances, as shares of the way from `a` to `b`, at which the border meets that line or comes within `slack`.
    pub(super) fn cuts(&self, a: V2, b: V2, slack: f64) -> Vec<f64> {
        let way = b - a;
        let length = way.norm();
        let mut cuts = Vec::new();
        for strip in &self.strips[self.strips_between(a.y, b.y)] {
            for step in strip.iter().map(|k| &self.steps[*k as usize]) {
                let ends = [step.from, step.to].map(|end| (end - a) / length);
                let left = ends.map(|end| way.perp(&end));
                if left[0].min(left[1]) > slack || left[0].max(left[1]) < -slack {
                    continue;
                }
                let ahead = ends.map(|end| way.dot(&end) / length);
                if left.iter().all(|l| l.abs() <= slack) {
                    cuts.extend(ahead);
                } else {
                    let share = (left[0] / (left[0] - left[1])).clamp(0.0, 1.0);
                    cuts.push(ahead[0] + (ahead[1] - ahead[0]) * share);
                }
            }
        }
        cuts
    }

    /// As [`Region::place`], but minding only some of the loops.
    fn place_among(&self, point: V2, slack: f64, minded: impl Fn(usize) -> bool) -> Place {
        let mut inside = false;
        for strip in &self.strips[self.strips_between(point.y - slack, point.y + slack)] {
            for step in strip
                .iter()
                .map(|k| &self.steps[*k as usize])
                .filter(|s| minded(s.border))
            {
                let way = step.to - step.from;
                let length = way.norm();
                let ahead = way.dot(&(point - step.from)) / length;
                let left = way.perp(&(point - step.from)) / length;
                if left.abs() <= slack && ahead >= -slack && ahead <= length + slack {
                    return Place::Border;
                }
            }
        }
        let level = self.strips_between(point.y, point.y).start;
        for step in self.strips[level].iter().map(|k| &self.steps[*k as usize]) {
            let rises = step.to.y > point.y;
            if minded(step.border) && rises != (step.from.y > point.y) {
                let left = (step.to - step.from).perp(&(point - step.from)) > 0.0;
                inside ^= left == rises;
            }
        }
        if inside {
            Place::Inside
        } else {
            Place::Outside
        }
    }

    /// The strips between two heights.
    #[allow(
        clippy::cast_possible_truncation,
        clippy::cast_sign_loss,
        reason = "a small whole number, clamped to the strips"
    )]
    fn strips_between(&self, a: f64, b: f64) -> std::ops::Range<usize> {
        let strip =
            |y: f64| (((y - self.scale[0]) / self.scale[1]) as usize).min(self.strips.len() - 1);
        strip(a.min(b))..strip(a.max(b)) + 1
    }
}

/// The two axes that stay when the axis nearest to `normal` is dropped, right-handed seen against `normal`.
///
/// Dropping a coordinate keeps points on a common axis-parallel line exactly on it.
pub(super) fn axes_across(normal: &V3) -> [usize; 2] {
    let axis = normal.iamax();
    let (p, q) = ((axis + 1) % 3, (axis + 2) % 3);
    if normal[axis] > 0.0 { [p, q] } else { [q, p] }
}

fn flat([right, up]: [usize; 2], point: &P3) -> V2 {
    V2::new(point[right], point[up])
}

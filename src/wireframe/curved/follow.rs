//! Follows the curve where two surfaces meet, step by step, each step brought back onto both, and cuts it where it turns along
//! an axis.

use super::meetings::{Finder, Meetings};
use super::slices::TOUCHING;
use crate::geom::meeting::{Meeting, settled};
use crate::geom::path::{Course, Path};
use crate::geom::surface::{Profile, Surface, Turned};
use crate::geom::{P3, V3};

/// A step along a curve, as a share of the smaller radius.
const STEP: f64 = 0.12;

/// More steps than this no curve takes.
const MOST_STEPS: usize = 4000;

/// A curve is no longer followed after so many steps away from drawn line.
const LOST: u32 = 4;

impl Finder<'_> {
    /// The drawn parts of the curves in which a cylinder or cone meets another surface.
    pub(super) fn follow(
        &self,
        ruled: &Turned,
        other: &Surface,
        common: &[P3; 2],
        found: &mut Meetings,
    ) {
        if !self.all_curves {
            return;
        }
        let step = STEP
            * self
                .size(ruled)
                .min(other.turned().map_or(f64::INFINITY, |t| self.size(t)));
        let mut starts = self.starts(ruled, (other, step), common);
        if !starts.iter().any(|p| self.is_drawn(p, None)) {
            return;
        }
        let both = [Surface::Turned(*ruled), *other];
        // What no view shows near a line of the surface is not worth following.
        starts.retain(|p| self.may_be_near(p, step));
        let mut traced: Vec<Vec<P3>> = Vec::new();
        for start in starts {
            let known = traced
                .iter()
                .any(|points| passes(&both, points, &start, step));
            if known {
                continue;
            }
            let points = self.trace(&both, start, step, common);
            if points.len() > 2 {
                for piece in monotone(&both, &points) {
                    let ends = [piece[0], piece[piece.len() - 1]];
                    let meeting = Meeting {
                        surfaces: both,
                        points: piece.into(),
                    };
                    let path = Path {
                        ends,
                        course: Course::Meeting(meeting),
                    };
                    self.drawn_parts(path, common, found);
                }
                traced.push(points);
            }
        }
    }

    pub(super) fn size(&self, turned: &Turned) -> f64 {
        match turned.profile {
            Profile::Cylinder { radius } | Profile::Sphere { radius } => radius,
            Profile::Cone { radius, .. } => radius.max(10.0 * self.tolerance),
            Profile::Torus { minor, .. } => minor,
        }
    }

    pub(super) fn in_box(&self, point: &P3, margin: f64) -> bool {
        (0..3).all(|k| point[k] >= -margin && point[k] <= self.far[k] + margin)
    }

    /// Follows a curve both ways from a point on it, until it closes, leaves the box or comes to where the surfaces touch.
    /// A closed curve has its first point again at its end.
    fn trace(&self, both: &[Surface; 2], start: P3, step: f64, common: &[P3; 2]) -> Vec<P3> {
        let mut points = vec![start];
        let Some(first) = tangent(both, &start) else {
            return points;
        };
        for sign in [1.0, -1.0] {
            let mut way = first * sign;
            let mut at = start;
            let mut lost = 0;
            for steps in 0..MOST_STEPS {
                at = settled(both, at + way * step);
                let Some(along) = tangent(both, &at) else {
                    break;
                };
                way = if along.dot(&way) < 0.0 { -along } else { along };
                points.push(at);
                lost = if self.may_be_near(&at, step) {
                    0
                } else {
                    lost + 1
                };
                if lost > LOST || !self.is_within(&at, common, step) {
                    break;
                }
                if steps > 2 && (at - start).norm() < 0.7 * step {
                    let last = points.len() - 1;
                    points[last] = start;
                    return points;
                }
            }
            points.reverse();
        }
        points
    }

    /// Whether all three views may have drawn line within a step of a point.
    fn may_be_near(&self, point: &P3, step: f64) -> bool {
        let near = V3::repeat(self.near(step));
        self.may_be_drawn(&[point - near, point + near])
    }

    /// How far from a point on a curve followed in such steps drawn line may be that it is followed for.
    pub(super) fn near(&self, step: f64) -> f64 {
        step.min(0.02 * self.far.coords.norm())
    }
}

/// The unit direction of the curve at a point of it, unless the surfaces touch there.
fn tangent(both: &[Surface; 2], at: &P3) -> Option<V3> {
    let [n, m] = both.map(|s| s.normal(at));
    n.cross(&m).try_normalize(TOUCHING)
}

/// Whether a chain of points a step apart passes a point of the same curve.
fn passes(both: &[Surface; 2], points: &[P3], at: &P3, step: f64) -> bool {
    let far = 2.5 * step;
    points.windows(2).any(|pair| {
        if (pair[0] - at).norm_squared() > far * far {
            return false;
        }
        let along = pair[1] - pair[0];
        let share = (along.dot(&(at - pair[0])) / along.norm_squared()).clamp(0.0, 1.0);
        let foot = pair[0] + along * share;
        (foot - at).norm() <= step && (settled(both, foot) - at).norm() <= 0.02 * step
    })
}

/// Cuts a chain of points on a curve into pieces that are monotone in each coordinate.
fn monotone(both: &[Surface; 2], points: &[P3]) -> Vec<Vec<P3>> {
    let closed = points[0] == points[points.len() - 1];
    let tangents: Vec<Option<V3>> = points.iter().map(|p| tangent(both, p)).collect();
    let mut pieces: Vec<Vec<P3>> = vec![vec![points[0]]];
    for (pair, ways) in points.windows(2).zip(tangents.windows(2)) {
        let step = Step {
            both,
            ends: [pair[0], pair[1]],
        };
        let mut cuts: Vec<(f64, P3)> = Vec::new();
        if let (Some(from), Some(to)) = (ways[0], ways[1]) {
            let leans = [step.forward(from), step.forward(to)];
            cuts.extend((0..3).filter_map(|axis| step.turning(leans, axis)));
        }
        cuts.sort_by(|a, b| a.0.total_cmp(&b.0));
        for (_, at) in cuts {
            let last = pieces.len() - 1;
            let fresh = pieces[last].last().is_none_or(|p| (p - at).norm() > 1e-9);
            if fresh {
                pieces[last].push(at);
            }
            pieces.push(vec![at]);
        }
        let last = pieces.len() - 1;
        if pieces[last]
            .last()
            .is_none_or(|p| (p - pair[1]).norm() > 1e-9)
        {
            pieces[last].push(pair[1]);
        }
    }
    if closed && pieces.len() > 1 {
        // The start of a closed curve is no end of anything.
        let first = pieces.remove(0);
        let last = pieces.len() - 1;
        pieces[last].extend_from_slice(&first[1..]);
    }
    pieces.retain(|piece| piece.len() > 1);
    pieces
}

/// The curve between two neighbouring points of it.
struct Step<'a> {
    both: &'a [Surface; 2],
    ends: [P3; 2],
}

impl Step<'_> {
    /// A direction of the curve, turned towards the second point.
    fn forward(&self, way: V3) -> V3 {
        if way.dot(&(self.ends[1] - self.ends[0])) < 0.0 {
            -way
        } else {
            way
        }
    }

    /// The direction at a share of the way, and the point.
    fn look(&self, share: f64) -> Option<(V3, P3)> {
        let [a, b] = self.ends;
        let at = settled(self.both, a + (b - a) * share);
        Some((self.forward(tangent(self.both, &at)?), at))
    }

    /// Where the curve turns along an axis, as a share of the way, and the point; `ways` are its directions at the ends.
    ///
    /// By the false position method with halved weights (the Illinois method), which closes in from both sides.
    fn turning(&self, ways: [V3; 2], axis: usize) -> Option<(f64, P3)> {
        let [start, end] = ways.map(|way| way[axis]);
        if (start > 0.0) == (end > 0.0) || start.abs().max(end.abs()) < 1e-9 {
            return None;
        }
        let (mut low, mut high) = ((0.0, start), (1.0, end));
        let mut last = None;
        for _ in 0..50 {
            let share = (low.0 * high.1 - high.0 * low.1) / (high.1 - low.1);
            let (way, at) = self.look(share)?;
            let before = (way[axis] > 0.0) == (start > 0.0);
            let (moved, kept) = if before {
                (&mut low, &mut high)
            } else {
                (&mut high, &mut low)
            };
            *moved = (share, way[axis]);
            let same = last.is_some_and(|(was, _, _)| was == before);
            if same {
                kept.1 *= 0.5;
            }
            last = Some((before, share, at));
            if way[axis].abs() < 1e-13 || high.0 - low.0 < 1e-14 {
                break;
            }
        }
        last.map(|(_, share, at)| (share, at))
    }
}

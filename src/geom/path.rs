//! The ways edges take through space: straight, along a circle or ellipse, or where two curved surfaces meet.
//!
//! A path is monotone in each of x, y and z, so that a coordinate picks one point of it; whoever makes one cuts it at its
//! extremes. It starts and ends exactly at its ends, which may lie off its curve by the tolerance of the drawing.

use super::conic::{Bent, Conic, UNBENT};
use super::meeting::{Meeting, share_of};
use super::num::sin_cos;
use super::{P2, P3, V3};

/// A piece of curve from one end to the other, monotone in each coordinate.
#[derive(Clone, Debug)]
pub(crate) struct Path {
    pub(crate) ends: [P3; 2],
    pub(crate) course: Course,
}

/// What curve a path follows.
#[derive(Clone, Debug)]
pub(crate) enum Course {
    Straight,
    Conic(Bent),
    Meeting(Meeting),
}

impl Path {
    /// Straight from one point to another.
    pub(crate) fn straight(from: P3, to: P3) -> Self {
        Path {
            ends: [from, to],
            course: Course::Straight,
        }
    }

    /// Along a conic between points on it.
    pub(crate) fn conic(conic: Conic) -> Self {
        Path {
            ends: [conic.point(conic.from), conic.point(conic.to)],
            course: Course::Conic(Bent {
                conic,
                off: [V3::zeros(); 2],
            }),
        }
    }

    /// Along a conic between points beside it: drawn a little inaccurately, the path bends over to them.
    pub(crate) fn bent(conic: Conic, ends: [P3; 2]) -> Self {
        let off = [
            ends[0] - conic.point(conic.from),
            ends[1] - conic.point(conic.to),
        ];
        Path {
            ends,
            course: Course::Conic(Bent { conic, off }),
        }
    }

    /// The conic that it runs along exactly, if there is one.
    pub(crate) fn exact_conic(&self) -> Option<&Conic> {
        match &self.course {
            Course::Conic(bent) if bent.bend() <= UNBENT => Some(&bent.conic),
            _ => None,
        }
    }

    /// Centre and radius of the circle along which it is seen to run exactly, if there is one; `axes` are those that run right
    /// and up.
    pub(crate) fn seen_circle(&self, axes: [usize; 2]) -> Option<(P2, f64)> {
        self.exact_conic()?.seen_circle(axes)
    }

    /// Whether it runs straight.
    pub(crate) fn is_straight(&self) -> bool {
        matches!(self.course, Course::Straight)
    }

    /// The point at `share` of the way, 0 at the start, 1 at the end.
    pub(crate) fn point(&self, share: f64) -> P3 {
        let [a, b] = self.ends;
        match &self.course {
            Course::Straight => a + (b - a) * share,
            Course::Conic(_) if share == 0.0 => a,
            Course::Conic(_) if share == 1.0 => b,
            Course::Conic(conic) => {
                let on = conic.point(conic.from + (conic.to - conic.from) * share);
                on + conic.off[0] * (1.0 - share) + conic.off[1] * share
            }
            Course::Meeting(meeting) => {
                if share <= 0.0 {
                    a
                } else if share >= 1.0 {
                    b
                } else {
                    meeting.point(share)
                }
            }
        }
    }

    /// The middle.
    pub(crate) fn middle(&self) -> P3 {
        self.point(0.5)
    }

    /// The unit direction at `share` of the way.
    pub(crate) fn direction(&self, share: f64) -> V3 {
        match &self.course {
            Course::Straight => (self.ends[1] - self.ends[0]).normalize(),
            Course::Conic(conic) => {
                let turn = conic.to - conic.from;
                (conic.velocity(conic.from + turn * share) * turn.signum()).normalize()
            }
            Course::Meeting(meeting) => meeting.direction(share, &self.point(share)),
        }
    }

    /// The point and the unit direction at `share` of the way.
    pub(crate) fn place(&self, share: f64) -> (P3, V3) {
        match &self.course {
            Course::Straight => (self.point(share), self.direction(share)),
            Course::Conic(conic) => {
                let turn = conic.to - conic.from;
                let (sin, cos) = sin_cos(conic.from + turn * share);
                let on = conic.center + conic.u * cos + conic.v * sin;
                let at = on + conic.off[0] * (1.0 - share) + conic.off[1] * share;
                let along = (conic.v * cos - conic.u * sin) * turn.signum();
                (at, along.normalize())
            }
            Course::Meeting(meeting) => {
                let at = self.point(share);
                (at, meeting.direction(share, &at))
            }
        }
    }

    /// About how fast the point moves per share of the way.
    pub(crate) fn velocity(&self, share: f64) -> V3 {
        let [a, b] = self.ends;
        match &self.course {
            Course::Straight => b - a,
            Course::Conic(conic) => {
                let turn = conic.to - conic.from;
                let bend = conic.off[1] - conic.off[0];
                conic.velocity(conic.from + turn * share) * turn + bend
            }
            Course::Meeting(meeting) => meeting.velocity(share, &self.point(share)),
        }
    }

    /// The point, and about how fast it moves per share of the way.
    pub(crate) fn motion(&self, share: f64) -> (P3, V3) {
        match &self.course {
            Course::Meeting(meeting) => {
                let at = self.point(share);
                (at, meeting.velocity(share, &at))
            }
            _ => (self.point(share), self.velocity(share)),
        }
    }

    /// The share of the way at which coordinate `axis` is `value`; the nearer end beyond its range, the start if that
    /// coordinate does not change.
    pub(crate) fn at(&self, axis: usize, value: f64) -> f64 {
        let [a, b] = self.ends.map(|end| end[axis]);
        match &self.course {
            Course::Straight => {
                let share = (value - a) / (b - a);
                if share.is_finite() {
                    share.clamp(0.0, 1.0)
                } else {
                    0.0
                }
            }
            Course::Conic(conic) => (conic.at(axis, value) - conic.from) / (conic.to - conic.from),
            Course::Meeting(meeting) => meeting.at(axis, value),
        }
    }

    /// The point at which coordinate `axis` is `value`, with exactly that value if it is within the path's range.
    pub(crate) fn point_at(&self, axis: usize, value: f64) -> P3 {
        let [a, b] = self.ends;
        if value == a[axis] {
            return a;
        }
        if value == b[axis] {
            return b;
        }
        if let Course::Meeting(meeting) = &self.course
            && let Some(point) = meeting.abreast(axis, value)
        {
            return point;
        }
        let mut point = self.point(self.at(axis, value));
        if (a[axis] < value) == (value < b[axis]) {
            point[axis] = value;
        }
        point
    }

    /// The part between two shares of the way, `from` before `to`, with given ends.
    pub(crate) fn part(&self, [from, to]: [f64; 2], ends: [P3; 2]) -> Self {
        let course = match &self.course {
            Course::Straight => Course::Straight,
            Course::Conic(conic) => {
                let turn = conic.to - conic.from;
                let part = Conic {
                    from: conic.from + turn * from,
                    to: conic.from + turn * to,
                    ..conic.conic
                };
                return Path::bent(part, ends);
            }
            Course::Meeting(meeting) => {
                let steps = meeting.points.len() - 1;
                let inner = (0..=steps).filter(|&k| {
                    let share = share_of(k, 0.0, steps);
                    from + 1e-9 < share && share < to - 1e-9
                });
                let points = [ends[0]]
                    .into_iter()
                    .chain(inner.map(|k| meeting.points[k]))
                    .chain([ends[1]])
                    .collect();
                Course::Meeting(Meeting { points, ..*meeting })
            }
        };
        Path { ends, course }
    }

    /// The same path run the other way.
    #[cfg(test)]
    pub(crate) fn reversed(&self) -> Self {
        let [a, b] = self.ends;
        let course = match &self.course {
            Course::Straight => Course::Straight,
            Course::Conic(bent) => Course::Conic(Bent {
                conic: Conic {
                    from: bent.to,
                    to: bent.from,
                    ..bent.conic
                },
                off: [bent.off[1], bent.off[0]],
            }),
            Course::Meeting(meeting) => Course::Meeting(Meeting {
                points: meeting.points.iter().rev().copied().collect(),
                ..*meeting
            }),
        };
        Path {
            ends: [b, a],
            course,
        }
    }

    /// The box around it, least and greatest corner.
    pub(crate) fn bounds(&self) -> [P3; 2] {
        let [a, b] = &self.ends;
        [a.inf(b), a.sup(b)]
    }

    /// Coordinate `across` of the point at which coordinate `along` is `value`, which must be within the path's range.
    pub(crate) fn height(&self, along: usize, value: f64, across: usize) -> f64 {
        let [a, b] = &self.ends;
        match &self.course {
            Course::Straight => {
                let share = (value - a[along]) / (b[along] - a[along]);
                let share = if share.is_finite() { share } else { 0.0 };
                a[across] + (b[across] - a[across]) * share
            }
            Course::Conic(conic) => conic
                .height(along, value, across, [a[across], b[across]])
                .unwrap_or_else(|| self.point_at(along, value)[across]),
            Course::Meeting(_) => self.point_at(along, value)[across],
        }
    }
}

#[cfg(test)]
mod tests {
    use super::super::num::Diagonal;
    use super::super::seen::{Place, locate};
    use super::super::surface::{Profile, Surface, Turned};
    use super::*;
    use std::f64::consts::FRAC_PI_2;

    fn quarter(k: f64) -> Path {
        Path::conic(Conic {
            center: P3::new(5.0, 6.0, 7.0),
            u: V3::x() * 4.0,
            v: V3::y() * 4.0,
            from: k * FRAC_PI_2,
            to: (k + 1.0) * FRAC_PI_2,
        })
    }

    /// Where a cylinder of radius 3 along x meets one of radius 5 along z, one of eight pieces.
    fn meeting() -> Path {
        let cylinder = |axis, radius| {
            Surface::Turned(Turned {
                origin: P3::origin(),
                axis,
                profile: Profile::Cylinder { radius },
            })
        };
        let point = |y: f64| P3::new((25.0 - y * y).sqrt(), y, (9.0 - y * y).max(0.0).sqrt());
        let points: Vec<P3> = (0..=8).map(|k| point(3.0 * f64::from(k) / 8.0)).collect();
        Path {
            ends: [points[0], points[8]],
            course: Course::Meeting(Meeting {
                surfaces: [cylinder(V3::x(), 3.0), cylinder(V3::z(), 5.0)],
                points: points.into(),
            }),
        }
    }

    #[test]
    fn a_coordinate_picks_the_point_that_has_it() {
        for path in [
            quarter(0.0),
            quarter(1.0),
            quarter(2.0),
            quarter(3.0),
            meeting(),
        ] {
            for k in 1..20 {
                let share = f64::from(k) / 20.0;
                let point = path.point(share);
                for axis in 0..3 {
                    if path.ends[0][axis] != path.ends[1][axis] {
                        let found = path.point_at(axis, point[axis]);
                        assert!((found - point).norm() < 1e-7, "{path:?} {share} {axis}");
                        for across in 0..3 {
                            let height = path.height(axis, point[axis], across);
                            assert!((height - point[across]).abs() < 1e-7, "{path:?} {share}");
                        }
                    }
                }
            }
        }
    }

    #[test]
    fn a_meeting_stays_on_both_surfaces() {
        let path = meeting();
        for k in 0..=100 {
            let p = path.point(f64::from(k) / 100.0);
            assert!((p.x.diagonal(p.y) - 5.0).abs() < 1e-12);
            assert!((p.y.diagonal(p.z) - 3.0).abs() < 1e-12);
        }
        let part = path.part([0.2, 0.7], [path.point(0.2), path.point(0.7)]);
        assert!((part.middle().y.diagonal(part.middle().z) - 3.0).abs() < 1e-12);
    }

    #[test]
    fn a_level_line_crosses_a_meeting_at_its_height() {
        let path = meeting();
        for share in [0.1, 0.45, 0.9] {
            let at = path.point(share);
            let line = |from: f64, to: f64| {
                Path::straight(P3::new(from, 0.0, at.z), P3::new(to, 0.0, at.z))
            };
            let found = line(at.x - 3.0, at.x + 1.0).crossings(&path, [0, 2]);
            assert_eq!(found.len(), 1);
            assert!((found[0] - 0.75).abs() < 1e-7, "{found:?}");
            assert!(
                line(at.x + 1.0, at.x + 3.0)
                    .crossings(&path, [0, 2])
                    .is_empty()
            );
        }
        let above = Path::straight(P3::new(0.0, 0.0, 3.5), P3::new(9.0, 0.0, 3.5));
        assert!(above.crossings(&path, [0, 2]).is_empty());
    }

    #[test]
    fn directions_point_from_start_to_end() {
        for path in [
            quarter(1.0),
            quarter(1.0).reversed(),
            meeting(),
            meeting().reversed(),
        ] {
            for share in [0.1, 0.5, 0.9] {
                let step = path.point(share + 1e-6) - path.point(share - 1e-6);
                assert!((step.normalize() - path.direction(share)).norm() < 1e-4);
            }
        }
    }

    #[test]
    fn a_disc_has_an_inside_an_outside_and_a_border() {
        let disc: Vec<Path> = (0..4).map(|k| quarter(f64::from(k))).collect();
        for x in 0..=40 {
            for y in 0..=40 {
                let at = P2::new(0.3 + 0.25 * f64::from(x), 1.2 + 0.25 * f64::from(y));
                let off = (at - P2::new(5.0, 6.0)).norm() - 4.0;
                let expected = if off < 0.0 {
                    Place::Inside
                } else {
                    Place::Outside
                };
                if off.abs() > 0.01 {
                    assert_eq!(locate(disc.iter(), [0, 1], &at, 0.001), expected, "{at:?}");
                }
            }
        }
        assert_eq!(
            locate(disc.iter(), [0, 1], &P2::new(9.0, 6.0), 0.001),
            Place::Border
        );
    }
}

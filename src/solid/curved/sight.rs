//! Draws a curved solid as seen along any direction, right-angled or oblique: what is visible, what is hidden.
//!
//! The lines seen are cut where they cross or touch in the picture, where contours end on them and where a contour has a
//! tip; what lies between two cuts is visible or hidden as its middle is, by casting a line of sight a little to each side.

use super::CurvedSolid;
use super::contours::{Outline, Way, outlines};
use super::inside::Caster;
use crate::geom::pairs::{Bounds, BoxIndex};
use crate::geom::{P3, V2, V3};
use crate::solid::project::Frame;

/// In how many straight steps a curved line is followed when looking for crossings.
const STEPS: u32 = 48;

/// How far a curve may bulge beyond a straight step, as a share of the step: more than a quarter circle in that many steps.
const BULGE: f64 = 0.05;

/// Places of the picture nearer than this share of its size are one.
const ONE_PLACE: f64 = 1e-6;

/// How far beside a line it is looked, as a share of the solid's size.
const BESIDE: f64 = 2e-5;

/// What a line's own patches show nearer than this share of the solid's size is the line's own place.
const OWN: f64 = 1e-3;

/// A drawn line that is visible or hidden all along.
#[derive(Clone, Debug)]
pub(crate) struct Sight {
    pub(crate) course: Way,
    /// Whether no material stands in front of it; where lines coincide, visible ones take precedence.
    pub(crate) visible: bool,
}

/// The drawing of a sound solid in a frame.
pub(crate) fn seen(solid: &CurvedSolid, frame: &Frame) -> Vec<Sight> {
    let caster = Caster::new(solid);
    let towards = frame.towards.normalize();
    let slack = caster.size() * ONE_PLACE;
    let lines: Vec<Line> = outlines(&caster, solid, &towards)
        .into_iter()
        .map(|outline| Line::new(outline, frame))
        .filter(|line| line.extent() > slack)
        .collect();
    let mut cuts = cuts(&lines, frame, slack);
    let mut found = Vec::new();
    for (line, cuts) in lines.iter().zip(&mut cuts) {
        if let Way::Tube(tube) = &line.outline.course {
            cuts.extend(tube.tips());
        }
        add(&caster, line, cuts, frame, &mut found);
    }
    found
}

/// A line of the picture.
struct Line {
    outline: Outline,
    /// Its points in the picture, at equal shares of the way.
    points: Vec<V2>,
}

impl Line {
    fn new(outline: Outline, frame: &Frame) -> Self {
        let steps = match &outline.course {
            Way::Path(path) if path.is_straight() => 1,
            _ => STEPS,
        };
        let points = (0..=steps)
            .map(|k| frame.at(&outline.course.point(f64::from(k) / f64::from(steps))))
            .collect();
        Line { outline, points }
    }

    fn at(&self, share: f64, frame: &Frame) -> V2 {
        frame.at(&self.outline.course.point(share))
    }

    /// A box around it; a curve may bulge beyond its straight steps.
    fn bounds(&self, slack: f64) -> Bounds<2> {
        let longest = self
            .steps()
            .fold(0.0_f64, |most, (_, _, [a, b])| most.max((b - a).norm()));
        let bulge = if self.points.len() > 2 {
            BULGE * longest
        } else {
            0.0
        };
        let margin = V2::repeat(slack + bulge);
        let low = self.points.iter().fold(self.points[0], |a, p| a.inf(p)) - margin;
        let high = self.points.iter().fold(self.points[0], |a, p| a.sup(p)) + margin;
        [low.into(), high.into()]
    }

    fn extent(&self) -> f64 {
        let first = self.points[0];
        self.points
            .iter()
            .fold(0.0_f64, |most, p| most.max((p - first).amax()))
    }

    /// Its straight steps, with the share of the way at which each starts and how long each is in shares.
    #[allow(clippy::cast_precision_loss, reason = "a few dozen steps")]
    fn steps(&self) -> impl Iterator<Item = (f64, f64, [V2; 2])> + '_ {
        let each = 1.0 / (self.points.len() - 1) as f64;
        let pairs = self.points.windows(2).enumerate();
        pairs.map(move |(k, pair)| (k as f64 * each, each, [pair[0], pair[1]]))
    }
}

/// For each line the shares of its way at which others cross it, touch it, or end on it.
fn cuts(lines: &[Line], frame: &Frame, slack: f64) -> Vec<Vec<f64>> {
    let boxes: Vec<Bounds<2>> = lines.iter().map(|line| line.bounds(slack)).collect();
    let index = BoxIndex::new(&boxes);
    let mut cuts = vec![Vec::new(); lines.len()];
    for (j, bounds) in boxes.iter().enumerate() {
        let mut near = Vec::new();
        index.touching(bounds, |i| near.push(i as usize));
        near.sort_unstable();
        for i in near.into_iter().filter(|i| *i != j) {
            if i < j {
                for [s, t] in crossings([&lines[i], &lines[j]], frame) {
                    cuts[i].push(s);
                    cuts[j].push(t);
                }
            }
            let points = &lines[i].points;
            let reaches = |p: &V2| (0..2).all(|k| bounds[0][k] <= p[k] && p[k] <= bounds[1][k]);
            for end in [points[0], points[points.len() - 1]]
                .iter()
                .filter(|p| reaches(p))
            {
                cuts[j].extend(touched(&lines[j], end, frame, slack));
            }
        }
    }
    cuts
}

/// Where two lines cross, as shares of both ways.
fn crossings([a, b]: [&Line; 2], frame: &Frame) -> Vec<[f64; 2]> {
    let mut found = Vec::new();
    for (s, ds, p) in a.steps() {
        let (low, high) = (p[0].inf(&p[1]), p[0].sup(&p[1]));
        for (t, dt, q) in b.steps() {
            let apart =
                (0..2).any(|k| q[0][k].max(q[1][k]) < low[k] || q[0][k].min(q[1][k]) > high[k]);
            if !apart && let Some([u, v]) = meet(p, q, 1e-3) {
                found.push(refined([a, b], [s + u * ds, t + v * dt], [ds, dt], frame));
            }
        }
    }
    found
}

/// Where two straight pieces cross, as shares; a little beyond their ends counts.
fn meet([a, b]: [V2; 2], [c, d]: [V2; 2], beyond: f64) -> Option<[f64; 2]> {
    let (way, other) = (b - a, d - c);
    let turn = way.perp(&other);
    if turn.abs() < 1e-9 * way.norm() * other.norm() {
        return None;
    }
    let share = [(c - a).perp(&other) / turn, (c - a).perp(&way) / turn];
    let within = |x: &f64| (-beyond..=1.0 + beyond).contains(x);
    share.iter().all(within).then_some(share)
}

/// A crossing of curves found with straight steps, pinned down with ever shorter ones.
fn refined(lines: [&Line; 2], mut at: [f64; 2], mut step: [f64; 2], frame: &Frame) -> [f64; 2] {
    for _ in 0..3 {
        step = step.map(|d| d * 0.1);
        let piece = |k: usize| {
            let from = (at[k] - 0.5 * step[k]).clamp(0.0, 1.0 - step[k]);
            (from, [from, from + step[k]].map(|s| lines[k].at(s, frame)))
        };
        let [(s, p), (t, q)] = [piece(0), piece(1)];
        match meet(p, q, 20.0) {
            Some([u, v]) => at = [s + u * step[0], t + v * step[1]].map(|x| x.clamp(0.0, 1.0)),
            None => break,
        }
    }
    at
}

/// Where a line passes through a point of the picture.
fn touched(line: &Line, point: &V2, frame: &Frame, slack: f64) -> Option<f64> {
    let away = |[a, b]: &[V2; 2]| {
        let way = b - a;
        let share = ((point - a).dot(&way) / way.norm_squared()).clamp(0.0, 1.0);
        (share, (a + way * share - point).norm())
    };
    let (start, each, (share, _)) = line
        .steps()
        .map(|(start, each, span)| (start, each, away(&span)))
        .min_by(|a, b| a.2.1.total_cmp(&b.2.1))?;
    let mut at = start + share * each;
    let mut step = each;
    for _ in 0..6 {
        step *= 0.2;
        let from = (at - 0.5 * step).clamp(0.0, 1.0 - step);
        let span = [from, from + step].map(|s| line.at(s, frame));
        let way = span[1] - span[0];
        if way.norm_squared() == 0.0 {
            break;
        }
        let beyond = (point - span[0]).dot(&way) / way.norm_squared();
        at = (from + beyond.clamp(-2.0, 3.0) * step).clamp(0.0, 1.0);
    }
    ((line.at(at, frame) - point).norm() < 10.0 * slack).then_some(at)
}

/// Cuts a line into pieces and adds them, neighbours of one kind joined.
fn add(caster: &Caster, line: &Line, cuts: &mut Vec<f64>, frame: &Frame, found: &mut Vec<Sight>) {
    let slack = caster.size() * ONE_PLACE * 10.0;
    cuts.sort_unstable_by(f64::total_cmp);
    cuts.push(1.0);
    let mut pieces: Vec<(f64, bool)> = Vec::new();
    let mut start = 0.0;
    for &end in cuts.iter() {
        let [a, m, b] = [start, 0.5 * (start + end), end].map(|s| line.at(s, frame));
        if (b - a).norm().max((m - a).norm()) <= slack {
            continue;
        }
        let visible = is_visible(caster, line, [start, end], frame);
        if pieces.last().is_none_or(|(_, before)| *before != visible) {
            pieces.push((start, visible));
        }
        start = end;
    }
    for (k, (from, visible)) in pieces.iter().enumerate() {
        let to = pieces.get(k + 1).map_or(1.0, |(next, _)| *next);
        let course = if *from == 0.0 && to == 1.0 {
            line.outline.course.clone()
        } else {
            line.outline.course.part([*from, to])
        };
        found.push(Sight {
            course,
            visible: *visible,
        });
    }
}

/// Whether the middle of a piece has no material in front of it on one side at least.
fn is_visible(caster: &Caster, line: &Line, [from, to]: [f64; 2], frame: &Frame) -> bool {
    let towards = frame.towards.normalize();
    let (mid, step) = (0.5 * (from + to), 0.01 * (to - from));
    let course = &line.outline.course;
    let at = course.point(mid);
    let way: V3 = course.point(mid + step) - course.point(mid - step);
    let Some(aside) = towards.cross(&way).try_normalize(1e-12) else {
        return true;
    };
    let off = caster.size() * BESIDE;
    [-off, off].into_iter().any(|off| {
        let beside: P3 = at + aside * off;
        !covered(caster, &beside, &towards, &line.outline.faces)
    })
}

/// Whether material stands in front of a point beside a line that its own patches do not show right there.
fn covered(caster: &Caster, from: &P3, towards: &V3, own: &[u32]) -> bool {
    if !caster.covered(from, towards) {
        return false;
    }
    let near = caster.size() * OWN;
    let mut covered = false;
    caster.hits(from, towards, |face, t| {
        let leaves = caster.outward(face, &(from + towards * t)).dot(towards) > 0.0;
        covered |= leaves && (t > near || !own.contains(&face));
    });
    covered
}

#[cfg(test)]
mod tests {
    use super::super::crossings::drilled_shaft;
    use super::super::shapes::{ball, cross_drilled, frustum, plate_with_hole, torus, washer};
    use super::*;
    use crate::geom::num::Diagonal;

    /// The isometric, cavalier and cabinet frames, and one from below.
    fn frames() -> [Frame; 4] {
        let (sin, cos) = crate::geom::num::sin_cos_degrees(30.0);
        [
            Frame::of_axes([[cos, -sin], [cos, sin], [0.0, 1.0]]),
            Frame::of_axes([[1.0, 0.0], [0.7, 0.7], [0.0, 1.0]]),
            Frame::of_axes([[1.0, 0.0], [0.35, 0.35], [0.0, 1.0]]),
            Frame::of_axes([[0.9, 0.3], [-0.4, 0.8], [0.1, -0.6]]),
        ]
    }

    /// Walks from beside a line towards the viewer and asks at every step whether there is material: a visible line has
    /// none on one side at least, a hidden one some on both.
    fn agrees(name: &str, solid: &CurvedSolid, holds: impl Fn(&P3) -> bool) {
        let size = solid.size();
        for frame in frames() {
            let towards = frame.towards.normalize();
            let (mut kinds, mut grazing) = ([0, 0], 0);
            for sight in seen(solid, &frame) {
                // Towards the tips of a torus contour the covering part becomes thinner than any step.
                let shares: &[f64] = match sight.course {
                    Way::Tube(_) => &[0.5],
                    Way::Path(_) => &[0.3, 0.5, 0.7],
                };
                for &share in shares {
                    let at = sight.course.point(share);
                    let way = sight.course.point(share + 0.01) - sight.course.point(share - 0.01);
                    let Some(aside) = towards.cross(&way).try_normalize(1e-6 * size) else {
                        continue;
                    };
                    let free = |off: f64| {
                        [-off, off].into_iter().any(|off| {
                            let beside = at + aside * (off * size);
                            let step = size * 5e-4;
                            let ahead = |k: u32| beside + towards * (step * f64::from(k));
                            !(10..2000).any(|k| holds(&ahead(k)))
                        })
                    };
                    // So near to a contour that it depends on how far beside the line one looks.
                    if free(2e-5) != free(2e-4) {
                        grazing += 1;
                        continue;
                    }
                    let free = free(2e-5);
                    assert_eq!(free, sight.visible, "{name} at {at:?} from {towards:?}");
                    kinds[usize::from(free)] += 1;
                }
            }
            assert!(kinds[1] > 0, "{name}: nothing seen");
            assert!(grazing * 20 < kinds[0] + kinds[1] + 20, "{name}: {grazing}");
        }
    }

    #[test]
    fn lines_are_visible_where_no_material_is_in_front() {
        agrees("ball", &ball(7.0), |p| p.coords.norm() < 7.0);
        agrees("washer", &washer(4.0, 9.0, 5.0), |p| {
            let r = p.x.diagonal(p.y);
            p.z > 0.0 && p.z < 5.0 && r > 4.0 && r < 9.0
        });
        agrees("frustum", &frustum(10.0, 4.0, 12.0), |p| {
            p.z > 0.0 && p.z < 12.0 && p.x.diagonal(p.y) < 10.0 - p.z / 2.0
        });
        agrees("plate", &plate_with_hole(), |p| {
            let within = |c: f64, most: f64| c > 0.0 && c < most;
            let block = within(p.x, 40.0) && within(p.y, 30.0) && within(p.z, 10.0);
            block && (p.x - 20.0).diagonal(p.y - 15.0) > 10.0
        });
        agrees("shaft", &drilled_shaft(3.0, 5.0, 10.0), |p| {
            p.z.abs() < 10.0 && p.x.diagonal(p.y) < 5.0 && p.y.diagonal(p.z) > 3.0
        });
        agrees("block", &cross_drilled(), |p| {
            p.coords.amax() < 20.0 && p.x.diagonal(p.y) > 10.0 && p.y.diagonal(p.z) > 6.0
        });
        for axis in 0..3 {
            agrees("torus", &torus(axis, 9.0, 4.0), |p| {
                let along = p[axis];
                let out = (p.coords.norm_squared() - along * along).sqrt();
                (out - 9.0).diagonal(along) < 4.0
            });
        }
    }
}

//! Brings the ends of arcs onto the places of the axes.
//!
//! Centres and extremes of firm circles and ellipses take part in finding the places, like the ends of straight lines. All
//! other ends come after: they go to the end of a straight line or an extreme near by, else to known places one coordinate
//! at a time, and only what is near nothing becomes a place of its own. Along the tangent an end may have farther to go,
//! because there it is soft: a small error across moves it a long way along.

use super::super::snap::{Clusters, Value};
use super::super::{Arc, View};
use super::cover::{Break, Coverage};
use super::read::Raw;
use super::{Course, Curves};
use crate::geom::carrier::Carrier;
use crate::geom::pairs::BoxIndex;
use crate::geom::tolerance::ROUNDING;
use crate::geom::{P2, V2};

/// A soft coordinate may go this many tolerances to a known place.
const SOFT_REACH: f64 = 3.0;

/// A point some coordinates of which take part in finding the common places.
#[derive(Clone, Copy, Debug)]
pub(in crate::sheet) struct Mark {
    /// The point, as both ends of a piece of its line.
    pub(in crate::sheet) raw: Raw,
    /// Whether its right and its up coordinate take part.
    pub(in crate::sheet) sides: [bool; 2],
}

/// The snapped arcs of all views.
#[derive(Default)]
pub(in crate::sheet) struct Placed {
    pub(in crate::sheet) arcs: [Vec<Arc>; 3],
    pub(in crate::sheet) carriers: [Vec<Carrier>; 3],
    /// The curved lines of each view of which nothing is left.
    pub(in crate::sheet) short: [Vec<usize>; 3],
}

/// What is known of the places of the axes before the ends of arcs are looked at.
pub(in crate::sheet) struct Known<'a> {
    /// Straight pieces of all views.
    pub(in crate::sheet) straight: &'a [Raw],
    /// Coordinates on each axis, ascending.
    pub(in crate::sheet) values: &'a [Vec<Value>; 3],
    /// What to subtract from each view's sheet coordinates to get coordinates on the axes.
    pub(in crate::sheet) origins: &'a [[f64; 2]; 3],
    pub(in crate::sheet) tolerance: f64,
}

/// Where the breaks of all courses go: coordinates on the axes that will be in or next to a place.
pub(in crate::sheet) struct Placing<'a> {
    curves: &'a Curves,
    origins: [[f64; 2]; 3],
    tolerance: f64,
    /// By view, course and break.
    breaks: [Vec<Vec<[f64; 2]>>; 3],
    /// Coordinates that were near nothing.
    pub(in crate::sheet) new: Vec<Mark>,
}

impl Curves {
    /// The centres and extremes that take part in finding the places.
    pub(in crate::sheet) fn marks(&self) -> Vec<Mark> {
        let mut marks = Vec::new();
        for view in &self.views {
            for (course, coverage) in view.courses.iter().zip(&view.coverages) {
                course.mark(coverage, &mut marks);
            }
        }
        marks
    }

    /// Finds out where the ends of all arcs go.
    pub(in crate::sheet) fn placing(&self, known: &Known) -> Placing<'_> {
        let mut placing = Placing {
            curves: self,
            origins: *known.origins,
            tolerance: known.tolerance,
            breaks: Default::default(),
            new: Vec::new(),
        };
        for view in View::ALL {
            placing.place_view(view, known);
        }
        placing
    }
}

impl Course {
    /// Its centre, if that is as good as a drawn place.
    fn firm_center(&self) -> Option<P2> {
        match &self.carrier {
            Carrier::Circle { center, .. } | Carrier::Ellipse { center, .. } if self.firm => {
                Some(*center)
            }
            _ => None,
        }
    }

    /// Whether its extremes have a coordinate of its centre.
    fn is_upright(&self) -> bool {
        match &self.carrier {
            Carrier::Circle { .. } => true,
            Carrier::Ellipse { axes, .. } => {
                let tilt = axes[0].x.abs().min(axes[0].y.abs());
                tilt <= ROUNDING.sqrt() * axes[0].norm()
            }
            Carrier::Free { .. } => false,
        }
    }

    /// The point of an extreme all of whose coordinates are known from the centre and the radius.
    fn firm_extreme(&self, at: &Break) -> Option<[f64; 2]> {
        let center = self.firm_center().filter(|_| self.is_upright())?;
        match at.turns {
            [true, false] => Some([at.point.x, center.y]),
            [false, true] => Some([center.x, at.point.y]),
            _ => None,
        }
    }

    fn mark(&self, coverage: &Coverage, marks: &mut Vec<Mark>) {
        let Some(center) = self.firm_center() else {
            return;
        };
        if coverage.stretches.is_empty() {
            return;
        }
        let mut mark = |member: usize, at: P2, sides: [bool; 2]| {
            let Some(member) = self.members.get(member) else {
                return;
            };
            marks.push(Mark {
                raw: Raw {
                    line: member.line,
                    view: member.view,
                    hidden: member.hidden,
                    ends: [at.into(); 2],
                },
                sides,
            });
        };
        mark(0, center, [true; 2]);
        for at in coverage.breaks.iter().filter(|b| b.turns != [false; 2]) {
            mark(0, at.point, at.turns);
        }
        // A circle drawn more than once has as many centres; their spread is told with the places.
        for (i, member) in self.members.iter().enumerate().skip(1) {
            if let Carrier::Circle { center, .. } | Carrier::Ellipse { center, .. } =
                &member.carrier
                && member.is_firm()
            {
                mark(i, *center, [true; 2]);
            }
        }
    }
}

/// A break that is not placed yet.
struct Spot {
    course: usize,
    at: usize,
    point: P2,
    /// How far it may go along each axis.
    reach: [f64; 2],
}

impl Placing<'_> {
    fn place_view(&mut self, view: View, known: &Known) {
        let v = view.index();
        let origin = known.origins[v];
        let on_axes = |p: &P2| [p.x - origin[0], p.y - origin[1]];
        let curves = &self.curves.views[v];
        let mut corners = corners(view, known);
        let mut spots = Vec::new();
        for (c, (course, coverage)) in curves.courses.iter().zip(&curves.coverages).enumerate() {
            let mut places = Vec::with_capacity(coverage.breaks.len());
            for (b, at) in coverage.breaks.iter().enumerate() {
                places.push(on_axes(&at.point));
                if let Some(extreme) = course.firm_extreme(at) {
                    corners.push(extreme);
                    places[b] = on_axes(&extreme.into());
                } else {
                    spots.push(Spot {
                        course: c,
                        at: b,
                        point: at.point,
                        reach: reach(&course.carrier, at, known.tolerance),
                    });
                }
            }
            self.breaks[v].push(places);
        }
        corners.sort_unstable_by(|a, b| a[0].total_cmp(&b[0]).then(a[1].total_cmp(&b[1])));
        corners.dedup();
        let boxes: Vec<_> = corners.iter().map(|c| [*c, *c]).collect();
        let index = BoxIndex::new(&boxes);
        let (near, far): (Vec<_>, Vec<_>) = spots
            .into_iter()
            .map(|spot| (corner_near(&spot, &corners, &index), spot))
            .partition(|(corner, _)| corner.is_some());
        for (corner, spot) in near {
            let corner = corner.unwrap_or_default();
            self.breaks[v][spot.course][spot.at] = on_axes(&corner.into());
        }
        let far = far.into_iter().map(|(_, spot)| spot).collect();
        for group in grouped(far, known.tolerance) {
            self.place_group(view, &group, known);
        }
    }

    /// Gives ends that are one point their places.
    fn place_group(&mut self, view: View, group: &[Spot], known: &Known) {
        let v = view.index();
        let first = &group[0];
        #[allow(
            clippy::cast_precision_loss,
            reason = "a group has far fewer than 2^52 members"
        )]
        let count = group.len() as f64;
        let off = group
            .iter()
            .fold(V2::zeros(), |s, g| s + (g.point - first.point));
        let point = first.point + off / count;
        let mut sides = [false; 2];
        let place = [0, 1].map(|k| {
            let value = point[k] - known.origins[v][k];
            let reach = group.iter().map(|g| g.reach[k]).fold(0.0, f64::max);
            let near = nearest(&known.values[view.axes()[k]], value);
            let near = near.filter(|n| (n - value).abs() <= reach);
            sides[k] = near.is_none();
            near.unwrap_or(value)
        });
        for spot in group {
            self.breaks[v][spot.course][spot.at] = place;
        }
        if sides != [false; 2]
            && let Some(member) = self.curves.views[v].courses[first.course].members.first()
        {
            self.new.push(Mark {
                raw: Raw {
                    line: member.line,
                    view,
                    hidden: member.hidden,
                    ends: [point.into(); 2],
                },
                sides,
            });
        }
    }

    /// The arcs and carriers on the final places; `firsts` is the first place of each axis before it became 0.
    pub(in crate::sheet) fn finish(&self, clusters: &[Clusters; 3], firsts: [f64; 3]) -> Placed {
        let mut placed = Placed::default();
        for view in View::ALL {
            let v = view.index();
            let curves = &self.curves.views[v];
            for (c, (course, coverage)) in curves.courses.iter().zip(&curves.coverages).enumerate()
            {
                let ids: Vec<[u32; 2]> = self.breaks[v][c]
                    .iter()
                    .map(|place| [0, 1].map(|k| clusters[view.axes()[k]].nearest(place[k])))
                    .collect();
                let carrier =
                    u32::try_from(placed.carriers[v].len()).expect("fewer than 2^32 lines");
                let before = placed.arcs[v].len();
                for stretch in &coverage.stretches {
                    let [from, to] = stretch.breaks.map(|b| ids[b]);
                    if from != to {
                        placed.arcs[v].extend(stretch.lines.iter().map(|&line| Arc {
                            carrier,
                            from,
                            to,
                            hidden: stretch.hidden,
                            line,
                        }));
                    }
                }
                if placed.arcs[v].len() > before {
                    let at = |axis: usize, place: u32| clusters[axis].mean(place) - firsts[axis];
                    let carrier = self.moved(view, course, clusters, at);
                    placed.carriers[v].push(self.consistent(view, carrier, coverage, &ids, at));
                } else {
                    placed.short[v].extend(course.members.iter().map(|m| m.line as usize));
                }
            }
            placed.short[v].sort_unstable();
            placed.short[v].dedup();
        }
        placed
    }

    /// The carrier of a course in object coordinates, a firm one with its centre on its places.
    fn moved(
        &self,
        view: View,
        course: &Course,
        clusters: &[Clusters; 3],
        at: impl Fn(usize, u32) -> f64,
    ) -> Carrier {
        let origin = self.origins[view.index()];
        let axes = view.axes();
        let start = axes.map(|axis| at(axis, 0) - clusters[axis].mean(0));
        let by = V2::new(start[0] - origin[0], start[1] - origin[1]);
        let moved = course.carrier.moved(by);
        let Some(center) = course.firm_center() else {
            return moved;
        };
        let place = [0, 1].map(|k| {
            let place = clusters[axes[k]].nearest(center[k] - origin[k]);
            at(axes[k], place)
        });
        let off = P2::from(place) - (center + by);
        moved.moved(off)
    }

    /// A circle whose extremes have come to other places than its radius says gets the radius they say.
    fn consistent(
        &self,
        view: View,
        carrier: Carrier,
        coverage: &Coverage,
        ids: &[[u32; 2]],
        at: impl Fn(usize, u32) -> f64,
    ) -> Carrier {
        let Carrier::Circle { center, radius } = carrier else {
            return carrier;
        };
        let axes = view.axes();
        let reaches: Vec<f64> = coverage
            .breaks
            .iter()
            .zip(ids)
            .filter_map(|(b, ids)| {
                let axis = b.turns.iter().position(|t| *t)?;
                Some((at(axes[axis], ids[axis]) - center[axis]).abs())
            })
            .collect();
        let off = reaches
            .iter()
            .map(|r| (r - radius).abs())
            .fold(0.0, f64::max);
        if off <= self.tolerance || reaches.is_empty() {
            return Carrier::Circle { center, radius };
        }
        let (least, most) = reaches.iter().fold((f64::INFINITY, 0.0), |(l, m), r| {
            (f64::min(l, *r), f64::max(m, *r))
        });
        Carrier::Circle {
            center,
            radius: f64::midpoint(least, most),
        }
    }
}

/// How far a break may go along each axis to a known place.
fn reach(carrier: &Carrier, at: &Break, tolerance: f64) -> [f64; 2] {
    let tangent = carrier.tangent(at.at).abs();
    let soft = |along: f64, across: f64| tolerance * (along / across).clamp(1.0, SOFT_REACH);
    [soft(tangent.x, tangent.y), soft(tangent.y, tangent.x)]
}

/// The ends of straight lines in a view, on the sheet.
fn corners(view: View, known: &Known) -> Vec<[f64; 2]> {
    let mine = known.straight.iter().filter(|raw| raw.view == view);
    mine.flat_map(|raw| raw.ends).collect()
}

/// The corner nearest to a spot within its reach.
fn corner_near(spot: &Spot, corners: &[[f64; 2]], index: &BoxIndex<2>) -> Option<[f64; 2]> {
    let at: [f64; 2] = spot.point.into();
    let bounds = [
        [0, 1].map(|k| at[k] - spot.reach[k]),
        [0, 1].map(|k| at[k] + spot.reach[k]),
    ];
    let mut best: Option<(f64, u32)> = None;
    index.touching(&bounds, |i| {
        let off = (P2::from(corners[i as usize]) - spot.point).norm();
        if best.is_none_or(|nearest| (off, i) < nearest) {
            best = Some((off, i));
        }
    });
    best.map(|(_, i)| corners[i as usize])
}

/// Spots that are one point: they follow one another within the tolerance along both axes.
fn grouped(spots: Vec<Spot>, tolerance: f64) -> Vec<Vec<Spot>> {
    let mut done = Vec::new();
    let mut open = vec![(spots, 0, 0)];
    while let Some((mut spots, axis, whole)) = open.pop() {
        if whole == 2 || spots.len() == 1 {
            done.push(spots);
            continue;
        }
        spots.sort_by(|a, b| a.point[axis].total_cmp(&b.point[axis]));
        let mut parts: Vec<Vec<Spot>> = Vec::new();
        for spot in spots {
            match parts.last_mut() {
                Some(part)
                    if part
                        .last()
                        .is_some_and(|l| spot.point[axis] - l.point[axis] <= tolerance) =>
                {
                    part.push(spot);
                }
                _ => parts.push(vec![spot]),
            }
        }
        let whole = if parts.len() == 1 { whole + 1 } else { 1 };
        open.extend(parts.into_iter().map(|part| (part, 1 - axis, whole)));
    }
    done
}

/// The value nearest to another.
fn nearest(values: &[Value], to: f64) -> Option<f64> {
    let above = values.partition_point(|v| v.0 < to);
    let near = [above.checked_sub(1), Some(above)].into_iter().flatten();
    near.filter_map(|i| values.get(i).map(|v| v.0))
        .min_by(|a, b| (a - to).abs().total_cmp(&(b - to).abs()))
}

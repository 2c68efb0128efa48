//! Proves a reading with curved faces: the solid, drawn again, must give back the sheet.
//!
//! As for plane faces, two comparisons per view say it all: the visible lines of both must cover the same places, and all
//! lines of both must. Each line is cut where lines of the other drawing end on it; of every piece places close together
//! must lie within reach of a line there.
//!
//! Where a line runs smoothly into a curve, its end is drawn as exactly as the square root of the tolerance. There the
//! line and the curve are within reach of each other, so that an end drawn early or late is no difference.

use super::CurvedSolid;
use super::inside::Caster;
use super::project::{Stroke, drawn_by};
use super::trace::Trace;
use crate::geom::carrier::Carrier;
use crate::geom::pairs::{Bounds, BoxIndex, overlap};
use crate::geom::path::Path;
use crate::geom::{Few, P2, V2};
use crate::options::{HiddenLines, TangentEdges};
use crate::sheet::{Drawing, View};
use crate::solid::verify::{Deviation, Difference};

/// How far from a sloping or curved line a place is still on it, in tolerances: each of the two drawings may be off by
/// one.
const REACH: f64 = 2.0;

/// How far from an upright or level line a place is still on it if that line is upright or level too, in tolerances:
/// coordinates that snapping kept apart are at least one tolerance apart.
const LEVEL_REACH: f64 = 0.25;

/// A line is exactly upright or level if its direction is by less off that.
const ONE_DIRECTION: f64 = 1e-6;

/// A piece shorter than this, in tolerances, is not looked at.
const SHORT: f64 = 0.25;

/// How far apart the places are at which a piece is looked at, in tolerances.
const SPACING: f64 = 40.0;

/// The fewest and the most places on a piece.
const PLACES: [f64; 2] = [4.0, 16.0];

/// Checks that a sound solid has exactly the drawn lines, each of its type.
///
/// Where tangent edges may be drawn or not, the sheet need not have those of the solid.
///
/// A line of the sheet or the solid is missed or reported wherever it lies farther than two tolerances (a quarter,
/// between upright or level lines) from every line that could stand for it. Time grows about linearly with the lines.
///
/// # Errors
///
/// The first difference, in the order of the views.
pub(crate) fn gives_back(
    solid: &CurvedSolid,
    drawing: &Drawing,
    tangent_edges: TangentEdges,
    hidden_lines: HiddenLines,
) -> Result<(), Difference> {
    let tolerance = drawing.tolerance.mm();
    let caster = Caster::new(solid);
    for view in View::ALL {
        let strokes = drawn_by(&caster, solid, (view, tolerance), tangent_edges);
        let mut marks = marks_of(&strokes, view);
        if hidden_lines == HiddenLines::Optional {
            marks
                .iter_mut()
                .for_each(|mark| mark.optional |= !mark.visible);
        }
        let given = Layer::new(marks, tolerance);
        let sheet = Layer::new(marks_on(drawing, view), tolerance);
        compare(&given, &sheet).map_err(|(at, what)| Difference {
            view,
            at: at.into(),
            what,
        })?;
    }
    Ok(())
}

/// Where something differs, and what.
type Found = (P2, Deviation);

/// The lines that a solid gives must lie on those of the sheet, and those of the sheet on them.
fn compare(given: &Layer, sheet: &Layer) -> Result<(), Found> {
    given.lies_on(sheet, Deviation::Extra)?;
    sheet.lies_on(given, Deviation::Missing)
}

/// The marks of a solid's strokes.
fn marks_of(strokes: &[Stroke], view: View) -> Vec<Mark<'_>> {
    strokes
        .iter()
        .map(|stroke| Mark {
            optional: stroke.optional,
            ..Mark::of_path(&stroke.path, view, stroke.visible)
        })
        .collect()
}

/// The marks of one view of a sheet.
fn marks_on(drawing: &Drawing, view: View) -> Vec<Mark<'_>> {
    let straight = drawing.views[view.index()].iter().map(|segment| {
        let ends = [segment.from, segment.to].map(|end| P2::from(drawing.at(view, end)));
        Mark::new(Curve::Straight(ends), ends, !segment.hidden)
    });
    let carriers = &drawing.carriers[view.index()];
    let curved = drawing.arcs[view.index()].iter().map(|arc| {
        let ends = [arc.from, arc.to].map(|end| P2::from(drawing.at(view, end)));
        let carrier = &carriers[arc.carrier as usize];
        Mark::new(Curve::along(carrier, ends), ends, !arc.hidden)
    });
    straight.chain(curved).collect()
}

/// A line in a view, monotone right and up.
struct Mark<'m> {
    curve: Curve<'m>,
    ends: [P2; 2],
    visible: bool,
    /// Exactly upright or level.
    level: bool,
    /// Centre and radius, if it runs along a circle.
    circle: Option<(P2, f64)>,
    /// The other drawing may have it or not.
    optional: bool,
}

/// What a mark runs along.
enum Curve<'m> {
    Straight([P2; 2]),
    Path(&'m Path, [usize; 2]),
    /// In the direction in which the parameter grows, from one parameter to another.
    Arc(&'m Carrier, [f64; 2]),
}

impl<'m> Curve<'m> {
    fn along(carrier: &'m Carrier, ends: [P2; 2]) -> Self {
        let [from, to] = ends.map(|end| carrier.parameter(&end));
        Curve::Arc(carrier, [from, carrier.onward(from, to)])
    }
}

impl<'m> Mark<'m> {
    fn new(curve: Curve<'m>, ends: [P2; 2], visible: bool) -> Self {
        let along = ends[1] - ends[0];
        let straight = matches!(curve, Curve::Straight(_));
        Mark {
            level: straight && along.amin() <= ONE_DIRECTION * along.norm(),
            circle: match curve {
                Curve::Path(path, axes) => path.seen_circle(axes),
                Curve::Arc(Carrier::Circle { center, radius }, _) => Some((*center, *radius)),
                _ => None,
            },
            curve,
            ends,
            visible,
            optional: false,
        }
    }

    fn of_path(path: &'m Path, view: View, visible: bool) -> Self {
        let trace = Trace::new(path, view.axes());
        let ends = trace.ends();
        let curve = if trace.is_straight() {
            Curve::Straight(ends)
        } else {
            Curve::Path(path, view.axes())
        };
        Mark::new(curve, ends, visible)
    }

    fn bounds(&self, margin: f64) -> Bounds<2> {
        let by = V2::repeat(margin);
        let [a, b] = &self.ends;
        [(a.inf(b) - by).into(), (a.sup(b) + by).into()]
    }

    fn is_straight(&self) -> bool {
        matches!(self.curve, Curve::Straight(_))
    }

    /// Its length from end to end.
    fn span(&self) -> f64 {
        (self.ends[1] - self.ends[0]).norm()
    }

    fn point(&self, share: f64) -> P2 {
        match self.curve {
            Curve::Straight([a, b]) => a + (b - a) * share,
            Curve::Path(path, [i, j]) => {
                let at = path.point(share);
                P2::new(at[i], at[j])
            }
            Curve::Arc(carrier, [from, to]) => carrier.point(from + (to - from) * share),
        }
    }

    /// The share of the way of the point nearest to one on it or close by.
    fn share(&self, at: &P2) -> f64 {
        match self.curve {
            Curve::Straight([a, b]) => {
                let along = b - a;
                (along.dot(&(at - a)) / along.norm_squared()).clamp(0.0, 1.0)
            }
            Curve::Path(path, axes) => Trace::new(path, axes).share(at),
            Curve::Arc(carrier, [from, to]) => {
                let share = (carrier.onward(from, carrier.parameter(at)) - from) / (to - from);
                match (share <= 1.0, self.ends.map(|end| (end - at).norm())) {
                    (true, _) => share.max(0.0),
                    (false, [a, b]) => f64::from(u8::from(b < a)),
                }
            }
        }
    }

    /// Whether a point is within reach of it.
    fn is_near(&self, at: &P2, reach: f64) -> bool {
        match self.curve {
            Curve::Straight([a, b]) => {
                let length = self.span();
                let along = (b - a) / length;
                let ahead = along.dot(&(at - a));
                along.perp(&(at - a)).abs() <= reach && -reach <= ahead && ahead <= length + reach
            }
            Curve::Path(path, axes) => path.is_near(axes, at, reach),
            Curve::Arc(carrier, [from, to]) => {
                let abreast = || {
                    let along = carrier.onward(from, carrier.parameter(at));
                    from <= along && along <= to
                };
                let inside = carrier.distance(at) <= reach && abreast();
                inside || self.ends.iter().any(|end| (end - at).norm() <= reach)
            }
        }
    }
}

/// All marks of one view of one drawing.
struct Layer<'m> {
    marks: Vec<Mark<'m>>,
    boxes: Vec<Bounds<2>>,
    index: BoxIndex<2>,
    tolerance: f64,
}

impl<'m> Layer<'m> {
    fn new(mut marks: Vec<Mark<'m>>, tolerance: f64) -> Self {
        marks.retain(|mark| mark.span() > 0.0);
        let boxes: Vec<Bounds<2>> = marks
            .iter()
            .map(|mark| mark.bounds(tolerance * REACH))
            .collect();
        Layer {
            index: BoxIndex::new(&boxes),
            boxes,
            marks,
            tolerance,
        }
    }

    /// Every mark but for optional ones must lie on marks of `other`: visible ones on visible ones, hidden ones on any, of
    /// which optional ones must be hidden.
    fn lies_on(&self, other: &Layer, missed: Deviation) -> Result<(), Found> {
        for mark in self.marks.iter().filter(|mark| !mark.optional) {
            if let Some(at) = other.gap(mark, mark.visible) {
                let drawn_otherwise = mark.visible && other.gap(mark, false).is_none();
                let what = if drawn_otherwise {
                    Deviation::WrongType
                } else {
                    missed
                };
                return Err((at, what));
            }
        }
        Ok(())
    }

    /// A place of `mark` out of reach of all marks here that count: visible ones, and unless `visible` hidden ones instead of
    /// optional visible ones.
    fn gap(&self, mark: &Mark, visible: bool) -> Option<P2> {
        let mut near: Few<u32, 16> = Few::new();
        self.index.touching(&mark.bounds(0.0), |k| {
            let here = &self.marks[k as usize];
            let counts = match visible {
                true => here.visible,
                false => !(here.visible && here.optional),
            };
            if counts {
                near.push(k);
            }
        });
        if self.has_along(mark, &near) {
            return None;
        }
        near.sort_unstable();
        let mut cuts: Few<f64, 16> = near
            .iter()
            .flat_map(|k| self.marks[*k as usize].ends)
            .filter(|end| mark.is_near(end, self.tolerance * REACH))
            .map(|end| mark.share(&end))
            .collect();
        cuts.extend([0.0, 1.0]);
        cuts.sort_unstable_by(f64::total_cmp);
        let mut last = 0;
        for pair in cuts.windows(2) {
            let span = (mark.point(pair[1]) - mark.point(pair[0])).norm();
            if span <= self.tolerance * SHORT {
                continue;
            }
            let places = (span / (self.tolerance * SPACING)).ceil();
            let places = places.clamp(PLACES[0], PLACES[1]);
            let mut k = 0.5;
            while k < places {
                let at = mark.point(pair[0] + (pair[1] - pair[0]) * k / places);
                if !self.covers(&near, &mut last, mark, &at) {
                    return Some(at);
                }
                k += 1.0;
            }
        }
        None
    }

    /// Whether one of the marks `near` is of a kind with a mark, straight or along about the same circle, and within reach all
    /// along: both its ends have it, and so has all between, for what is within reach of a straight line is convex, and arcs are
    /// monotone.
    fn has_along(&self, mark: &Mark, near: &[u32]) -> bool {
        near.iter().any(|&place| {
            let other = &self.marks[place as usize];
            let reach = self.reach([mark, other]);
            let of_a_kind = match (mark.circle, other.circle) {
                (Some((c, r)), Some((d, s))) => (c - d).norm() + (r - s).abs() <= 0.5 * reach,
                _ => mark.is_straight() && other.is_straight(),
            };
            of_a_kind && mark.ends.iter().all(|end| other.is_near(end, reach))
        })
    }

    /// How far apart two marks may be that are one line, in millimetres.
    fn reach(&self, marks: [&Mark; 2]) -> f64 {
        let exact = marks.iter().all(|mark| mark.level);
        self.tolerance * if exact { LEVEL_REACH } else { REACH }
    }

    /// Whether a place on `mark` is within reach of one of the marks `near`; the one of the last place is tried first.
    fn covers(&self, near: &[u32], last: &mut usize, mark: &Mark, at: &P2) -> bool {
        let at_place = [(*at).into(), (*at).into()];
        let covering = |k: &usize| {
            let Some(&place) = near.get(*k) else {
                return false;
            };
            let other = &self.marks[place as usize];
            overlap(&self.boxes[place as usize], &at_place)
                && other.is_near(at, self.reach([mark, other]))
        };
        if covering(last) {
            return true;
        }
        let found = (0..near.len()).find(covering);
        *last = found.unwrap_or(*last);
        found.is_some()
    }
}

//! Which line stands in which view, and how the views are arranged.
//!
//! Views are groups of lines with empty strips between them. The front view is the corner of the L that the three make: it
//! shares its width with the top view and its height with the right-side view (ISO 5456-2).

use itertools::Itertools;

use super::border::{Item, without_border};
use super::bounds::{Bounds, within};
use super::read::{MAX_NUMBER, has_no_length};
use super::{Drawing, Projection, Sheet, Unit, View, snap};
use crate::error::Kind;
use crate::geom::tolerance::Tolerance;
use crate::{Error, Options};

/// No sheet has more groups of lines than this; the search for them stops here.
const MAX_GROUPS: usize = 16;

/// Lines nearer than this part of the whole sheet's extent touch, when no tolerance is given.
const TOUCHING: f64 = 1.0 / 4000.0;

/// Why the lines of a sheet are not three views of one object.
#[derive(Debug, thiserror::Error)]
#[non_exhaustive]
pub(crate) enum ViewsError {
    #[error(
        "the sheet has no visible or hidden line; draw the front, top and right-side view with visible lines"
    )]
    NothingDrawn,
    #[error(
        "the sheet has only a border, or one single view; draw the front, top and right-side view inside it"
    )]
    BorderOnly,
    #[error(
        "all lines stand in one group; draw front, top and right-side view with empty space between them, \
         or say the `view` of each line"
    )]
    OneGroup,
    #[error("the {0} is missing, no visible or hidden line stands in it; draw it {1}")]
    Missing(&'static str, &'static str),
    #[error(
        "only two groups of lines were found, and neither stands above or beside the other; \
         draw front, top and right-side view in line with each other"
    )]
    TwoGroups,
    #[error(
        "there are {count} groups of lines, not three views; the one from {from} to {to} fits nowhere, so leave it out \
         or move it to its view"
    )]
    TooManyGroups {
        count: usize,
        from: String,
        to: String,
    },
    #[error(
        "there are {0} or more groups of lines, not three views; leave out what is no view, or say the `view` of each line"
    )]
    Scattered(usize),
    #[error(
        "the three groups of lines do not stand like front, top and right-side view; put the top view straight above (third-angle) \
         or below (first-angle) the front view and the right-side view straight to the right (third-angle) or left (first-angle)"
    )]
    NotArranged,
    #[error(
        "the {0} and the {1} overlap; move them apart so that there is empty space between them"
    )]
    Overlap(&'static str, &'static str),
    #[error(
        "the top view stands {0} the front view but the right-side view {1} it; \
         third-angle is above and to the right, first-angle is below and to the left, so move one of them"
    )]
    Mixed(&'static str, &'static str),
    #[error(
        "the sheet says {}, but its views stand as in {}; correct `projection` or move the views",
        .said.name(), .stands.name()
    )]
    OtherProjection {
        said: Projection,
        stands: Projection,
    },
    #[error("the {view} stands {by} too far {way} to line up with the front view; move it back")]
    Shifted {
        view: &'static str,
        by: String,
        way: &'static str,
    },
    #[error(
        "the drawing has no {what} beyond the tolerance of {tolerance}; draw a solid object, or give a smaller tolerance"
    )]
    Flat {
        what: &'static str,
        tolerance: String,
    },
    #[error("the tolerance must be a length above 0 mm, not {0}")]
    Tolerance(f64),
    #[error(
        "line {} of the file's list has a coordinate that is no number up to {MAX_NUMBER}; correct or delete it",
        .0 + 1
    )]
    NotFinite(usize),
}

/// The views of a sheet.
#[derive(Debug)]
pub(crate) struct Placed {
    /// Every geometry-bearing line of some length with its view, in the order of the sheet.
    pub(crate) lines: Vec<(usize, View)>,
    /// The box around each view, in millimetres on the sheet, by [`View::index`].
    pub(crate) bounds: [Bounds; 3],
    /// How the views are arranged.
    pub(crate) projection: Projection,
}

/// The sheet as a drawing in object coordinates: views assigned, coordinates snapped.
///
/// # Errors
///
/// When the lines are not three views in line with each other, or when the tolerance is none.
pub(crate) fn drawing(sheet: &Sheet, options: &Options) -> Result<Drawing, Error> {
    let drawing =
        place(sheet, options).and_then(|placed| snap::snap(sheet, &placed, options.tolerance_mm));
    drawing.map_err(|error| Kind::from(error).into())
}

/// The drawings if of two depths that disagree the smaller is short of line in front rather than at the back, and if it is
/// short of it at either end alike; none if they agree within the tolerance. Widths and heights need no such choice: views
/// in line have them in common on the sheet.
pub(crate) fn drawings_otherwise(sheet: &Sheet, options: &Options) -> Vec<Drawing> {
    let short_in_front_by = |share: f64| {
        let mut placed = place(sheet, options).ok()?;
        let [_, top, right] = &mut placed.bounds;
        let more = top.size()[1] - right.size()[0];
        if more > 0.0 {
            right.min[0] -= share * more;
        } else {
            top.min[1] += share * more;
        }
        let drawing = snap::snap(sheet, &placed, options.tolerance_mm).ok()?;
        (more.abs() > drawing.tolerance.mm()).then_some(drawing)
    };
    [1.0, 0.5]
        .into_iter()
        .filter_map(short_in_front_by)
        .collect()
}

/// How many times the default tolerance a sheet drawn by hand gets if nothing fits within the default.
const BY_HAND: f64 = 3.0;

/// The tolerance for a sheet drawn by hand, in millimetres, if its views can be told apart.
pub(crate) fn wide_tolerance(sheet: &Sheet, options: &Options) -> Option<f64> {
    let placed = place(sheet, options).ok()?;
    let extent = placed
        .bounds
        .iter()
        .flat_map(Bounds::size)
        .fold(0.0, f64::max);
    Some(BY_HAND * Tolerance::for_extent(extent).mm())
}

/// Works out the view of every geometry-bearing line, and the projection.
///
/// # Errors
///
/// When there are not exactly three views that stand as in third- or first-angle projection.
pub(crate) fn place(sheet: &Sheet, options: &Options) -> Result<Placed, ViewsError> {
    let items = items(sheet)?;
    let all = items.iter().fold(Bounds::EMPTY, |b, i| b.joined(i.bounds));
    let slack = match options.tolerance_mm {
        Some(mm) if !(mm.is_finite() && mm > 0.0) => return Err(ViewsError::Tolerance(mm)),
        Some(mm) => mm / sheet.unit.millimetres(),
        None => TOUCHING * all.size()[0].max(all.size()[1]),
    };
    let lines = if items.iter().all(|i| sheet.lines[i.line].view.is_some()) {
        said(sheet, &items)
    } else {
        worked_out(sheet, items, slack)?
    };
    let mut bounds = [Bounds::EMPTY; 3];
    for (item, view) in &lines {
        let of_view = &mut bounds[view.index()];
        *of_view = of_view.joined(item.bounds);
    }
    if let Some(view) = View::ALL.into_iter().find(|v| bounds[v.index()].is_empty()) {
        return Err(missing(view));
    }
    let projection = projection(sheet.projection, &bounds, slack)?;
    Ok(Placed {
        lines: lines
            .into_iter()
            .map(|(item, view)| (item.line, view))
            .collect(),
        bounds: bounds.map(|b| b.scaled(sheet.unit.millimetres())),
        projection,
    })
}

/// The geometry-bearing lines that have a length.
fn items(sheet: &Sheet) -> Result<Vec<Item>, ViewsError> {
    let mut items = Vec::with_capacity(sheet.lines.len());
    for (line, drawn) in sheet.lines.iter().enumerate() {
        if !drawn.line_type.bears_geometry() {
            continue;
        }
        if !within(&drawn.shape, MAX_NUMBER) {
            return Err(ViewsError::NotFinite(line));
        }
        if !has_no_length(&drawn.shape) {
            let bounds = Bounds::of_shape(&drawn.shape);
            items.push(Item { line, bounds });
        }
    }
    if items.is_empty() {
        return Err(ViewsError::NothingDrawn);
    }
    Ok(items)
}

fn missing(view: View) -> ViewsError {
    let place = match view {
        View::Front => "below the top view and to the left of the right-side view (third-angle)",
        View::Top => "straight above (third-angle) or below (first-angle) the front view",
        View::Right => {
            "straight to the right (third-angle) or left (first-angle) of the front view"
        }
    };
    ViewsError::Missing(view.title(), place)
}

fn said(sheet: &Sheet, items: &[Item]) -> Vec<(Item, View)> {
    items
        .iter()
        .filter_map(|item| Some((*item, sheet.lines[item.line].view?)))
        .collect()
}

/// The view of every line from where it stands; a view that is said counts for the lines around it too.
fn worked_out(
    sheet: &Sheet,
    items: Vec<Item>,
    slack: f64,
) -> Result<Vec<(Item, View)>, ViewsError> {
    let items = without_border(sheet, items, slack);
    if items.is_empty() {
        return Err(ViewsError::BorderOnly);
    }
    let groups = groups(items, slack).ok_or(ViewsError::Scattered(MAX_GROUPS))?;
    let mut parties: Vec<Party> = Vec::new();
    for group in groups {
        let party = Party::of(sheet, group)?;
        match parties
            .iter_mut()
            .find(|p| p.view.is_some() && p.view == party.view)
        {
            Some(same) => same.join(party),
            None => parties.push(party),
        }
    }
    let views = seat(&parties, slack, sheet.unit)?;
    let mut lines: Vec<(Item, View)> = parties
        .into_iter()
        .zip(views)
        .flat_map(|(party, view)| party.items.into_iter().map(move |item| (item, view)))
        .collect();
    lines.sort_by_key(|(item, _)| item.line);
    Ok(lines)
}

/// Groups of items with an empty strip of more than `slack` between any two; `None` if there are too many.
///
/// Cuts along empty strips, upright and level by turns, until none is left.
fn groups(items: Vec<Item>, slack: f64) -> Option<Vec<Vec<Item>>> {
    let mut whole = Vec::new();
    let mut open = vec![(items, 0, 0)];
    while let Some((mut items, axis, uncut)) = open.pop() {
        if uncut == 2 {
            whole.push(items);
        } else {
            items.sort_by(|a, b| a.bounds.min[axis].total_cmp(&b.bounds.min[axis]));
            let parts = cut(&items, axis, slack);
            let uncut = if parts.len() == 1 { uncut + 1 } else { 1 };
            open.extend(parts.into_iter().map(|part| (part, 1 - axis, uncut)));
        }
        if whole.len() + open.len() > MAX_GROUPS {
            return None;
        }
    }
    Some(whole)
}

/// Cuts items, sorted along `axis`, wherever a strip across it is empty.
fn cut(items: &[Item], axis: usize, slack: f64) -> Vec<Vec<Item>> {
    let mut parts: Vec<Vec<Item>> = Vec::new();
    let mut reach = f64::NEG_INFINITY;
    for item in items {
        match parts.last_mut() {
            Some(part) if item.bounds.min[axis] <= reach + slack => part.push(*item),
            _ => parts.push(vec![*item]),
        }
        reach = reach.max(item.bounds.max[axis]);
    }
    parts
}

/// The lines of one view, known or not.
struct Party {
    items: Vec<Item>,
    bounds: Bounds,
    view: Option<View>,
}

impl Party {
    /// # Errors
    ///
    /// When lines of two views stand together.
    fn of(sheet: &Sheet, items: Vec<Item>) -> Result<Party, ViewsError> {
        let mut view = None;
        for said in items.iter().filter_map(|i| sheet.lines[i.line].view) {
            match view {
                Some(other) if other != said => {
                    return Err(ViewsError::Overlap(View::title(other), said.title()));
                }
                _ => view = Some(said),
            }
        }
        let bounds = items.iter().fold(Bounds::EMPTY, |b, i| b.joined(i.bounds));
        Ok(Party {
            items,
            bounds,
            view,
        })
    }

    fn join(&mut self, other: Party) {
        self.items.extend(other.items);
        self.bounds = self.bounds.joined(other.bounds);
    }
}

/// The view of each of three parties.
fn seat(parties: &[Party], slack: f64, unit: Unit) -> Result<Vec<View>, ViewsError> {
    match parties {
        [_] => Err(ViewsError::OneGroup),
        [a, b] => Err(absent(a, b)),
        [_, _, _] => {
            let (views, _) = best_seating(parties, slack).ok_or(ViewsError::NotArranged)?;
            Ok(views)
        }
        _ => Err(too_many(parties, slack, unit)),
    }
}

/// The seating of three parties in which they share most, and how much that is.
fn best_seating(parties: &[Party], slack: f64) -> Option<(Vec<View>, f64)> {
    View::ALL
        .into_iter()
        .permutations(3)
        .filter_map(|views| Some((shared(parties, &views, slack)?, views)))
        .max_by(|(a, _), (b, _)| a.total_cmp(b))
        .map(|(shared, views)| (views, shared))
}

/// How much of their width the front and top view share, and of their height the front and right-side view (2: all);
/// `None` if they do not stand like that.
fn shared(parties: &[Party], views: &[View], slack: f64) -> Option<f64> {
    let mut bounds = [Bounds::EMPTY; 3];
    for (party, view) in parties.iter().zip(views) {
        if party.view.is_some_and(|v| v != *view) {
            return None;
        }
        bounds[view.index()] = party.bounds;
    }
    let [front, top, right] = bounds;
    let part = |a: &Bounds, b: &Bounds, axis: usize| {
        a.shared(b, axis) / a.size()[axis].max(b.size()[axis])
    };
    let (width, height) = (part(&front, &top, 0), part(&front, &right, 1));
    let apart = front.shared(&top, 1) <= slack && front.shared(&right, 0) <= slack;
    (apart && width > 0.0 && height > 0.0).then_some(width + height)
}

/// Which view is missing when there are only two.
fn absent(a: &Party, b: &Party) -> ViewsError {
    let known: Vec<View> = [a.view, b.view].into_iter().flatten().collect();
    let beside = a.bounds.shared(&b.bounds, 1) > 0.0;
    let above = a.bounds.shared(&b.bounds, 0) > 0.0;
    match known.as_slice() {
        [one, two] => View::ALL
            .into_iter()
            .find(|v| v != one && v != two)
            .map_or(ViewsError::TwoGroups, missing),
        _ if beside => missing(View::Top),
        _ if above => missing(View::Right),
        _ => ViewsError::TwoGroups,
    }
}

/// Names the group that is too much: the one without which the others make the best three views.
fn too_many(parties: &[Party], slack: f64, unit: Unit) -> ViewsError {
    let count = parties.len();
    if count > 4 {
        return ViewsError::Scattered(count);
    }
    let without = |skip: usize| -> Option<f64> {
        let rest: Vec<Party> = parties
            .iter()
            .enumerate()
            .filter(|(i, _)| *i != skip)
            .map(|(_, p)| Party {
                items: Vec::new(),
                ..*p
            })
            .collect();
        best_seating(&rest, slack).map(|(_, shared)| shared)
    };
    let extra = (0..count)
        .filter_map(|i| Some((without(i)?, i)))
        .max_by(|(a, _), (b, _)| a.total_cmp(b));
    match extra {
        None => ViewsError::Scattered(count),
        Some((_, i)) => {
            let place = |p: [f64; 2]| unit.show_place(p.map(|c| c * unit.millimetres()));
            ViewsError::TooManyGroups {
                count,
                from: place(parties[i].bounds.min),
                to: place(parties[i].bounds.max),
            }
        }
    }
}

/// Third- or first-angle, from where the views stand.
fn projection(
    said: Option<Projection>,
    bounds: &[Bounds; 3],
    slack: f64,
) -> Result<Projection, ViewsError> {
    for [a, b] in [
        [View::Front, View::Top],
        [View::Front, View::Right],
        [View::Top, View::Right],
    ] {
        let (first, second) = (&bounds[a.index()], &bounds[b.index()]);
        if (0..2).all(|axis| first.shared(second, axis) > slack) {
            return Err(ViewsError::Overlap(a.title(), b.title()));
        }
    }
    let [front, top, right] = bounds;
    let above = middle(top, 1) > middle(front, 1);
    let beside = middle(right, 0) > middle(front, 0);
    let stands = match (above, beside) {
        (true, true) => Projection::ThirdAngle,
        (false, false) => Projection::FirstAngle,
        (true, false) => return Err(ViewsError::Mixed("above", "to the left of")),
        (false, true) => return Err(ViewsError::Mixed("below", "to the right of")),
    };
    match said {
        Some(said) if said != stands => Err(ViewsError::OtherProjection { said, stands }),
        _ => Ok(stands),
    }
}

fn middle(bounds: &Bounds, axis: usize) -> f64 {
    f64::midpoint(bounds.min[axis], bounds.max[axis])
}

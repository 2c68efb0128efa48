//! When a sheet is not an object yet: views are missing, or lines end in the open. That is no mistake; whoever draws is
//! simply not done.

use serde::Serialize;

use super::ends;
use crate::sheet::views;
use crate::{Error, Options, Sheet, View};

/// What a sheet still lacks.
#[derive(Serialize)]
pub(super) struct Unfinished {
    /// The views without any line.
    missing: Vec<&'static str>,
    /// Where lines end without meeting another.
    open: Vec<OpenEnd>,
    /// The same in a sentence.
    message: String,
}

#[derive(Serialize)]
struct OpenEnd {
    view: &'static str,
    /// In sheet coordinates.
    at: [f64; 2],
    /// A place in the sheet's lines.
    line: usize,
}

/// The views in which nothing is drawn, if some are and the lines say their views; `None` if there are none.
pub(super) fn missing_views(sheet: &Sheet) -> Option<Unfinished> {
    let mut missing = View::ALL.to_vec();
    for line in &sheet.lines {
        if line.line_type.bears_geometry() {
            // Where lines stand says which views there are, but only a closer look can tell.
            let view = line.view?;
            missing.retain(|v| *v != view);
        }
    }
    if missing.is_empty() {
        return None;
    }
    let message = match missing.len() {
        3 => "nothing is drawn yet; draw the front view, the top view and the right-side view"
            .to_owned(),
        _ => {
            let titles: Vec<String> = missing
                .iter()
                .map(|v| format!("the {}", v.title()))
                .collect();
            let verb = if titles.len() == 1 { "is" } else { "are" };
            format!("{} {verb} still empty", titles.join(" and "))
        }
    };
    Some(Unfinished {
        missing: missing.into_iter().map(View::name).collect(),
        open: Vec::new(),
        message,
    })
}

/// What to say when the lines are not three views; the engine's own words name what is missing.
pub(super) fn no_three_views(error: &Error) -> Unfinished {
    Unfinished {
        missing: Vec::new(),
        open: Vec::new(),
        message: error.to_string(),
    }
}

/// The ends that meet no other line of their view, if there are any: no object has such a view, but a drawing on the way
/// to one has.
///
/// Only for sheets that no object has: a contour of a round part may end freely.
pub(super) fn open_ends(sheet: &Sheet, options: &Options) -> Option<Unfinished> {
    let placed = views::place(sheet, options).ok()?;
    let ends = ends::open(sheet, &placed, options);
    let first = ends.first()?;
    let unit = sheet.unit;
    let at = unit.show_place(first.at.map(|c| c * unit.millimetres()));
    let more = match ends.len() {
        1 => String::new(),
        count => format!(", and so do {} other ends", count - 1),
    };
    let message = format!(
        "a line in the {} ends in the open at {at}{more}; the lines of a view meet at their ends",
        first.view.title()
    );
    Some(Unfinished {
        missing: Vec::new(),
        open: ends
            .iter()
            .map(|end| OpenEnd {
                view: end.view.name(),
                at: end.at,
                line: end.line,
            })
            .collect(),
        message,
    })
}

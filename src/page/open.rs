//! `open`: the text of a file as a JSON sheet, each line with its view.

use crate::geom::num::Diagonal;
use serde::Serialize;
use serde_json::value::RawValue;

use super::request::Request;
use crate::export::json::{RemarkEntry, one_line, remark_entry};
use crate::sheet::bounds::Bounds;
use crate::sheet::views;
use crate::{LineType, Options, Sheet, View, read_sheet};

#[derive(Serialize)]
struct Answer<'a> {
    sheet: Box<RawValue>,
    remarks: Vec<RemarkEntry<'a>>,
}

/// # Errors
/// When the text is no sheet.
pub(super) fn open(request: &Request<'_>) -> Result<Vec<u8>, String> {
    let text = request.text.as_deref().ok_or("the request has no text")?;
    let (mut sheet, remarks) =
        read_sheet(text.as_bytes()).map_err(|error| match &request.name {
            Some(name) => format!("{name}: {error}"),
            None => error.to_string(),
        })?;
    say_views(&mut sheet, &request.options()?);
    let sheet = RawValue::from_string(sheet.to_json()).map_err(|error| error.to_string())?;
    let remarks = remarks.iter().map(remark_entry).collect();
    Ok(one_line(&Answer { sheet, remarks }).into_bytes())
}

/// Writes down the view of each line and the projection, if the views can be told apart; else leaves them as they are.
///
/// A line that bears no geometry belongs to the nearest view; a border and its title block belong to none.
pub(crate) fn say_views(sheet: &mut Sheet, options: &Options) {
    let Ok(placed) = views::place(sheet, options) else {
        return;
    };
    sheet.projection = Some(placed.projection);
    for (line, view) in placed.lines {
        sheet.lines[line].view = Some(view);
    }
    let per_millimetre = 1.0 / sheet.unit.millimetres();
    let boxes = placed.bounds.map(|bounds| bounds.scaled(per_millimetre));
    for line in &mut sheet.lines {
        let belongs = !line.line_type.bears_geometry() && line.line_type != LineType::Border;
        if line.view.is_none() && belongs {
            let bounds = Bounds::of_shape(&line.shape);
            line.view = nearest(&bounds, &boxes);
        }
    }
}

fn nearest(bounds: &Bounds, boxes: &[Bounds; 3]) -> Option<View> {
    let gap = |other: &Bounds| {
        let [x, y] = [0, 1].map(|axis| (-bounds.shared(other, axis)).max(0.0));
        x.diagonal(y)
    };
    View::ALL
        .into_iter()
        .min_by(|a, b| gap(&boxes[a.index()]).total_cmp(&gap(&boxes[b.index()])))
}

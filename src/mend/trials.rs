//! Lines to add that are tried one by one, because together they would cut one another to pieces.

use super::{ghosts, rings};
use crate::Shape;
use crate::arrange::split::arrange;
use crate::geom::crowded::CrowdedError;
use crate::sheet::{Drawing, View};

/// At most `most` lines that could be added, likeliest first: straight lines whose slope only the view shows that lacks
/// them.
///
/// # Errors
/// If there are too many places.
pub(super) fn lines(drawing: &Drawing, most: usize) -> Result<Vec<(View, Shape)>, CrowdedError> {
    let (views, axes) = arrange(drawing)?;
    let place = |view: View, ids: [u32; 2]| {
        let [right, up] = view.axes();
        let at = [axes.value(right, ids[0]), axes.value(up, ids[1])];
        drawing
            .on_sheet(view, at)
            .map(|c| (c * 1e9).round() / 1e9 + 0.0)
    };
    let sloping = ghosts::sloping(&views, most, drawing.tolerance)?.into_iter();
    Ok(sloping
        .map(|(view, [from, to])| {
            let (from, to) = (place(view, from), place(view, to));
            (view, Shape::Line { from, to })
        })
        .collect())
}

/// At most `most` circles that could be added, likeliest first: whole circles that the other two views show edge-on.
///
/// # Errors
/// If there are too many places.
pub(super) fn circles(drawing: &Drawing, most: usize) -> Result<Vec<(View, Shape)>, CrowdedError> {
    let (views, _) = arrange(drawing)?;
    let rings = rings::missing(&views, drawing.tolerance)
        .into_iter()
        .take(most);
    let plain = |c: f64| (c * 1e9).round() / 1e9 + 0.0;
    Ok(rings
        .map(|ring| {
            let center = drawing.on_sheet(ring.view, ring.center.into()).map(plain);
            let radius = plain(ring.radius / drawing.unit.millimetres());
            (ring.view, Shape::Circle { center, radius })
        })
        .collect())
}

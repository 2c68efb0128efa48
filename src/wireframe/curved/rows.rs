//! Drawn lines along an axis, by the place they stand at: what says over which stretch something at that place is drawn.

use crate::arrange::{Arrangement, Run, Slope};
use crate::geom::arena::Id;
use crate::geom::axis::Axes;
use crate::sheet::View;

/// A level or upright run.
#[derive(Clone, Copy, Debug)]
pub(super) struct Row {
    pub(super) run: Id<Run>,
    /// From where to where along it, in millimetres.
    pub(super) span: [f64; 2],
}

/// The rows of all views.
pub(super) struct Rows {
    /// By view, by which of its axes (0 right, 1 up) is constant, by the place on that axis.
    by_place: [[Vec<Vec<Row>>; 2]; 3],
}

impl Rows {
    pub(super) fn of(views: &[Arrangement; 3], axes: &Axes) -> Self {
        let by_place = [0, 1, 2].map(|v| {
            let view: &Arrangement = &views[v];
            let mut rows = view
                .view
                .axes()
                .map(|axis| vec![Vec::new(); axes.len(axis)]);
            for (run, r) in view.runs.enumerate() {
                let constant = match r.slope {
                    Slope::Level => 1,
                    Slope::Upright => 0,
                    _ => continue,
                };
                let [a, b] = [r.nodes[0], r.nodes[r.nodes.len() - 1]].map(|n| &view.nodes[n]);
                let span = [a.at[1 - constant], b.at[1 - constant]];
                let span = [span[0].min(span[1]), span[0].max(span[1])];
                rows[constant][a.ids[constant] as usize].push(Row { run, span });
            }
            rows
        });
        Rows { by_place }
    }

    /// The rows of a view at a place on an object axis, which the view must show.
    pub(super) fn at(&self, view: View, axis: usize, place: u32) -> &[Row] {
        let constant = usize::from(view.axes()[1] == axis);
        let rows = &self.by_place[view.index()][constant];
        rows.get(place as usize).map_or(&[], |rows| rows)
    }
}

/// The view that shows two object axes.
pub(super) fn view_of(one: usize, other: usize) -> View {
    match (one.min(other), one.max(other)) {
        (0, 1) => View::Top,
        (0, 2) => View::Front,
        _ => View::Right,
    }
}

/// What two intervals share, if more than `least`.
pub(super) fn shared(a: [f64; 2], b: [f64; 2], least: f64) -> Option<[f64; 2]> {
    let both = [a[0].max(b[0]), a[1].min(b[1])];
    (both[1] - both[0] > least).then_some(both)
}

//! A drawing with the lines that could be added drawn in, so that the search has candidates for them.

use super::ghosts::{self, Stroke};
use super::{rounds, sides};
use crate::arrange::Arrangement;
use crate::arrange::split::arrange;
use crate::geom::P2;
use crate::geom::axis::Axes;
use crate::geom::crowded::CrowdedError;
use crate::sheet::{Arc, Drawing, Segment, View};

/// The line number of strokes that are not drawn but could be.
pub(crate) const FRESH: u32 = u32::MAX - 1;

/// More lines are not drawn in around curves.
const MOST_AROUND_CURVES: usize = 60;

/// The drawing with every straight line that two views support and the third lacks as a line of its own; around curves only
/// the likeliest.
///
/// # Errors
/// If there are too many places or lines.
pub(super) fn widened(drawing: &Drawing) -> Result<Drawing, CrowdedError> {
    let (views, mut axes) = arrange(drawing)?;
    let mut ghosts = supported(drawing, &views, &mut axes)?;
    if drawing.is_curved() {
        keep_likely(&mut ghosts, &views, &axes, drawing.tolerance.mm());
    }
    Ok(with_strokes(drawing, &axes, ghosts))
}

/// The drawing with every line drawn in that may be missing if hidden lines are left out.
///
/// # Errors
/// If there are too many places or lines.
pub(crate) fn with_hidden_room(drawing: &Drawing) -> Result<Drawing, CrowdedError> {
    let (views, mut axes) = arrange(drawing)?;
    let mut ghosts = supported(drawing, &views, &mut axes)?;
    join(&mut ghosts, ghosts::at_any_depth(&views, &axes)?);
    Ok(with_strokes(drawing, &axes, ghosts))
}

/// The straight lines that two views support and the third lacks.
fn supported(
    drawing: &Drawing,
    views: &[Arrangement; 3],
    axes: &mut Axes,
) -> Result<[Vec<Stroke>; 3], CrowdedError> {
    let mut ghosts = ghosts::straight(views, axes, drawing.tolerance)?;
    if drawing.is_curved() {
        join(
            &mut ghosts,
            rounds::straight(views, axes, drawing.tolerance),
        );
    }
    Ok(ghosts)
}

/// Keeps the lines that are likeliest by where they end, so that they do not cut round surfaces to pieces.
fn keep_likely(
    ghosts: &mut [Vec<Stroke>; 3],
    views: &[Arrangement; 3],
    axes: &Axes,
    tolerance: f64,
) {
    let mut ranked = Vec::new();
    for (view, strokes) in views.iter().zip(ghosts.iter_mut()) {
        let [right, up] = view.view.axes();
        let unlikely = |place: [u32; 2]| {
            let at = P2::new(axes.value(right, place[0]), axes.value(up, place[1]));
            sides::unlikely(view, place, &at, tolerance)
        };
        let strokes = std::mem::take(strokes).into_iter();
        ranked.extend(strokes.map(|[p, q]| (unlikely(p) + unlikely(q), view.view, [p, q])));
    }
    ranked.sort_by_key(|(unlikely, _, _)| *unlikely);
    for (_, view, stroke) in ranked.into_iter().take(MOST_AROUND_CURVES) {
        ghosts[view.index()].push(stroke);
    }
}

fn join(ghosts: &mut [Vec<Stroke>; 3], more: [Vec<Stroke>; 3]) {
    for (ghosts, more) in ghosts.iter_mut().zip(more) {
        ghosts.extend(more);
        ghosts.sort_unstable();
        ghosts.dedup();
    }
}

fn with_strokes(drawing: &Drawing, axes: &Axes, ghosts: [Vec<Stroke>; 3]) -> Drawing {
    let places = Places::new(axes);
    let mut wide = places.moved(drawing);
    for (view, strokes) in View::ALL.into_iter().zip(ghosts) {
        let fresh = strokes.into_iter().map(|[from, to]| Segment {
            from: places.place(view, from),
            to: places.place(view, to),
            hidden: true,
            line: FRESH,
        });
        wide.views[view.index()].extend(fresh);
    }
    wide
}

/// All places of the axes, crossings among them, in ascending order.
struct Places {
    values: [Vec<f64>; 3],
    /// The new number of each place.
    numbers: [Vec<u32>; 3],
}

impl Places {
    fn new(axes: &Axes) -> Self {
        let mut values: [Vec<f64>; 3] = Default::default();
        let mut numbers: [Vec<u32>; 3] = Default::default();
        for axis in 0..3 {
            let count = u32::try_from(axes.len(axis)).expect("fewer than 2^32 coordinates");
            let mut order: Vec<u32> = (0..count).collect();
            order.sort_by(|a, b| axes.value(axis, *a).total_cmp(&axes.value(axis, *b)));
            numbers[axis] = vec![0; order.len()];
            for (new, old) in (0..).zip(order) {
                numbers[axis][old as usize] = new;
                values[axis].push(axes.value(axis, old));
            }
        }
        Places { values, numbers }
    }

    fn place(&self, view: View, end: [u32; 2]) -> [u32; 2] {
        let [right, up] = view.axes();
        [
            self.numbers[right][end[0] as usize],
            self.numbers[up][end[1] as usize],
        ]
    }

    /// The drawing with its ends numbered anew.
    fn moved(&self, drawing: &Drawing) -> Drawing {
        let mut moved = drawing.clone();
        moved.axes.clone_from(&self.values);
        for view in View::ALL {
            let v = view.index();
            moved.views[v] = drawing.views[v]
                .iter()
                .map(|segment| Segment {
                    from: self.place(view, segment.from),
                    to: self.place(view, segment.to),
                    ..*segment
                })
                .collect();
            moved.arcs[v] = drawing.arcs[v]
                .iter()
                .map(|arc| Arc {
                    from: self.place(view, arc.from),
                    to: self.place(view, arc.to),
                    ..*arc
                })
                .collect();
        }
        moved
    }
}

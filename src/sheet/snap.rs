//! The only place where points move.
//!
//! The views agree with each other only up to the tolerance. So the coordinates along each object axis are gathered from
//! the two views that show it, sorted, and drawn together where they follow each other within the tolerance; every end then
//! moves to the mean of its cluster, and everything after works with places in these lists. The depth is tied from view
//! to view by its nearest edges: the lower edge of the top view and the left edge of the right-side view.

mod report;

use self::report::Report;
use super::bounds::Bounds;
use super::views::{Placed, ViewsError, corners};
use super::{Drawing, Segment, Sheet, View};
use crate::geom::tolerance::Tolerance;

/// A default tolerance is halved at most this often.
const MAX_HALVINGS: usize = 24;

/// The names of the object's extents, by axis.
const EXTENTS: [&str; 3] = ["width", "depth", "height"];

/// Moves the ends of all lines onto common places and turns the sheet into object coordinates.
///
/// `tolerance` is in millimetres; without one it is made from the largest view, and halved as long as places chain up over
/// more than twice of it, because then it is too coarse for the drawing.
///
/// # Errors
///
/// When a line is curved, a view stands out of line, the object is flat, or the tolerance is none.
pub(crate) fn snap(
    sheet: &Sheet,
    placed: &Placed,
    tolerance: Option<f64>,
) -> Result<Drawing, ViewsError> {
    let raw = straight_pieces(sheet, placed)?;
    let origins = origins(&placed.bounds);
    let axes = [0, 1, 2].map(|axis| sorted_values(&raw, &origins, axis));
    let tolerance = match tolerance {
        Some(mm) => Tolerance::new(mm).ok_or(ViewsError::Tolerance(mm))?,
        None => default_tolerance(&placed.bounds, &axes),
    };
    let mut report = Report::new(sheet, placed, &raw, tolerance.mm());
    let problems = report.compare_views()?;
    let clusters = axes.map(|values| Clusters::new(values, tolerance.mm()));
    for (axis, clusters) in clusters.iter().enumerate() {
        if clusters.list.len() < 2 {
            return Err(ViewsError::Flat {
                what: EXTENTS[axis],
                tolerance: sheet.unit.show(tolerance.mm()),
            });
        }
        report.nearly_the_same(axis, clusters);
        report.between_views(axis, clusters);
    }
    report.ends_miss(&clusters);
    let (views, short) = segments(&raw, &clusters);
    report.short_lines(short);
    let firsts = [0, 1, 2].map(|axis| clusters[axis].list[0].mean);
    let all = clusters.iter().flat_map(|c| &c.list);
    let noise = all.map(|c| c.max - c.min).fold(0.0, f64::max);
    Ok(Drawing {
        projection: placed.projection,
        corners: corners_on_sheet(&origins, firsts),
        axes: clusters.map(|c| c.list.iter().map(|k| k.mean - c.list[0].mean).collect()),
        views,
        tolerance,
        noise,
        unit: sheet.unit,
        warnings: report.remarks,
        problems,
    })
}

/// A straight piece before it is moved, in millimetres on the sheet.
#[derive(Clone, Copy)]
struct Raw {
    line: u32,
    view: View,
    hidden: bool,
    ends: [[f64; 2]; 2],
}

fn straight_pieces(sheet: &Sheet, placed: &Placed) -> Result<Vec<Raw>, ViewsError> {
    let mm = sheet.unit.millimetres();
    let mut raw = Vec::with_capacity(placed.lines.len());
    for &(line, view) in &placed.lines {
        let drawn = &sheet.lines[line];
        let mut two = [[0.0; 2]; 2];
        let points = corners(&drawn.shape, line, view, &mut two)?;
        raw.extend(points.windows(2).map(|ends| Raw {
            line: index(line),
            view,
            hidden: drawn.line_type == super::LineType::Hidden,
            ends: [ends[0].map(|c| c * mm), ends[1].map(|c| c * mm)],
        }));
    }
    Ok(raw)
}

fn index(i: usize) -> u32 {
    u32::try_from(i).expect("readers bound the number of lines and points")
}

/// What to subtract from each view's sheet coordinates (right, up) so that they are object coordinates but for a common
/// shift per axis.
fn origins(bounds: &[Bounds; 3]) -> [[f64; 2]; 3] {
    let [front, top, right] = bounds;
    let x = front.min[0].min(top.min[0]);
    let z = front.min[1].min(right.min[1]);
    [[x, z], [x, top.min[1]], [right.min[0], z]]
}

fn corners_on_sheet(origins: &[[f64; 2]; 3], firsts: [f64; 3]) -> [[f64; 2]; 3] {
    View::ALL.map(|view| {
        let origin = origins[view.index()];
        let [right, up] = view.axes();
        [origin[0] + firsts[right], origin[1] + firsts[up]]
    })
}

/// A coordinate and whose it is: piece times four, plus two for the second end, plus one for the upward coordinate.
type Value = (f64, u32);

fn sorted_values(raw: &[Raw], origins: &[[f64; 2]; 3], axis: usize) -> Vec<Value> {
    let mut values = Vec::with_capacity(raw.len() * 3);
    for (i, piece) in raw.iter().enumerate() {
        let Some(side) = piece.view.axes().iter().position(|a| *a == axis) else {
            continue;
        };
        let origin = origins[piece.view.index()][side];
        for (e, end) in piece.ends.iter().enumerate() {
            values.push((end[side] - origin, index(4 * i + 2 * e + side)));
        }
    }
    values.sort_unstable_by(|a, b| a.0.total_cmp(&b.0).then(a.1.cmp(&b.1)));
    values
}

fn default_tolerance(bounds: &[Bounds; 3], axes: &[Vec<Value>; 3]) -> Tolerance {
    let extent = bounds.iter().flat_map(Bounds::size).fold(0.0, f64::max);
    let mut mm = Tolerance::for_extent(extent).mm();
    let chains_up = |mm: f64| {
        axes.iter().any(|values| {
            chains(values, mm).any(|chain| chain[chain.len() - 1].0 - chain[0].0 > 2.0 * mm)
        })
    };
    for _ in 0..MAX_HALVINGS {
        if !chains_up(mm) {
            break;
        }
        mm /= 2.0;
    }
    Tolerance::new(mm).unwrap_or(Tolerance::for_extent(1.0))
}

/// Runs of sorted values that follow each other within the tolerance.
fn chains(values: &[Value], tolerance: f64) -> impl Iterator<Item = &[Value]> {
    values.chunk_by(move |a, b| b.0 - a.0 <= tolerance)
}

/// Values that are one place.
struct Cluster {
    min: f64,
    max: f64,
    mean: f64,
    /// Where its values stand in [`Clusters::values`].
    range: std::ops::Range<usize>,
}

struct Clusters {
    values: Vec<Value>,
    list: Vec<Cluster>,
}

impl Clusters {
    fn new(values: Vec<Value>, tolerance: f64) -> Clusters {
        let mut list = Vec::new();
        let mut start = 0;
        for chain in chains(&values, tolerance) {
            let min = chain[0].0;
            let max = chain[chain.len() - 1].0;
            // Differences from the first are summed, so that equal values have exactly that value as their mean.
            #[allow(clippy::cast_precision_loss, reason = "counts are far below 2^52")]
            let mean = min + chain.iter().map(|v| v.0 - min).sum::<f64>() / chain.len() as f64;
            list.push(Cluster {
                min,
                max,
                mean,
                range: start..start + chain.len(),
            });
            start += chain.len();
        }
        Clusters { values, list }
    }

    fn of(&self, cluster: &Cluster) -> &[Value] {
        &self.values[cluster.range.clone()]
    }
}

/// The segments of each view, and by view the lines that have become a point.
type Moved = ([Vec<Segment>; 3], [Vec<usize>; 3]);

fn segments(raw: &[Raw], clusters: &[Clusters; 3]) -> Moved {
    let mut places = vec![0; 4 * raw.len()];
    for clusters in clusters {
        for (place, cluster) in clusters.list.iter().enumerate() {
            for value in clusters.of(cluster) {
                places[value.1 as usize] = index(place);
            }
        }
    }
    let mut moved = Moved::default();
    let mut first = 0;
    for pieces in raw.chunk_by(|a, b| a.line == b.line) {
        let Raw {
            view, line, hidden, ..
        } = pieces[0];
        let segments = &mut moved.0[view.index()];
        let before = segments.len();
        let ends = places[4 * first..4 * (first + pieces.len())].chunks_exact(4);
        segments.extend(ends.filter(|p| p[..2] != p[2..]).map(|p| Segment {
            from: [p[0], p[1]],
            to: [p[2], p[3]],
            hidden,
            line,
        }));
        if segments.len() == before {
            moved.1[view.index()].push(line as usize);
        }
        first += pieces.len();
    }
    moved
}

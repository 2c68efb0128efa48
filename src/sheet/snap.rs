//! The only place where points move.
//!
//! The views agree with each other only up to the tolerance. So the coordinates along each object axis are gathered from
//! the two views that show it, sorted, and drawn together where they follow each other within the tolerance; every end then
//! moves to the mean of its cluster, and everything after works with places in these lists. The depth is tied from view
//! to view by its nearest edges: the lower edge of the top view and the left edge of the right-side view.

mod report;

use self::report::Report;
use super::bounds::Bounds;
use super::curves::Curves;
use super::curves::chords::{Polygon, circles};
use super::curves::place::{Known, Mark, Placing};
use super::curves::read::{Raw, drawn};
use super::views::{Placed, ViewsError};
use super::{Drawing, Segment, Sheet, View};
use crate::geom::tolerance::Tolerance;

/// A default tolerance is halved at most this often.
const MAX_HALVINGS: usize = 24;

/// Crossings are known this many times worse than the lines that cross.
const CROSSING_REACH: f64 = 20.0;

/// The names of the object's extents, by axis.
const EXTENTS: [&str; 3] = ["width", "depth", "height"];

/// Moves the ends of all lines onto common places and turns the sheet into object coordinates.
///
/// Centres and extremes of circles are places like the ends of straight lines. `tolerance` is in millimetres; without one
/// it is made from the largest view, and halved as long as places chain up over more than twice of it, because then it is
/// too coarse for the drawing.
///
/// # Errors
///
/// When a view stands out of line, the object is flat, or the tolerance is none.
pub(crate) fn snap(
    sheet: &Sheet,
    placed: &Placed,
    tolerance: Option<f64>,
) -> Result<Drawing, ViewsError> {
    let fixed = match tolerance {
        Some(mm) => Some(Tolerance::new(mm).ok_or(ViewsError::Tolerance(mm))?),
        None => None,
    };
    let (lines, tolerance) = Lines::fitting(sheet, placed, fixed);
    let Lines {
        mut raw,
        straight,
        curves,
        mut values,
        polygons,
        bounds,
        origins,
    } = lines;
    let placing = place_arc_ends(
        &curves,
        &mut raw,
        straight,
        &mut values,
        &origins,
        tolerance.mm(),
    );
    let mut report = Report::new(sheet, &bounds, &raw, tolerance.mm());
    report
        .remarks
        .extend(polygons.iter().map(|p| p.remark(sheet.unit)));
    let problems = report.compare_views()?;
    let clusters = values.map(|values| Clusters::new(values, tolerance.mm()));
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
    let (views, mut short) = segments(&raw, straight, &clusters);
    let firsts = [0, 1, 2].map(|axis| clusters[axis].box_edge());
    let curved = placing
        .map(|p| p.finish(&clusters, firsts))
        .unwrap_or_default();
    for (short, curved) in short.iter_mut().zip(curved.short) {
        short.extend(curved);
    }
    report.short_lines(short);
    let all = clusters.iter().flat_map(|c| &c.list);
    let noise = all.map(|c| c.max - c.min).fold(0.0, f64::max);
    Ok(Drawing {
        projection: placed.projection,
        corners: corners_on_sheet(&origins, firsts),
        axes: [0, 1, 2].map(|axis| {
            let places = clusters[axis].list.iter();
            places.map(|k| k.mean - firsts[axis]).collect()
        }),
        views,
        arcs: curved.arcs,
        carriers: curved.carriers,
        all_curves: true,
        tolerance,
        noise,
        crossings: if fixed.is_some() {
            tolerance
        } else {
            crossing_tolerance(tolerance, noise.max(last_place(&raw[..straight])))
        },
        unit: sheet.unit,
        warnings: report.remarks,
        problems,
    })
}

/// The lines of a sheet, and the coordinates that make the places of the axes.
struct Lines {
    /// Straight pieces, then the marks of curved lines.
    raw: Vec<Raw>,
    /// How many of them are straight pieces.
    straight: usize,
    curves: Curves,
    values: [Vec<Value>; 3],
    /// Circles that were drawn as short lines.
    polygons: Vec<Polygon>,
    /// The boxes around the views with all of those circles in them, and what to subtract from sheet coordinates.
    bounds: [Bounds; 3],
    origins: [[f64; 2]; 3],
}

impl Lines {
    /// Reads the lines with the tolerance that fits them, which is the fixed one if there is one.
    fn fitting(sheet: &Sheet, placed: &Placed, fixed: Option<Tolerance>) -> (Lines, Tolerance) {
        let coarse = fixed.unwrap_or_else(|| coarsest_tolerance(&placed.bounds));
        let lines = Lines::read(sheet, placed, coarse.mm());
        if fixed.is_some() {
            return (lines, coarse);
        }
        let tolerance = default_tolerance(coarse, &lines.values);
        if lines.curves.is_empty() || tolerance == coarse {
            return (lines, tolerance);
        }
        // What is one circle, or straight, was judged too coarsely.
        let lines = Lines::read(sheet, placed, tolerance.mm());
        (lines, tolerance)
    }

    fn read(sheet: &Sheet, placed: &Placed, tolerance: f64) -> Lines {
        let mut drawn = drawn(sheet, placed, tolerance);
        let (bends, polygons) = circles(&mut drawn.straight, tolerance);
        drawn.bends.extend(bends);
        let mut bounds = placed.bounds;
        for (view, [min, max]) in polygons.iter().filter_map(Polygon::reach) {
            let of_view = &mut bounds[view.index()];
            *of_view = of_view.joined(Bounds { min, max });
        }
        let origins = origins(&bounds);
        let (mut raw, curves) = Curves::gather(drawn, tolerance);
        let straight = raw.len();
        let marks = curves.marks();
        let values = [0, 1, 2].map(|axis| {
            let mut values = straight_values(&raw, &origins, axis);
            values.extend(mark_values(&marks, straight, &origins, axis));
            sort(&mut values);
            values
        });
        raw.extend(marks.iter().map(|m| m.raw));
        Lines {
            raw,
            straight,
            curves,
            values,
            polygons,
            bounds,
            origins,
        }
    }
}

/// Finds out where the ends of arcs go, and adds the coordinates of those that were near no place.
fn place_arc_ends<'c>(
    curves: &'c Curves,
    raw: &mut Vec<Raw>,
    straight: usize,
    values: &mut [Vec<Value>; 3],
    origins: &[[f64; 2]; 3],
    tolerance: f64,
) -> Option<Placing<'c>> {
    if curves.is_empty() {
        return None;
    }
    let placing = curves.placing(&Known {
        straight: &raw[..straight],
        values,
        origins,
        tolerance,
    });
    for (axis, values) in values.iter_mut().enumerate() {
        values.extend(mark_values(&placing.new, raw.len(), origins, axis));
        sort(values);
    }
    raw.extend(placing.new.iter().map(|m| m.raw));
    Some(placing)
}

fn sort(values: &mut [Value]) {
    values.sort_unstable_by(|a, b| a.0.total_cmp(&b.0).then(a.1.cmp(&b.1)));
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
pub(super) type Value = (f64, u32);

fn straight_values(raw: &[Raw], origins: &[[f64; 2]; 3], axis: usize) -> Vec<Value> {
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
    values
}

/// The coordinates of marks, the first of which stands at `first` in the list of pieces.
fn mark_values(marks: &[Mark], first: usize, origins: &[[f64; 2]; 3], axis: usize) -> Vec<Value> {
    let mut values = Vec::new();
    for (i, mark) in marks.iter().enumerate() {
        let view = mark.raw.view;
        let side = view.axes().iter().position(|a| *a == axis);
        if let Some(side) = side.filter(|s| mark.sides[*s]) {
            let value = mark.raw.ends[0][side] - origins[view.index()][side];
            values.push((value, index(4 * (first + i) + side)));
        }
    }
    values
}

fn coarsest_tolerance(bounds: &[Bounds; 3]) -> Tolerance {
    let extent = bounds.iter().flat_map(Bounds::size).fold(0.0, f64::max);
    Tolerance::for_extent(extent)
}

fn default_tolerance(coarsest: Tolerance, axes: &[Vec<Value>; 3]) -> Tolerance {
    let mut mm = coarsest.mm();
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

/// How near a crossing must come to a place: numbers off by up to `error` millimetres need several times that, and more the
/// flatter two lines cross; half a tenth of the tolerance is enough for the best.
fn crossing_tolerance(tolerance: Tolerance, error: f64) -> Tolerance {
    let mm = tolerance.mm();
    let least = (CROSSING_REACH * error).max(mm / CROSSING_REACH);
    Tolerance::new(least.min(mm)).unwrap_or(tolerance)
}

/// The unit of the last decimal place in which the ends of straight pieces are given, as a share of a millimetre (inches
/// have more places than they need); 0 if they have more than nine.
fn last_place(raw: &[Raw]) -> f64 {
    let numbers = || raw.iter().flat_map(|piece| piece.ends).flatten();
    (0..=9)
        .map(|places| 10.0_f64.powi(places))
        .find(|scale| numbers().all(|c| (c * scale - (c * scale).round()).abs() < 1e-4))
        .map_or(0.0, |scale| 1.0 / scale)
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

pub(super) struct Clusters {
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

    /// The place of the drawing's lower edge, where values are about 0; only centres of arcs lie below it.
    fn box_edge(&self) -> f64 {
        let means = self.list.iter().map(|cluster| cluster.mean);
        means
            .min_by(|a, b| a.abs().total_cmp(&b.abs()))
            .unwrap_or(0.0)
    }

    fn of(&self, cluster: &Cluster) -> &[Value] {
        &self.values[cluster.range.clone()]
    }

    /// The place whose values are nearest to `value`.
    pub(super) fn nearest(&self, value: f64) -> u32 {
        let above = self.list.partition_point(|c| c.max < value);
        let off = |i: usize| {
            let c = &self.list[i];
            (c.min - value).max(value - c.max)
        };
        let last = self.list.len() - 1;
        let best = match above {
            0 => 0,
            i if i > last || off(i - 1) < off(i) => i - 1,
            i => i,
        };
        index(best)
    }

    /// The coordinate of a place.
    pub(super) fn mean(&self, place: u32) -> f64 {
        self.list[place as usize].mean
    }
}

/// The segments of each view, and by view the lines that have become a point.
type Moved = ([Vec<Segment>; 3], [Vec<usize>; 3]);

/// Moves the first `straight` of the pieces.
fn segments(raw: &[Raw], straight: usize, clusters: &[Clusters; 3]) -> Moved {
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
    for pieces in raw[..straight].chunk_by(|a, b| a.line == b.line) {
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

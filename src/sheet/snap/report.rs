//! What snapping tells: views of different size or out of line, ends that miss, places that are nearly the same.

use super::super::bounds::Bounds;
use super::super::views::ViewsError;
use super::super::{Remark, RemarkKind, Sheet, Unit, View};
use super::{Cluster, Clusters, EXTENTS, Raw, Value};

/// Nobody is told of anything off by less than this, in millimetres, unless the tolerance is as small.
const NOTICED: f64 = 1e-3;

/// What is noticed while snapping; lengths in millimetres.
pub(super) struct Report<'a> {
    unit: Unit,
    tolerance: f64,
    /// The least length worth telling.
    noticed: f64,
    bounds: &'a [Bounds; 3],
    raw: &'a [Raw],
    /// The warnings so far.
    pub(super) remarks: Vec<Remark>,
}

/// Two views that show the same extent of the object.
struct Pair {
    /// The object axis.
    axis: usize,
    views: [View; 2],
    /// The sheet axis along which each shows it.
    sides: [usize; 2],
}

const PAIRS: [Pair; 3] = [
    Pair {
        axis: 0,
        views: [View::Front, View::Top],
        sides: [0, 0],
    },
    Pair {
        axis: 1,
        views: [View::Top, View::Right],
        sides: [1, 0],
    },
    Pair {
        axis: 2,
        views: [View::Front, View::Right],
        sides: [1, 1],
    },
];

/// `wide` or `high`, and the comparative.
const SIZE_WORDS: [[&str; 2]; 2] = [["wide", "wider"], ["high", "higher"]];

impl<'a> Report<'a> {
    /// A report that has told nothing yet.
    pub(super) fn new(
        sheet: &Sheet,
        bounds: &'a [Bounds; 3],
        raw: &'a [Raw],
        tolerance: f64,
    ) -> Self {
        Report {
            unit: sheet.unit,
            tolerance,
            noticed: NOTICED.min(tolerance / 10.0),
            bounds,
            raw,
            remarks: Vec::new(),
        }
    }

    fn remark(&mut self, kind: RemarkKind, view: Option<View>, message: String, lines: Vec<usize>) {
        self.remarks.push(Remark {
            kind,
            view,
            message,
            lines,
        });
    }

    /// Compares the sizes of the views; returns those that disagree.
    pub(super) fn compare_views(&mut self) -> Result<Vec<Remark>, ViewsError> {
        let mut problems = Vec::new();
        for pair in &PAIRS {
            let [a, b] = [0, 1].map(|i| self.bounds[pair.views[i].index()]);
            let sizes = [a.size()[pair.sides[0]], b.size()[pair.sides[1]]];
            let differ = (sizes[0] - sizes[1]).abs();
            if differ > self.tolerance {
                problems.push(self.sizes_disagree(pair, sizes));
                continue;
            }
            if differ > self.noticed {
                self.sizes_differ(pair, sizes);
            }
            if pair.axis != 1 {
                self.lined_up(pair, b.min[pair.sides[1]] - a.min[pair.sides[0]])?;
            }
        }
        Ok(problems)
    }

    fn sizes_disagree(&self, pair: &Pair, sizes: [f64; 2]) -> Remark {
        let [first, second] = [0, 1].map(|i| {
            let word = SIZE_WORDS[pair.sides[i]][0];
            format!(
                "the {} is {} {word}",
                pair.views[i].title(),
                self.unit.show(sizes[i])
            )
        });
        let what = EXTENTS[pair.axis];
        Remark {
            kind: RemarkKind::SizesDisagree,
            view: Some(pair.views[1]),
            message: format!(
                "{first}, but {second}; both show the object's {what}, so one of them is wrong"
            ),
            lines: self.lines_at_far_edge(pair),
        }
    }

    fn sizes_differ(&mut self, pair: &Pair, sizes: [f64; 2]) {
        let larger = usize::from(sizes[1] > sizes[0]);
        let (more, less) = (pair.views[larger], pair.views[1 - larger]);
        let by = self.unit.show((sizes[0] - sizes[1]).abs());
        let sides = [pair.sides[larger], pair.sides[1 - larger]];
        let comparative = SIZE_WORDS[sides[0]][1];
        let than = if sides[0] == sides[1] {
            format!("than the {}", less.title())
        } else {
            format!("than the {} is {}", less.title(), SIZE_WORDS[sides[1]][0])
        };
        let message = format!("the {} is {by} {comparative} {than}", more.title());
        let lines = self.lines_at_far_edge(pair);
        self.remark(RemarkKind::SizesDiffer, Some(more), message, lines);
    }

    /// The lines of both views that reach the far end of what they show.
    fn lines_at_far_edge(&self, pair: &Pair) -> Vec<usize> {
        self.lines_where(|piece| {
            let Some(i) = pair.views.iter().position(|v| *v == piece.view) else {
                return false;
            };
            let far = self.bounds[piece.view.index()].max[pair.sides[i]];
            piece
                .ends
                .iter()
                .all(|end| far - end[pair.sides[i]] <= self.tolerance)
        })
    }

    fn lines_where(&self, which: impl Fn(&Raw) -> bool) -> Vec<usize> {
        let mut lines: Vec<usize> = self
            .raw
            .iter()
            .filter(|piece| which(piece))
            .map(|piece| piece.line as usize)
            .collect();
        lines.dedup();
        lines
    }

    fn lined_up(&self, pair: &Pair, shift: f64) -> Result<(), ViewsError> {
        if shift.abs() <= self.tolerance {
            return Ok(());
        }
        let way = match (pair.sides[1], shift > 0.0) {
            (0, true) => "to the right",
            (0, false) => "to the left",
            (_, true) => "up",
            (_, false) => "down",
        };
        Err(ViewsError::Shifted {
            view: pair.views[1].title(),
            by: self.unit.show(shift.abs()),
            way,
        })
    }

    /// Places that are one only in a chain, or almost one.
    pub(super) fn nearly_the_same(&mut self, axis: usize, clusters: &Clusters) {
        let long = clusters
            .list
            .iter()
            .position(|c| c.max - c.min > self.tolerance);
        if let Some(i) = long {
            let Cluster { min, max, .. } = clusters.list[i];
            let message = format!(
                "places spread over {} along the {} were taken as one, although the tolerance is {}; \
                 if they are meant to be different, give a smaller tolerance",
                self.unit.show(max - min),
                EXTENTS[axis],
                self.unit.show(self.tolerance)
            );
            self.place_remark(RemarkKind::NearlyTheSame, message, clusters, i);
        }
        let near =
            |i: &usize| clusters.list[i + 1].min - clusters.list[*i].max < 2.0 * self.tolerance;
        let count = (0..clusters.list.len() - 1).filter(near).count();
        if let Some(i) = (0..clusters.list.len() - 1).find(near) {
            let gap = self
                .unit
                .show(clusters.list[i + 1].min - clusters.list[i].max);
            let others = match count {
                1 => String::new(),
                n => format!(" (and {} more like it)", n - 1),
            };
            let message = format!(
                "two places along the {} are only {gap} apart{others} and were taken as different; \
                 if they are meant to be one, draw them at one place or give a larger tolerance",
                EXTENTS[axis]
            );
            self.place_remark(RemarkKind::NearlyTheSame, message, clusters, i);
        }
    }

    /// A remark about the place of a cluster, with the view, spot and lines of it.
    fn place_remark(&mut self, kind: RemarkKind, message: String, clusters: &Clusters, i: usize) {
        let values = clusters.of(&clusters.list[i]);
        let piece = self.raw[values[0].1 as usize / 4];
        let end = piece.ends[values[0].1 as usize % 4 / 2];
        let message = format!(
            "{message}; see the {} near {}",
            piece.view.title(),
            self.unit.show_place(end)
        );
        let lines = self.lines_of(values, |_| true);
        self.remark(kind, Some(piece.view), message, lines);
    }

    /// The lines whose ends these are, at most a handful.
    fn lines_of(&self, values: &[Value], which: impl Fn(View) -> bool) -> Vec<usize> {
        let pieces = values.iter().map(|v| &self.raw[v.1 as usize / 4]);
        let mut lines: Vec<usize> = pieces
            .filter(|piece| which(piece.view))
            .map(|piece| piece.line as usize)
            .collect();
        lines.sort_unstable();
        lines.dedup();
        lines
    }

    /// The range of the values of one view in a cluster.
    fn range_in(&self, values: &[Value], view: View) -> Option<[f64; 2]> {
        values
            .iter()
            .filter(|v| self.raw[v.1 as usize / 4].view == view)
            .fold(None, |range, v| match range {
                None => Some([v.0, v.0]),
                Some([min, _]) => Some([min, v.0]),
            })
    }

    /// Places inside the views that do not line up from view to view; the outer ones are told as sizes.
    pub(super) fn between_views(&mut self, axis: usize, clusters: &Clusters) {
        let pair = &PAIRS[axis];
        let mut worst: Option<(f64, usize)> = None;
        let inner = 1..clusters.list.len() - 1;
        for i in inner {
            let cluster = &clusters.list[i];
            if cluster.max - cluster.min <= self.noticed {
                continue;
            }
            let values = clusters.of(cluster);
            let ranges = pair.views.map(|view| self.range_in(values, view));
            if let [Some(a), Some(b)] = ranges {
                let gap = (a[0] - b[1]).max(b[0] - a[1]);
                if gap > self.noticed && worst.is_none_or(|(w, _)| gap > w) {
                    worst = Some((gap, i));
                }
            }
        }
        if let Some((gap, i)) = worst {
            let [first, second] = pair.views.map(View::title);
            let message = format!(
                "a place along the {} is drawn up to {} apart in the {first} and the {second}",
                EXTENTS[axis],
                self.unit.show(gap)
            );
            self.place_remark(RemarkKind::EndsMiss, message, clusters, i);
        }
    }

    /// Places within one view that are not quite one, one remark per view.
    pub(super) fn ends_miss(&mut self, clusters: &[Clusters; 3]) {
        for view in View::ALL {
            let mut missed: Vec<(f64, usize, usize)> = Vec::new();
            for axis in view.axes() {
                for (i, cluster) in clusters[axis].list.iter().enumerate() {
                    if cluster.max - cluster.min <= self.noticed {
                        continue;
                    }
                    let values = clusters[axis].of(cluster);
                    match self.range_in(values, view) {
                        Some([min, max]) if max - min > self.noticed => {
                            missed.push((max - min, axis, i))
                        }
                        _ => {}
                    }
                }
            }
            if let Some(&worst) = missed.iter().max_by(|a, b| a.0.total_cmp(&b.0)) {
                self.ends_miss_in(view, worst, &missed, clusters);
            }
        }
    }

    fn ends_miss_in(
        &mut self,
        view: View,
        (by, axis, i): (f64, usize, usize),
        missed: &[(f64, usize, usize)],
        clusters: &[Clusters; 3],
    ) {
        let cluster = &clusters[axis].list[i];
        let values = clusters[axis].of(cluster);
        let farthest = values
            .iter()
            .filter(|v| self.raw[v.1 as usize / 4].view == view)
            .max_by(|a, b| {
                (a.0 - cluster.mean)
                    .abs()
                    .total_cmp(&(b.0 - cluster.mean).abs())
            });
        let spot = farthest.map_or([0.0; 2], |v| {
            self.raw[v.1 as usize / 4].ends[v.1 as usize % 4 / 2]
        });
        let places = match missed.len() {
            1 => "a place is".to_owned(),
            n => format!("{n} places are"),
        };
        let message = format!(
            "in the {} {places} not drawn quite as one, by up to {} near {}",
            view.title(),
            self.unit.show(by),
            self.unit.show_place(spot)
        );
        let lines = self.lines_of(values, |v| v == view);
        self.remark(RemarkKind::EndsMiss, Some(view), message, lines);
    }

    /// Lines that have become a point on the common places, by view.
    pub(super) fn short_lines(&mut self, by_view: [Vec<usize>; 3]) {
        for (view, lines) in View::ALL.into_iter().zip(by_view) {
            let what = match lines.len() {
                0 => continue,
                1 => "a line is".to_owned(),
                n => format!("{n} lines are"),
            };
            let message = format!(
                "in the {} {what} not longer than the tolerance of {} and left out",
                view.title(),
                self.unit.show(self.tolerance)
            );
            self.remark(RemarkKind::ShortLine, Some(view), message, lines);
        }
    }
}

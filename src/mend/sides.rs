//! What the other two views show of a view that may lack lines: both of them have the axis along which it looks.

use crate::arrange::{Arrangement, Node, Piece, Run, Slope};
use crate::geom::P2;
use crate::geom::arena::Id;
use crate::geom::carrier::Carrier;
use crate::sheet::View;
use itertools::Itertools;

/// Halvings on the way to the place of a point on a curve.
const HALVINGS: usize = 50;

/// A curve goes along an axis if the sine of the angle between them is less than this; lines by hand are not more exact.
const ALONG: f64 = 0.02;

/// The view that shows the lacking view's right axis, and the one that shows its up axis.
pub(super) fn sides(views: &[Arrangement; 3], lacking: View, tolerance: f64) -> [Side<'_>; 2] {
    lacking.axes().map(|axis| {
        let shows = |v: &&Arrangement| v.view != lacking && v.view.axes().contains(&axis);
        let mut showing = views.iter().filter(shows);
        let view = showing.next().expect("every axis is in two views");
        Side::new(view, lacking.depth_axis(), tolerance)
    })
}

/// A point of the lacking view from what one side, 0 or 1, and the other one show across.
pub(super) fn place(side: usize, across: f64, other: f64) -> P2 {
    match side {
        0 => P2::new(across, other),
        _ => P2::new(other, across),
    }
}

/// A piece of a view as a function of the axis shared with another view.
#[derive(Clone, Copy, Debug)]
pub(super) struct Course {
    piece: Id<Piece>,
    pub(super) run: Id<Run>,
    /// From where to where it goes along the shared axis.
    pub(super) span: [f64; 2],
    /// Where it is across at these ends.
    across: [f64; 2],
    pub(super) curved: bool,
}

/// A view that supports lines, with the shared axis first.
pub(super) struct Side<'a> {
    pub(super) view: &'a Arrangement,
    /// Which of the view's axes is the shared one.
    along: usize,
    pub(super) courses: Vec<Course>,
}

impl<'a> Side<'a> {
    fn new(view: &'a Arrangement, shared: usize, tolerance: f64) -> Self {
        let along = usize::from(view.view.axes()[0] != shared);
        let mut side = Side {
            view,
            along,
            courses: Vec::new(),
        };
        let pieces = view.runs.enumerate();
        let pieces = pieces.flat_map(|(run, r)| r.pieces.iter().map(move |piece| (run, *piece)));
        for (run, id) in pieces {
            let piece = &view.pieces[id];
            let mut ends = piece.ends.map(|n| side.turned(&view.nodes[n].at));
            ends.sort_by(|a, b| a[0].total_cmp(&b[0]));
            if ends[1][0] - ends[0][0] > tolerance {
                side.courses.push(Course {
                    piece: id,
                    run,
                    span: [ends[0][0], ends[1][0]],
                    across: [ends[0][1], ends[1][1]],
                    curved: piece.carrier.is_some(),
                });
            }
        }
        side
    }

    /// A point as its coordinates along the shared axis and across.
    pub(super) fn turned(&self, at: &P2) -> [f64; 2] {
        [at[self.along], at[1 - self.along]]
    }

    /// How far it reaches across.
    pub(super) fn reach(&self) -> f64 {
        let nodes = self.view.nodes.iter();
        nodes.map(|n| self.turned(&n.at)[1]).fold(0.0, f64::max)
    }

    /// Where a course is across, at a place along the shared axis.
    pub(super) fn at(&self, course: &Course, along: f64) -> f64 {
        let [from, to] = course.span;
        let piece = &self.view.pieces[course.piece];
        let Some(carrier) = piece.carrier.map(|c| &self.view.carriers[c as usize]) else {
            let share = ((along - from) / (to - from)).clamp(0.0, 1.0);
            return course.across[0] + share * (course.across[1] - course.across[0]);
        };
        if along <= from {
            return course.across[0];
        }
        if along >= to {
            return course.across[1];
        }
        let [a, b] = piece.ends.map(|n| self.view.nodes[n].at);
        let rising = b[self.along] > a[self.along];
        let start = carrier.parameter(&a);
        let mut bounds = [start, carrier.onward(start, carrier.parameter(&b))];
        for _ in 0..HALVINGS {
            let middle = f64::midpoint(bounds[0], bounds[1]);
            let before = (carrier.point(middle)[self.along] < along) == rising;
            bounds[usize::from(!before)] = middle;
        }
        carrier.point(bounds[0])[1 - self.along]
    }

    /// Where drawn line crosses, touches or runs at a place along the shared axis.
    pub(super) fn heights(&self, along: f64, tolerance: f64) -> Vec<f64> {
        let over = self
            .courses
            .iter()
            .filter(|c| c.span[0] - tolerance <= along && along <= c.span[1] + tolerance);
        let mut heights: Vec<f64> = over.map(|c| self.at(c, along)).collect();
        let nodes = self.view.nodes.iter().map(|n| self.turned(&n.at));
        heights.extend(
            nodes
                .filter(|n| (n[0] - along).abs() <= tolerance)
                .map(|n| n[1]),
        );
        heights.sort_unstable_by(f64::total_cmp);
        heights.dedup_by(|a, b| (*a - *b).abs() <= tolerance);
        heights
    }

    /// The nodes at which a curve turns back from its farthest place across, or goes along the shared axis.
    pub(super) fn turns(&self) -> Vec<[f64; 2]> {
        let curved = self.view.runs.iter().filter(|r| r.carrier.is_some());
        curved.flat_map(|run| self.turns_of(run)).collect()
    }

    /// Where sloping lines and curves end.
    pub(super) fn slope_ends(&self) -> Vec<[f64; 2]> {
        let sloping = |run: &&Run| matches!(run.slope, Slope::Sloping | Slope::Curved);
        let runs = self.view.runs.iter().filter(sloping);
        let ends = runs.flat_map(|run| [run.nodes[0], run.nodes[run.nodes.len() - 1]]);
        let ends = ends.sorted_unstable().dedup();
        ends.map(|node| self.turned(&self.view.nodes[node].at))
            .collect()
    }

    fn turns_of(&self, run: &Run) -> Vec<[f64; 2]> {
        let at = |n: Id<Node>| self.turned(&self.view.nodes[n].at);
        let closed = run.nodes.first() == run.nodes.last();
        let count = run.pieces.len();
        let goes_along = |place: usize| {
            let point = self.view.nodes[run.nodes[place]].at;
            let way = self
                .view
                .direction(run.pieces[place.min(count - 1)], &point);
            way[1 - self.along].abs() < ALONG
        };
        let turns_back = |place: usize| {
            let [before, after] = match (place, closed) {
                (0, true) => [count - 1, 1],
                (p, _) if 0 < p && p < count => [p - 1, p + 1],
                _ => return false,
            };
            let [a, b, c] = [before, place, after].map(|p| at(run.nodes[p]));
            (b[1] - a[1]) * (c[1] - b[1]) < 0.0
        };
        let places = 0..run.nodes.len() - usize::from(closed);
        let turns = places.filter(|&place| turns_back(place) || goes_along(place));
        turns.map(|place| at(run.nodes[place])).collect()
    }

    /// The centres and radii of its circles.
    pub(super) fn circles(&self) -> Vec<([f64; 2], f64)> {
        let circle = |c: &Carrier| match c {
            Carrier::Circle { center, radius } => Some((self.turned(center), *radius)),
            _ => None,
        };
        self.view.carriers.iter().filter_map(circle).collect()
    }
}

/// The centres of the circles that a view shows, or parts of which.
pub(super) fn centers(view: &Arrangement) -> Vec<P2> {
    let mut centers: Vec<P2> = Vec::new();
    for carrier in &view.carriers {
        if let Carrier::Circle { center, .. } = carrier
            && !centers.contains(center)
        {
            centers.push(*center);
        }
    }
    centers
}

/// Where a view may have its middle along one of its axes, as wide as it is: half way, and where it has centres.
pub(super) fn middles(view: &Arrangement, axis: usize, size: f64, tolerance: f64) -> Vec<f64> {
    let mut middles: Vec<f64> = centers(view).iter().map(|center| center[axis]).collect();
    middles.push(0.5 * size);
    middles.sort_unstable_by(f64::total_cmp);
    middles.dedup_by(|a, b| (*a - *b).abs() <= tolerance);
    middles
}

/// How unlikely it is that a line is missing at a place of a view: not at all where drawn line ends in the open, little in a
/// corner and where drawn line passes by, very where nothing is drawn.
pub(super) fn unlikely(view: &Arrangement, place: [u32; 2], at: &P2, tolerance: f64) -> usize {
    match view.node_at.get(&place) {
        Some(&node) => view.ways(node).saturating_sub(1).min(2),
        None if is_on_line(view, at, tolerance) => 1,
        None => 3,
    }
}

/// Whether drawn line of a view passes a point.
pub(super) fn is_on_line(view: &Arrangement, at: &P2, tolerance: f64) -> bool {
    let straight = view.pieces.iter().filter(|piece| piece.carrier.is_none());
    let ends = straight.map(|piece| piece.ends.map(|n| view.nodes[n].at));
    is_on_curved_line(view, at, tolerance) || { ends }.any(|ends| is_between(at, &ends, tolerance))
}

/// Whether a drawn curve of a view passes a point.
pub(super) fn is_on_curved_line(view: &Arrangement, at: &P2, tolerance: f64) -> bool {
    view.pieces.iter().any(|piece| {
        piece.carrier.is_some_and(|carrier| {
            let [a, b] = piece.ends.map(|n| view.nodes[n].at);
            let (low, high) = (a.inf(&b), a.sup(&b));
            let inside = |k: usize| low[k] - tolerance <= at[k] && at[k] <= high[k] + tolerance;
            let carrier = &view.carriers[carrier as usize];
            inside(0) && inside(1) && carrier.distance(at) <= tolerance
        })
    })
}

/// Whether a point lies between two others, or near them.
pub(super) fn is_between(at: &P2, ends: &[P2; 2], tolerance: f64) -> bool {
    let along = ends[1] - ends[0];
    let length = along.norm();
    let (off, forth) = (
        along.perp(&(at - ends[0])) / length,
        along.dot(&(at - ends[0])) / length,
    );
    off.abs() <= tolerance && -tolerance <= forth && forth <= length + tolerance
}

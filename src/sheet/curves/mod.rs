//! Curved lines of a sheet on their way to the common places.
//!
//! `read` turns drawn shapes into bends, `chords` finds circles drawn as short lines, `fit` tells circles and straight lines among sampled points, `merge` and `free`
//! gather the bends of a view that run along one carrier, `cover` finds what is drawn visible and hidden along each, and
//! `place` brings the ends onto the places of the axes. Coordinates are millimetres on the sheet until the last step.

pub(super) mod chords;
mod cover;
mod fit;
mod free;
mod merge;
pub(super) mod place;
pub(super) mod read;

use self::cover::Coverage;
use self::read::{Drawn, Raw};
use super::View;
use crate::geom::carrier::Carrier;

/// A curved line before anything is merged or moved.
#[derive(Clone, Debug)]
pub(super) struct Bend {
    /// The line it came from, a place in the sheet's list.
    line: u32,
    view: View,
    hidden: bool,
    carrier: Carrier,
    /// Where it starts and ends along its carrier.
    span: [f64; 2],
}

/// All bends of a view along one carrier.
#[derive(Clone, Debug)]
struct Course {
    carrier: Carrier,
    /// Whether centre and extremes are as good as drawn places: an ellipse or a large enough part of a circle.
    firm: bool,
    members: Vec<Bend>,
    /// Where each member runs, in parameters of the carrier.
    spans: Vec<[f64; 2]>,
}

/// The curved lines of one view: what they run along and where they are drawn.
#[derive(Default)]
struct ViewCurves {
    courses: Vec<Course>,
    coverages: Vec<Coverage>,
}

/// The curved lines of all views.
#[derive(Default)]
pub(super) struct Curves {
    views: [ViewCurves; 3],
}

impl Curves {
    /// Merges the bends of each view; sampled curves that prove straight join the straight pieces.
    pub(super) fn gather(drawn: Drawn, tolerance: f64) -> (Vec<Raw>, Curves) {
        let mut curves = Curves::default();
        let mut straight = drawn.straight;
        if drawn.bends.is_empty() {
            return (straight, curves);
        }
        let mut by_view: [Vec<Bend>; 3] = Default::default();
        for bend in drawn.bends {
            by_view[bend.view.index()].push(bend);
        }
        for (view, bends) in View::ALL.into_iter().zip(by_view) {
            if bends.is_empty() {
                continue;
            }
            let (mut courses, more) = merge::courses(bends, tolerance);
            straight.extend(more);
            let covered = |courses: &[Course]| -> Vec<Coverage> {
                courses.iter().map(|c| Coverage::of(c, tolerance)).collect()
            };
            let mut coverages = covered(&courses);
            let (mine, others) = straight.into_iter().partition(|raw| raw.view == view);
            straight = others;
            let (mine, some) = merge::absorb_fragments(&mut courses, &coverages, mine, tolerance);
            straight.extend(mine);
            if some {
                courses.iter_mut().for_each(Course::measure);
                coverages = covered(&courses);
            }
            curves.views[view.index()] = ViewCurves { courses, coverages };
        }
        // The pieces of a line stand together.
        straight.sort_by_key(|raw| raw.line);
        (straight, curves)
    }

    /// Whether there are none.
    pub(super) fn is_empty(&self) -> bool {
        self.views.iter().all(|view| view.courses.is_empty())
    }
}

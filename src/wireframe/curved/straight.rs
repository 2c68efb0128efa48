//! Straight stretches over drawn line in all three views.
//!
//! Lines along an axis stand on a node in the view that sees them end-on, and on a row in each of the others. Lines in a
//! plane across an axis slope in one view and lie on rows in the other two. All others slope in all three.

use super::Stretch;
use super::rows::{Rows, shared, view_of};
use crate::arrange::{Arrangement, Run, Slope};
use crate::geom::arena::Id;
use crate::geom::axis::Axes;
use crate::geom::path::Path;
use crate::geom::tolerance::Tolerance;
use crate::geom::{P2, P3};
use crate::sheet::View;

/// All straight stretches.
pub(super) fn stretches(
    views: &[Arrangement; 3],
    axes: &Axes,
    rows: &Rows,
    tolerance: Tolerance,
) -> Vec<Stretch> {
    let finder = Finder {
        views,
        axes,
        rows,
        least: tolerance.mm(),
        slack: tolerance.slack(),
    };
    let mut found = Vec::new();
    for view in View::ALL {
        finder.end_on(view, &mut found);
        finder.true_length(view, &mut found);
    }
    finder.askew(&mut found);
    found
}

struct Finder<'a> {
    views: &'a [Arrangement; 3],
    axes: &'a Axes,
    rows: &'a Rows,
    /// Shorter stretches are none.
    least: f64,
    /// How far a line may miss in the third view.
    slack: f64,
}

/// A sloping run with its ends.
struct Sloping {
    run: Id<Run>,
    ends: [P2; 2],
}

impl Sloping {
    /// How far a point lies beside its line, and whether it lies between its ends or near them.
    fn misses(&self, at: &P2, slack: f64) -> bool {
        let along = self.ends[1] - self.ends[0];
        let reach = at - self.ends[0];
        let length = along.norm();
        let (off, forth) = (along.perp(&reach) / length, along.dot(&reach) / length);
        off.abs() > slack || forth < -slack || forth > length + slack
    }
}

impl Finder<'_> {
    /// Lines that a view sees end-on.
    fn end_on(&self, view: View, found: &mut Vec<Stretch>) {
        let depth = view.depth_axis();
        let [right, up] = view.axes();
        let [beside, above] = [right, up].map(|axis| view_of(axis, depth));
        for node in self.views[view.index()].nodes.iter() {
            for one in self.rows.at(beside, right, node.ids[0]) {
                for other in self.rows.at(above, up, node.ids[1]) {
                    let Some(span) = shared(one.span, other.span, self.least) else {
                        continue;
                    };
                    let ends = span.map(|d| point([right, up, depth], [node.at.x, node.at.y, d]));
                    let mut runs = [None; 3];
                    runs[beside.index()] = Some(one.run);
                    runs[above.index()] = Some(other.run);
                    found.push(Stretch {
                        path: Path::straight(ends[0], ends[1]),
                        runs,
                        loose: false,
                    });
                }
            }
        }
    }

    fn sloping(&self, view: View) -> Vec<Sloping> {
        let arrangement = &self.views[view.index()];
        arrangement
            .runs
            .enumerate()
            .filter(|(_, r)| r.slope == Slope::Sloping)
            .map(|(run, r)| Sloping {
                run,
                ends: [r.nodes[0], r.nodes[r.nodes.len() - 1]].map(|n| arrangement.nodes[n].at),
            })
            .collect()
    }

    /// Lines that slope in one view, which sees their true length, and lie on rows in the others.
    fn true_length(&self, view: View, found: &mut Vec<Stretch>) {
        let depth = view.depth_axis();
        let [right, up] = view.axes();
        let [beside, above] = [right, up].map(|axis| view_of(axis, depth));
        let places = u32::try_from(self.axes.len(depth)).expect("fewer than 2^32 places");
        for sloping in self.sloping(view) {
            for place in 0..places {
                for one in self.rows.at(beside, depth, place) {
                    for other in self.rows.at(above, depth, place) {
                        let Some([from, to]) =
                            within(sloping.ends, [one.span, other.span], self.least)
                        else {
                            continue;
                        };
                        let d = self.axes.value(depth, place);
                        let ends = [from, to].map(|p| point([right, up, depth], [p.x, p.y, d]));
                        let mut runs = [None; 3];
                        runs[view.index()] = Some(sloping.run);
                        runs[beside.index()] = Some(one.run);
                        runs[above.index()] = Some(other.run);
                        found.push(Stretch {
                            path: Path::straight(ends[0], ends[1]),
                            runs,
                            loose: false,
                        });
                    }
                }
            }
        }
    }

    /// Lines that slope in every view.
    fn askew(&self, found: &mut Vec<Stretch>) {
        let [fronts, tops, rights] = View::ALL.map(|view| self.sloping(view));
        let at = |line: &Sloping, x: f64| {
            let [a, b] = line.ends;
            a.y + (b.y - a.y) * ((x - a.x) / (b.x - a.x))
        };
        let widths = |line: &Sloping| {
            let [a, b] = line.ends;
            [a.x.min(b.x), a.x.max(b.x)]
        };
        for front in &fronts {
            for top in &tops {
                let Some(span) = shared(widths(front), widths(top), self.least) else {
                    continue;
                };
                let ends = span.map(|x| P3::new(x, at(top, x), at(front, x)));
                for right in &rights {
                    let seen = ends.map(|p| P2::new(p.y, p.z));
                    if seen.iter().all(|p| !right.misses(p, self.slack)) {
                        found.push(Stretch {
                            path: Path::straight(ends[0], ends[1]),
                            runs: [front.run, top.run, right.run].map(Some),
                            loose: false,
                        });
                    }
                }
            }
        }
    }
}

/// The part of a straight line between coordinates.
fn within([a, b]: [P2; 2], spans: [[f64; 2]; 2], least: f64) -> Option<[P2; 2]> {
    let mut shares = [0.0_f64, 1.0_f64];
    for k in 0..2 {
        let share = |value: f64| (value - a[k]) / (b[k] - a[k]);
        let [p, q] = spans[k].map(share);
        shares = [shares[0].max(p.min(q)), shares[1].min(p.max(q))];
    }
    let ends = shares.map(|s| match s {
        0.0 => a,
        1.0 => b,
        s => a + (b - a) * s,
    });
    (shares[0] < shares[1] && (ends[1] - ends[0]).norm() > least).then_some(ends)
}

/// The point with the given coordinates along the given axes.
pub(super) fn point(axes: [usize; 3], coordinates: [f64; 3]) -> P3 {
    let mut point = P3::origin();
    for (axis, coordinate) in axes.into_iter().zip(coordinates) {
        point[axis] = coordinate;
    }
    point
}

//! Whole views drawn wrong: turned over, seen from the other side, exchanged, or at another scale.
//!
//! Each such slip is undone on the sheet's views as a whole, and the views are laid out anew and answered. A slip is told
//! only if the views then have a proven reading.

use std::cmp::Ordering;

use super::attempt_on;
use crate::geom::P2;
use crate::options::Watch;
use crate::sheet::Drawing;
use crate::sheet::motion::Motion;
use crate::sheet::views::{Placed, drawing, place};
use crate::{Line, Options, Projection, Remark, RemarkKind, Sheet, Verdict, View};

/// Empty paper between the views laid out anew, in parts of their size.
const GAP: f64 = 0.25;

/// Sizes that differ by less than this share are one size.
const ALIKE: f64 = 1e-3;

/// More slips than this are not told of one sheet.
const MOST: usize = 3;

/// What may be wrong with whole views.
#[derive(Clone, Copy, Debug, PartialEq)]
enum Slip {
    /// Up and down are exchanged.
    UpsideDown(View),
    /// Left and right are exchanged.
    WrongWayRound(View),
    /// Both: it is turned by half a turn.
    HalfTurn(View),
    /// It shows the object from the opposite side.
    OtherSide(View),
    /// The view in the place of each of the front, top and right-side view.
    Exchanged([View; 3]),
    /// It is so many times as large as the others.
    Scaled(View, f64),
}

/// Remarks on the slips that explain why no object has the views.
pub(super) fn slips(sheet: &Sheet, options: &Options, watch: &dyn Watch) -> Vec<Remark> {
    let Ok(placed) = place(sheet, options) else {
        return Vec::new();
    };
    let quick = Options {
        reading_limit: 2,
        explain: false,
        ..options.clone()
    };
    let sizes = placed.bounds.map(|b| b.size());
    let mut remarks: Vec<Remark> = Vec::new();
    // Many parts are symmetric: what looks like a drawing answered already needs no second answer.
    let mut answered: Vec<_> = drawing(sheet, options).iter().map(look).collect();
    for slip in possible(sizes) {
        if remarks.len() == MOST || !watch.keep_going() {
            break;
        }
        // On a view that is alike left and right, turned over is turned by half a turn.
        if slip.view().is_some() && remarks.iter().any(|r| r.view == slip.view()) {
            continue;
        }
        let Ok(undone) = drawing(&undone(sheet, &placed, slip), &quick) else {
            continue;
        };
        let look = look(&undone);
        if answered.contains(&look) {
            continue;
        }
        answered.push(look);
        let Ok((outcome, _)) = attempt_on(undone, &quick, watch) else {
            continue;
        };
        let what = match outcome.verdict {
            Verdict::Unique => "exactly one object",
            Verdict::Ambiguous => "several objects",
            _ => continue,
        };
        remarks.push(Remark {
            kind: RemarkKind::WholeView,
            view: slip.view(),
            message: format!(
                "{}; put right, the three views describe {what}",
                slip.in_words()
            ),
            lines: Vec::new(),
        });
    }
    remarks
}

/// What a drawing shows in each view, whatever the order and direction of its lines: the ends and the middle of each, in
/// steps of the tolerance, and whether it is hidden.
fn look(drawing: &Drawing) -> [Vec<Trace>; 3] {
    let step = drawing.tolerance.mm();
    // Away from the middle between two steps, where the last bit would decide.
    let rounded = |p: P2| [p.x, p.y].map(|c| (c / step + 0.3).round());
    View::ALL.map(|view| {
        let v = view.index();
        let at = |end| P2::from(drawing.at(view, end));
        let straight = drawing.views[v].iter().map(|s| {
            let [a, b] = [at(s.from), at(s.to)];
            ([a, b, nalgebra::center(&a, &b)], s.hidden)
        });
        let round = drawing.arcs[v].iter().map(|arc| {
            let [a, b] = [at(arc.from), at(arc.to)];
            let carrier = &drawing.carriers[v][arc.carrier as usize];
            let from = carrier.parameter(&a);
            let to = carrier.onward(from, carrier.parameter(&b));
            let middle = carrier.point(f64::midpoint(from, to));
            ([a, b, middle], arc.hidden)
        });
        let traces = straight.chain(round).map(|(points, hidden)| {
            let [a, b, middle] = points.map(rounded);
            let [a, b] = if a <= b { [a, b] } else { [b, a] };
            (a, b, middle, hidden)
        });
        let mut traces: Vec<_> = traces.collect();
        traces.sort_by(|a, b| a.partial_cmp(b).unwrap_or(Ordering::Equal));
        traces.dedup();
        traces
    })
}

/// Two ends, the middle, and whether it is hidden.
type Trace = ([f64; 2], [f64; 2], [f64; 2], bool);

/// The slips that the sizes of the views allow.
fn possible(sizes: [[f64; 2]; 3]) -> Vec<Slip> {
    let mut all = Vec::new();
    for view in View::ALL {
        all.extend([
            Slip::UpsideDown(view),
            Slip::WrongWayRound(view),
            Slip::HalfTurn(view),
            Slip::OtherSide(view),
        ]);
    }
    let [front, top, right] = View::ALL;
    let orders = [
        [front, right, top],
        [top, front, right],
        [right, top, front],
        [top, right, front],
        [right, front, top],
    ];
    all.extend(orders.map(Slip::Exchanged));
    all.extend(View::ALL.into_iter().filter_map(|view| scaled(view, sizes)));
    all
}

/// Whether a view has the right shape for the sizes of the other two, but at another scale.
fn scaled(view: View, [front, top, right]: [[f64; 2]; 3]) -> Option<Slip> {
    let (own, due) = match view {
        View::Front => (front, [top[0], right[1]]),
        View::Top => (top, [front[0], right[0]]),
        View::Right => (right, [top[1], front[1]]),
    };
    // The others must agree with each other, or there is no telling which view is wrong.
    let (one, other) = match view {
        View::Front => (top[1], right[0]),
        View::Top => (front[1], right[1]),
        View::Right => (front[0], top[0]),
    };
    let factors = [own[0] / due[0], own[1] / due[1]];
    let alike = |a: f64, b: f64| (a - b).abs() <= ALIKE * a.max(b);
    (alike(one, other) && alike(factors[0], factors[1]) && !alike(factors[0], 1.0))
        .then_some(Slip::Scaled(view, factors[0]))
}

impl Slip {
    fn view(self) -> Option<View> {
        match self {
            Slip::UpsideDown(view)
            | Slip::WrongWayRound(view)
            | Slip::HalfTurn(view)
            | Slip::OtherSide(view)
            | Slip::Scaled(view, _) => Some(view),
            Slip::Exchanged(_) => None,
        }
    }

    fn in_words(self) -> String {
        match self {
            Slip::UpsideDown(view) => {
                format!(
                    "the {} looks turned over, with top and bottom exchanged",
                    view.title()
                )
            }
            Slip::WrongWayRound(view) => {
                format!(
                    "the {} looks turned over, with left and right exchanged",
                    view.title()
                )
            }
            Slip::HalfTurn(view) => format!(
                "the {} looks upside down, turned by half a turn",
                view.title()
            ),
            Slip::OtherSide(view) => {
                let other = match view {
                    View::Front => "rear view",
                    View::Top => "bottom view",
                    View::Right => "left-side view",
                };
                format!(
                    "a {other} seems to stand in the place of the {}",
                    view.title()
                )
            }
            Slip::Exchanged(order) => {
                let moved: Vec<String> = View::ALL
                    .into_iter()
                    .zip(order)
                    .filter(|(place, stands)| place != stands)
                    .map(|(place, stands)| {
                        format!(
                            "the {} stands in the place of the {}",
                            stands.title(),
                            place.title()
                        )
                    })
                    .collect();
                format!("the views look exchanged: {}", moved.join(", "))
            }
            Slip::Scaled(view, factor) => format!(
                "the {} is drawn {} times as large as the other two views",
                view.title(),
                (factor * 1e3).round() / 1e3
            ),
        }
    }

    /// How the lines that stand in the place of a view are turned over and scaled, and the view they then are.
    fn undo(self, stands: View) -> (View, Motion) {
        let plain = Motion {
            flip: [false; 2],
            scale: 1.0,
            shift: [0.0; 2],
        };
        let flipped = |flip| (stands, Motion { flip, ..plain });
        match self {
            Slip::UpsideDown(view) if view == stands => flipped([false, true]),
            Slip::WrongWayRound(view) if view == stands => flipped([true, false]),
            Slip::HalfTurn(view) if view == stands => flipped([true, true]),
            // Seen in a mirror the object has its other side where the view shows it.
            Slip::OtherSide(View::Right) => flipped([true, false]),
            Slip::OtherSide(View::Top) => flipped([false, true]),
            Slip::OtherSide(View::Front) if stands == View::Top => flipped([false, true]),
            Slip::OtherSide(View::Front) => flipped([true, false]),
            Slip::Exchanged(order) => (order[stands.index()], plain),
            Slip::Scaled(view, factor) if view == stands => (
                stands,
                Motion {
                    scale: 1.0 / factor,
                    ..plain
                },
            ),
            _ => (stands, plain),
        }
    }
}

/// The sheet with a slip undone and the views in line, in third-angle projection.
fn undone(sheet: &Sheet, placed: &Placed, slip: Slip) -> Sheet {
    let unit = sheet.unit.millimetres();
    let mut corners = [[0.0; 2]; 3];
    let mut sizes = [[0.0; 2]; 3];
    let motions = View::ALL.map(|stands| slip.undo(stands));
    for stands in View::ALL {
        let (view, motion) = motions[stands.index()];
        let bounds = &placed.bounds[stands.index()];
        let size = bounds.size();
        sizes[view.index()] = size.map(|s| s * motion.scale / unit);
        // The lower left corner afterwards.
        corners[stands.index()] = [0, 1].map(|k| {
            let corner = if motion.flip[k] {
                -bounds.max[k]
            } else {
                bounds.min[k]
            };
            corner * motion.scale / unit
        });
    }
    let [front, top, right] = sizes;
    let gap = GAP
        * [front, top, right]
            .as_flattened()
            .iter()
            .copied()
            .fold(0.0, f64::max);
    let seats = [
        [0.0, 0.0],
        [0.0, front[1].max(right[1]) + gap],
        [front[0].max(top[0]) + gap, 0.0],
    ];
    let lines = placed.lines.iter().map(|&(number, stands)| {
        let (view, motion) = motions[stands.index()];
        let motion = Motion {
            shift: [0, 1].map(|k| seats[view.index()][k] - corners[stands.index()][k]),
            ..motion
        };
        let line = &sheet.lines[number];
        Line {
            view: Some(view),
            line_type: line.line_type,
            shape: motion.of(&line.shape),
        }
    });
    Sheet {
        unit: sheet.unit,
        projection: Some(Projection::ThirdAngle),
        lines: lines.collect(),
    }
}

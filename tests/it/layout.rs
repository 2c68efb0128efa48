//! Drawings as the tests' own data: strokes per view in object millimetres, laid out as sheets and compared.
//!
//! Nothing here is shared with the engine but the data type [`Sheet`] it is given.

use foldback::{Line, LineType, Projection, Shape, Sheet, Unit, View};

/// One straight drawn line of a view, in the view's own millimetres (right, up) from the corner of the object's box.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Stroke {
    /// Start.
    pub(crate) from: [f64; 2],
    /// End.
    pub(crate) to: [f64; 2],
    /// Whether it is drawn hidden.
    pub(crate) hidden: bool,
}

/// Three views of an object whose box starts at the origin.
#[derive(Clone, Debug, Default, PartialEq)]
pub(crate) struct Views {
    /// The strokes of the front, top and right-side view.
    pub(crate) strokes: [Vec<Stroke>; 3],
    /// Width, depth and height of the object's box in millimetres.
    pub(crate) size: [f64; 3],
}

/// How views are set out on a sheet.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Layout {
    /// Third- or first-angle.
    pub(crate) projection: Projection,
    /// The unit the sheet is drawn in.
    pub(crate) unit: Unit,
    /// Whether the sheet says so itself, and to which view each line belongs.
    pub(crate) said: bool,
    /// Sheet coordinates of the front view's lower left corner, in millimetres.
    pub(crate) origin: [f64; 2],
}

impl Default for Layout {
    /// Third-angle in millimetres, everything said, from the sheet's origin.
    fn default() -> Self {
        Layout {
            projection: Projection::ThirdAngle,
            unit: Unit::Millimetre,
            said: true,
            origin: [0.0; 2],
        }
    }
}

/// Half an inch between the views, in millimetres.
const GAP: f64 = 12.7;

impl Views {
    /// The sheet with these views.
    ///
    /// Third-angle: top above front, right-side view to the right of it; first-angle the other way round
    /// (ISO 5456-2). The near side is at the bottom of the top view either way.
    pub(crate) fn sheet(&self, layout: Layout) -> Sheet {
        let [width, depth, height] = self.size;
        let [x, y] = layout.origin;
        let corners = match layout.projection {
            Projection::ThirdAngle => [[x, y], [x, y + height + GAP], [x + width + GAP, y]],
            Projection::FirstAngle => [[x, y], [x, y - GAP - depth], [x - GAP - depth, y]],
        };
        let scale = layout.unit.millimetres();
        let mut lines = Vec::new();
        for view in View::ALL {
            let corner = corners[place(view)];
            let put = |p: [f64; 2]| [0, 1].map(|k| (p[k] + corner[k]) / scale);
            lines.extend(self.strokes[place(view)].iter().map(|stroke| Line {
                view: layout.said.then_some(view),
                line_type: if stroke.hidden {
                    LineType::Hidden
                } else {
                    LineType::Visible
                },
                shape: Shape::Line {
                    from: put(stroke.from),
                    to: put(stroke.to),
                },
            }));
        }
        Sheet {
            unit: layout.unit,
            projection: layout.said.then_some(layout.projection),
            lines,
        }
    }

    /// The views of a sheet that says which line stands in which view, holds straight lines only and is in millimetres.
    pub(crate) fn of(sheet: &Sheet) -> Views {
        let mut views = Views::default();
        for line in &sheet.lines {
            let Shape::Line { from, to } = line.shape else {
                panic!("a straight line, not {line:?}")
            };
            let hidden = line.line_type == LineType::Hidden;
            views.strokes[place(line.view.expect("a named view"))].push(Stroke {
                from,
                to,
                hidden,
            });
        }
        let mut far = [[0.0; 2]; 3];
        for (strokes, far) in views.strokes.iter_mut().zip(&mut far) {
            let ends = || strokes.iter().flat_map(|s| [s.from, s.to]);
            let low = [0, 1].map(|k| ends().map(|p| p[k]).fold(f64::INFINITY, f64::min));
            *far = [0, 1].map(|k| ends().map(|p| p[k]).fold(f64::NEG_INFINITY, f64::max) - low[k]);
            for stroke in strokes {
                stroke.from = [0, 1].map(|k| stroke.from[k] - low[k]);
                stroke.to = [0, 1].map(|k| stroke.to[k] - low[k]);
            }
        }
        views.size = [far[0][0], far[1][1], far[0][1]];
        views
    }

    /// What is drawn at a point of a view: nothing, a visible line (`false`) or a hidden one (`true`).
    pub(crate) fn at(&self, view: usize, point: [f64; 2], within: f64) -> Option<bool> {
        let touching = self.strokes[view]
            .iter()
            .filter(|stroke| stroke.distance(point) < within);
        touching.map(|stroke| stroke.hidden).min()
    }

    /// The same drawing with strokes of one type that continue each other made one.
    pub(crate) fn merged(&self) -> Views {
        Views {
            strokes: self.strokes.each_ref().map(|strokes| merge(strokes)),
            size: self.size,
        }
    }

    /// The first place where two drawings differ by more than `within` millimetres.
    ///
    /// A hidden stroke under a visible one counts for nothing, as on any drawing.
    pub(crate) fn difference(&self, other: &Views, within: f64) -> Option<String> {
        let sizes = [0, 1, 2]
            .into_iter()
            .find(|&k| (self.size[k] - other.size[k]).abs() > within);
        if sizes.is_some() {
            return Some(format!("size {:?} against {:?}", self.size, other.size));
        }
        (0..3).find_map(|view| {
            let name = View::ALL[view].name();
            let forth = self
                .first_not_in(other, view, within)
                .map(|text| format!("{name}: {text}"));
            forth.or_else(|| {
                other
                    .first_not_in(self, view, within)
                    .map(|text| format!("{name}, other way: {text}"))
            })
        })
    }

    fn first_not_in(&self, other: &Views, view: usize, within: f64) -> Option<String> {
        self.strokes[view].iter().find_map(|stroke| {
            let ends = self.strokes[view]
                .iter()
                .chain(&other.strokes[view])
                .flat_map(|s| [s.from, s.to]);
            let mut cuts: Vec<f64> = ends
                .filter(|p| stroke.distance(*p) < within)
                .map(|p| stroke.along(p))
                .collect();
            cuts.sort_by(f64::total_cmp);
            let length = stroke.length();
            let pieces = cuts
                .windows(2)
                .filter(|w| (w[1] - w[0]) * length > 4.0 * within);
            pieces
                .map(|w| stroke.point(f64::midpoint(w[0], w[1])))
                .find_map(|middle| {
                    let here = self.at(view, middle, within);
                    let there = other.at(view, middle, within);
                    (here != there)
                        .then(|| format!("at {middle:.4?} {} against {}", word(here), word(there)))
                })
        })
    }
}

impl Stroke {
    /// The point that far along, 0 at the start and 1 at the end.
    pub(crate) fn point(&self, t: f64) -> [f64; 2] {
        [0, 1].map(|k| self.from[k] + t * (self.to[k] - self.from[k]))
    }

    /// Its length in millimetres.
    pub(crate) fn length(&self) -> f64 {
        (self.to[0] - self.from[0]).hypot(self.to[1] - self.from[1])
    }

    /// Distance of a point from it in millimetres.
    pub(crate) fn distance(&self, point: [f64; 2]) -> f64 {
        let foot = self.point(self.along(point));
        (point[0] - foot[0]).hypot(point[1] - foot[1])
    }

    /// How far the end it shares with `next` lies from the straight line between the other two ends; `None` if they share
    /// none. Ends nearer than `within` are one.
    pub(crate) fn bend(&self, next: &Stroke, within: f64) -> Option<f64> {
        let far = |p: [f64; 2], q: [f64; 2]| (p[0] - q[0]).hypot(p[1] - q[1]) >= within;
        let turned = |s: &Stroke| Stroke {
            from: s.to,
            to: s.from,
            hidden: s.hidden,
        };
        let pairs = [
            (*self, *next),
            (turned(self), *next),
            (*self, turned(next)),
            (turned(self), turned(next)),
        ];
        let (a, b) = pairs.into_iter().find(|(a, b)| !far(a.to, b.from))?;
        let whole = Stroke {
            from: a.from,
            to: b.to,
            hidden: false,
        };
        far(whole.from, whole.to).then(|| whole.distance(a.to))
    }

    /// How far along it the nearest point to `point` is, in 0 ..= 1.
    fn along(&self, point: [f64; 2]) -> f64 {
        let way = [0, 1].map(|k| self.to[k] - self.from[k]);
        let dot: f64 = (0..2).map(|k| way[k] * (point[k] - self.from[k])).sum();
        (dot / self.length().powi(2)).clamp(0.0, 1.0)
    }
}

/// Place of a view in [`Views::strokes`].
pub(crate) fn place(view: View) -> usize {
    match view {
        View::Front => 0,
        View::Top => 1,
        View::Right => 2,
    }
}

/// Joins strokes of one type that continue each other, as long as there are any.
fn merge(strokes: &[Stroke]) -> Vec<Stroke> {
    let mut merged: Vec<Stroke> = Vec::new();
    for &stroke in strokes {
        let mut long = stroke;
        while let Some((i, joined)) = merged
            .iter()
            .enumerate()
            .find_map(|(i, other)| Some((i, joined(&long, other)?)))
        {
            merged.swap_remove(i);
            long = joined;
        }
        merged.push(long);
    }
    merged
}

/// The one stroke that two make which share an end and go straight on.
fn joined(a: &Stroke, b: &Stroke) -> Option<Stroke> {
    const SAME: f64 = 1e-9;
    let same = |p: [f64; 2], q: [f64; 2]| (p[0] - q[0]).hypot(p[1] - q[1]) < SAME;
    let (from, middle, to) = [
        (a.from, a.to, b.from, b.to),
        (a.from, a.to, b.to, b.from),
        (a.to, a.from, b.from, b.to),
        (a.to, a.from, b.to, b.from),
    ]
    .into_iter()
    .find_map(|(from, end, start, to)| same(end, start).then_some((from, end, to)))?;
    let whole = Stroke {
        from,
        to,
        hidden: a.hidden,
    };
    let straight =
        (whole.length() - a.length() - b.length()).abs() < SAME && whole.distance(middle) < SAME;
    (a.hidden == b.hidden && straight).then_some(whole)
}

fn word(drawn: Option<bool>) -> &'static str {
    match drawn {
        None => "nothing",
        Some(false) => "a visible line",
        Some(true) => "a hidden line",
    }
}

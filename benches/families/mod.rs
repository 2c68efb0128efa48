//! Families of sheets that grow with one number, drawn directly in closed form: no engine had a hand in them.
//!
//! Every member is unique, and its volume is known. Views stand half an inch apart.

use foldback::{
    Line, LineType, Options, Outcome, Projection, Shape, Sheet, Unit, Verdict, View, reconstruct,
};

/// The gap between the views, half an inch in millimetres.
const GAP: f64 = 12.7;

/// The tolerance for all families, in millimetres: the larger members hold many levels close together.
const TOLERANCE_MM: f64 = 0.01;

/// A sheet and the volume of the one object it describes.
pub(crate) struct Member {
    /// The drawing.
    pub(crate) sheet: Sheet,
    /// Volume in cubic millimetres.
    pub(crate) volume_mm3: f64,
}

/// How to answer a member.
pub(crate) fn options() -> Options {
    Options {
        tolerance_mm: Some(TOLERANCE_MM),
        ..Options::default()
    }
}

impl Member {
    /// Answers the sheet and checks the answer; panics when it is wrong.
    pub(crate) fn checked_answer(&self, name: &str) -> Outcome {
        let outcome =
            reconstruct(&self.sheet, &options()).expect("a drawing in closed form can be answered");
        assert_eq!(
            outcome.verdict,
            Verdict::Unique,
            "{name}: {:?}",
            outcome.problems
        );
        let found = outcome.readings[0].measures.volume_mm3;
        let error = (found / self.volume_mm3 - 1.0).abs();
        assert!(
            error < 1e-6,
            "{name}: {found} instead of {}",
            self.volume_mm3
        );
        outcome
    }
}

/// A drawing under way: the box of the object, and its lines so far.
struct Pen {
    size: [f64; 3],
    lines: Vec<Line>,
}

impl Pen {
    /// Starts with the three outlines of a box of `size`, in millimetres.
    fn boxed(size: [f64; 3]) -> Self {
        let mut pen = Pen {
            size,
            lines: Vec::new(),
        };
        let [wide, deep, high] = size;
        pen.rectangle(View::Front, LineType::Visible, [0.0, 0.0, wide, high]);
        pen.rectangle(View::Top, LineType::Visible, [0.0, 0.0, wide, deep]);
        pen.rectangle(View::Right, LineType::Visible, [0.0, 0.0, deep, high]);
        pen
    }

    /// The lower left corner of a view on the sheet.
    fn corner(&self, view: View) -> [f64; 2] {
        let [wide, _, high] = self.size;
        match view {
            View::Front => [0.0, 0.0],
            View::Top => [0.0, high + GAP],
            View::Right => [wide + GAP, 0.0],
        }
    }

    /// A whole circle around a point of the view's own coordinates.
    fn circle(&mut self, view: View, line_type: LineType, [right, up]: [f64; 2], radius: f64) {
        let [x, y] = self.corner(view);
        let shape = Shape::Circle {
            center: [right + x, up + y],
            radius,
        };
        self.lines.push(Line {
            view: Some(view),
            line_type,
            shape,
        });
    }

    /// A line between two points of the view's own coordinates, `[right, up, right, up]`.
    fn line(&mut self, view: View, line_type: LineType, [x1, y1, x2, y2]: [f64; 4]) {
        let [x, y] = self.corner(view);
        let shape = Shape::Line {
            from: [x1 + x, y1 + y],
            to: [x2 + x, y2 + y],
        };
        self.lines.push(Line {
            view: Some(view),
            line_type,
            shape,
        });
    }

    fn rectangle(&mut self, view: View, line_type: LineType, [x1, y1, x2, y2]: [f64; 4]) {
        self.line(view, line_type, [x1, y1, x2, y1]);
        self.line(view, line_type, [x2, y1, x2, y2]);
        self.line(view, line_type, [x2, y2, x1, y2]);
        self.line(view, line_type, [x1, y2, x1, y1]);
    }

    fn sheet(self) -> Sheet {
        Sheet {
            unit: Unit::Millimetre,
            projection: Some(Projection::ThirdAngle),
            lines: self.lines,
        }
    }
}

/// Stairs of `n` steps down to the right, each 4 mm wide and 3 mm high, 30 mm deep.
///
/// The front view shows the profile; every tread's edge is visible from above and from the right.
pub(crate) fn staircase(n: u32) -> Member {
    const WIDE: f64 = 4.0;
    const HIGH: f64 = 3.0;
    const DEEP: f64 = 30.0;
    let count = f64::from(n);
    let mut pen = Pen {
        size: [WIDE * count, DEEP, HIGH * count],
        lines: Vec::new(),
    };
    let [wide, deep, high] = pen.size;
    pen.line(View::Front, LineType::Visible, [0.0, high, 0.0, 0.0]);
    pen.line(View::Front, LineType::Visible, [0.0, 0.0, wide, 0.0]);
    pen.rectangle(View::Top, LineType::Visible, [0.0, 0.0, wide, deep]);
    pen.rectangle(View::Right, LineType::Visible, [0.0, 0.0, deep, high]);
    for step in 0..n {
        let x = WIDE * f64::from(step);
        let z = high - HIGH * f64::from(step);
        pen.line(View::Front, LineType::Visible, [x, z, x + WIDE, z]);
        pen.line(
            View::Front,
            LineType::Visible,
            [x + WIDE, z, x + WIDE, z - HIGH],
        );
        if step > 0 {
            pen.line(View::Top, LineType::Visible, [x, 0.0, x, deep]);
            pen.line(View::Right, LineType::Visible, [0.0, z, deep, z]);
        }
    }
    Member {
        sheet: pen.sheet(),
        volume_mm3: WIDE * HIGH * DEEP * count * (count + 1.0) / 2.0,
    }
}

/// The near and far edge of cell `i` in a row of 6 mm cells with 4 mm between and around them.
fn cell(i: u32) -> [f64; 2] {
    let near = 4.0 + 10.0 * f64::from(i);
    [near, near + 6.0]
}

/// A plate 8 mm thick with `n` by `n` square windows right through it.
///
/// From the front and the right the windows' corners are hidden lines from top to bottom.
pub(crate) fn windows(n: u32) -> Member {
    const HIGH: f64 = 8.0;
    let side = 4.0 + 10.0 * f64::from(n);
    let mut pen = Pen::boxed([side, side, HIGH]);
    for i in 0..n {
        for edge in cell(i) {
            pen.line(View::Front, LineType::Hidden, [edge, 0.0, edge, HIGH]);
            pen.line(View::Right, LineType::Hidden, [edge, 0.0, edge, HIGH]);
        }
        for j in 0..n {
            let ([x1, x2], [y1, y2]) = (cell(i), cell(j));
            pen.rectangle(View::Top, LineType::Visible, [x1, y1, x2, y2]);
        }
    }
    let solid = side * side - 36.0 * f64::from(n * n);
    Member {
        sheet: pen.sheet(),
        volume_mm3: solid * HIGH,
    }
}

/// A plate 8 mm thick with `n` by `n` round holes of 6 mm right through it.
///
/// From the front and the right the sides of the holes are hidden lines from top to bottom. Volume: a disc of radius 3 mm
/// is missing for each hole.
pub(crate) fn round_holes(n: u32) -> Member {
    const HIGH: f64 = 8.0;
    const RADIUS: f64 = 3.0;
    let side = 4.0 + 10.0 * f64::from(n);
    let mut pen = Pen::boxed([side, side, HIGH]);
    for i in 0..n {
        for edge in cell(i) {
            pen.line(View::Front, LineType::Hidden, [edge, 0.0, edge, HIGH]);
            pen.line(View::Right, LineType::Hidden, [edge, 0.0, edge, HIGH]);
        }
        for j in 0..n {
            let center = [i, j].map(|k| cell(k)[0] + RADIUS);
            pen.circle(View::Top, LineType::Visible, center, RADIUS);
        }
    }
    let holes = f64::from(n * n) * std::f64::consts::PI * RADIUS * RADIUS;
    Member {
        sheet: pen.sheet(),
        volume_mm3: (side * side - holes) * HIGH,
    }
}

/// A block with `n` by `n` blind pockets from above, no two of the same depth: 2, 3, 4 ... mm.
///
/// From the front, a column of pockets shows its walls down to the deepest one and a floor at each depth, all hidden;
/// a row does the same from the right. Each depth stands in one column and one row only, so the object is unique.
pub(crate) fn pockets(n: u32) -> Member {
    let side = 4.0 + 10.0 * f64::from(n);
    let high = 5.0 + f64::from(n * n);
    let depth = |i: u32, j: u32| 2.0 + f64::from(i * n + j);
    let mut pen = Pen::boxed([side, side, high]);
    for i in 0..n {
        let [near, far] = cell(i);
        let deepest_in_column = high - depth(i, n - 1);
        let deepest_in_row = high - depth(n - 1, i);
        for edge in [near, far] {
            pen.line(
                View::Front,
                LineType::Hidden,
                [edge, deepest_in_column, edge, high],
            );
            pen.line(
                View::Right,
                LineType::Hidden,
                [edge, deepest_in_row, edge, high],
            );
        }
        for j in 0..n {
            let [y1, y2] = cell(j);
            let floor = high - depth(i, j);
            pen.rectangle(View::Top, LineType::Visible, [near, y1, far, y2]);
            pen.line(View::Front, LineType::Hidden, [near, floor, far, floor]);
            pen.line(View::Right, LineType::Hidden, [y1, floor, y2, floor]);
        }
    }
    let count = f64::from(n * n);
    let depths = count * 2.0 + count * (count - 1.0) / 2.0;
    Member {
        sheet: pen.sheet(),
        volume_mm3: side * side * high - 36.0 * depths,
    }
}

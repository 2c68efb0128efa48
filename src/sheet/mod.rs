//! A sheet: one drawing, three views, as data.
//!
//! Readers ([`json`], [`svg`]) fill a [`Sheet`] and say what they noticed; [`views`] works out which line stands in
//! which view; [`snap`] is the only place where points move. Everything after works on a [`Drawing`].

pub(crate) mod border;
pub(crate) mod bounds;
mod curves;
pub(crate) mod json;
pub(crate) mod line_type;
pub(crate) mod motion;
pub(crate) mod read;
pub(crate) mod snap;
pub(crate) mod svg;
pub(crate) mod views;

#[cfg(test)]
mod tests;

use crate::geom::carrier::Carrier;
use crate::geom::tolerance::Tolerance;

/// A unit of length on a sheet.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Unit {
    /// Millimetres, the default.
    #[default]
    Millimetre,
    /// Inches of 25.4 mm.
    Inch,
}

impl Unit {
    /// How many millimetres one unit is.
    pub fn millimetres(self) -> f64 {
        match self {
            Unit::Millimetre => 1.0,
            Unit::Inch => 25.4,
        }
    }

    /// The unit's symbol, `mm` or `in`.
    pub fn symbol(self) -> &'static str {
        match self {
            Unit::Millimetre => "mm",
            Unit::Inch => "in",
        }
    }

    /// A length in millimetres as a person reads it on this sheet, such as `0.4 mm`.
    pub(crate) fn show(self, millimetres: f64) -> String {
        format!("{} {}", self.figure(millimetres), self.symbol())
    }

    /// A place in millimetres as a person finds it on this sheet, such as `(12.5, 40) mm`.
    pub(crate) fn show_place(self, [x, y]: [f64; 2]) -> String {
        format!("({}, {}) {}", self.figure(x), self.figure(y), self.symbol())
    }

    /// The number alone; small lengths keep more places.
    fn figure(self, millimetres: f64) -> String {
        let value = millimetres / self.millimetres();
        let text = if value.abs() < 0.01 {
            format!("{value:.6}")
        } else {
            format!("{value:.3}")
        };
        let text = text.trim_end_matches('0').trim_end_matches('.');
        if text == "-0" { "0" } else { text }.to_owned()
    }
}

/// How the views are arranged on the sheet (ISO 5456-2).
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Projection {
    /// Top view above the front view, right-side view to the right of it.
    ThirdAngle,
    /// Top view below the front view, right-side view to the left of it.
    FirstAngle,
}

impl Projection {
    /// `third-angle` or `first-angle`.
    pub fn name(self) -> &'static str {
        match self {
            Projection::ThirdAngle => "third-angle",
            Projection::FirstAngle => "first-angle",
        }
    }
}

/// One of the three views.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum View {
    /// Looks along +y; x runs right, z up.
    Front,
    /// Looks along -z; x runs right, y up.
    Top,
    /// The right-side view: looks along -x; y runs right, z up.
    Right,
}

impl View {
    /// All three, in the order used everywhere.
    pub const ALL: [View; 3] = [View::Front, View::Top, View::Right];

    /// `front`, `top` or `right`.
    pub fn name(self) -> &'static str {
        match self {
            View::Front => "front",
            View::Top => "top",
            View::Right => "right",
        }
    }

    /// The view's full name in a sentence: `front view`, `top view`, `right-side view`.
    pub fn title(self) -> &'static str {
        match self {
            View::Front => "front view",
            View::Top => "top view",
            View::Right => "right-side view",
        }
    }

    /// Place in [`View::ALL`].
    pub(crate) fn index(self) -> usize {
        self as usize
    }

    /// The object axes (0 x, 1 y, 2 z) that run right and up in this view.
    pub(crate) fn axes(self) -> [usize; 2] {
        match self {
            View::Front => [0, 2],
            View::Top => [0, 1],
            View::Right => [1, 2],
        }
    }

    /// The object axis this view looks along.
    pub(crate) fn depth_axis(self) -> usize {
        match self {
            View::Front => 1,
            View::Top => 2,
            View::Right => 0,
        }
    }

    /// How near a point with coordinate `c` on the depth axis is to the viewer: larger is nearer.
    pub(crate) fn nearness(self, c: f64) -> f64 {
        match self {
            View::Front => -c,
            View::Top | View::Right => c,
        }
    }
}

/// What kind of line it is (ISO 128). Only visible and hidden lines bear geometry.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum LineType {
    /// A visible edge or contour: continuous and wide. The default.
    #[default]
    Visible,
    /// An edge or contour behind material: dashed.
    Hidden,
    /// A center line: long-short dashes.
    Center,
    /// A phantom line: long-short-short dashes.
    Phantom,
    /// A dimension, extension or leader line: continuous and thin.
    Dimension,
    /// A construction line.
    Construction,
    /// Part of the border or the title block.
    Border,
}

impl LineType {
    /// All types, in the order of the sheet format.
    pub const ALL: [LineType; 7] = [
        LineType::Visible,
        LineType::Hidden,
        LineType::Center,
        LineType::Phantom,
        LineType::Dimension,
        LineType::Construction,
        LineType::Border,
    ];

    /// The word for it in a sheet file.
    pub fn name(self) -> &'static str {
        match self {
            LineType::Visible => "visible",
            LineType::Hidden => "hidden",
            LineType::Center => "center",
            LineType::Phantom => "phantom",
            LineType::Dimension => "dimension",
            LineType::Construction => "construction",
            LineType::Border => "border",
        }
    }

    /// Whether lines of this type say something about the object.
    pub fn bears_geometry(self) -> bool {
        matches!(self, LineType::Visible | LineType::Hidden)
    }
}

/// The shape of a drawn line in sheet coordinates and the sheet's unit: x right, y up.
///
/// Angles are degrees, counter-clockwise from +x.
#[derive(Clone, Debug, PartialEq)]
pub enum Shape {
    /// Straight from one point to another.
    Line {
        /// Start.
        from: [f64; 2],
        /// End.
        to: [f64; 2],
    },
    /// Straight between the points.
    Polyline(Vec<[f64; 2]>),
    /// A whole circle.
    Circle {
        /// Centre.
        center: [f64; 2],
        /// Radius.
        radius: f64,
    },
    /// Counter-clockwise from `start` to `end`.
    Arc {
        /// Centre.
        center: [f64; 2],
        /// Radius.
        radius: f64,
        /// Where it starts.
        start: f64,
        /// Where it ends.
        end: f64,
    },
    /// A whole ellipse.
    Ellipse {
        /// Centre.
        center: [f64; 2],
        /// Radii along its own first and second axis.
        radii: [f64; 2],
        /// Turn of the first axis.
        rotation: f64,
    },
    /// Part of an ellipse; `start` and `end` are eccentric angles.
    EllipticalArc {
        /// Centre.
        center: [f64; 2],
        /// Radii along its own first and second axis.
        radii: [f64; 2],
        /// Turn of the first axis.
        rotation: f64,
        /// Where it starts.
        start: f64,
        /// Where it ends.
        end: f64,
    },
    /// Points on one smooth curve.
    Curve(Vec<[f64; 2]>),
}

/// One drawn line.
#[derive(Clone, Debug, PartialEq)]
pub struct Line {
    /// The view it stands in; `None`: worked out from where it stands.
    pub view: Option<View>,
    /// Its type.
    pub line_type: LineType,
    /// Its shape.
    pub shape: Shape,
}

/// One drawing with three views, in the unit it was drawn in.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Sheet {
    /// The unit of all its coordinates.
    pub unit: Unit,
    /// Third- or first-angle; `None`: worked out from where the views stand.
    pub projection: Option<Projection>,
    /// Its lines, in the order of the file; reports point at lines by their place in this list.
    pub lines: Vec<Line>,
}

/// Something worth telling about a sheet: a warning, or a problem that makes it contradictory.
#[derive(Clone, Debug, PartialEq)]
pub struct Remark {
    /// What sort of remark it is.
    pub kind: RemarkKind,
    /// The view it is about, if it is about one.
    pub view: Option<View>,
    /// A sentence for a person; coordinates and lengths carry the sheet's unit.
    pub message: String,
    /// The lines it is about, as places in [`Sheet::lines`].
    pub lines: Vec<usize>,
}

/// The sorts of [`Remark`].
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[non_exhaustive]
pub enum RemarkKind {
    /// Two views disagree on a size by less than the tolerance.
    SizesDiffer,
    /// Ends miss each other by less than the tolerance.
    EndsMiss,
    /// Two places are almost, but not quite, within the tolerance of each other.
    NearlyTheSame,
    /// The sheet is right only within a tolerance wider than the default.
    Inaccurate,
    /// A line is too short to mean anything and was left out.
    ShortLine,
    /// A circle is drawn as many short lines and was read as a circle.
    ChordsAsCircle,
    /// Hidden lines are left out, so that depths may not be known.
    LinesLeftOut,
    /// A part of the file was passed over.
    PassedOver,
    /// Two views disagree on a size by more than the tolerance.
    SizesDisagree,
    /// No edge of any object can have given this line.
    LineWithoutEdge,
    /// Every line could be right by itself, but not all together.
    NotTogether,
    /// The only solids fall apart or merely touch.
    AlmostSolid,
    /// A whole view is turned over, from the other side, exchanged with another, or at another scale.
    WholeView,
    /// A line ends where no other line is.
    OpenEnd,
    /// The outline is a circle in more than one view.
    RoundEverywhere,
    /// Another view has no lines where a circle needs them.
    MissingLines,
}

impl RemarkKind {
    /// The word for it in a report.
    pub fn name(self) -> &'static str {
        match self {
            RemarkKind::SizesDiffer => "sizes-differ",
            RemarkKind::EndsMiss => "ends-miss",
            RemarkKind::NearlyTheSame => "nearly-the-same",
            RemarkKind::Inaccurate => "inaccurate",
            RemarkKind::ShortLine => "short-line",
            RemarkKind::ChordsAsCircle => "chords-as-circle",
            RemarkKind::LinesLeftOut => "lines-left-out",
            RemarkKind::PassedOver => "passed-over",
            RemarkKind::SizesDisagree => "sizes-disagree",
            RemarkKind::LineWithoutEdge => "line-without-edge",
            RemarkKind::NotTogether => "not-together",
            RemarkKind::AlmostSolid => "almost-solid",
            RemarkKind::WholeView => "whole-view",
            RemarkKind::OpenEnd => "open-end",
            RemarkKind::RoundEverywhere => "round-everywhere",
            RemarkKind::MissingLines => "missing-lines",
        }
    }
}

/// A straight piece of a geometry-bearing line, its ends on the snapped grid of its view.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) struct Segment {
    /// Start: places in [`Drawing::axes`] along the view's right and up axis.
    pub(crate) from: [u32; 2],
    /// End, likewise.
    pub(crate) to: [u32; 2],
    /// Whether it is drawn hidden.
    pub(crate) hidden: bool,
    /// The line it came from, a place in [`Sheet::lines`].
    pub(crate) line: u32,
}

/// A curved piece of a geometry-bearing line, monotone in both coordinates, its ends on the snapped grid of its view.
///
/// It runs in the direction in which the carrier's parameter grows. Where the arcs of one carrier coincide they have the
/// same ends, visible arcs hide hidden ones, and arcs drawn in parts without a change of type are joined.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) struct Arc {
    /// What it runs along, a place in the view's list in [`Drawing::carriers`].
    pub(crate) carrier: u32,
    /// Start: places in [`Drawing::axes`] along the view's right and up axis.
    pub(crate) from: [u32; 2],
    /// End, likewise.
    pub(crate) to: [u32; 2],
    /// Whether it is drawn hidden.
    pub(crate) hidden: bool,
    /// The line it came from, a place in [`Sheet::lines`].
    pub(crate) line: u32,
}

/// A sheet after snapping: only visible and hidden lines, in object coordinates.
#[derive(Clone, Debug)]
pub(crate) struct Drawing {
    /// Third- or first-angle, as said or worked out.
    pub(crate) projection: Projection,
    /// The snapped coordinates along x, y and z, each ascending; the drawing's box starts at 0, centres of arcs may
    /// lie below.
    pub(crate) axes: [Vec<f64>; 3],
    /// The segments of each view, by [`View::index`]; none has zero length.
    pub(crate) views: [Vec<Segment>; 3],
    /// The curved pieces of each view, by [`View::index`].
    pub(crate) arcs: [Vec<Arc>; 3],
    /// What the arcs of each view run along.
    pub(crate) carriers: [Vec<Carrier>; 3],
    /// Whether edges are looked for that show as neither a straight line nor a circle in some view, drawn so or not.
    pub(crate) all_curves: bool,
    /// The tolerance that was used.
    pub(crate) tolerance: Tolerance,
    /// How far coordinates that are one place were found to miss each other at most, in millimetres.
    pub(crate) noise: f64,
    /// How near the crossing of two lines must come to a place to be that place: the tolerance, or less if the sheet's
    /// numbers are much better than that.
    pub(crate) crossings: Tolerance,
    /// Sheet coordinates in millimetres of each view's lower left corner: add to object coordinates.
    pub(crate) corners: [[f64; 2]; 3],
    /// The sheet's unit, for messages.
    pub(crate) unit: Unit,
    /// What was off and where.
    pub(crate) warnings: Vec<Remark>,
    /// What already rules out any object (sizes that disagree).
    pub(crate) problems: Vec<Remark>,
}

impl Drawing {
    /// Whether another drawing of the same sheet takes the same places for one.
    pub(crate) fn has_the_places_of(&self, other: &Drawing) -> bool {
        (&self.axes, &self.views, &self.arcs) == (&other.axes, &other.views, &other.arcs)
    }

    /// Whether any line is still curved after snapping.
    pub(crate) fn is_curved(&self) -> bool {
        self.arcs.iter().any(|arcs| !arcs.is_empty())
    }

    /// Whether it has curved lines, and each is part of a circle.
    pub(crate) fn is_round(&self) -> bool {
        let mut carriers = self.carriers.iter().flatten();
        self.is_curved() && carriers.all(|c| matches!(c, Carrier::Circle { .. }))
    }

    /// The point of a snapped end, in the view's own millimetres (right, up).
    pub(crate) fn at(&self, view: View, end: [u32; 2]) -> [f64; 2] {
        let [right, up] = view.axes();
        [
            self.axes[right][end[0] as usize],
            self.axes[up][end[1] as usize],
        ]
    }

    /// The same place in sheet coordinates and the sheet's unit, as a user finds it with a ruler.
    pub(crate) fn on_sheet(&self, view: View, at: [f64; 2]) -> [f64; 2] {
        self.placement().on_sheet(view, at)
    }

    /// Where the views stand on the sheet.
    pub(crate) fn placement(&self) -> Placement {
        Placement {
            corners: self.corners,
            unit: self.unit,
        }
    }
}

/// Where the three views stand on the sheet.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Placement {
    /// As [`Drawing::corners`].
    pub(crate) corners: [[f64; 2]; 3],
    /// The sheet's unit.
    pub(crate) unit: Unit,
}

impl Placement {
    /// A place in a view's own millimetres in sheet coordinates and the sheet's unit.
    pub(crate) fn on_sheet(&self, view: View, at: [f64; 2]) -> [f64; 2] {
        let corner = self.corners[view.index()];
        let k = self.unit.millimetres();
        [(at[0] + corner[0]) / k, (at[1] + corner[1]) / k]
    }
}

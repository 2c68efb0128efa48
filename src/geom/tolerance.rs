//! The one tolerance of a run, made once from the sheet and passed down.

/// The share of a part's size that is no more than rounding of 64-bit numbers: a millionth of a millimetre per metre.
pub(crate) const ROUNDING: f64 = 1e-9;

/// How far two things may lie apart and still be the same, in millimetres.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Tolerance {
    mm: f64,
    slack: f64,
}

impl Tolerance {
    /// The default: a two-thousandth of the largest view, `extent` in millimetres.
    ///
    /// On a drawing 100 mm wide that is 0.05 mm, half the width of a thin pencil line.
    pub(crate) fn for_extent(extent: f64) -> Self {
        let mm = extent / 2000.0;
        Tolerance { mm, slack: mm }
    }

    /// A tolerance the user asked for, in millimetres; `None` unless it is positive and finite.
    pub(crate) fn new(millimetres: f64) -> Option<Self> {
        (millimetres.is_finite() && millimetres > 0.0).then_some(Tolerance {
            mm: millimetres,
            slack: millimetres,
        })
    }

    /// The same tolerance with more slack, for a drawing whose coordinates miss each other by up to `noise` millimetres;
    /// `None` if they miss by too little to matter.
    ///
    /// Each of the three coordinates of a corner may be off, and a plane carries the errors of some corners on to others.
    pub(crate) fn with_noise(self, noise: f64) -> Option<Self> {
        let slack = 3.0 * noise;
        (slack > self.slack).then_some(Tolerance { slack, ..self })
    }

    /// The slack as a tolerance of its own.
    pub(crate) fn all_slack(self) -> Self {
        Tolerance {
            mm: self.slack,
            ..self
        }
    }

    /// The tolerance in millimetres.
    pub(crate) fn mm(self) -> f64 {
        self.mm
    }

    /// How far a corner may lie off a slanting plane, in millimetres: the tolerance, or more on an inaccurate drawing.
    pub(crate) fn slack(self) -> f64 {
        self.slack
    }

    /// Whether two coordinates are the same place.
    pub(crate) fn same(self, a: f64, b: f64) -> bool {
        (a - b).abs() <= self.mm
    }
}

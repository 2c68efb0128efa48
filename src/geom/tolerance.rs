//! The one tolerance of a run, made once from the sheet and passed down.

/// The share of a part's size that is no more than rounding of 64-bit numbers: a millionth of a millimetre per metre.
pub(crate) const ROUNDING: f64 = 1e-9;

/// How far two things may lie apart and still be the same, in millimetres.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Tolerance(f64);

impl Tolerance {
    /// The default: a two-thousandth of the largest view, `extent` in millimetres.
    ///
    /// On a drawing 100 mm wide that is 0.05 mm, half the width of a thin pencil line.
    pub(crate) fn for_extent(extent: f64) -> Self {
        Tolerance(extent / 2000.0)
    }

    /// A tolerance the user asked for, in millimetres; `None` unless it is positive and finite.
    pub(crate) fn new(millimetres: f64) -> Option<Self> {
        (millimetres.is_finite() && millimetres > 0.0).then_some(Tolerance(millimetres))
    }

    /// The tolerance in millimetres.
    pub(crate) fn mm(self) -> f64 {
        self.0
    }

    /// How far a corner may lie off a slanting plane, in millimetres.
    ///
    /// Each of the three coordinates of each corner may be off by nearly the tolerance, and a plane carries the errors of
    /// some corners on to others.
    pub(crate) fn slack(self) -> f64 {
        3.0 * self.0
    }

    /// Whether two coordinates are the same place.
    pub(crate) fn same(self, a: f64, b: f64) -> bool {
        (a - b).abs() <= self.0
    }
}

//! Numbers that must come out the same on every machine, in a browser too: the one place that calls trigonometry, by a
//! library that works it out in plain arithmetic, for what the system offers differs in the last bit.

/// Sine and cosine of an angle in degrees; exact at multiples of 90.
pub(crate) fn sin_cos_degrees(degrees: f64) -> (f64, f64) {
    match degrees.rem_euclid(360.0) {
        0.0 => (0.0, 1.0),
        90.0 => (1.0, 0.0),
        180.0 => (0.0, -1.0),
        270.0 => (-1.0, 0.0),
        turn => libm::sincos(turn.to_radians()),
    }
}

/// The direction of `(x, y)` in degrees, counter-clockwise from +x, in `(-180, 180]`.
pub(crate) fn direction_degrees(x: f64, y: f64) -> f64 {
    libm::atan2(y, x).to_degrees()
}

/// Sine and cosine of an angle in radians.
pub(crate) fn sin_cos(radians: f64) -> (f64, f64) {
    libm::sincos(radians)
}

/// The direction of `(x, y)` in radians, counter-clockwise from +x, in `(-pi, pi]`; `y` comes first.
pub(crate) fn angle(y: f64, x: f64) -> f64 {
    libm::atan2(y, x)
}

/// The angle in `[0, pi]` whose cosine is `x`, which is brought into `[-1, 1]`.
pub(crate) fn arc_cosine(x: f64) -> f64 {
    libm::acos(x.clamp(-1.0, 1.0))
}

/// The long side of a triangle with a right angle, from the two short ones.
pub(crate) trait Diagonal {
    /// The square root of the sum of both squares, also where a square would be beyond all numbers.
    fn diagonal(self, other: Self) -> Self;
}

impl Diagonal for f64 {
    #[inline]
    fn diagonal(self, other: f64) -> f64 {
        let square = self * self + other * other;
        // Squares of middling numbers lose nothing that matters, and a root is quick.
        if (1e-200..1e200).contains(&square) {
            square.sqrt()
        } else {
            libm::hypot(self, other)
        }
    }
}

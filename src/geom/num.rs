//! Numbers that must come out the same on every machine, in a browser too: the one place that calls trigonometry, by a
//! library that works it out in plain arithmetic, for what the system offers differs in the last bit.

use std::f64::consts::FRAC_2_PI;

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
///
/// Angles of a few turns, which are all that come up, are brought within an eighth of a turn and go through Taylor's series,
/// whose rest is less than rounding there.
#[inline]
pub(crate) fn sin_cos(radians: f64) -> (f64, f64) {
    if radians.abs() > FEW_TURNS {
        return libm::sincos(radians);
    }
    // Adding so large a number leaves no fraction; its last bits count the quarter turns.
    let shifted = radians * FRAC_2_PI + TO_WHOLE;
    let quarters = shifted - TO_WHOLE;
    let x = (radians - quarters * QUARTER[0]) - quarters * QUARTER[1];
    let z = x * x;
    let sin = x + x * z * series(z, &ODD);
    let cos = 1.0 - (0.5 * z - z * z * series(z, &EVEN));
    match shifted.to_bits() & 3 {
        0 => (sin, cos),
        1 => (cos, -sin),
        2 => (-sin, -cos),
        _ => (-cos, sin),
    }
}

/// Radians beyond which angles are left to the library.
const FEW_TURNS: f64 = 100.0;

/// A number whose last bit means one.
const TO_WHOLE: f64 = 6_755_399_441_055_744.0;

/// A quarter turn, so short that a few times of it are exact, and what is missing.
const QUARTER: [f64; 2] = [1.570_796_326_734_125_6, 6.077_100_506_506_192e-11];

/// The coefficients of the series of the sine from the third power on, and of the cosine from the fourth.
const ODD: [f64; 8] = [
    -1.0 / 6.0,
    1.0 / 120.0,
    -1.0 / 5_040.0,
    1.0 / 362_880.0,
    -1.0 / 39_916_800.0,
    1.0 / 6_227_020_800.0,
    -1.0 / 1_307_674_368_000.0,
    1.0 / 355_687_428_096_000.0,
];
const EVEN: [f64; 7] = [
    1.0 / 24.0,
    -1.0 / 720.0,
    1.0 / 40_320.0,
    -1.0 / 3_628_800.0,
    1.0 / 479_001_600.0,
    -1.0 / 87_178_291_200.0,
    1.0 / 20_922_789_888_000.0,
];

/// A polynomial, given by its coefficients from the constant one on.
fn series<const N: usize>(x: f64, coefficients: &[f64; N]) -> f64 {
    coefficients.iter().rev().fold(0.0, |sum, c| sum * x + c)
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

#[cfg(test)]
mod tests {
    use super::*;
    use std::f64::consts::FRAC_PI_4;

    #[test]
    fn sine_and_cosine_are_right_but_for_the_last_bit() {
        let steps = (-2000..=2000).map(|k| f64::from(k) * 0.0503);
        let eighths = (-40..=40).map(|k| f64::from(k) * FRAC_PI_4);
        for t in steps.chain(eighths).chain([1e-300, 1e9, -1e9]) {
            let ((sin, cos), exact) = (sin_cos(t), libm::sincos(t));
            assert!((sin - exact.0).abs() < 2.5e-16, "{t}: {sin}");
            assert!((cos - exact.1).abs() < 2.5e-16, "{t}: {cos}");
        }
    }
}

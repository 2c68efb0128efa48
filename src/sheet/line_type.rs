//! What kind of line it is when the file does not say so outright: from names, dash patterns and widths.
//!
//! Line types and their patterns are those of ISO 128-2 (continuous, dashed, long-dashed dotted, long-dashed
//! double-dotted); drawings use two widths, wide to narrow as 2 to 1, and draw outlines wide (ISO 128-2, line widths).

use super::LineType;

/// A continuous line at most this part of the widest is thin. Halfway between equal and the 2:1 of ISO 128-2, minus a
/// little for neighbours in the standard's row of widths (0.5 beside 0.7 mm is not thin).
const THIN: f64 = 0.6;

/// Dashes at least this part of the longest are as long as it.
const EQUAL: f64 = 0.75;

/// The type a name speaks of: one of its words, split at everything but letters, is a type's word.
///
/// Capitals do not matter, nor does a plural: `Layer-Hidden`, `hidden_2` and `hidden lines` are all hidden.
pub(crate) fn from_name(name: &str) -> Option<LineType> {
    name.split(|c: char| !c.is_ascii_alphabetic())
        .filter(|word| !word.is_empty())
        .find_map(from_word)
}

fn from_word(word: &str) -> Option<LineType> {
    let singular = word.strip_suffix(['s', 'S']).unwrap_or(word);
    LineType::ALL
        .into_iter()
        .find(|t| singular.eq_ignore_ascii_case(t.name()))
}

/// The type a dash pattern speaks of; `None` for a continuous line.
///
/// `pattern` is on, off, on, off ... in any unit. Equal dashes are hidden, one short dash after each long one is a
/// center line, two and more short ones are a phantom line.
pub(crate) fn from_dashes(pattern: &[f64]) -> Option<LineType> {
    let gaps: f64 = pattern.iter().skip(1).step_by(2).sum();
    if gaps <= 0.0 {
        return None;
    }
    let dashes = || pattern.iter().copied().step_by(2);
    let longest = dashes().fold(0.0, f64::max);
    let long = dashes().filter(|&d| d >= EQUAL * longest).count();
    let short = dashes().count() - long;
    Some(if short == 0 {
        LineType::Hidden
    } else if short <= long {
        LineType::Center
    } else {
        LineType::Phantom
    })
}

/// The type of a continuous line of this `width` beside the `widest` line of the drawing.
pub(crate) fn from_width(width: f64, widest: f64) -> LineType {
    if width <= THIN * widest {
        LineType::Dimension
    } else {
        LineType::Visible
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_type_word_counts_among_other_words_in_any_case() {
        for name in [
            "hidden",
            "Layer-Hidden",
            "edges hidden",
            "HIDDEN_2",
            "Hidden lines",
            "layer:hiddens",
        ] {
            assert_eq!(from_name(name), Some(LineType::Hidden), "{name}");
        }
        assert_eq!(from_name("dimensions"), Some(LineType::Dimension));
    }

    #[test]
    fn a_type_word_inside_another_word_does_not_count() {
        for name in ["", "invisible", "centered", "layer1", "unhidden"] {
            assert_eq!(from_name(name), None, "{name}");
        }
    }

    // Patterns as ISO 128-2 draws them, lengths in line widths: dashed 12 on 3 off; long-dashed dotted 24 3 0.5 3;
    // long-dashed double-dotted 24 3 0.5 3 0.5 3 (from memory).
    #[test]
    fn dash_patterns_of_the_standard_are_told_apart() {
        assert_eq!(from_dashes(&[]), None);
        assert_eq!(from_dashes(&[12.0, 3.0]), Some(LineType::Hidden));
        assert_eq!(from_dashes(&[24.0, 3.0, 0.5, 3.0]), Some(LineType::Center));
        assert_eq!(
            from_dashes(&[24.0, 3.0, 0.5, 3.0, 0.5, 3.0]),
            Some(LineType::Phantom)
        );
    }

    #[test]
    fn a_repeated_pattern_means_the_same_as_the_pattern() {
        assert_eq!(from_dashes(&[3.0, 1.5, 3.0, 1.5]), Some(LineType::Hidden));
        assert_eq!(
            from_dashes(&[3.0, 3.0, 3.0, 3.0, 3.0, 3.0]),
            Some(LineType::Hidden)
        );
        let center = [8.0, 1.5, 1.5, 1.5, 8.0, 1.5, 1.5, 1.5];
        assert_eq!(from_dashes(&center), Some(LineType::Center));
    }

    #[test]
    fn dashes_without_gaps_are_a_continuous_line() {
        assert_eq!(from_dashes(&[3.0, 0.0]), None);
    }

    #[test]
    fn half_the_widest_is_thin_and_the_next_standard_width_is_not() {
        assert_eq!(from_width(0.35, 0.7), LineType::Dimension);
        assert_eq!(from_width(0.42, 0.7), LineType::Dimension);
        assert_eq!(from_width(0.5, 0.7), LineType::Visible);
    }
}

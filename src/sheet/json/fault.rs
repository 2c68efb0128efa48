//! What can be wrong with a JSON sheet, and what was probably meant.

use std::fmt;

use super::super::read::{MAX_LINES, MAX_NUMBER, MAX_POINTS, MAX_POINTS_PER_LINE};
use super::SHAPE_KEYS;

/// Words alike to this degree (Jaro-Winkler similarity, 0 to 1) are offered as what was meant.
const ALIKE: f64 = 0.7;

/// What is wrong at a place of a JSON sheet.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
pub(crate) enum JsonFault {
    #[error("{0}; put the file right there, it is no valid JSON")]
    Syntax(String),
    #[error("`{0}` is no number a line can have; write a finite number")]
    NotFinite(String),
    #[error("there must be {expected} here, not {found}")]
    WrongKind { expected: String, found: String },
    #[error("unknown key `{key}` in {owner}; {hint}")]
    UnknownKey {
        owner: &'static str,
        key: String,
        hint: Hint,
    },
    #[error("unknown {key} `{word}`; {hint}")]
    UnknownWord {
        key: &'static str,
        word: String,
        hint: Hint,
    },
    #[error("the key `{0}` is there twice; delete one of them")]
    DuplicateKey(&'static str),
    #[error("this line has no shape; give it one of {}", list(SHAPE_KEYS))]
    NoShape,
    #[error("this line has two shapes, `{0}` and `{1}`; make two lines of it")]
    TwoShapes(&'static str, &'static str),
    #[error("`{shape}` needs {wanted} numbers ({names}), not {given}")]
    NumberCount {
        shape: &'static str,
        names: &'static str,
        wanted: usize,
        given: String,
    },
    #[error("a point of `{shape}` needs 2 numbers (x, y), not {given}")]
    PointCount { shape: &'static str, given: String },
    #[error("`{0}` needs at least 2 points")]
    TooFewPoints(&'static str),
    #[error("`{0}` has more than {MAX_POINTS_PER_LINE} points; draw it with fewer")]
    TooManyPoints(&'static str),
    #[error("the sheet has more than {MAX_POINTS} points; draw polylines and curves with fewer")]
    TooManyPointsInAll,
    #[error("{0:e} is too large; no number may be beyond {MAX_NUMBER}")]
    Huge(f64),
    #[error("the radius {0} is not above 0; give the radius of a real circle or ellipse")]
    Radius(f64),
    #[error("the sheet has more than {MAX_LINES} lines; leave out what is not part of the views")]
    TooManyLines,
    #[error("the sheet has no list `lines`; add \"lines\": [...] with the lines of its views")]
    NoLines,
}

/// What was probably meant, or else what there is to choose from.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct Hint {
    nearest: Option<&'static str>,
    known: &'static [&'static str],
}

impl Hint {
    /// The hint for a word that is none of the known ones.
    pub(super) fn new(word: &str, known: &'static [&'static str]) -> Self {
        let alike = |k: &str| strsim::jaro_winkler(&word.to_lowercase(), k);
        let nearest = known
            .iter()
            .copied()
            .max_by(|a, b| alike(a).total_cmp(&alike(b)))
            .filter(|k| alike(k) >= ALIKE);
        Hint { nearest, known }
    }
}

impl fmt::Display for Hint {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self.nearest {
            Some(word) => write!(f, "did you mean `{word}`?"),
            None => write!(f, "there are {}", list(self.known)),
        }
    }
}

fn list(words: &[&str]) -> String {
    format!("`{}`", words.join("`, `"))
}

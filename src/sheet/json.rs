//! The JSON form of a sheet.
//!
//! The text is read in one pass straight into lines, without a tree in between, so that a large file costs no more memory
//! than its lines do and a fault is found where it stands. A fault is kept as data beside the reader, because the parser's
//! own errors can carry only text.

mod fault;
pub(crate) mod write;

use std::cell::{Cell, RefCell};
use std::fmt;

use serde::de::{DeserializeSeed, Deserializer, IgnoredAny, MapAccess, SeqAccess, Visitor};
use serde_json::error::Category;

use self::fault::Hint;
pub(crate) use self::fault::JsonFault;
use super::read::{
    MAX_LINES, MAX_NUMBER, MAX_POINTS, MAX_POINTS_PER_LINE, Place, ReadError, place_of,
};
use super::{Line, LineType, Projection, Shape, Sheet, Unit, View};

const SHEET_KEYS: [&str; 3] = ["unit", "projection", "lines"];
const LINE_KEYS: [&str; 9] = [
    "view",
    "type",
    "line",
    "polyline",
    "circle",
    "arc",
    "ellipse",
    "elliptical_arc",
    "curve",
];
const SHAPE_KEYS: &[&str] = LINE_KEYS.as_slice().split_at(2).1;
const VIEW_WORDS: [&str; 3] = ["front", "top", "right"];
const TYPE_WORDS: [&str; 7] = [
    "visible",
    "hidden",
    "center",
    "phantom",
    "dimension",
    "construction",
    "border",
];
const UNIT_WORDS: [&str; 2] = ["mm", "in"];
const PROJECTION_WORDS: [&str; 2] = ["third-angle", "first-angle"];

/// Reads a JSON sheet.
///
/// # Errors
///
/// When the text is no JSON, is cut off, or is no sheet.
pub(crate) fn read(text: &str) -> Result<Sheet, ReadError> {
    let context = Context::default();
    let mut parser = serde_json::Deserializer::from_str(text);
    let sheet = SheetReader(&context)
        .deserialize(&mut parser)
        .and_then(|sheet| parser.end().map(|()| sheet));
    sheet.map_err(|error| match context.fault.into_inner() {
        Some((fault, _)) => ReadError::Json {
            place: place_of_fault(text),
            fault,
        },
        None => explain(&error, text),
    })
}

/// Where a text goes wrong that is JSON but no sheet.
///
/// The parser skips on to the next token before it says where it was. So the text is read once more, byte by byte, and the
/// reader looks how far it had come when it found the fault.
fn place_of_fault(text: &str) -> Place {
    let context = Context::default();
    let bytes = Counted {
        rest: text.as_bytes(),
        read: &context.read,
    };
    // That this fails again is what it is for.
    let _ = SheetReader(&context).deserialize(&mut serde_json::Deserializer::from_reader(bytes));
    let read = context.fault.into_inner().map_or(1, |(_, read)| read);
    place_of(text.as_bytes(), read.saturating_sub(1))
}

/// Bytes that tell how many of them were read.
struct Counted<'t> {
    rest: &'t [u8],
    read: &'t Cell<usize>,
}

impl std::io::Read for Counted<'_> {
    fn read(&mut self, into: &mut [u8]) -> std::io::Result<usize> {
        let count = self.rest.read(into)?;
        self.read.set(self.read.get() + count);
        Ok(count)
    }
}

/// Turns the parser's error into one with place and remedy.
fn explain(error: &serde_json::Error, text: &str) -> ReadError {
    let place = Place {
        row: error.line().max(1),
        column: error.column().max(1),
    };
    let message = error.to_string();
    let message = message.split(" at line ").next().unwrap_or(&message);
    let fault = match error.classify() {
        Category::Eof => return ReadError::CutOff(place),
        Category::Data => match message
            .strip_prefix("invalid type: ")
            .and_then(|m| m.split_once(", expected "))
        {
            Some((found, expected)) => JsonFault::WrongKind {
                expected: expected.to_owned(),
                found: found.to_owned(),
            },
            None => JsonFault::Syntax(message.to_owned()),
        },
        Category::Syntax | Category::Io => match not_finite(message, text, place) {
            Some(word) => JsonFault::NotFinite(word),
            None => JsonFault::Syntax(message.to_owned()),
        },
    };
    ReadError::Json { place, fault }
}

/// The word at `place` if it stands for a number that is not finite, such as `NaN` or `1e999`.
fn not_finite(message: &str, text: &str, place: Place) -> Option<String> {
    let row = text.lines().nth(place.row - 1)?;
    let is_part = |b: u8| b.is_ascii_alphanumeric() || b"+-.".contains(&b);
    let bytes = row.as_bytes();
    let mut at = place.column.clamp(1, bytes.len()) - 1;
    while at > 0 && is_part(bytes[at - 1]) {
        at -= 1;
    }
    let word: String = row
        .get(at..)?
        .bytes()
        .take_while(|&b| is_part(b))
        .take(24)
        .map(char::from)
        .collect();
    let name = word.trim_start_matches(['-', '+']).to_ascii_lowercase();
    let known =
        matches!(name.as_str(), "nan" | "inf" | "infinity") || message == "number out of range";
    known.then_some(word)
}

/// What all parts of the reader share.
#[derive(Default)]
struct Context {
    /// The fault, and how many bytes were read until it was found.
    fault: RefCell<Option<(JsonFault, usize)>>,
    read: Cell<usize>,
    /// Points of polylines and curves so far.
    points: Cell<usize>,
}

impl Context {
    fn fail<E: serde::de::Error>(&self, fault: JsonFault) -> E {
        *self.fault.borrow_mut() = Some((fault, self.read.get()));
        E::custom("")
    }

    /// Takes the number after a check that it can be one on a sheet.
    fn number<E: serde::de::Error>(&self, value: f64) -> Result<f64, E> {
        if value.abs() <= MAX_NUMBER {
            Ok(value)
        } else {
            Err(self.fail(JsonFault::Huge(value)))
        }
    }
}

struct SheetReader<'c>(&'c Context);

impl<'de> DeserializeSeed<'de> for SheetReader<'_> {
    type Value = Sheet;

    fn deserialize<D: Deserializer<'de>>(self, parser: D) -> Result<Sheet, D::Error> {
        parser.deserialize_map(self)
    }
}

impl<'de> Visitor<'de> for SheetReader<'_> {
    type Value = Sheet;

    fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str("a sheet, { \"lines\": [...] },")
    }

    fn visit_map<A: MapAccess<'de>>(self, mut map: A) -> Result<Sheet, A::Error> {
        let context = self.0;
        let (mut unit, mut projection, mut lines) = (None, None, None);
        let mut seen = [false; SHEET_KEYS.len()];
        while let Some(place) = next_key(context, &mut map, "the sheet", &SHEET_KEYS, &mut seen)? {
            match place {
                0 => unit = Some(word(context, &mut map, "unit", &UNIT_WORDS)?),
                1 => projection = Some(word(context, &mut map, "projection", &PROJECTION_WORDS)?),
                _ => lines = Some(map.next_value_seed(LinesReader(context))?),
            }
        }
        Ok(Sheet {
            unit: unit.map_or(Unit::default(), |i| [Unit::Millimetre, Unit::Inch][i]),
            projection: projection.map(|i| [Projection::ThirdAngle, Projection::FirstAngle][i]),
            lines: lines.ok_or_else(|| context.fail(JsonFault::NoLines))?,
        })
    }
}

/// The next key of an object as its place in `known`.
fn next_key<'de, A: MapAccess<'de>>(
    context: &Context,
    map: &mut A,
    owner: &'static str,
    known: &'static [&'static str],
    seen: &mut [bool],
) -> Result<Option<usize>, A::Error> {
    let Some(key) = map.next_key::<String>()? else {
        return Ok(None);
    };
    let Some(place) = known.iter().position(|k| *k == key) else {
        let hint = Hint::new(&key, known);
        return Err(context.fail(JsonFault::UnknownKey { owner, key, hint }));
    };
    if std::mem::replace(&mut seen[place], true) {
        return Err(context.fail(JsonFault::DuplicateKey(known[place])));
    }
    Ok(Some(place))
}

/// The value of `key`, one of the words in `known`, as its place there.
fn word<'de, A: MapAccess<'de>>(
    context: &Context,
    map: &mut A,
    key: &'static str,
    known: &'static [&'static str],
) -> Result<usize, A::Error> {
    let word: String = map.next_value_seed(TextReader)?;
    known.iter().position(|k| *k == word).ok_or_else(|| {
        let hint = Hint::new(&word, known);
        context.fail(JsonFault::UnknownWord { key, word, hint })
    })
}

struct TextReader;

impl<'de> DeserializeSeed<'de> for TextReader {
    type Value = String;

    fn deserialize<D: Deserializer<'de>>(self, parser: D) -> Result<String, D::Error> {
        parser.deserialize_str(self)
    }
}

impl Visitor<'_> for TextReader {
    type Value = String;

    fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str("a word in quotes")
    }

    fn visit_str<E>(self, text: &str) -> Result<String, E> {
        Ok(text.to_owned())
    }
}

struct LinesReader<'c>(&'c Context);

impl<'de> DeserializeSeed<'de> for LinesReader<'_> {
    type Value = Vec<Line>;

    fn deserialize<D: Deserializer<'de>>(self, parser: D) -> Result<Vec<Line>, D::Error> {
        parser.deserialize_seq(self)
    }
}

impl<'de> Visitor<'de> for LinesReader<'_> {
    type Value = Vec<Line>;

    fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str("a list of lines in [ ]")
    }

    fn visit_seq<A: SeqAccess<'de>>(self, mut list: A) -> Result<Vec<Line>, A::Error> {
        let mut lines = Vec::new();
        while let Some(line) = list.next_element_seed(LineReader {
            context: self.0,
            before: lines.len(),
        })? {
            lines.push(line);
        }
        Ok(lines)
    }
}

struct LineReader<'c> {
    context: &'c Context,
    /// How many lines there are already.
    before: usize,
}

impl<'de> DeserializeSeed<'de> for LineReader<'_> {
    type Value = Line;

    fn deserialize<D: Deserializer<'de>>(self, parser: D) -> Result<Line, D::Error> {
        parser.deserialize_map(self)
    }
}

impl<'de> Visitor<'de> for LineReader<'_> {
    type Value = Line;

    fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str("a line in { }")
    }

    fn visit_map<A: MapAccess<'de>>(self, mut map: A) -> Result<Line, A::Error> {
        let context = self.context;
        if self.before == MAX_LINES {
            return Err(context.fail(JsonFault::TooManyLines));
        }
        let (mut view, mut line_type) = (None, LineType::default());
        let mut shape: Option<(&'static str, Shape)> = None;
        let mut seen = [false; LINE_KEYS.len()];
        while let Some(place) = next_key(context, &mut map, "a line", &LINE_KEYS, &mut seen)? {
            match place {
                0 => view = Some(View::ALL[word(context, &mut map, "view", &VIEW_WORDS)?]),
                1 => line_type = LineType::ALL[word(context, &mut map, "type", &TYPE_WORDS)?],
                _ => {
                    let name = LINE_KEYS[place];
                    if let Some((first, _)) = shape {
                        return Err(context.fail(JsonFault::TwoShapes(first, name)));
                    }
                    shape = Some((name, read_shape(context, &mut map, name)?));
                }
            }
        }
        let (_, shape) = shape.ok_or_else(|| context.fail(JsonFault::NoShape))?;
        Ok(Line {
            view,
            line_type,
            shape,
        })
    }
}

fn read_shape<'de, A: MapAccess<'de>>(
    context: &Context,
    map: &mut A,
    shape: &'static str,
) -> Result<Shape, A::Error> {
    let radius = |r: f64| {
        if r > 0.0 {
            Ok(r)
        } else {
            Err(context.fail(JsonFault::Radius(r)))
        }
    };
    Ok(match shape {
        "polyline" => Shape::Polyline(map.next_value_seed(PointsReader { context, shape })?),
        "curve" => Shape::Curve(map.next_value_seed(PointsReader { context, shape })?),
        "line" => {
            let [x1, y1, x2, y2] = numbers(context, map, shape, "x1, y1, x2, y2")?;
            Shape::Line {
                from: [x1, y1],
                to: [x2, y2],
            }
        }
        "circle" => {
            let [x, y, r] = numbers(context, map, shape, "cx, cy, r")?;
            Shape::Circle {
                center: [x, y],
                radius: radius(r)?,
            }
        }
        "arc" => {
            let [x, y, r, start, end] = numbers(context, map, shape, "cx, cy, r, start, end")?;
            Shape::Arc {
                center: [x, y],
                radius: radius(r)?,
                start,
                end,
            }
        }
        "ellipse" => {
            let [x, y, rx, ry, rotation] =
                numbers(context, map, shape, "cx, cy, rx, ry, rotation")?;
            Shape::Ellipse {
                center: [x, y],
                radii: [radius(rx)?, radius(ry)?],
                rotation,
            }
        }
        _ => {
            let names = "cx, cy, rx, ry, rotation, start, end";
            let [x, y, rx, ry, rotation, start, end] = numbers(context, map, shape, names)?;
            Shape::EllipticalArc {
                center: [x, y],
                radii: [radius(rx)?, radius(ry)?],
                rotation,
                start,
                end,
            }
        }
    })
}

fn numbers<'de, A: MapAccess<'de>, const N: usize>(
    context: &Context,
    map: &mut A,
    shape: &'static str,
    names: &'static str,
) -> Result<[f64; N], A::Error> {
    let (numbers, given) = map.next_value_seed(NumbersReader::<N> {
        context,
        what: "a list of numbers in [ ]",
    })?;
    if given == N {
        return Ok(numbers);
    }
    Err(context.fail(JsonFault::NumberCount {
        shape,
        names,
        wanted: N,
        given: count(given, N),
    }))
}

/// Reading stops at the first number too many, so beyond `wanted` the true count is not known.
fn count(given: usize, wanted: usize) -> String {
    if given > wanted {
        "more".to_owned()
    } else {
        given.to_string()
    }
}

/// Reads a list of at most N numbers; returns how many there were (N + 1: too many).
struct NumbersReader<'c, const N: usize> {
    context: &'c Context,
    what: &'static str,
}

impl<'de, const N: usize> DeserializeSeed<'de> for NumbersReader<'_, N> {
    type Value = ([f64; N], usize);

    fn deserialize<D: Deserializer<'de>>(self, parser: D) -> Result<Self::Value, D::Error> {
        parser.deserialize_seq(self)
    }
}

impl<'de, const N: usize> Visitor<'de> for NumbersReader<'_, N> {
    type Value = ([f64; N], usize);

    fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.what)
    }

    fn visit_seq<A: SeqAccess<'de>>(self, mut list: A) -> Result<Self::Value, A::Error> {
        let mut numbers = [0.0; N];
        let mut given = 0;
        while given < N {
            let Some(number) = list.next_element_seed(NumberReader(self.context))? else {
                return Ok((numbers, given));
            };
            numbers[given] = number;
            given += 1;
        }
        while list.next_element::<IgnoredAny>()?.is_some() {
            given = N + 1;
        }
        Ok((numbers, given))
    }
}

struct NumberReader<'c>(&'c Context);

impl<'de> DeserializeSeed<'de> for NumberReader<'_> {
    type Value = f64;

    fn deserialize<D: Deserializer<'de>>(self, parser: D) -> Result<f64, D::Error> {
        parser.deserialize_f64(self)
    }
}

impl Visitor<'_> for NumberReader<'_> {
    type Value = f64;

    fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str("a number")
    }

    fn visit_f64<E: serde::de::Error>(self, value: f64) -> Result<f64, E> {
        self.0.number(value)
    }

    #[allow(
        clippy::cast_precision_loss,
        reason = "anything beyond ten million is refused anyway"
    )]
    fn visit_i64<E: serde::de::Error>(self, value: i64) -> Result<f64, E> {
        self.0.number(value as f64)
    }

    #[allow(
        clippy::cast_precision_loss,
        reason = "anything beyond ten million is refused anyway"
    )]
    fn visit_u64<E: serde::de::Error>(self, value: u64) -> Result<f64, E> {
        self.0.number(value as f64)
    }
}

struct PointsReader<'c> {
    context: &'c Context,
    shape: &'static str,
}

impl<'de> DeserializeSeed<'de> for PointsReader<'_> {
    type Value = Vec<[f64; 2]>;

    fn deserialize<D: Deserializer<'de>>(self, parser: D) -> Result<Self::Value, D::Error> {
        parser.deserialize_seq(self)
    }
}

impl<'de> Visitor<'de> for PointsReader<'_> {
    type Value = Vec<[f64; 2]>;

    fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str("a list of points [[x, y], ...]")
    }

    fn visit_seq<A: SeqAccess<'de>>(self, mut list: A) -> Result<Self::Value, A::Error> {
        let PointsReader { context, shape } = self;
        let mut points = Vec::new();
        let point = || NumbersReader::<2> {
            context,
            what: "a point [x, y]",
        };
        while let Some((xy, given)) = list.next_element_seed(point())? {
            if given != 2 {
                let given = count(given, 2);
                return Err(context.fail(JsonFault::PointCount { shape, given }));
            }
            if points.len() == MAX_POINTS_PER_LINE {
                return Err(context.fail(JsonFault::TooManyPoints(shape)));
            }
            points.push(xy);
        }
        if points.len() < 2 {
            return Err(context.fail(JsonFault::TooFewPoints(shape)));
        }
        let in_all = context.points.get() + points.len();
        if in_all > MAX_POINTS {
            return Err(context.fail(JsonFault::TooManyPointsInAll));
        }
        context.points.set(in_all);
        Ok(points)
    }
}

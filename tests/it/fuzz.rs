//! Readers under fire: spoiled sheets must be read or refused, never panic, and never take long.
//!
//! Plain functions over bytes with dice that always start alike, so that every run tries the same and a failure can be repeated.

#![allow(clippy::unwrap_used, reason = "a test may fail anywhere")]

use std::fs;
use std::path::PathBuf;
use std::time::{Duration, Instant};

use foldback::{Shape, read_sheet};

/// Far more than any of these small files needs, even on a slow machine.
const LONGEST: Duration = Duration::from_secs(5);

/// Numbers that look random and are the same on every run (xorshift, 64 bits).
struct Dice(u64);

impl Dice {
    fn next(&mut self) -> u64 {
        self.0 ^= self.0 << 13;
        self.0 ^= self.0 >> 7;
        self.0 ^= self.0 << 17;
        self.0
    }

    /// A number from 0 up to, but not including, `end`.
    fn below(&mut self, end: usize) -> usize {
        usize::try_from(self.next() % end as u64).unwrap()
    }

    fn pick<T: Copy>(&mut self, from: &[T]) -> T {
        from[self.below(from.len())]
    }
}

/// Reads the bytes; what is read must be usable, and what is refused must say where or what to do.
fn read(bytes: &[u8]) -> bool {
    let start = Instant::now();
    let result = read_sheet(bytes);
    let shown = || String::from_utf8_lossy(&bytes[..bytes.len().min(4000)]).into_owned();
    assert!(
        start.elapsed() < LONGEST,
        "took {:?}: {}",
        start.elapsed(),
        shown()
    );
    match result {
        Ok((sheet, remarks)) => {
            for line in &sheet.lines {
                assert!(
                    numbers(&line.shape).iter().all(|n| n.abs() <= 1e7),
                    "{line:?} from {}",
                    shown()
                );
            }
            for remark in &remarks {
                assert!(
                    remark.lines.iter().all(|l| *l < sheet.lines.len()),
                    "{remark:?} from {}",
                    shown()
                );
            }
            assert_eq!(read_sheet(sheet.to_json().as_bytes()).unwrap().0, sheet);
            true
        }
        Err(error) => {
            let message = error.to_string();
            assert!(
                message.len() > 20 && !error.is_internal(),
                "{message}: {}",
                shown()
            );
            false
        }
    }
}

fn numbers(shape: &Shape) -> Vec<f64> {
    match shape {
        Shape::Line { from, to } => [*from, *to].concat(),
        Shape::Polyline(points) | Shape::Curve(points) => points.concat(),
        Shape::Circle { center, radius } => [center.as_slice(), &[*radius]].concat(),
        Shape::Arc {
            center,
            radius,
            start,
            end,
        } => [center.as_slice(), &[*radius, *start, *end]].concat(),
        Shape::Ellipse {
            center,
            radii,
            rotation,
        } => [center.as_slice(), radii, &[*rotation]].concat(),
        Shape::EllipticalArc {
            center,
            radii,
            rotation,
            start,
            end,
        } => [center.as_slice(), radii, &[*rotation, *start, *end]].concat(),
    }
}

fn references(extension: &str) -> Vec<Vec<u8>> {
    let folder = PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("tests/reference");
    let mut paths: Vec<PathBuf> = fs::read_dir(folder)
        .unwrap()
        .map(|entry| entry.unwrap().path())
        .filter(|path| {
            path.extension().is_some_and(|e| e == extension) && !path.ends_with("manifest.json")
        })
        .collect();
    paths.sort();
    paths.iter().map(|path| fs::read(path).unwrap()).collect()
}

/// The bytes with a few places changed, doubled, cut out or replaced by something that means something.
fn spoiled(whole: &[u8], words: &[&str], dice: &mut Dice) -> Vec<u8> {
    let mut bytes = whole.to_vec();
    for _ in 0..=dice.below(4) {
        let at = dice.below(bytes.len() + 1);
        let to = (at + dice.below(30)).min(bytes.len());
        match dice.below(9) {
            0 => {
                bytes.drain(at..to);
            }
            1 => {
                let piece = bytes[at..to].to_vec();
                let into = dice.below(bytes.len() + 1);
                bytes.splice(into..into, piece);
            }
            2 if at < bytes.len() => bytes[at] = u8::try_from(dice.below(256)).unwrap(),
            3 => bytes.truncate(at),
            4..=6 => {
                let digits = bytes[at..].iter_mut().find(|b| b.is_ascii_digit());
                *digits.unwrap_or(&mut 0) = b'0' + u8::try_from(dice.below(10)).unwrap();
            }
            _ => {
                bytes.splice(at..at, dice.pick(words).bytes());
            }
        }
    }
    bytes
}

const JSON_WORDS: [&str; 18] = [
    "[",
    "]",
    "{",
    "}",
    ",",
    ":",
    "\"",
    "-",
    "1e308",
    "1e999",
    "null",
    "NaN",
    "\"line\"",
    "\"arc\":[1,2,3,4,5]",
    "\"curve\":[[0,0],[1,1]]",
    "\"type\":\"hidden\"",
    "\"unit\":\"in\"",
    "\\u0000",
];

const SVG_WORDS: [&str; 30] = [
    "<g>",
    "</g>",
    "<",
    ">",
    "/>",
    "'",
    "\"",
    "&",
    "&amp;",
    "&x;",
    "<!--",
    "-->",
    "<![CDATA[",
    "]]>",
    "<use href='#a'/>",
    "<g id='a'>",
    " id='a'",
    " href='#a'",
    " transform='rotate(33) scale(1e-5 3)'",
    " style='fill:red;stroke:blue'",
    "<style>*{stroke:red;fill:url(#a)}</style>",
    " d='M0 0A5 3 20 1 0 9 9C1 2 3 4 5 6'",
    " stroke-dasharray='3 0 1'",
    "e38",
    " width='1e-9mm'",
    " viewBox='0 0 1e-3 1e9'",
    "<symbol id='a' viewBox='0 0 1 1'>",
    "</symbol>",
    "<!DOCTYPE svg [<!ENTITY x '<g>&x;</g>'>]>",
    "<path d='M1 1Q2 3 4 5T6 7S8 9 1 2z' stroke='red'/>",
];

#[test]
fn spoiled_json_sheets_are_read_or_refused() {
    let mut dice = Dice(0xf1e1_d001);
    let wholes = references("json");
    let read = (0..6000)
        .filter(|_| {
            let whole = &wholes[dice.below(wholes.len())];
            read(&spoiled(whole, &JSON_WORDS, &mut dice))
        })
        .count();
    // Both outcomes must come up, or the test tries nothing.
    assert!((300..5700).contains(&read), "{read} were read");
}

#[test]
fn spoiled_svg_sheets_are_read_or_refused() {
    let mut dice = Dice(0xf1e1_d002);
    let wholes = references("svg");
    let read = (0..6000)
        .filter(|_| {
            let whole = &wholes[dice.below(wholes.len())];
            read(&spoiled(whole, &SVG_WORDS, &mut dice))
        })
        .count();
    assert!((300..5700).contains(&read), "{read} were read");
}

#[test]
fn words_thrown_together_are_read_or_refused() {
    let mut dice = Dice(0xf1e1_d003);
    for _ in 0..4000 {
        let mut json = String::from("{\"lines\": [");
        let mut svg = String::from("<svg xmlns='http://www.w3.org/2000/svg'>");
        for _ in 0..dice.below(30) {
            json += dice.pick(&JSON_WORDS);
            svg += dice.pick(&SVG_WORDS);
        }
        read(json.as_bytes());
        read(svg.as_bytes());
        read((svg + "</svg>").as_bytes());
    }
}

#[test]
fn random_bytes_are_refused() {
    let mut dice = Dice(0xf1e1_d004);
    for _ in 0..2000 {
        let length = dice.below(200);
        let mut bytes: Vec<u8> = (0..length)
            .map(|_| u8::try_from(dice.below(256)).unwrap())
            .collect();
        assert!(!read(&bytes));
        bytes.insert(0, dice.pick(b"{<[ "));
        assert!(!read(&bytes));
    }
}

/// Curved and straight path data of every command, with numbers from tiny to large.
fn path_data(dice: &mut Dice) -> String {
    let mut data = String::from("M 0 0");
    for _ in 0..1 + dice.below(12) {
        let command = dice.pick(b"mMlLhHvVcCsSqQtTaAzZ") as char;
        let count = match command.to_ascii_lowercase() {
            'h' | 'v' => 1,
            'm' | 'l' | 't' => 2,
            's' | 'q' => 4,
            'c' => 6,
            'a' => 7,
            _ => 0,
        };
        data.push(command);
        for i in 0..count {
            let number = if count == 7 && (i == 3 || i == 4) {
                dice.below(2) as f64
            } else {
                let scale = if dice.below(200) == 0 {
                    1e12
                } else {
                    dice.pick(&[0.0, 1e-7, 1.0, 10.0, 10.0, 1e4])
                };
                scale * (dice.below(2001) as f64 / 1000.0 - 1.0)
            };
            data += &format!(" {number}");
        }
    }
    data
}

#[test]
fn paths_of_every_kind_are_read_or_refused() {
    let mut dice = Dice(0xf1e1_d005);
    let read = (0..6000)
        .filter(|_| {
            let (data, turn) = (path_data(&mut dice), dice.below(360));
            let svg = format!(
                "<svg viewBox='0 0 9 9'><path d='{data}' stroke='red' transform='rotate({turn}) skewX({})'/></svg>",
                dice.below(80)
            );
            read(svg.as_bytes())
        })
        .count();
    assert!(read > 2000, "only {read} were read");
}

//! One mistake of one line on every reference sheet and every sample: a line deleted, given the other type, or added.
//!
//! Wherever no object is left, the right sheet must be among the smallest mends, or something as small that leads to a
//! proven reading. Curved sheets take long, so that a seeded sample is tried: one mistake on each small sheet of flat parts
//! and on every fourth of round parts, the kinds in turn. `FOLDBACK_SWEEP=N` tries N mistakes of each kind on every sheet, or
//! on those whose names begin with one of `FOLDBACK_SHEETS=x10,q09`; `-- --nocapture` prints the shares and what was not
//! found.

#![allow(clippy::unwrap_used, reason = "a test stops at the first surprise")]

use std::collections::BTreeMap;
use std::fs;
use std::ops::AddAssign;
use std::path::Path;
use std::sync::Mutex;
use std::sync::atomic::{AtomicUsize, Ordering};
use std::thread;

use foldback::{
    Line, Options, Shape, Sheet, Unwatched, Verdict, View, mend, read_sheet, reconstruct,
};

use crate::mistakes::{Mistake, points, same_drawing, with_mistakes};
use crate::random::Random;

/// Sheets of flat parts with more lines are left out of the sample.
const SMALL: usize = 80;

/// Of the sheets with curves, one of so many is in the sample.
const OF_CURVED: usize = 4;

/// The share of mistakes whose smallest mends must contain the right sheet.
const SHARE: f64 = 0.98;

/// A right sheet.
pub(crate) struct Right {
    /// Of the reference sheets the letter of their class, see the README; `S` for samples.
    pub(crate) class: char,
    pub(crate) name: String,
    pub(crate) sheet: Sheet,
    /// Whether nobody asks about it.
    left_out: bool,
}

impl Right {
    fn is_in_sample(&self, at: usize) -> bool {
        let straight = |line: &Line| matches!(line.shape, Shape::Line { .. } | Shape::Polyline(_));
        match self.sheet.lines.iter().all(straight) {
            true => self.sheet.lines.len() <= SMALL,
            false => at.is_multiple_of(OF_CURVED),
        }
    }
}

/// What became of the mistakes of one class.
#[derive(Clone, Debug, Default)]
struct Tally {
    /// Mistakes after which other objects have the views.
    another: usize,
    /// Mistakes after which there is no object.
    tried: usize,
    /// Those whose smallest mends contain the right sheet.
    exact: usize,
    /// Those of the others that have mends of one line, each with a proven reading.
    equal: usize,
    /// The others in words.
    others: Vec<String>,
}

impl AddAssign for Tally {
    fn add_assign(&mut self, other: Tally) {
        self.another += other.another;
        self.tried += other.tried;
        self.exact += other.exact;
        self.equal += other.equal;
        self.others.extend(other.others);
    }
}

#[test]
fn one_mistake_on_any_sheet_is_mended_to_the_right_sheet() {
    let each: Option<usize> = std::env::var("FOLDBACK_SWEEP")
        .ok()
        .map(|number| number.parse().expect("FOLDBACK_SWEEP is a number"));
    let mut sheets = right_sheets();
    let only = std::env::var("FOLDBACK_SHEETS").ok();
    if let Some(only) = &only {
        // A sheet keeps its place, which its mistakes depend on.
        for right in &mut sheets {
            right.left_out = !only.split(',').any(|name| right.name.starts_with(name));
        }
    }
    let next = AtomicUsize::new(0);
    let tallies: Mutex<BTreeMap<char, Tally>> = Mutex::default();
    let work = || {
        while let Some((at, right)) = sheets
            .iter()
            .enumerate()
            .nth(next.fetch_add(1, Ordering::Relaxed))
        {
            let found = swept(right, each, at);
            if found.tried > 0 {
                let others = found.others.join("\n");
                println!("{}: {}\n{others}", right.name, found.in_words());
            }
            *tallies.lock().unwrap().entry(right.class).or_default() += found;
        }
    };
    thread::scope(|scope| {
        for _ in 0..2 {
            scope.spawn(work);
        }
    });
    let mut all = Tally::default();
    for (class, tally) in tallies.into_inner().unwrap() {
        println!("{class}: {}", tally.in_words());
        all += tally;
    }
    println!("all: {}", all.in_words());
    assert!(only.is_some() || all.tried >= 40, "{}", all.tried);
    assert_eq!(all.exact + all.equal, all.tried, "{:#?}", all.others);
    assert!(
        all.exact as f64 >= SHARE * all.tried as f64,
        "{:#?}",
        all.others
    );
}

impl Tally {
    fn in_words(&self) -> String {
        let share = 100.0 * self.exact as f64 / self.tried as f64;
        format!(
            "{} of {} ({share:.1} %) contain the right sheet, {} more have mends as small; after {} mistakes there are other \
             objects",
            self.exact, self.tried, self.equal, self.another
        )
    }
}

/// Every reference sheet and every sample that describes an object.
pub(crate) fn right_sheets() -> Vec<Right> {
    let root = Path::new(env!("CARGO_MANIFEST_DIR"));
    let mut sheets = Vec::new();
    for path in sorted(&root.join("tests/reference")) {
        let name = path.file_stem().unwrap().to_str().unwrap().to_owned();
        if path.extension().is_some_and(|e| e == "json") && name != "manifest" {
            let class = name.chars().next().unwrap().to_ascii_uppercase();
            sheets.push((class, name, fs::read(path).unwrap()));
        }
    }
    for folder in sorted(&root.join("samples")) {
        let name = folder.file_name().unwrap().to_str().unwrap().to_owned();
        let bytes =
            fs::read(folder.join("sheet.json")).or_else(|_| fs::read(folder.join("sheet.svg")));
        sheets.push(('S', name, bytes.unwrap()));
    }
    let read = |(class, name, bytes): (char, String, Vec<u8>)| {
        let sheet = read_sheet(&bytes).unwrap().0;
        let quick = Options {
            reading_limit: 2,
            ..Options::default()
        };
        let verdict = reconstruct(&sheet, &quick).ok()?.verdict;
        let right = Right {
            class,
            name,
            sheet: with_views(sheet),
            left_out: false,
        };
        (verdict != Verdict::Contradictory).then_some(right)
    };
    sheets.into_iter().filter_map(read).collect()
}

fn sorted(folder: &Path) -> Vec<std::path::PathBuf> {
    let entries = fs::read_dir(folder).unwrap();
    let mut paths: Vec<_> = entries.map(|entry| entry.unwrap().path()).collect();
    paths.sort();
    paths
}

/// The sheet with the view of each line said, from where it stands in third-angle projection.
fn with_views(sheet: Sheet) -> Sheet {
    let bearing = |line: &Line| line.line_type.bears_geometry();
    let mut lines: Vec<Line> = sheet.lines.into_iter().filter(bearing).collect();
    if lines.iter().any(|line| line.view.is_none()) {
        let gaps = [0, 1].map(|k| widest_gap(&lines, k));
        for line in &mut lines {
            let [x, y] = points(&line.shape)[0];
            line.view = Some(match (x > gaps[0], y > gaps[1]) {
                (false, false) => View::Front,
                (false, true) => View::Top,
                (true, false) => View::Right,
                (true, true) => panic!("a line stands in none of the three views"),
            });
        }
    }
    Sheet { lines, ..sheet }
}

/// The middle of the widest stretch along x or y that no line reaches.
fn widest_gap(lines: &[Line], k: usize) -> f64 {
    let mut reaches: Vec<[f64; 2]> = lines
        .iter()
        .map(|line| {
            let along = points(&line.shape).into_iter().map(|p| p[k]);
            along.fold([f64::INFINITY, f64::NEG_INFINITY], |[low, high], x| {
                [low.min(x), high.max(x)]
            })
        })
        .collect();
    reaches.sort_by(|a, b| a[0].total_cmp(&b[0]));
    let (mut end, mut widest) = (reaches[0][1], [0.0, 0.0]);
    for [low, high] in reaches {
        if low - end > widest[1] - widest[0] {
            widest = [end, low];
        }
        end = end.max(high);
    }
    widest[0].midpoint(widest[1])
}

/// Tries so many mistakes of each kind on one sheet, or what the sample has of it.
fn swept(right: &Right, each: Option<usize>, at: usize) -> Tally {
    let mut tally = Tally::default();
    let mut random = Random::new(at as u64 + 1);
    let kinds = match each {
        _ if right.left_out => &[],
        Some(_) => &Mistake::ALL[..],
        None if right.is_in_sample(at) => &Mistake::ALL[at % 3..=at % 3],
        None => &[],
    };
    let each = each.unwrap_or(1);
    for &mistake in kinds {
        for wrong in with_mistakes(&right.sheet, mistake, each, &mut random) {
            let mending = match mend(&wrong, &Options::default(), 50, &Unwatched) {
                Ok(mending) => mending,
                Err(error) => panic!("{} {mistake:?}: {error}", right.name),
            };
            if mending.verdict != Verdict::Contradictory {
                tally.another += 1;
                continue;
            }
            tally.tried += 1;
            if mending
                .mends
                .iter()
                .any(|m| same_drawing(&m.sheet, &right.sheet))
            {
                tally.exact += 1;
                continue;
            }
            let first = mending.mends.first().map(|m| &m.changes);
            tally.equal += usize::from(first.is_some_and(|changes| changes.len() == 1));
            tally.others.push(format!(
                "{} {mistake:?} {:?}: {first:?}",
                right.name,
                what(&right.sheet, &wrong)
            ));
        }
    }
    tally
}

/// The line at which two sheets part ways.
fn what<'a>(right: &'a Sheet, wrong: &'a Sheet) -> Option<&'a Line> {
    let differs = right
        .lines
        .iter()
        .zip(&wrong.lines)
        .find(|(a, b)| format!("{a:?}") != format!("{b:?}"));
    differs
        .map(|(line, _)| line)
        .or(right.lines.get(wrong.lines.len()))
        .or(wrong.lines.last())
}

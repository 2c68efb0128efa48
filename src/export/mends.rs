//! The ways to mend a sheet, in words for a person and as JSON for a program.

use super::json::one_line;
use super::shape::LineEntry;
use super::text::quoted;
use super::words::line_in_words;
use crate::outcome::Limit;
use crate::{Action, Change, LineType, Mend, Mending, Unit, Verdict};
use serde::Serialize;

#[derive(Serialize)]
struct Document<'a> {
    sheet: &'a str,
    verdict: &'a str,
    complete: bool,
    mends: Vec<MendEntry<'a>>,
}

#[derive(Serialize)]
pub(crate) struct MendEntry<'a> {
    changes: Vec<ChangeEntry<'a>>,
    verdict: &'a str,
}

#[derive(Serialize)]
struct ChangeEntry<'a> {
    #[serde(flatten)]
    line: LineEntry<'a>,
    /// What the line was, if it becomes longer or shorter.
    #[serde(skip_serializing_if = "Option::is_none")]
    before: Option<LineEntry<'a>>,
}

impl<'a> MendEntry<'a> {
    /// The entry of a mend.
    pub(crate) fn of(mend: &'a Mend) -> Self {
        MendEntry {
            changes: mend.changes.iter().map(change_entry).collect(),
            verdict: mend.verdict.name(),
        }
    }
}

fn change_entry(change: &Change) -> ChangeEntry<'_> {
    let entry = |action, shape| LineEntry {
        action,
        view: change.view,
        line_type: change.line_type,
        shape,
        lines: &change.lines,
    };
    ChangeEntry {
        line: entry(Some(change.action.name()), &change.shape),
        before: change.before.as_ref().map(|shape| entry(None, shape)),
    }
}

impl Mending {
    /// The ways to mend the sheet called `name` as one JSON document on one line, without a line break at its end.
    pub fn to_json(&self, name: &str) -> String {
        one_line(&Document {
            sheet: name,
            verdict: self.verdict.name(),
            complete: self.stopped_by.is_none(),
            mends: self.mends.iter().map(MendEntry::of).collect(),
        })
    }

    /// The ways to mend the sheet called `name`, drawn in `unit`, in sentences for a person.
    pub fn to_text(&self, name: &str, unit: Unit) -> String {
        let mut text = format!("{name}\n{}\n", self.summary());
        for (n, mend) in (1..).zip(&self.mends) {
            text += "\n";
            for (k, change) in mend.changes.iter().enumerate() {
                let number = match k {
                    0 => format!("{n:>3}. "),
                    _ => "     ".to_owned(),
                };
                text += &format!("{number}{}.\n", change.in_words(unit));
            }
            text += &format!("     Then the sheet describes {}.\n", what(mend.verdict));
        }
        if self.stopped_by == Some(Limit::Stopped) {
            text += "\nThe search ran out of time, so there may be more ways. Allow more with `--time-limit 600`.\n";
        } else if self.stopped_by == Some(Limit::Readings) && !self.mends.is_empty() {
            text += "\nThere may be more ways. Allow more with `--limit 200`.\n";
        }
        if !self.mends.is_empty() {
            let name = quoted(name);
            text += &format!(
                "\nNext: write the sheet corrected in the first way, or in another with `--choice`:\n  \
                 foldback mend {name} -o mended.svg\n"
            );
        }
        text
    }

    fn summary(&self) -> String {
        match (self.verdict, &self.mends[..]) {
            (Verdict::Contradictory, []) => {
                "No object has these three views, and no correction of up to four lines was found. \
                 `foldback check` says what does not fit."
                    .to_owned()
            }
            (Verdict::Contradictory, [first, ..]) => {
                let ways = match self.mends.len() {
                    1 => "One way to mend the sheet was".to_owned(),
                    n => format!("{n} ways to mend the sheet were"),
                };
                let changes = match first.changes.len() {
                    1 => "one change".to_owned(),
                    n => format!("{n} changes"),
                };
                format!("No object has these three views. {ways} found, with {changes}:")
            }
            (Verdict::Undecided, _) if self.stopped_by == Some(Limit::Depths) => {
                "The answer is open: nothing fits, but a depth may be missing that hidden lines would show. Corrections are \
                 looked for on sheets with every hidden line: leave out `--hidden-lines optional`."
                    .to_owned()
            }
            (Verdict::Undecided, _) => {
                "The answer is open: a limit stopped the search before it was certain.".to_owned()
            }
            (verdict, _) => format!(
                "This sheet needs no correction: it describes {}.",
                what(verdict)
            ),
        }
    }
}

fn what(verdict: Verdict) -> &'static str {
    match verdict {
        Verdict::Unique => "exactly one object",
        Verdict::Ambiguous => "several objects",
        Verdict::Contradictory => "no object",
        Verdict::Undecided => "at least one object",
    }
}

impl Change {
    /// The change as a request, such as `Add a hidden line in the right-side view from (52, 10) to (52, 30) mm`;
    /// coordinates are in `unit`, the sheet's.
    pub fn in_words(&self, unit: Unit) -> String {
        let line = |line_type, shape| line_in_words(self.view, line_type, shape, unit);
        match (self.action, &self.before) {
            (Action::Add, _) => format!("Add a {}", line(self.line_type, &self.shape)),
            (Action::Remove, _) => format!("Take away the {}", line(self.line_type, &self.shape)),
            (Action::Retype, _) => {
                let before = match self.line_type {
                    LineType::Hidden => LineType::Visible,
                    _ => LineType::Hidden,
                };
                let now = self.line_type.name();
                format!("Make the {} {now}", line(before, &self.shape))
            }
            (Action::Move, before) => {
                let before = before.as_ref().unwrap_or(&self.shape);
                let now = line(self.line_type, &self.shape);
                let stretch = now.split_once(" from ").map_or(&now[..], |(_, rest)| rest);
                format!(
                    "Let the {} run from {stretch}",
                    line(self.line_type, before)
                )
            }
        }
    }
}

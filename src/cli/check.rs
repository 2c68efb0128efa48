//! `foldback check`: the verdict on each sheet.

use std::ffi::OsStr;
use std::io::{self, ErrorKind, Write};
use std::path::Path;

use anyhow::{Result, bail};

use super::answer::{Answer, answer};
use super::args::CheckArguments;
use super::status::Status;
use super::{complain, files};
use crate::Report;
use crate::export::json;

/// Checks every sheet, prints a report on each, and gives the status of all of them together.
pub(super) fn run(arguments: &CheckArguments, out: &mut impl Write) -> Status {
    if arguments.marked.is_some() && arguments.sheets.len() > 1 {
        complain("--marked writes one sheet; name one sheet to check");
        return Status::WrongUsage;
    }
    let mut status = Status::Unique;
    for (place, name) in arguments.sheets.iter().enumerate() {
        let (one, report) = check(name, arguments);
        status = status.and(one);
        if let Err(lost) = print(&report, place > 0 && !arguments.json, out) {
            return lost.status(status);
        }
    }
    status
}

/// The status and the report of one sheet; without an answer the report is empty, or for programs the error.
fn check(name: &OsStr, arguments: &CheckArguments) -> (Status, String) {
    let shown = files::shown(name);
    let answered = answer(name, &arguments.search).and_then(|found| {
        let marked = arguments.marked.as_deref();
        marked.map_or(Ok(()), |path| mark(path, name, &found))?;
        Ok(found)
    });
    match answered {
        Ok(found) => {
            let report = Report::new(&shown, &found.sheet, &found.remarks, &found.outcome);
            let words = match arguments.json {
                true => report.to_json() + "\n",
                false => report.to_text(),
            };
            (report.verdict().into(), words)
        }
        Err(error) => {
            let message = format!("{error:#}");
            complain(&message);
            let words = match arguments.json {
                true => json::failure(&shown, &message) + "\n",
                false => String::new(),
            };
            (Status::Failed, words)
        }
    }
}

/// Writes the sheet with marks on what the report names.
fn mark(path: &Path, name: &OsStr, found: &Answer) -> Result<()> {
    if files::same(path, name) {
        bail!(
            "{} is the sheet itself; choose another name for the output",
            path.display()
        );
    }
    let marks = found.outcome.marks(&found.sheet);
    let svg = found.sheet.to_svg_with(&marks);
    files::write_all(std::iter::once((path, svg.into_bytes())))
}

/// Standard output takes no more.
pub(super) struct Lost(io::Error);

impl Lost {
    /// The status of the whole call, given that so far.
    pub(super) fn status(self, so_far: Status) -> Status {
        // Whoever read the reports has seen enough.
        if self.0.kind() == ErrorKind::BrokenPipe {
            return so_far;
        }
        complain(&format!("cannot write to standard output: {}", self.0));
        Status::Failed
    }
}

/// Prints the report on one sheet, after an empty line if it stands `apart` from the one before.
pub(super) fn print(
    report: &str,
    apart: bool,
    out: &mut impl Write,
) -> std::result::Result<(), Lost> {
    if report.is_empty() {
        return Ok(());
    }
    if apart {
        writeln!(out).map_err(Lost)?;
    }
    out.write_all(report.as_bytes()).map_err(Lost)?;
    out.flush().map_err(Lost)
}

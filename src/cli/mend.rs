//! `foldback mend`: the smallest corrections of sheets.

use std::ffi::OsStr;
use std::io::Write;
use std::path::Path;
use std::time::Duration;

use anyhow::{Context, Result, bail};

use super::answer::options;
use super::args::MendArguments;
use super::check::print;
use super::progress::Progress;
use super::status::Status;
use super::{complain, files};
use crate::export::json;
use crate::{Mending, Sheet, Verdict, mend, read_sheet};

/// Mends every sheet, prints the ways to do it, and writes the corrected sheet if asked to.
pub(super) fn run(arguments: &MendArguments, out: &mut impl Write) -> Status {
    if arguments.output.is_some() && arguments.sheets.len() > 1 {
        complain("--output writes one sheet; name one sheet to mend");
        return Status::WrongUsage;
    }
    let mut status = Status::Unique;
    for (place, name) in arguments.sheets.iter().enumerate() {
        let (one, report) = match mended(name, arguments) {
            Ok((sheet, mending)) => (came_to(&mending), told(name, arguments, &sheet, &mending)),
            Err(error) => {
                let message = format!("{error:#}");
                complain(&message);
                let words = match arguments.json {
                    true => json::failure(&files::shown(name), &message) + "\n",
                    false => String::new(),
                };
                (Status::Failed, words)
            }
        };
        status = status.and(one);
        if let Err(error) = print(&report, place > 0 && !arguments.json, out) {
            return error.status(status);
        }
    }
    status
}

fn mended(name: &OsStr, arguments: &MendArguments) -> Result<(Sheet, Mending)> {
    let bytes = files::read(name)?;
    let shown = || files::shown(name);
    let (sheet, _) = read_sheet(&bytes).with_context(shown)?;
    let search = &arguments.search;
    let progress = Progress::start(&shown(), Duration::from_secs_f64(search.time_limit));
    let mending = mend(&sheet, &options(search), search.limit, &progress).with_context(shown)?;
    drop(progress);
    if let Some(output) = &arguments.output {
        write(output, arguments.choice, name, &mending).with_context(shown)?;
    }
    Ok((sheet, mending))
}

fn write(output: &Path, choice: usize, name: &OsStr, mending: &Mending) -> Result<()> {
    if files::same(output, name) {
        bail!(
            "{} is the sheet itself; choose another name for the output",
            output.display()
        );
    }
    let Some(mend) = mending.mends.get(choice - 1) else {
        match (mending.verdict, mending.mends.len()) {
            (Verdict::Contradictory, 0) => {
                bail!("no way to mend it was found; nothing was written")
            }
            (Verdict::Contradictory, ways) => {
                bail!(
                    "there is no way {choice}, the ways are numbered 1 to {ways}; nothing was written"
                )
            }
            (Verdict::Undecided, _) => {
                bail!("whether the sheet needs a correction is open; nothing was written")
            }
            _ => bail!("the sheet needs no correction; nothing was written"),
        }
    };
    let json = output
        .extension()
        .is_some_and(|e| e.eq_ignore_ascii_case("json"));
    let text = match json {
        true => mend.sheet.to_json(),
        false => mend.sheet.to_svg(),
    };
    files::write_all(std::iter::once((output, text.into_bytes())))
}

fn told(name: &OsStr, arguments: &MendArguments, sheet: &Sheet, mending: &Mending) -> String {
    let shown = files::shown(name);
    match (&arguments.output, arguments.json) {
        (_, true) => mending.to_json(&shown) + "\n",
        (None, false) => mending.to_text(&shown, sheet.unit),
        (Some(output), false) => {
            let changes = mending.mends[arguments.choice - 1].changes.iter();
            let words: Vec<String> = changes.map(|c| c.in_words(sheet.unit)).collect();
            format!("{}: {}\n", output.display(), words.join("; "))
        }
    }
}

fn came_to(mending: &Mending) -> Status {
    match (mending.verdict, mending.mends.len(), mending.stopped_by) {
        (Verdict::Undecided, ..) | (Verdict::Contradictory, 0, Some(_)) => Status::Undecided,
        (Verdict::Contradictory, 0, None) => Status::Contradictory,
        _ => Status::Unique,
    }
}

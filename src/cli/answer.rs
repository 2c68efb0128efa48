//! One sheet through the engine: from a name on the command line to its answer.

use std::ffi::OsStr;
use std::time::Duration;

use anyhow::{Context, Result};

use super::args::SearchArguments;
use super::files;
use super::progress::Progress;
use crate::{Options, Outcome, Remark, Sheet, read_sheet, reconstruct_watched};

/// A sheet with the answer to it.
pub(super) struct Answer {
    /// The sheet as read.
    pub(super) sheet: Sheet,
    /// What the reader noticed.
    pub(super) remarks: Vec<Remark>,
    /// What the engine found.
    pub(super) outcome: Outcome,
}

/// Reads and answers one sheet; the error names it and says what to do.
pub(super) fn answer(name: &OsStr, search: &SearchArguments) -> Result<Answer> {
    let bytes = files::read(name)?;
    let shown = || files::shown(name);
    let (sheet, remarks) = read_sheet(&bytes).with_context(shown)?;
    let options = options(search);
    let progress = Progress::start(&shown(), Duration::from_secs_f64(search.time_limit));
    let outcome = reconstruct_watched(&sheet, &options, &progress).with_context(shown)?;
    Ok(Answer {
        sheet,
        remarks,
        outcome,
    })
}

/// The engine's options for the flags.
pub(super) fn options(search: &SearchArguments) -> Options {
    Options {
        tolerance_mm: search.tolerance,
        reading_limit: search.limit,
        tangent_edges: search.tangent_edges.into(),
        hidden_lines: search.hidden_lines.into(),
        ..Options::default()
    }
}

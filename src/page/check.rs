//! `check`: the verdict on a sheet with all that is needed to show it, or what an unfinished sheet still lacks.

use serde::Serialize;
use serde_json::value::RawValue;

use super::request::Request;
use super::solids::SolidEntry;
use super::unfinished::{self, Unfinished};
use crate::error::Kind;
use crate::export::json::one_line;
use crate::sheet::views::ViewsError;
use crate::{Error, Report, Verdict, Watch, reconstruct_watched};

#[derive(Serialize)]
struct Answer {
    report: Option<Box<RawValue>>,
    text: String,
    solids: Vec<SolidEntry>,
    unfinished: Option<Unfinished>,
}

/// # Errors
/// When the sheet cannot be read or answered. An unfinished sheet is no error.
pub(super) fn check(request: &Request<'_>, watch: &dyn Watch) -> Result<Vec<u8>, String> {
    let (sheet, remarks) = request.sheet()?;
    let options = request.options()?;
    let not_yet = |unfinished| Answer {
        report: None,
        text: String::new(),
        solids: Vec::new(),
        unfinished: Some(unfinished),
    };
    let answer = if let Some(missing) = unfinished::missing_views(&sheet) {
        not_yet(missing)
    } else {
        match reconstruct_watched(&sheet, &options, watch) {
            Ok(outcome) => {
                let report = Report::new(request.name(), &sheet, &remarks, &outcome);
                let open = (outcome.verdict == Verdict::Contradictory)
                    .then(|| unfinished::open_ends(&sheet, &options))
                    .flatten();
                Answer {
                    report: RawValue::from_string(report.to_json()).ok(),
                    text: without_advice(report.to_text()),
                    solids: outcome.readings.iter().map(SolidEntry::of).collect(),
                    unfinished: open,
                }
            }
            Err(error) if is_about_views(&error) => not_yet(unfinished::no_three_views(&error)),
            Err(error) => return Err(error.to_string()),
        }
    };
    Ok(one_line(&answer).into_bytes())
}

/// The report without its last paragraph, which says what to type next: whoever has the page types nothing.
fn without_advice(mut report: String) -> String {
    if let Some(at) = report.rfind("\nNext: ") {
        report.truncate(at);
    }
    report
}

/// Whether the sheet was refused because its lines are not three views, not because of a number on it.
fn is_about_views(error: &Error) -> bool {
    match &error.0 {
        Kind::Views(error) => !matches!(error, ViewsError::Tolerance(_) | ViewsError::NotFinite(_)),
        _ => false,
    }
}

//! `mend`: the smallest corrections of a sheet, as data to preview and apply.

use serde::Serialize;
use serde_json::value::RawValue;

use super::request::Request;
use crate::export::json::one_line;
use crate::export::shape::LineEntry;
use crate::{Change, LineType, Mend, Watch};

#[derive(Serialize)]
struct Answer<'a> {
    sheet: &'a str,
    verdict: &'a str,
    complete: bool,
    mends: Vec<MendEntry<'a>>,
}

#[derive(Serialize)]
struct MendEntry<'a> {
    changes: Vec<ChangeEntry<'a>>,
    verdict: &'a str,
    /// The sheet after the changes.
    sheet: Box<RawValue>,
}

#[derive(Serialize)]
struct ChangeEntry<'a> {
    #[serde(flatten)]
    line: LineEntry<'a>,
    /// What the line was, if it becomes longer or shorter.
    #[serde(skip_serializing_if = "Option::is_none")]
    before: Option<LineEntry<'a>>,
}

/// # Errors
/// When the sheet cannot be read or answered.
pub(super) fn mend(request: &Request<'_>, watch: &dyn Watch) -> Result<Vec<u8>, String> {
    let (sheet, _) = request.sheet()?;
    let mending = crate::mend(&sheet, &request.options()?, request.limit(), watch)
        .map_err(|error| error.to_string())?;
    let mends: Result<_, _> = mending.mends.iter().map(mend_entry).collect();
    let answer = Answer {
        sheet: request.name(),
        verdict: mending.verdict.name(),
        complete: mending.stopped_by.is_none(),
        mends: mends.map_err(|error: serde_json::Error| error.to_string())?,
    };
    Ok(one_line(&answer).into_bytes())
}

fn mend_entry(mend: &Mend) -> Result<MendEntry<'_>, serde_json::Error> {
    Ok(MendEntry {
        changes: mend.changes.iter().map(change_entry).collect(),
        verdict: mend.verdict.name(),
        sheet: RawValue::from_string(mend.sheet.to_json())?,
    })
}

fn change_entry(change: &Change) -> ChangeEntry<'_> {
    let entry = |action, line_type: LineType, shape| LineEntry {
        action,
        view: change.view,
        line_type,
        shape,
        lines: &change.lines,
    };
    ChangeEntry {
        line: entry(Some(change.action.name()), change.line_type, &change.shape),
        before: change
            .before
            .as_ref()
            .map(|shape| entry(None, change.line_type, shape)),
    }
}

//! `mend`: the smallest corrections of a sheet, as data to preview and apply.

use serde::Serialize;
use serde_json::value::RawValue;

use super::request::Request;
use crate::export::json::one_line;
use crate::export::mends::MendEntry;
use crate::{Mend, Watch};

#[derive(Serialize)]
struct Answer<'a> {
    sheet: &'a str,
    verdict: &'a str,
    complete: bool,
    mends: Vec<WithSheet<'a>>,
}

#[derive(Serialize)]
struct WithSheet<'a> {
    #[serde(flatten)]
    mend: MendEntry<'a>,
    /// The sheet after the changes.
    sheet: Box<RawValue>,
}

/// # Errors
/// When the sheet cannot be read or answered.
pub(super) fn mend(request: &Request<'_>, watch: &dyn Watch) -> Result<Vec<u8>, String> {
    let (sheet, _) = request.sheet()?;
    let mending = crate::mend(&sheet, &request.options()?, request.limit(), watch)
        .map_err(|error| error.to_string())?;
    let mends: Result<_, _> = mending.mends.iter().map(with_sheet).collect();
    let answer = Answer {
        sheet: request.name(),
        verdict: mending.verdict.name(),
        complete: mending.stopped_by.is_none(),
        mends: mends.map_err(|error: serde_json::Error| error.to_string())?,
    };
    Ok(one_line(&answer).into_bytes())
}

fn with_sheet(mend: &Mend) -> Result<WithSheet<'_>, serde_json::Error> {
    Ok(WithSheet {
        mend: MendEntry::of(mend),
        sheet: RawValue::from_string(mend.sheet.to_json())?,
    })
}

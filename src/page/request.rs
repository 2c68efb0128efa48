//! A request as it comes, and what it means for the engine.

use std::borrow::Cow;
use std::cell::Cell;

use serde::Deserialize;
use serde_json::value::RawValue;

use crate::{HiddenLines, Options, Remark, Sheet, Stage, TangentEdges, Watch, read_sheet};

/// No request gets more readings than this.
const MOST_READINGS: usize = 64;

/// One request of the drawing board.
#[derive(Deserialize)]
pub(super) struct Request<'r> {
    /// What is wanted.
    #[serde(rename = "do", borrow)]
    pub(super) action: Cow<'r, str>,
    /// The sheet as JSON.
    #[serde(borrow)]
    sheet: Option<&'r RawValue>,
    /// The name of the sheet or file, for the report.
    pub(super) name: Option<String>,
    /// The text of a file to open.
    pub(super) text: Option<String>,
    /// Most readings, or most corrections.
    limit: Option<usize>,
    /// As [`Options::tolerance_mm`].
    tolerance: Option<f64>,
    /// `omitted`, `drawn` or `either`.
    tangent_edges: Option<String>,
    /// `required` or `optional`.
    hidden_lines: Option<String>,
    /// How often the engine may ask whether to go on.
    steps: Option<u64>,
    /// Which reading, counted from 1.
    pub(super) reading: Option<usize>,
    /// The kind of picture by its name.
    pub(super) kind: Option<String>,
    /// Whether the picture is shaded.
    #[serde(default)]
    pub(super) shaded: bool,
}

impl<'r> Request<'r> {
    /// # Errors
    /// When it is no JSON object with a `do`.
    pub(super) fn read(bytes: &'r [u8]) -> Result<Self, String> {
        serde_json::from_slice(bytes)
            .map_err(|error| format!("the request cannot be read: {error}"))
    }

    /// The sheet of the request and what its reader noticed.
    ///
    /// # Errors
    /// When there is none, or it is no sheet.
    pub(super) fn sheet(&self) -> Result<(Sheet, Vec<Remark>), String> {
        let sheet = self.sheet.ok_or("the request has no sheet")?;
        read_sheet(sheet.get().as_bytes()).map_err(|error| error.to_string())
    }

    /// The sheet's name in reports.
    pub(super) fn name(&self) -> &str {
        self.name.as_deref().unwrap_or("sheet")
    }

    /// Most readings or corrections, unless the request says less.
    pub(super) fn limit(&self) -> usize {
        let default = Options::default().reading_limit;
        self.limit.unwrap_or(default).clamp(1, MOST_READINGS)
    }

    /// How to search.
    ///
    /// # Errors
    /// When a word is none of those it may be.
    pub(super) fn options(&self) -> Result<Options, String> {
        let tangent_edges = match self.tangent_edges.as_deref() {
            None | Some("omitted") => TangentEdges::Omitted,
            Some("drawn") => TangentEdges::Drawn,
            Some("either") => TangentEdges::Either,
            Some(other) => {
                return Err(format!(
                    "tangent edges are omitted, drawn or either, not {other:?}"
                ));
            }
        };
        let hidden_lines = match self.hidden_lines.as_deref() {
            None | Some("required") => HiddenLines::Required,
            Some("optional") => HiddenLines::Optional,
            Some(other) => {
                return Err(format!(
                    "hidden lines are required or optional, not {other:?}"
                ));
            }
        };
        Ok(Options {
            tolerance_mm: self.tolerance,
            reading_limit: self.limit(),
            tangent_edges,
            hidden_lines,
            ..Options::default()
        })
    }

    /// The watcher `outer` together with the request's own bound on steps.
    pub(super) fn watched<'w>(&self, outer: &'w dyn Watch) -> Steps<'w> {
        Steps {
            outer,
            left: Cell::new(self.steps),
        }
    }
}

/// Stops a run after a number of steps: unlike a clock, at the same place on every machine.
pub(super) struct Steps<'w> {
    outer: &'w dyn Watch,
    left: Cell<Option<u64>>,
}

impl Watch for Steps<'_> {
    fn stage(&self, stage: Stage) {
        self.outer.stage(stage);
    }

    fn keep_going(&self) -> bool {
        let left = self.left.get().map(|steps| steps.saturating_sub(1));
        self.left.set(left);
        left != Some(0) && self.outer.keep_going()
    }
}

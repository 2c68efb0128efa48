//! The report on one sheet as data: the verdict, the readings' measures, and what was off or cannot be.
//!
//! It is made once from the sheet and the outcome; `text` words it for a person, `json` for a program. Neither of
//! them finds out anything new.

use crate::outcome::{FurtherLine, Limit, Place, ReadingsTotal, Settling, Stretch};
use crate::{Measures, Outcome, Projection, Remark, Sheet, Unit, Verdict};

/// What there is to tell about one sheet.
///
/// ```no_run
/// # fn main() -> Result<(), foldback::Error> {
/// let (sheet, remarks) = foldback::read_sheet(br#"{"lines": []}"#)?;
/// let outcome = foldback::reconstruct(&sheet, &foldback::Options::default())?;
/// let report = foldback::Report::new("cleat.json", &sheet, &remarks, &outcome);
/// print!("{}", report.to_text());
/// # Ok(())
/// # }
/// ```
#[derive(Clone, Debug)]
pub struct Report {
    /// The sheet's name, as the user typed it.
    pub(crate) name: String,
    /// The unit the sheet is drawn in.
    pub(crate) unit: Unit,
    /// What the sheet describes.
    pub(crate) verdict: Verdict,
    /// Third- or first-angle, as said or worked out.
    pub(crate) projection: Projection,
    /// The limit that stopped the search.
    pub(crate) stopped_by: Option<Limit>,
    /// The measures of each reading, in the order of the readings.
    pub(crate) readings: Vec<Measures>,
    /// The hidden lines of each reading that the sheet leaves out.
    pub(crate) left_out: Vec<Vec<Stretch>>,
    /// What was off but could be put right: the reader's remarks first.
    pub(crate) warnings: Vec<Remark>,
    /// What no object can have.
    pub(crate) problems: Vec<Remark>,
    /// A smallest set of lines that cannot all be right.
    pub(crate) conflict: Vec<Stretch>,
    /// How many readings there are, listed or not.
    pub(crate) readings_total: ReadingsTotal,
    /// The independent places at which the readings differ.
    pub(crate) places: Vec<Place>,
    /// What leaves one reading only.
    pub(crate) settled_by: Option<Settling>,
    /// If that is a further view: that view of the first reading.
    pub(crate) further_view: Vec<FurtherLine>,
}

impl Report {
    /// The report on `sheet`, called `name`; `remarks` are the reader's, `outcome` is the engine's answer.
    pub fn new(name: &str, sheet: &Sheet, remarks: &[Remark], outcome: &Outcome) -> Self {
        Report {
            name: name.to_owned(),
            unit: sheet.unit,
            verdict: outcome.verdict,
            projection: outcome.projection,
            stopped_by: outcome.stopped_by,
            readings: outcome
                .readings
                .iter()
                .map(|reading| reading.measures.clone())
                .collect(),
            left_out: outcome
                .readings
                .iter()
                .map(|r| r.left_out.clone())
                .collect(),
            warnings: remarks.iter().chain(&outcome.warnings).cloned().collect(),
            problems: outcome.problems.clone(),
            conflict: outcome.conflict.clone(),
            readings_total: outcome.readings_total.clone(),
            places: outcome.places.clone(),
            settled_by: outcome.settled_by,
            further_view: outcome.further_views.first().cloned().unwrap_or_default(),
        }
    }

    /// What the sheet describes.
    pub fn verdict(&self) -> Verdict {
        self.verdict
    }

    /// How many readings have no sealed hollow.
    pub(crate) fn open_readings(&self) -> usize {
        self.readings.iter().filter(|m| m.shells <= 1).count()
    }

    /// Whether every reading was found.
    pub(crate) fn complete(&self) -> bool {
        self.stopped_by.is_none()
    }
}

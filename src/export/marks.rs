//! What a report points at, as marks on the sheet: the lines in conflict, or the lines behind which places of choice hide.
//!
//! The lines in conflict are numbered from 1; the lines of one place of choice share its number in the report.

use super::sheet_svg::{Mark, MarkStyle};
use crate::{Outcome, Shape, Sheet, Stretch, Verdict};

impl Outcome {
    /// The marks that show on the sheet what the report says; none for a sheet that describes exactly one object.
    pub fn marks(&self, sheet: &Sheet) -> Vec<Mark> {
        match self.verdict {
            Verdict::Contradictory | Verdict::Undecided => self.of_conflict(sheet),
            Verdict::Unique | Verdict::Ambiguous => self.of_places(),
        }
    }

    fn of_conflict(&self, sheet: &Sheet) -> Vec<Mark> {
        let in_conflict = self.conflict.iter().map(|stretch| &stretch.shape);
        let mut shapes: Vec<&Shape> = in_conflict.collect();
        let told: Vec<usize> = self.conflict.iter().flat_map(|s| s.lines.clone()).collect();
        // Single lines that do not fit are conflicts of their own, of which one stands for all.
        let named = self.problems.iter().flat_map(|problem| &problem.lines);
        let mut more: Vec<usize> = named.copied().filter(|line| !told.contains(line)).collect();
        more.sort_unstable();
        more.dedup();
        shapes.extend(
            more.iter()
                .filter_map(|&l| Some(&sheet.lines.get(l)?.shape)),
        );
        let mark = |(n, shape): (usize, &&Shape)| Mark {
            shape: (*shape).clone(),
            style: MarkStyle::Conflict,
            label: Some(n.to_string()),
        };
        (1..).zip(&shapes).map(mark).collect()
    }

    fn of_places(&self) -> Vec<Mark> {
        let mut marks = Vec::new();
        for (n, place) in (1..).zip(&self.places) {
            let mark = |stretch: &Stretch| Mark {
                shape: stretch.shape.clone(),
                style: MarkStyle::Choice,
                label: Some(n.to_string()),
            };
            marks.extend(place.lines.iter().map(mark));
        }
        marks
    }
}

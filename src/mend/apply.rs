//! Changes of a drawing as changes of the sheet.

use super::edits::{Edit, Stroke};
use super::fewest::Draft;
use super::lines::Element;
use crate::export::stretch::shape_along;
use crate::outcome::{Action, Change};
use crate::sheet::View;
use crate::{Line, LineType, Shape, Sheet};
use itertools::Itertools;

/// The sheet after some changes, and each of them in words of the sheet.
pub(super) fn applied(draft: &Draft<'_>, sheet: &Sheet, edits: &[Edit]) -> (Sheet, Vec<Change>) {
    let desk = Desk {
        draft,
        sheet,
        edits,
    };
    let mut mended = Sheet {
        lines: Vec::new(),
        ..sheet.clone()
    };
    for number in 0..sheet.lines.len() {
        mended.lines.extend(desk.line(number));
    }
    let changes: Vec<Change> = edits.iter().flat_map(|edit| desk.changes(edit)).collect();
    let added = changes.iter().filter(|c| c.action == Action::Add);
    mended.lines.extend(added.map(|change| Line {
        view: Some(change.view),
        line_type: change.line_type,
        shape: change.shape.clone(),
    }));
    (mended, changes)
}

struct Desk<'a> {
    draft: &'a Draft<'a>,
    sheet: &'a Sheet,
    edits: &'a [Edit],
}

/// What has become of an element.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Fate {
    Same,
    Gone,
    Turned,
    Reaches([usize; 2]),
}

impl Desk<'_> {
    fn fate(&self, e: usize) -> Fate {
        let of = |unit: &usize| self.draft.units[*unit].contains(&e);
        let mut fates = self.edits.iter().rev().filter_map(|edit| match edit {
            Edit::Remove(unit) if of(unit) => Some(Fate::Gone),
            Edit::Retype(unit) if of(unit) => Some(Fate::Turned),
            Edit::Reach(other, reach) if *other == e => Some(Fate::Reaches(*reach)),
            _ => None,
        });
        fates.next().unwrap_or(Fate::Same)
    }

    /// What a line of the sheet is replaced by.
    fn line(&self, number: usize) -> Vec<Line> {
        let line = &self.sheet.lines[number];
        let elements = self.draft.elements.iter().enumerate();
        let own: Vec<(usize, Fate)> = elements
            .filter(|(_, e)| e.line as usize == number)
            .map(|(e, _)| (e, self.fate(e)))
            .collect();
        let with = |line_type, shape: Shape| Line {
            line_type,
            shape,
            ..line.clone()
        };
        match own.iter().map(|(_, fate)| *fate).all_equal_value() {
            _ if own.is_empty() => return vec![line.clone()],
            Ok(Fate::Same) => return vec![line.clone()],
            Ok(Fate::Gone) => return Vec::new(),
            Ok(Fate::Turned) => return vec![with(other(line.line_type), line.shape.clone())],
            _ => {}
        }
        own.into_iter()
            .filter_map(|(e, fate)| {
                let element = &self.draft.elements[e];
                match fate {
                    Fate::Same => Some(with(line.line_type, self.shape(element, element.reach))),
                    Fate::Turned => Some(with(
                        other(line.line_type),
                        self.shape(element, element.reach),
                    )),
                    Fate::Reaches(reach) => Some(with(line.line_type, self.shape(element, reach))),
                    Fate::Gone => None,
                }
            })
            .collect()
    }

    fn shape(&self, element: &Element, reach: [usize; 2]) -> Shape {
        let arrangement = &self.draft.board.views()[element.view.index()];
        let run = &arrangement.runs[element.run];
        shape_along(arrangement, self.draft.board.placement(), run, reach)
    }

    fn changes(&self, edit: &Edit) -> Vec<Change> {
        match edit {
            Edit::Remove(unit) => self.of_unit(*unit, Action::Remove),
            Edit::Retype(unit) => self.of_unit(*unit, Action::Retype),
            Edit::Reach(e, reach) => vec![self.reaching(*e, *reach)],
            Edit::Add(stroke) => vec![self.adding(stroke)],
        }
    }

    /// A unit of one straight row, one shape or one line of the sheet is one change.
    fn of_unit(&self, unit: usize, action: Action) -> Vec<Change> {
        let unit = &self.draft.units[unit];
        let element = |e: usize| &self.draft.elements[e];
        let lines: Vec<usize> = unit
            .iter()
            .map(|&e| element(e).line as usize)
            .sorted_unstable()
            .dedup()
            .collect();
        let first = element(unit[0]);
        let whole = |number: usize| {
            let of_line = |e: &&Element| e.line as usize == number;
            self.draft.elements.iter().filter(of_line).count() == unit.len()
        };
        let shape = match lines[..] {
            [number] if whole(number) => self.sheet.lines[number].shape.clone(),
            _ => {
                let reaches = unit.iter().map(|&e| element(e).reach);
                let reach = reaches.reduce(|a, b| [a[0].min(b[0]), a[1].max(b[1])]);
                self.shape(first, reach.unwrap_or(first.reach))
            }
        };
        let turned = action == Action::Retype;
        vec![Change {
            action,
            view: first.view,
            line_type: line_type(first.hidden != turned),
            shape,
            lines,
            before: None,
        }]
    }

    fn reaching(&self, e: usize, reach: [usize; 2]) -> Change {
        let element = &self.draft.elements[e];
        Change {
            action: Action::Move,
            view: element.view,
            line_type: line_type(element.hidden),
            shape: self.shape(element, reach),
            lines: vec![element.line as usize],
            before: Some(self.shape(element, element.reach)),
        }
    }

    fn adding(&self, stroke: &Stroke) -> Change {
        let view: View = stroke.view;
        let arrangement = &self.draft.board.views()[view.index()];
        let run = &arrangement.runs[stroke.run];
        Change {
            action: Action::Add,
            view,
            line_type: line_type(stroke.hidden),
            shape: shape_along(arrangement, self.draft.board.placement(), run, stroke.reach),
            lines: Vec::new(),
            before: None,
        }
    }
}

fn other(drawn: LineType) -> LineType {
    line_type(drawn != LineType::Hidden)
}

fn line_type(hidden: bool) -> LineType {
    match hidden {
        true => LineType::Hidden,
        false => LineType::Visible,
    }
}

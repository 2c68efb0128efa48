//! Conflicts are smallest: a fresh search without each of their lines in turn, and one with all of them.

use super::Candidates;
use crate::options::Unwatched;
use crate::sheet::views::drawing;
use crate::solve::board::{Board, Spot};
use crate::solve::encode::{Contact, Demand, encode};
use crate::solve::enumerate::enumerate;
use crate::solve::explain::{Conflict, DrawnLine, explain};
use crate::solve::flat::FlatBoard;
use crate::solve::search::{Answer, Search};
use crate::{LineType, Options, Sheet, read_sheet};

const SHEETS: [&[u8]; 3] = [
    include_bytes!("../../tests/reference/p03-sensor-tray.json"),
    include_bytes!("../../tests/reference/p08-window-channel.json"),
    include_bytes!("../../tests/reference/q04-dovetail-slide.json"),
];

/// Whether these lines can be met, whatever the others demand.
fn can_be_met(board: &dyn Board, lines: &[DrawnLine]) -> bool {
    let mut search = Search::new(&Unwatched);
    let never = search.variable();
    search.clause([!never]);
    let drawn = |spot: Spot| {
        let piece = &board.views()[spot.view.index()].pieces[board.piece(spot)];
        (
            spot.view,
            piece.lines.iter().min().copied().unwrap_or(u32::MAX),
        )
    };
    encode(board, &mut search, Contact::Forbidden, &mut |_, spot| {
        if lines.contains(&drawn(spot)) {
            Demand::AsDrawn
        } else {
            Demand::While(never)
        }
    });
    search.solve(&[]) == Answer::Found
}

/// The lines in conflict on a sheet of flat parts, and its candidates; none if it has a reading or a line without any edge.
fn conflict(sheet: &Sheet) -> Option<(FlatBoard, Vec<DrawnLine>)> {
    let options = Options::default();
    let drawing = drawing(sheet, &options).ok()?;
    let board = FlatBoard::find(&drawing, drawing.tolerance, &options, &Unwatched).ok()?;
    let answers = enumerate(&board, 1, &mut |_, _, _| Vec::new(), &Unwatched);
    if !answers.models.is_empty() || !drawing.problems.is_empty() {
        return None;
    }
    match explain(&board, &|_, _| false, &answers, &Unwatched) {
        Conflict::Lines(lines) => Some((board, lines)),
        _ => None,
    }
}

#[test]
fn without_any_one_of_its_lines_a_conflict_can_be_met() {
    let mut checked = 0;
    for bytes in SHEETS {
        let (sheet, _) = read_sheet(bytes).unwrap();
        for line in 0..sheet.lines.len() {
            let mut wrong = sheet.clone();
            let line_type = &mut wrong.lines[line].line_type;
            *line_type = match line_type {
                LineType::Hidden => LineType::Visible,
                _ => LineType::Hidden,
            };
            let Some((board, lines)) = conflict(&wrong) else {
                continue;
            };
            assert!(
                !lines.is_empty() && !can_be_met(&board, &lines),
                "line {line}"
            );
            for left in 0..lines.len() {
                let mut others = lines.clone();
                others.remove(left);
                assert!(
                    can_be_met(&board, &others),
                    "line {line} without {left} of {lines:?}"
                );
            }
            checked += 1;
        }
    }
    assert!(checked > 20, "{checked}");
}

//! A drawn line in words: its type, its shape, its view, and where on the sheet it is.
//!
//! Straight lines go from one end to the other, whole circles have a radius and a centre, arcs both. Lines that are drawn in
//! one go but turn corners are told by the box around them.

use crate::arrange::{Arrangement, Piece, Run};
use crate::geom::P2;
use crate::geom::arena::Id;
use crate::geom::carrier::Carrier;
use crate::sheet::{Placement, View};
use crate::solve::board::Board;
use itertools::Itertools;

/// Words for pieces of one drawn line of a view, such as `the hidden circle of radius 5 mm around (10, 20) mm in the front
/// view`; coordinates and lengths are in the sheet's unit.
pub(super) fn in_words(board: &dyn Board, view: View, pieces: &[Id<Piece>]) -> String {
    let drawn = Drawn {
        arrangement: &board.views()[view.index()],
        placement: board.placement(),
        pieces,
    };
    drawn.words()
}

/// A coordinate as one reads it off a ruler: at most three decimals.
pub(super) fn rounded(value: f64) -> f64 {
    // Minus nought is written as nought.
    (value * 1e3).round() / 1e3 + 0.0
}

/// Pieces of one drawn line.
struct Drawn<'b> {
    arrangement: &'b Arrangement,
    placement: Placement,
    pieces: &'b [Id<Piece>],
}

impl Drawn<'_> {
    fn words(&self) -> String {
        let view = self.arrangement.view.title();
        let kind = self.kind();
        let mut carriers = self.pieces.iter().map(|&p| self.piece(p).carrier);
        match carriers.all_equal_value() {
            Ok(Some(carrier)) => self.curve(carrier),
            Ok(None) if self.is_straight() => {
                format!("the {kind} line in the {view} from {}", self.stretch())
            }
            _ => format!("the {kind} lines in the {view} {}", self.extent()),
        }
    }

    fn piece(&self, piece: Id<Piece>) -> &Piece {
        &self.arrangement.pieces[piece]
    }

    fn kind(&self) -> &'static str {
        let hidden = self.pieces.iter().any(|&p| self.piece(p).hidden);
        if hidden { "hidden" } else { "visible" }
    }

    fn unit(&self) -> &'static str {
        self.placement.unit.symbol()
    }

    fn place(&self, at: P2) -> String {
        let on_sheet = self.placement.on_sheet(self.arrangement.view, [at.x, at.y]);
        let [x, y] = on_sheet.map(rounded);
        format!("({x}, {y})")
    }

    fn ends(&self) -> impl Iterator<Item = P2> {
        let ends = self.pieces.iter().flat_map(|&p| self.piece(p).ends);
        ends.map(|node| self.arrangement.nodes[node].at)
    }

    /// Whether straight pieces all lie along one line.
    fn is_straight(&self) -> bool {
        let all_on = |run: &Run| self.pieces.iter().all(|p| run.pieces.contains(p));
        self.arrangement.runs.iter().any(all_on)
    }

    /// From where to where pieces of one straight line run.
    fn stretch(&self) -> String {
        let ends = self
            .ends()
            .minmax_by(|a, b| a.x.total_cmp(&b.x).then(a.y.total_cmp(&b.y)));
        let (from, to) = ends.into_option().unwrap_or_default();
        format!("{} to {} {}", self.place(from), self.place(to), self.unit())
    }

    /// Between which corners the pieces lie.
    fn extent(&self) -> String {
        let boxed = |(low, high): (P2, P2), p: P2| (low.inf(&p), high.sup(&p));
        let (low, high) = self
            .ends()
            .map(|p| (p, p))
            .reduce(|a, b| boxed(a, b.0))
            .unwrap_or_default();
        format!(
            "between {} and {} {}",
            self.place(low),
            self.place(high),
            self.unit()
        )
    }

    /// Words for pieces along one carrier.
    fn curve(&self, number: u32) -> String {
        let (view, kind, unit) = (self.arrangement.view.title(), self.kind(), self.unit());
        let carrier = &self.arrangement.carriers[number as usize];
        let center = match carrier {
            Carrier::Circle { center, .. } | Carrier::Ellipse { center, .. } => {
                format!(" around {} {unit}", self.place(*center))
            }
            Carrier::Free { .. } => String::new(),
        };
        let (whole, part) = match carrier {
            Carrier::Circle { radius, .. } => (
                format!("circle of radius {}", self.placement.unit.show(*radius)),
                "arc",
            ),
            Carrier::Ellipse { .. } => (String::from("ellipse"), "arc of an ellipse"),
            Carrier::Free { .. } => (format!("closed curve {}", self.extent()), "curve"),
        };
        match &self.parts(number)[..] {
            [] => format!("the {kind} {whole}{center} in the {view}"),
            [[from, to]] => {
                let [from, to] = [from, to].map(|p| self.place(*p));
                format!("the {kind} {part} in the {view} from {from} to {to} {unit}{center}")
            }
            [[from, _], .., [_, to]] => {
                let [from, to] = [from, to].map(|p| self.place(*p));
                format!(
                    "parts of the {kind} {part} in the {view} from {from} to {to} {unit}{center}"
                )
            }
        }
    }

    /// The ends of each connected part of the pieces along a carrier; none if they go all the way round.
    fn parts(&self, carrier: u32) -> Vec<[P2; 2]> {
        let runs = self.arrangement.runs.iter();
        runs.filter(|run| run.carrier == Some(carrier))
            .flat_map(|run| self.parts_of(run))
            .collect()
    }

    fn parts_of(&self, run: &Run) -> Vec<[P2; 2]> {
        let count = run.pieces.len();
        let here = |i: usize| self.pieces.contains(&run.pieces[i % count]);
        let at = |i: usize| self.arrangement.nodes[run.nodes[i]].at;
        // On a closed run the piece before the first one is the last.
        let closed = run.nodes.first() == run.nodes.last();
        let starts = |&i: &usize| here(i) && !((i > 0 || closed) && here(i + count - 1));
        let stops = |i: usize| i + 1 == count && !closed || !here(i + 1);
        (0..count)
            .filter(starts)
            .filter_map(|from| {
                let to = (from..from + count).find(|&i| stops(i % count))?;
                Some([at(from), at(to % count + 1)])
            })
            .collect()
    }
}

//! What may become of each drawn line and of each place where one could be added, as variables and clauses.
//!
//! Every change has a literal that counts as one: taking a unit away, giving it the other type, ending a straight line sooner
//! at one of its ends, starting an added line. What is then drawn on a piece follows from them.

use super::lines::{Element, Unit};
use super::widen::FRESH;
use crate::arrange::{Piece, Run};
use crate::geom::arena::Id;
use crate::sheet::View;
use crate::solve::board::Board;
use crate::solve::literal::Literal;
use crate::solve::search::Search;
use rustc_hash::FxHashMap;

/// What is drawn on a piece.
#[derive(Clone, Copy, Debug)]
pub(super) struct Ink {
    /// A visible line.
    pub(super) visible: Literal,
    /// A hidden line, and no visible one over it.
    pub(super) hidden: Literal,
}

/// A stretch of a run along which a line could be added.
pub(super) struct Room {
    pub(super) view: View,
    pub(super) run: Id<Run>,
    /// Whether an added visible and an added hidden line cover each piece of the run.
    pub(super) covered: [Vec<Literal>; 2],
}

/// All changes that may be made.
pub(super) struct Choices {
    /// By view and piece.
    pub(super) inks: [Vec<Ink>; 3],
    /// A literal for each unit: it is taken away.
    pub(super) removed: Vec<Literal>,
    /// A literal for each unit: it has the other type.
    pub(super) retyped: Vec<Literal>,
    /// For each element and each of its pieces whether it is left out at the start or the end of the line.
    pub(super) cut: Vec<[Vec<Literal>; 2]>,
    /// Where lines may be added.
    pub(super) rooms: Vec<Room>,
    /// Every literal that counts as a change; those of one place together.
    pub(super) costs: Vec<Vec<Literal>>,
}

impl Choices {
    /// Makes the variables and says how they hang together.
    pub(super) fn new(
        board: &dyn Board,
        elements: &[Element],
        units: &[Unit],
        search: &mut Search<'_>,
    ) -> Self {
        let mut maker = Maker::new(search);
        let removed: Vec<Literal> = units.iter().map(|_| maker.cost()).collect();
        let retyped: Vec<Literal> = units.iter().map(|_| maker.cost()).collect();
        let cut: Vec<[Vec<Literal>; 2]> = elements.iter().map(|e| maker.cuts(e)).collect();
        let mut sources: [Vec<[Vec<Literal>; 2]>; 3] = [0, 1, 2].map(|v| {
            let count = board.views()[v].pieces.len();
            vec![[Vec::new(), Vec::new()]; count]
        });
        for (e, element) in elements.iter().enumerate().filter(|(_, e)| e.line != FRESH) {
            let of_unit = |kind: &[Literal]| -> Vec<Literal> {
                let with = units.iter().zip(kind).filter(|(u, _)| u.contains(&e));
                with.map(|(_, literal)| *literal).collect()
            };
            let (gone, turned) = (of_unit(&removed), of_unit(&retyped));
            let gone = maker.any(&gone);
            let turned = maker.any(&turned);
            let turned = maker.all(&[turned, !gone]);
            for (i, piece) in element.pieces.iter().enumerate() {
                let mut kept = vec![!gone, !turned];
                kept.extend(cut[e].iter().filter_map(|cut| cut.get(i)).map(|cut| !*cut));
                let here = &mut sources[element.view.index()][piece.ix()];
                here[usize::from(element.hidden)].push(maker.all(&kept));
                here[usize::from(!element.hidden)].push(turned);
            }
        }
        maker.keep_loose(board, &mut sources);
        let rooms = rooms(board, elements, &mut maker);
        for room in &rooms {
            let arrangement = &board.views()[room.view.index()];
            for (i, piece) in arrangement.runs[room.run].pieces.iter().enumerate() {
                for (source, covered) in sources[room.view.index()][piece.ix()]
                    .iter_mut()
                    .zip(&room.covered)
                {
                    source.push(covered[i]);
                }
            }
        }
        let inks = sources.map(|of_view| {
            let ink = |[visible, hidden]: [Vec<Literal>; 2]| {
                let visible = maker.any(&visible);
                let hidden = maker.any(&hidden);
                let hidden = maker.all(&[hidden, !visible]);
                Ink { visible, hidden }
            };
            of_view.into_iter().map(ink).collect()
        });
        Choices {
            inks,
            removed,
            retyped,
            cut,
            rooms,
            costs: maker.costs,
        }
    }

    /// What is drawn on a piece.
    pub(super) fn ink(&self, view: View, piece: Id<Piece>) -> Ink {
        self.inks[view.index()][piece.ix()]
    }
}

/// The runs with a fresh stroke on them, each with room for an added line of either type.
fn rooms(board: &dyn Board, elements: &[Element], maker: &mut Maker<'_, '_>) -> Vec<Room> {
    let mut open: FxHashMap<(View, Id<Run>), ()> = FxHashMap::default();
    let mut rooms = Vec::new();
    for element in elements.iter().filter(|e| e.line == FRESH) {
        if open.insert((element.view, element.run), ()).is_some() {
            continue;
        }
        let run = &board.views()[element.view.index()].runs[element.run];
        let closed = run.nodes.first() == run.nodes.last();
        rooms.push(Room {
            view: element.view,
            run: element.run,
            covered: [(); 2].map(|()| maker.added(run.pieces.len(), closed)),
        });
    }
    rooms
}

/// Makes variables that follow from others.
struct Maker<'s, 'w> {
    search: &'s mut Search<'w>,
    /// Always true.
    yes: Literal,
    costs: Vec<Vec<Literal>>,
}

impl<'s, 'w> Maker<'s, 'w> {
    fn new(search: &'s mut Search<'w>) -> Self {
        let yes = search.variable();
        search.clause([yes]);
        search.infer();
        Maker {
            search,
            yes,
            costs: Vec::new(),
        }
    }

    /// Drawn pieces that are part of no element stay as they are.
    fn keep_loose(&self, board: &dyn Board, sources: &mut [Vec<[Vec<Literal>; 2]>; 3]) {
        for (view, sources) in board.views().iter().zip(sources) {
            for (piece, source) in view.pieces.iter().zip(sources) {
                let drawn = piece.lines.iter().any(|line| *line != FRESH);
                if drawn && source.iter().all(Vec::is_empty) {
                    source[usize::from(piece.hidden)].push(self.yes);
                }
            }
        }
    }

    /// A literal that counts as a change.
    fn cost(&mut self) -> Literal {
        let cost = self.search.variable();
        self.costs.push(vec![cost]);
        cost
    }

    /// Whether any of some literals holds.
    fn any(&mut self, literals: &[Literal]) -> Literal {
        let negated: Vec<Literal> = literals.iter().map(|l| !*l).collect();
        !self.all(&negated)
    }

    /// Whether all of some literals hold.
    fn all(&mut self, literals: &[Literal]) -> Literal {
        let mut open: Vec<Literal> = literals.to_vec();
        open.retain(|l| *l != self.yes);
        if open.contains(&!self.yes) {
            return !self.yes;
        }
        match &open[..] {
            [] => self.yes,
            [only] => *only,
            _ => {
                let all = self.search.variable();
                for &literal in &open {
                    self.search.clause([!all, literal]);
                }
                self.search
                    .clause([all].into_iter().chain(open.iter().map(|l| !*l)));
                all
            }
        }
    }

    /// For each piece of a straight element whether it is cut away with the start, and with the end, of the line.
    fn cuts(&mut self, element: &Element) -> [Vec<Literal>; 2] {
        let count = element.pieces.len();
        if element.line == FRESH || element.carrier.is_some() || count < 2 {
            return [Vec::new(), Vec::new()];
        }
        let [start, end] = [self.cost(), self.cost()];
        let mut from_start: Vec<Literal> = (1..count).map(|_| self.search.variable()).collect();
        let mut to_end: Vec<Literal> = (1..count).map(|_| self.search.variable()).collect();
        for i in 0..count - 1 {
            self.search.clause([!from_start[i], start]);
            self.search.clause([!to_end[i], end]);
        }
        for i in 1..count - 1 {
            self.search.clause([!from_start[i], from_start[i - 1]]);
            self.search.clause([!to_end[i - 1], to_end[i]]);
        }
        from_start.push(!self.yes);
        to_end.insert(0, !self.yes);
        [from_start, to_end]
    }

    /// For each piece of a run whether an added line covers it; every start of such a line counts.
    fn added(&mut self, count: usize, closed: bool) -> Vec<Literal> {
        let covered: Vec<Literal> = (0..count).map(|_| self.search.variable()).collect();
        let mut starts: Vec<Literal> = Vec::new();
        for i in 0..count {
            let before = match i {
                0 if closed => Some(covered[count - 1]),
                0 => None,
                _ => Some(covered[i - 1]),
            };
            let start = self.search.variable();
            starts.push(start);
            self.search
                .clause([!covered[i], start].into_iter().chain(before));
        }
        if closed {
            // All the way round there is no start.
            let round = self.search.variable();
            starts.push(round);
            self.search
                .clause([round].into_iter().chain(covered.iter().map(|l| !*l)));
        }
        self.costs.push(starts);
        covered
    }
}

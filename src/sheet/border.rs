//! The border of a sheet and its title block: a rectangle that encloses everything, and whatever hangs on it.
//!
//! What hangs on the rectangle touches it, or touches something that does. What stands inside a part that hangs there (a
//! projection symbol in the title block) goes with it. A border may have several frames (ISO 5457: trimmed edge, frame,
//! grid reference), so the search goes on inside the frame that was found.

use rstar::primitives::{GeomWithData, Rectangle};
use rstar::{AABB, RTree};

use super::bounds::Bounds;
use super::{Shape, Sheet};

/// The most frames that are looked for, one in the other.
const MAX_FRAMES: usize = 4;

/// A geometry-bearing line whose view is not said, or is.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Item {
    /// Its place in [`Sheet::lines`].
    pub(crate) line: usize,
    /// The box around it, in the sheet's unit.
    pub(crate) bounds: Bounds,
}

/// What is left of `items` without border and title block; nothing, if all there is is a border.
///
/// Lines whose view is said are never taken. `slack` is how far apart lines may be and still touch.
pub(crate) fn without_border(sheet: &Sheet, items: Vec<Item>, slack: f64) -> Vec<Item> {
    let mut left = items;
    for round in 0..MAX_FRAMES {
        let Some(inside) = inside_frame(sheet, &left, slack) else {
            break;
        };
        // Inside a border, a rectangle alone is the outline of a view.
        if inside.is_empty() && round > 0 {
            break;
        }
        left = inside;
    }
    left
}

/// The items that do not belong to the frame around them all; `None` if there is no such frame.
fn inside_frame(sheet: &Sheet, items: &[Item], slack: f64) -> Option<Vec<Item>> {
    let pieces = pieces(sheet, items);
    let frame = frame(items, &pieces, slack)?;
    let mut taken = vec![false; items.len()];
    let hanging = hanging(&pieces, &frame, slack, &mut taken);
    for block in blocks(&pieces, &hanging, &frame, slack) {
        for (item, taken) in items.iter().zip(&mut taken) {
            *taken |= block.contains(&item.bounds, slack) && sheet.lines[item.line].view.is_none();
        }
    }
    let inside: Vec<Item> = items
        .iter()
        .zip(&taken)
        .filter(|(_, taken)| !**taken)
        .map(|(item, _)| *item)
        .collect();
    let encloses = inside.iter().all(|i| frame.contains(&i.bounds, slack));
    encloses.then_some(inside)
}

/// A straight piece of an item that may belong to a border.
#[derive(Clone, Copy)]
struct Piece {
    item: usize,
    bounds: Bounds,
}

fn pieces(sheet: &Sheet, items: &[Item]) -> Vec<Piece> {
    let mut pieces = Vec::new();
    for (item, Item { line, bounds }) in items.iter().enumerate() {
        let line = &sheet.lines[*line];
        match &line.shape {
            _ if line.view.is_some() => {}
            Shape::Polyline(points) => pieces.extend(points.windows(2).map(|ends| Piece {
                item,
                bounds: Bounds::of_points(ends),
            })),
            _ => pieces.push(Piece {
                item,
                bounds: *bounds,
            }),
        }
    }
    pieces
}

/// The rectangle made of the outermost long lines, if they make one.
fn frame(items: &[Item], pieces: &[Piece], slack: f64) -> Option<Bounds> {
    let all = items.iter().fold(Bounds::EMPTY, |b, i| b.joined(i.bounds));
    let [bottom, top] = outermost(pieces, &all, 0, slack)?;
    let [left, right] = outermost(pieces, &all, 1, slack)?;
    let rectangle = Bounds {
        min: [left.at, bottom.at],
        max: [right.at, top.at],
    };
    let spans = |chain: &Chain, axis: usize| {
        (chain.from - rectangle.min[axis]).abs() <= slack
            && (chain.to - rectangle.max[axis]).abs() <= slack
    };
    let closed = spans(&bottom, 0) && spans(&top, 0) && spans(&left, 1) && spans(&right, 1);
    let wide = rectangle.size().iter().all(|&s| s > 2.0 * slack);
    (closed && wide).then_some(rectangle)
}

/// Straight pieces that continue each other along one axis.
#[derive(Clone, Copy)]
struct Chain {
    /// Where it stands across its axis.
    at: f64,
    from: f64,
    to: f64,
}

/// The two outermost chains along `axis` that span at least half of everything.
fn outermost(pieces: &[Piece], all: &Bounds, axis: usize, slack: f64) -> Option<[Chain; 2]> {
    let across = 1 - axis;
    let mut along: Vec<Chain> = pieces
        .iter()
        .filter(|p| p.bounds.size()[across] <= slack)
        .map(|p| Chain {
            at: f64::midpoint(p.bounds.min[across], p.bounds.max[across]),
            from: p.bounds.min[axis],
            to: p.bounds.max[axis],
        })
        .collect();
    along.sort_by(|a, b| a.at.total_cmp(&b.at));
    let half = all.size()[axis] / 2.0;
    let long = along
        .chunk_by_mut(|a, b| b.at - a.at <= slack)
        .filter_map(|level| {
            level.sort_by(|a, b| a.from.total_cmp(&b.from));
            longest(level, slack).filter(|c| c.to - c.from >= half)
        });
    let mut ends: Option<[Chain; 2]> = None;
    for chain in long {
        ends = Some([ends.map_or(chain, |[first, _]| first), chain]);
    }
    ends
}

/// The longest stretch without a gap.
fn longest(level: &[Chain], slack: f64) -> Option<Chain> {
    let mut best: Option<Chain> = None;
    let mut current: Option<Chain> = None;
    for piece in level {
        let next = match current {
            Some(c) if piece.from <= c.to + slack => Chain {
                to: c.to.max(piece.to),
                ..c
            },
            _ => *piece,
        };
        current = Some(next);
        if best.is_none_or(|b| next.to - next.from > b.to - b.from) {
            best = Some(next);
        }
    }
    best
}

type Index = RTree<GeomWithData<Rectangle<[f64; 2]>, usize>>;

fn index(pieces: &[Piece], which: impl Iterator<Item = usize>) -> Index {
    RTree::bulk_load(
        which
            .map(|i| {
                let Bounds { min, max } = pieces[i].bounds;
                GeomWithData::new(Rectangle::from_corners(min, max), i)
            })
            .collect(),
    )
}

fn widened(bounds: &Bounds, slack: f64) -> AABB<[f64; 2]> {
    AABB::from_corners(bounds.min.map(|c| c - slack), bounds.max.map(|c| c + slack))
}

/// Whether a piece lies on a side of the frame.
fn on_frame(piece: &Bounds, frame: &Bounds, slack: f64) -> bool {
    (0..2).any(|axis| {
        [frame.min[axis], frame.max[axis]].iter().any(|side| {
            (piece.min[axis] - side).abs() <= slack && (piece.max[axis] - side).abs() <= slack
        })
    })
}

/// The pieces of all items that touch the frame or something that does; marks these items as taken.
fn hanging(pieces: &[Piece], frame: &Bounds, slack: f64, taken: &mut [bool]) -> Vec<usize> {
    let tree = index(pieces, 0..pieces.len());
    let mut of_item: Vec<Vec<usize>> = vec![Vec::new(); taken.len()];
    for (i, piece) in pieces.iter().enumerate() {
        of_item[piece.item].push(i);
    }
    let mut reached = Vec::new();
    let mut open: Vec<usize> = Vec::new();
    let mut take = |item: usize, open: &mut Vec<usize>| {
        if !std::mem::replace(&mut taken[item], true) {
            open.extend(&of_item[item]);
        }
    };
    for piece in pieces.iter().filter(|p| on_frame(&p.bounds, frame, slack)) {
        take(piece.item, &mut open);
    }
    while let Some(i) = open.pop() {
        reached.push(i);
        for near in tree.locate_in_envelope_intersecting(widened(&pieces[i].bounds, slack)) {
            take(pieces[near.data].item, &mut open);
        }
    }
    reached.sort_unstable();
    reached
}

/// The boxes around the connected parts that hang on the frame, such as the title block.
///
/// A part that spans more than half of the frame both ways is no block but a further frame, tied to this one by the ticks
/// of a grid reference.
fn blocks(pieces: &[Piece], hanging: &[usize], frame: &Bounds, slack: f64) -> Vec<Bounds> {
    let parts: Vec<usize> = hanging
        .iter()
        .copied()
        .filter(|&i| !on_frame(&pieces[i].bounds, frame, slack))
        .collect();
    let tree = index(pieces, parts.iter().copied());
    let mut seen = vec![false; pieces.len()];
    let mut blocks = Vec::new();
    for start in parts {
        if std::mem::replace(&mut seen[start], true) {
            continue;
        }
        let mut open = vec![start];
        let mut block = Bounds::EMPTY;
        while let Some(i) = open.pop() {
            block = block.joined(pieces[i].bounds);
            for near in tree.locate_in_envelope_intersecting(widened(&pieces[i].bounds, slack)) {
                if !std::mem::replace(&mut seen[near.data], true) {
                    open.push(near.data);
                }
            }
        }
        if (0..2).any(|axis| block.size()[axis] <= frame.size()[axis] / 2.0) {
            blocks.push(block);
        }
    }
    blocks
}

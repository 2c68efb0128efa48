//! Solids for tests made of blocks, whose volume, soundness and drawing can be told from the blocks alone, and the dice
//! that throw them.

use super::Polyhedron;
use super::shapes::from_faces;
use petgraph::unionfind::UnionFind;
use std::collections::{BTreeMap, BTreeSet};

/// Blocks of a grid, filled or empty; the grid lines need not be evenly spaced.
#[derive(Clone, Debug)]
pub(crate) struct Blocks {
    /// The grid lines along x, y and z, ascending.
    pub(crate) lines: [Vec<f64>; 3],
    /// Filled or empty: x runs fastest, z slowest.
    pub(crate) filled: Vec<bool>,
}

type Cell = [usize; 3];

impl Blocks {
    /// Cubes of 10 mm.
    pub(crate) fn cubes(size: [usize; 3], filled: Vec<bool>) -> Self {
        let lines = size.map(|n| (0..=n).map(|i| i as f64 * 10.0).collect());
        Blocks { lines, filled }
    }

    /// Number of blocks along each axis.
    pub(crate) fn size(&self) -> [usize; 3] {
        [0, 1, 2].map(|a| self.lines[a].len() - 1)
    }

    /// Whether the block at `cell` is filled; outside the grid nothing is.
    pub(crate) fn at(&self, cell: [isize; 3]) -> bool {
        let n = self.size();
        (0..3).all(|a| cell[a] >= 0 && (cell[a] as usize) < n[a])
            && self.filled[(cell[2] as usize * n[1] + cell[1] as usize) * n[0] + cell[0] as usize]
    }

    /// The blocks around a grid point, 1 for filled, by offset (-1 or 0 along each axis).
    fn around(&self, point: Cell) -> impl Fn([isize; 3]) -> bool + '_ {
        move |o| self.at([0, 1, 2].map(|a| point[a] as isize + o[a]))
    }

    /// Volume of the filled blocks.
    pub(crate) fn volume(&self) -> f64 {
        let [nx, ny, nz] = self.size();
        let mut sum = 0.0;
        for (i, j, k) in itertools::iproduct!(0..nx, 0..ny, 0..nz) {
            if self.at([i as isize, j as isize, k as isize]) {
                let width = |a: usize, i: usize| self.lines[a][i + 1] - self.lines[a][i];
                sum += width(0, i) * width(1, j) * width(2, k);
            }
        }
        sum
    }

    /// Whether the filled blocks hang together across faces and their border is two-manifold, from the blocks alone.
    pub(crate) fn is_one_sound_piece(&self) -> bool {
        let [nx, ny, nz] = self.size();
        let cells = itertools::iproduct!(0..nx, 0..ny, 0..nz).map(|(i, j, k)| [i, j, k]);
        let cells: Vec<Cell> = cells.filter(|c| self.at(c.map(|x| x as isize))).collect();
        self.first_unsound().is_none() && pieces(&cells) == 1
    }

    /// A grid point at which blocks only touch.
    fn first_unsound(&self) -> Option<Cell> {
        let [nx, ny, nz] = self.size();
        itertools::iproduct!(0..=nx, 0..=ny, 0..=nz)
            .map(|(i, j, k)| [i, j, k])
            .find(|point| !self.sound_at(*point))
    }

    /// At a grid point the filled ones and the empty ones of the eight blocks each hang together across faces.
    fn sound_at(&self, point: Cell) -> bool {
        let filled = self.around(point);
        let (mut full, mut empty) = (Vec::new(), Vec::new());
        for (i, j, k) in itertools::iproduct!(0..2usize, 0..2usize, 0..2usize) {
            let is = filled([i as isize - 1, j as isize - 1, k as isize - 1]);
            (if is { &mut full } else { &mut empty }).push([i, j, k]);
        }
        pieces(&full) <= 1 && pieces(&empty) <= 1
    }

    /// The solid they make, its faces merged; not sound if the blocks are not.
    pub(crate) fn solid(&self) -> Polyhedron {
        let mut borders = Vec::new();
        for axis in 0..3 {
            for (level, outward) in itertools::iproduct!(0..=self.size()[axis], [true, false]) {
                borders.extend(self.faces_in(axis, level, outward));
            }
        }
        let corners = corners_of(&borders);
        let place: BTreeMap<Cell, u32> = corners
            .iter()
            .enumerate()
            .map(|(i, c)| (*c, i as u32))
            .collect();
        let faces: Vec<Vec<Vec<u32>>> = borders
            .iter()
            .map(|loops| {
                let kept = |l: &Vec<Cell>| l.iter().filter_map(|c| place.get(c).copied()).collect();
                loops.iter().map(kept).collect()
            })
            .collect();
        let points: Vec<[f64; 3]> = corners
            .iter()
            .map(|c| [0, 1, 2].map(|a| self.lines[a][c[a]]))
            .collect();
        from_faces(&points, &faces)
    }

    /// The faces in one grid plane that look along +axis or -axis, as loops of grid points.
    fn faces_in(&self, axis: usize, level: usize, outward: bool) -> Vec<Vec<Vec<Cell>>> {
        // Seen from outside, `p` runs right and `q` up.
        let (p, q) = match outward {
            true => ((axis + 1) % 3, (axis + 2) % 3),
            false => ((axis + 2) % 3, (axis + 1) % 3),
        };
        let mut open = BTreeSet::new();
        for (i, j) in itertools::iproduct!(0..self.size()[p], 0..self.size()[q]) {
            let block = |step: isize| {
                let mut cell = [0; 3];
                (cell[axis], cell[p], cell[q]) = (level as isize + step, i as isize, j as isize);
                self.at(cell)
            };
            if block(-1) == outward && block(0) != outward {
                open.insert([i, j]);
            }
        }
        let lift = |[i, j]: [usize; 2]| {
            let mut c = [0; 3];
            (c[axis], c[p], c[q]) = (level, i, j);
            c
        };
        let mut faces = Vec::new();
        while let Some(first) = open.pop_first() {
            let squares = flood(first, &mut open);
            let loops = outlines(&squares);
            faces.push(
                loops
                    .into_iter()
                    .map(|l| l.into_iter().map(lift).collect())
                    .collect(),
            );
        }
        faces
    }
}

/// A plate with a window and a tower that meet at one corner: the plate's upper face passes that corner twice.
pub(crate) fn pinched() -> Blocks {
    let filled = (0..32).map(|c| if c < 16 { c != 6 } else { c == 16 + 9 });
    Blocks::cubes([4, 4, 2], filled.collect())
}

/// How many pieces cells fall into that hang together across faces.
fn pieces(cells: &[Cell]) -> usize {
    let mut groups = UnionFind::<usize>::new(cells.len());
    let mut count = cells.len();
    for (i, j) in itertools::iproduct!(0..cells.len(), 0..cells.len()) {
        let apart: usize = (0..3).map(|a| cells[i][a].abs_diff(cells[j][a])).sum();
        if apart == 1 && groups.union(i, j) {
            count -= 1;
        }
    }
    count
}

/// Takes the squares that hang together with `first` out of `open`.
fn flood(first: [usize; 2], open: &mut BTreeSet<[usize; 2]>) -> BTreeSet<[usize; 2]> {
    let mut squares = BTreeSet::from([first]);
    let mut todo = vec![first];
    while let Some([i, j]) = todo.pop() {
        let next = [
            [i + 1, j],
            [i.wrapping_sub(1), j],
            [i, j + 1],
            [i, j.wrapping_sub(1)],
        ];
        for square in next {
            if open.remove(&square) {
                squares.insert(square);
                todo.push(square);
            }
        }
    }
    squares
}

/// The border loops of squares, squares to the left, the outer loop first.
fn outlines(squares: &BTreeSet<[usize; 2]>) -> Vec<Vec<[usize; 2]>> {
    let mut steps: BTreeSet<[[usize; 2]; 2]> = BTreeSet::new();
    for &[i, j] in squares {
        let ring = [[i, j], [i + 1, j], [i + 1, j + 1], [i, j + 1]];
        for k in 0..4 {
            let (a, b) = (ring[k], ring[(k + 1) % 4]);
            if !steps.remove(&[b, a]) {
                steps.insert([a, b]);
            }
        }
    }
    let mut loops = Vec::new();
    while let Some([start, mut at]) = steps.pop_first() {
        let (mut trail, mut from) = (vec![start], start);
        while at != start || !trail_ends(&steps, from, at) {
            let next = turn(&steps, from, at);
            steps.remove(&[at, next]);
            trail.push(at);
            (from, at) = (at, next);
        }
        loops.push(trail);
    }
    let outer = (0..loops.len()).find(|k| turning(&loops[*k]) > 0).unwrap();
    loops.swap(0, outer);
    loops
}

/// At the start point again: it ends here unless a sharper left turn goes on (a loop may touch itself).
fn trail_ends(steps: &BTreeSet<[[usize; 2]; 2]>, from: [usize; 2], at: [usize; 2]) -> bool {
    !headings(from, at)
        .iter()
        .take(1)
        .any(|next| steps.contains(&[at, *next]))
}

/// Where a border goes on at `at`: the sharpest left turn there is.
fn turn(steps: &BTreeSet<[[usize; 2]; 2]>, from: [usize; 2], at: [usize; 2]) -> [usize; 2] {
    *headings(from, at)
        .iter()
        .find(|next| steps.contains(&[at, **next]))
        .unwrap()
}

/// Left, straight on and right of a step.
fn headings(from: [usize; 2], at: [usize; 2]) -> [[usize; 2]; 3] {
    let d = [
        at[0] as isize - from[0] as isize,
        at[1] as isize - from[1] as isize,
    ];
    [[-d[1], d[0]], d, [d[1], -d[0]]].map(|d| [0, 1].map(|a| at[a].wrapping_add_signed(d[a])))
}

/// Twice the signed area of a loop.
fn turning(trail: &[[usize; 2]]) -> isize {
    let at = |k: usize| trail[k % trail.len()].map(|x| x as isize);
    (0..trail.len())
        .map(|k| at(k)[0] * at(k + 1)[1] - at(k)[1] * at(k + 1)[0])
        .sum()
}

/// Grid points where border lines end or turn or more than two of them meet, in order.
fn corners_of(borders: &[Vec<Vec<Cell>>]) -> Vec<Cell> {
    let mut meeting: BTreeMap<Cell, BTreeSet<Cell>> = BTreeMap::new();
    for trail in borders.iter().flatten() {
        for k in 0..trail.len() {
            let (a, b) = (trail[k], trail[(k + 1) % trail.len()]);
            meeting.entry(a).or_default().insert(b);
            meeting.entry(b).or_default().insert(a);
        }
    }
    let straight = |c: &Cell, n: &BTreeSet<Cell>| {
        let ends: Vec<&Cell> = n.iter().collect();
        n.len() == 2 && (0..3).all(|a| ends[0][a] + ends[1][a] == 2 * c[a])
    };
    meeting
        .iter()
        .filter(|(c, n)| !straight(c, n))
        .map(|(c, _)| *c)
        .collect()
}

/// Sizes and shares of filled blocks that between them give pinched faces, windows and cavities.
const KINDS: [([usize; 3], usize); 4] = [
    ([3, 3, 3], 60),
    ([4, 4, 3], 45),
    ([6, 6, 2], 65),
    ([5, 4, 4], 93),
];

/// A small generator of even pseudo-random numbers, the same on every machine (a 64-bit linear congruential
/// generator with Knuth's multiplier, *The Art of Computer Programming*, vol. 2, 3.3.4; the upper bits are used).
#[derive(Clone, Debug)]
pub(crate) struct Dice(pub(crate) u64);

impl Dice {
    /// A number from 0 to `sides` - 1.
    pub(crate) fn roll(&mut self, sides: usize) -> usize {
        self.0 = self
            .0
            .wrapping_mul(6_364_136_223_846_793_005)
            .wrapping_add(1_442_695_040_888_963_407);
        ((self.0 >> 33) as usize) % sides
    }

    /// One sound piece of each kind in turn.
    pub(crate) fn pieces(mut self, count: usize) -> impl Iterator<Item = Blocks> {
        (0..count).map(move |k| {
            let (size, share) = KINDS[k % KINDS.len()];
            self.blocks(size, share)
        })
    }

    /// Random blocks that make one sound piece: of `size`, about `share` in 100 filled.
    ///
    /// Where blocks thrown at random only touch, some around that place are thrown again, which is quicker than
    /// throwing all again and gives more entangled pieces.
    pub(crate) fn blocks(&mut self, size: [usize; 3], share: usize) -> Blocks {
        loop {
            let filled = (0..size.iter().product())
                .map(|_| self.roll(100) < share)
                .collect();
            let mut blocks = Blocks::cubes(size, filled);
            for _ in 0..size.iter().product::<usize>() {
                let Some(point) = blocks.first_unsound() else {
                    break;
                };
                let cell =
                    [0, 1, 2].map(|a| (point[a] + self.roll(2)).saturating_sub(1).min(size[a] - 1));
                let place = (cell[2] * size[1] + cell[1]) * size[0] + cell[0];
                blocks.filled[place] = !blocks.filled[place];
            }
            if blocks.is_one_sound_piece() {
                return blocks;
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn thrown_blocks_vary_enough() {
        let (mut pinched, mut holed, mut hollow, mut pierced) = (0, 0, 0, 0);
        for blocks in Dice(6).pieces(400) {
            let solid = blocks.solid();
            let twice = |l: &Vec<u32>| l.iter().collect::<BTreeSet<_>>().len() < l.len();
            pinched += usize::from(solid.faces.iter().flat_map(|f| &f.loops).any(twice));
            holed += usize::from(solid.faces.iter().any(|f| f.loops.len() > 1));
            hollow += usize::from(solid.shells > 1);
            pierced += usize::from(super::super::measure::measure(&solid).genus > 0);
        }
        assert!(
            pinched > 2 && holed > 20 && hollow > 10 && pierced > 20,
            "{pinched} {holed} {hollow} {pierced}"
        );
    }

    #[test]
    fn cubes_of_cubes_have_the_known_number_of_sound_pieces() {
        // 77 of the 255 ways to fill 2 x 2 x 2 blocks fill their box and are one sound piece (counted by brute force).
        let fills = |bits: usize, axis: usize| {
            let side =
                |upper: usize| (0..8).any(|c| bits >> c & 1 == 1 && (c >> axis & 1) == upper);
            side(0) && side(1)
        };
        let count = (1..256_usize)
            .filter(|bits| (0..3).all(|axis| fills(*bits, axis)))
            .map(|bits| Blocks::cubes([2, 2, 2], (0..8).map(|c| bits >> c & 1 == 1).collect()))
            .filter(Blocks::is_one_sound_piece)
            .count();
        assert_eq!(count, 77);
    }
}

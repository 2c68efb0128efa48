//! Solids for tests, built without any of the engine: from lists of faces, by sweeping an outline, and from blocks.

use super::{Edge, Face, Solid};
use crate::geom::plane::Plane;
use crate::geom::{P3, V3};
use petgraph::unionfind::UnionFind;
use std::collections::{BTreeMap, BTreeSet};

/// A solid from corners and faces, each face a list of loops with the outer one first; faces must be maximal.
///
/// Shells are found from the edges; the one with the greatest volume comes first.
pub(crate) fn from_faces(corners: &[[f64; 3]], faces: &[Vec<Vec<u32>>]) -> Solid {
    let vertices: Vec<P3> = corners.iter().map(|c| P3::from(*c)).collect();
    let edges = paired(faces);
    let mut groups = UnionFind::<usize>::new(faces.len());
    for edge in &edges {
        groups.union(edge.faces[0] as usize, edge.faces[1] as usize);
    }
    let roots = groups.into_labeling();
    let mut volumes = BTreeMap::new();
    for (face, root) in faces.iter().zip(&roots) {
        *volumes.entry(*root).or_insert(0.0) += volume_under(&vertices, face);
    }
    let mut order: Vec<(usize, f64)> = volumes.into_iter().collect();
    order.sort_by(|a, b| b.1.total_cmp(&a.1));
    let shell_of = |root| order.iter().position(|(r, _)| *r == root).unwrap() as u32;
    let faces = faces
        .iter()
        .zip(&roots)
        .map(|(loops, root)| Face {
            plane: Plane::through(&vertices[loops[0][0] as usize], &area(&vertices, &loops[0])),
            loops: loops.clone(),
            shell: shell_of(*root),
        })
        .collect();
    Solid {
        vertices,
        edges,
        faces,
        shells: order.len() as u32,
    }
}

/// Twice the vector area of a loop.
fn area(vertices: &[P3], corners: &[u32]) -> V3 {
    let at = |i: usize| vertices[corners[i % corners.len()] as usize].coords;
    (0..corners.len()).map(|i| at(i).cross(&at(i + 1))).sum()
}

/// Six times the signed volume between a face and the origin.
fn volume_under(vertices: &[P3], loops: &[Vec<u32>]) -> f64 {
    let normal: V3 = loops.iter().map(|l| area(vertices, l)).sum();
    normal.dot(&vertices[loops[0][0] as usize].coords)
}

/// Edges from the directed steps of all loops: each step with one that runs the other way.
fn paired(faces: &[Vec<Vec<u32>>]) -> Vec<Edge> {
    let mut steps: BTreeMap<[u32; 2], [Vec<u32>; 2]> = BTreeMap::new();
    for (f, loops) in faces.iter().enumerate() {
        for corners in loops {
            for i in 0..corners.len() {
                let (a, b) = (corners[i], corners[(i + 1) % corners.len()]);
                steps.entry([a.min(b), a.max(b)]).or_default()[usize::from(a > b)].push(f as u32);
            }
        }
    }
    steps
        .into_iter()
        .flat_map(|(ends, [there, back])| {
            assert_eq!(there.len(), back.len(), "open border at {ends:?}");
            there.into_iter().zip(back).map(move |(f, g)| Edge {
                ends,
                faces: [f, g],
            })
        })
        .collect()
}

/// A frustum or prism: outlines counter-clockwise seen from above, holes clockwise, at two heights.
///
/// `loops[k]` is the k-th outline at the lower and at the upper height.
pub(crate) fn loft(heights: [f64; 2], loops: &[[Vec<[f64; 2]>; 2]]) -> Solid {
    let mut corners = Vec::new();
    let mut faces = vec![Vec::new(), Vec::new()];
    for [lower, upper] in loops {
        let (n, base) = (lower.len() as u32, corners.len() as u32);
        corners.extend(lower.iter().map(|p| [p[0], p[1], heights[0]]));
        corners.extend(upper.iter().map(|p| [p[0], p[1], heights[1]]));
        faces[0].push((base..base + n).rev().collect());
        faces[1].push((base + n..base + 2 * n).collect());
        for i in 0..n {
            let (a, b) = (base + i, base + (i + 1) % n);
            faces.push(vec![vec![a, b, b + n, a + n]]);
        }
    }
    from_faces(&corners, &faces)
}

/// A prism: outline counter-clockwise seen from above, holes clockwise.
pub(crate) fn prism(heights: [f64; 2], loops: &[Vec<[f64; 2]>]) -> Solid {
    let both: Vec<_> = loops.iter().map(|l| [l.clone(), l.clone()]).collect();
    loft(heights, &both)
}

/// A pyramid over a counter-clockwise outline at height 0.
pub(crate) fn pyramid(outline: &[[f64; 2]], apex: [f64; 3]) -> Solid {
    let n = outline.len() as u32;
    let mut corners: Vec<[f64; 3]> = outline.iter().map(|p| [p[0], p[1], 0.0]).collect();
    corners.push(apex);
    let mut faces: Vec<Vec<Vec<u32>>> = vec![vec![(0..n).rev().collect()]];
    faces.extend((0..n).map(|i| vec![vec![i, (i + 1) % n, n]]));
    from_faces(&corners, &faces)
}

/// The corners of an upright rectangle, counter-clockwise.
pub(crate) fn rectangle(lo: [f64; 2], hi: [f64; 2]) -> Vec<[f64; 2]> {
    vec![lo, [hi[0], lo[1]], hi, [lo[0], hi[1]]]
}

/// A block with one corner at the origin.
pub(crate) fn block(size: [f64; 3]) -> Solid {
    prism([0.0, size[2]], &[rectangle([0.0, 0.0], [size[0], size[1]])])
}

/// A staircase of `n` steps along x, each 10 mm long and high, 30 mm deep.
pub(crate) fn staircase(n: usize) -> Solid {
    let mut side = vec![[0.0, 0.0], [n as f64 * 10.0, 0.0]];
    for i in (0..n).rev() {
        side.push([(i + 1) as f64 * 10.0, (i + 1) as f64 * 10.0]);
        side.push([i as f64 * 10.0, (i + 1) as f64 * 10.0]);
    }
    // Counter-clockwise seen along +z; laid on its side so that heights become depths.
    upright(&prism([0.0, 30.0], &[side]))
}

/// A plate with `n` times `n` square windows of 10 mm, 10 mm apart, 10 mm thick.
pub(crate) fn windows(n: usize) -> Solid {
    let size = n as f64 * 20.0 + 10.0;
    let mut loops = vec![rectangle([0.0, 0.0], [size, size])];
    for k in 0..n * n {
        let lo = [(k % n) as f64 * 20.0 + 10.0, (k / n) as f64 * 20.0 + 10.0];
        let mut hole = rectangle(lo, [lo[0] + 10.0, lo[1] + 10.0]);
        hole.reverse();
        loops.push(hole);
    }
    prism([0.0, 10.0], &loops)
}

/// The solid turned a quarter about x, so that what was up faces the viewer of the front: (x, y, z) to (x, -z, y).
pub(crate) fn upright(solid: &Solid) -> Solid {
    let corners: Vec<[f64; 3]> = solid.vertices.iter().map(|p| [p.x, -p.z, p.y]).collect();
    let faces: Vec<_> = solid.faces.iter().map(|f| f.loops.clone()).collect();
    from_faces(&corners, &faces)
}

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
        let cells: Vec<Cell> = itertools::iproduct!(0..nx, 0..ny, 0..nz)
            .map(|(i, j, k)| [i, j, k])
            .filter(|c| self.at(c.map(|x| x as isize)))
            .collect();
        pieces(&cells) == 1
            && itertools::iproduct!(0..=nx, 0..=ny, 0..=nz)
                .all(|(i, j, k)| self.sound_at([i, j, k]))
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
    pub(crate) fn solid(&self) -> Solid {
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

    /// Random blocks that make one sound piece: of `size`, about `share` in 100 filled.
    pub(crate) fn blocks(&mut self, size: [usize; 3], share: usize) -> Blocks {
        loop {
            let filled = (0..size.iter().product())
                .map(|_| self.roll(100) < share)
                .collect();
            let blocks = Blocks::cubes(size, filled);
            if blocks.is_one_sound_piece() {
                return blocks;
            }
        }
    }
}

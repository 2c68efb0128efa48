//! Links straight edges in a plane into half-edges, loops and cells.
//!
//! Half-edge `2 * e` runs along edge `e` from its first to its second end, `2 * e + 1` back; the cell of a half-edge
//! lies to its left. Positions are only asked for the order of edges around a point and for the nesting of separate
//! components; the links themselves are made without them.

use crate::geom::P2;
use crate::geom::pairs::{Bounds, BoxIndex};
use petgraph::unionfind::UnionFind;

/// Stands for the unbounded cell outside everything.
pub(crate) const OUTSIDE: u32 = u32::MAX;

/// A subdivision of the plane by straight edges that meet at their ends only.
#[derive(Clone, Debug, Default)]
pub(crate) struct Subdivision {
    /// The half-edge after each half-edge around its cell.
    next: Vec<u32>,
    /// The cell to the left of each half-edge, or [`OUTSIDE`].
    cell: Vec<u32>,
    /// One half-edge of each loop of each cell, the outer loop first, then holes.
    loops: Vec<Vec<u32>>,
}

impl Subdivision {
    /// The half-edge that follows `half` around its cell.
    pub(crate) fn next(&self, half: u32) -> u32 {
        self.next[half as usize]
    }

    /// The cell to the left of `half`, or [`OUTSIDE`].
    pub(crate) fn cell(&self, half: u32) -> u32 {
        self.cell[half as usize]
    }

    /// Number of bounded cells.
    pub(crate) fn cells(&self) -> usize {
        self.loops.len()
    }

    /// The half-edges of each loop around `cell`: the outer loop first, counter-clockwise, then its holes, clockwise.
    pub(crate) fn borders(
        &self,
        cell: u32,
    ) -> impl Iterator<Item = impl Iterator<Item = u32> + '_> + '_ {
        self.loops[cell as usize]
            .iter()
            .map(|&first| self.around(first))
    }

    /// All half-edges around `cell`.
    pub(crate) fn halves(&self, cell: u32) -> impl Iterator<Item = u32> + '_ {
        self.borders(cell).flatten()
    }

    fn around(&self, first: u32) -> impl Iterator<Item = u32> + '_ {
        let mut at = Some(first);
        std::iter::from_fn(move || {
            let half = at?;
            let next = self.next(half);
            at = (next != first).then_some(next);
            Some(half)
        })
    }
}

/// Subdivides the plane by `edges` between `points`.
///
/// Edges must meet at common ends only, and no two may coincide. Points without an edge are ignored.
pub(crate) fn subdivide(points: &[P2], edges: &[[u32; 2]]) -> Subdivision {
    let around = outgoing(points, edges);
    let next = link(edges.len(), &around);
    let loop_of = number_loops(&next);
    let cell_of_loop = nest(points, edges, &around, &loop_of);
    let mut subdivision = Subdivision {
        cell: loop_of
            .iter()
            .map(|&l| cell_of_loop.cell[l as usize])
            .collect(),
        next,
        loops: vec![Vec::new(); cell_of_loop.cells],
    };
    collect_loops(&mut subdivision, &loop_of, &cell_of_loop.hole);
    subdivision
}

/// Outgoing half-edges of each point, counter-clockwise, from just above the direction -x round to it.
struct Fans {
    start: Vec<u32>,
    halves: Vec<u32>,
}

impl Fans {
    fn at(&self, point: usize) -> &[u32] {
        &self.halves[self.start[point] as usize..self.start[point + 1] as usize]
    }

    fn points(&self) -> usize {
        self.start.len() - 1
    }
}

fn half(index: usize) -> u32 {
    u32::try_from(index).expect("fewer than 2^32 half-edges")
}

fn outgoing(points: &[P2], edges: &[[u32; 2]]) -> Fans {
    let mut fan: Vec<(u32, f64, u32)> = Vec::with_capacity(2 * edges.len());
    for (e, &[a, b]) in edges.iter().enumerate() {
        let along = points[b as usize] - points[a as usize];
        fan.push((a, turn(along.x, along.y), half(2 * e)));
        fan.push((b, turn(-along.x, -along.y), half(2 * e + 1)));
    }
    fan.sort_unstable_by(|p, q| (p.0.cmp(&q.0)).then(p.1.total_cmp(&q.1)));
    let mut start = vec![0; points.len() + 1];
    for (point, _, _) in &fan {
        start[*point as usize + 1] += 1;
    }
    for i in 0..points.len() {
        start[i + 1] += start[i];
    }
    Fans {
        start,
        halves: fan.into_iter().map(|(_, _, h)| h).collect(),
    }
}

/// A number that grows with the direction of `(x, y)` counter-clockwise, from -2 just above -x to 2 at -x.
pub(crate) fn turn(x: f64, y: f64) -> f64 {
    let sine = y / (x.abs() + y.abs());
    match (x >= 0.0, y >= 0.0) {
        (true, _) => sine,
        (false, true) => 2.0 - sine,
        (false, false) => -2.0 - sine,
    }
}

/// The next half-edge around the cell to the left: at the far end, the one clockwise from the way back.
fn link(edges: usize, around: &Fans) -> Vec<u32> {
    let mut next = vec![0; 2 * edges];
    for point in 0..around.points() {
        let fan = around.at(point);
        for (i, &out) in fan.iter().enumerate() {
            let counter_clockwise = fan[(i + 1) % fan.len()];
            next[(counter_clockwise ^ 1) as usize] = out;
        }
    }
    next
}

fn number_loops(next: &[u32]) -> Vec<u32> {
    let mut loop_of = vec![OUTSIDE; next.len()];
    let mut loops = 0;
    for first in 0..next.len() {
        let mut at = first;
        while loop_of[at] == OUTSIDE {
            loop_of[at] = loops;
            at = next[at] as usize;
        }
        if loop_of[first] == loops {
            loops += 1;
        }
    }
    loop_of
}

/// The cell each loop borders.
struct Nesting {
    cell: Vec<u32>,
    /// Whether the loop is a hole of its cell: the outside of a component.
    hole: Vec<bool>,
    cells: usize,
}

/// A connected component: its leftmost, lowest point and the loop around its outside.
struct Component {
    leftmost: u32,
    rim: u32,
}

fn nest(points: &[P2], edges: &[[u32; 2]], around: &Fans, loop_of: &[u32]) -> Nesting {
    let components = components(points, edges, around, loop_of);
    let loops = loop_of.iter().max().map_or(0, |&l| l as usize + 1);
    let mut hole = vec![false; loops];
    for component in &components {
        hole[component.rim as usize] = true;
    }
    let mut cells = 0;
    let mut cell = vec![OUTSIDE; loops];
    for (l, c) in cell.iter_mut().enumerate() {
        if !hole[l] {
            *c = half(cells);
            cells += 1;
        }
    }
    if components.len() > 1 {
        let index = edge_index(points, edges);
        // From left to right: what lies to the left of a component is settled before it.
        for component in &components {
            let left = left_neighbour(points, edges, &index, component.leftmost);
            cell[component.rim as usize] =
                left.map_or(OUTSIDE, |h| cell[loop_of[h as usize] as usize]);
        }
    }
    Nesting { cell, hole, cells }
}

/// The components, from left to right.
fn components(points: &[P2], edges: &[[u32; 2]], around: &Fans, loop_of: &[u32]) -> Vec<Component> {
    let mut joined = UnionFind::<u32>::new(points.len());
    for &[a, b] in edges {
        joined.union(a, b);
    }
    let before = |a: u32, b: u32| {
        let (a, b) = (&points[a as usize], &points[b as usize]);
        (a.x, a.y) < (b.x, b.y)
    };
    let mut leftmost = vec![OUTSIDE; points.len()];
    for point in (0..half(points.len())).filter(|&p| !around.at(p as usize).is_empty()) {
        let best = &mut leftmost[joined.find(point) as usize];
        if *best == OUTSIDE || before(point, *best) {
            *best = point;
        }
    }
    let mut found: Vec<Component> = leftmost
        .into_iter()
        .filter(|&p| p != OUTSIDE)
        .map(|p| {
            // At the leftmost point all edges go right; beyond the last one lies the outside.
            let fan = around.at(p as usize);
            Component {
                leftmost: p,
                rim: loop_of[fan[fan.len() - 1] as usize],
            }
        })
        .collect();
    found.sort_unstable_by(|a, b| {
        let (p, q) = (points[a.leftmost as usize], points[b.leftmost as usize]);
        p.x.total_cmp(&q.x).then(p.y.total_cmp(&q.y))
    });
    found
}

fn edge_index(points: &[P2], edges: &[[u32; 2]]) -> BoxIndex<2> {
    let boxes: Vec<Bounds<2>> = edges
        .iter()
        .map(|[a, b]| {
            let (a, b) = (points[*a as usize], points[*b as usize]);
            let (lo, hi) = (a.inf(&b), a.sup(&b));
            [[lo.x, lo.y], [hi.x, hi.y]]
        })
        .collect();
    BoxIndex::new(&boxes)
}

/// The half-edge whose left side is seen first from `point` looking along -x; none if nothing is there.
fn left_neighbour(
    points: &[P2],
    edges: &[[u32; 2]],
    index: &BoxIndex<2>,
    point: u32,
) -> Option<u32> {
    let eye = points[point as usize];
    let sight = [[f64::NEG_INFINITY, eye.y], [eye.x, eye.y]];
    let mut best: Option<(f64, f64, u32)> = None;
    index.touching(&sight, |edge| {
        let [a, b] = edges[edge as usize];
        let (p, q) = (points[a as usize], points[b as usize]);
        // Half-open, so that a line of sight through a common end meets the edges above it; of those, the one leaning
        // farthest to the right is seen first.
        if (p.y <= eye.y) == (q.y <= eye.y) || a == point || b == point {
            return;
        }
        let lean = (q.x - p.x) / (q.y - p.y);
        let x = if q.y == eye.y {
            q.x
        } else {
            p.x + lean * (eye.y - p.y)
        };
        let downward = if q.y < p.y { 2 * edge } else { 2 * edge + 1 };
        if x < eye.x && best.is_none_or(|nearest| (x, lean, downward) > nearest) {
            best = Some((x, lean, downward));
        }
    });
    best.map(|(_, _, h)| h)
}

fn collect_loops(subdivision: &mut Subdivision, loop_of: &[u32], hole: &[bool]) {
    for is_hole in [false, true] {
        let mut seen = vec![false; hole.len()];
        for h in 0..half(loop_of.len()) {
            let l = loop_of[h as usize] as usize;
            let cell = subdivision.cell[h as usize];
            if hole[l] == is_hole && cell != OUTSIDE && !seen[l] {
                seen[l] = true;
                subdivision.loops[cell as usize].push(h);
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn square(points: &mut Vec<P2>, edges: &mut Vec<[u32; 2]>, lo: f64, hi: f64) {
        let first = half(points.len());
        for (x, y) in [(lo, lo), (hi, lo), (hi, hi), (lo, hi)] {
            points.push(P2::new(x, y));
        }
        for k in 0..4 {
            edges.push([first + k, first + (k + 1) % 4]);
        }
    }

    #[test]
    fn a_square_in_a_square_is_a_hole_of_the_outer_cell() {
        let (mut points, mut edges) = (Vec::new(), Vec::new());
        square(&mut points, &mut edges, 0.0, 10.0);
        square(&mut points, &mut edges, 4.0, 6.0);
        let s = subdivide(&points, &edges);
        assert_eq!(s.cells(), 2);
        let ring = s.cell(0);
        assert_eq!(s.borders(ring).count(), 2);
        assert_eq!(
            s.cell(9),
            ring,
            "the outside of the inner square is the ring"
        );
        assert_eq!(s.borders(s.cell(8)).count(), 1);
        assert_eq!(s.cell(1), OUTSIDE);
    }

    #[test]
    fn a_dangling_edge_borders_its_cell_on_both_sides() {
        let (mut points, mut edges) = (Vec::new(), Vec::new());
        square(&mut points, &mut edges, 0.0, 10.0);
        points.push(P2::new(5.0, 5.0));
        edges.push([0, 4]);
        let s = subdivide(&points, &edges);
        assert_eq!(s.cells(), 1);
        assert_eq!((s.cell(8), s.cell(9)), (0, 0));
        assert_eq!(s.halves(0).count(), 6);
    }

    #[test]
    fn directions_are_ordered_all_the_way_round() {
        let round = [
            (-1.0, -0.1),
            (-1.0, -1.0),
            (0.0, -1.0),
            (1.0, -1.0),
            (1.0, 0.0),
            (1.0, 1.0),
            (0.0, 1.0),
            (-1.0, 1.0),
            (-1.0, 0.0),
        ];
        assert!(round.map(|(x, y)| turn(x, y)).is_sorted());
    }
}

//! Plane-faced solids of the tests' own making: space cut into convex cells, some of which are filled.
//!
//! A box is cut by whole planes, or a grid of boxes into 24 tetrahedra each, so that neighbouring cells share whole
//! facets. Then the boundary, volume and soundness of a solid are a matter of counting.

use std::collections::BTreeMap;

/// A point or direction in object axes, millimetres.
pub(crate) type Point = [f64; 3];

/// The plane of all points `p` with `normal · p = offset`; `normal` may have any length but zero.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Plane {
    /// Normal, any length but zero.
    pub(crate) normal: Point,
    /// Offset along the normal, times its length.
    pub(crate) offset: f64,
}

impl Plane {
    /// The plane through a point across a direction.
    pub(crate) fn through(point: Point, normal: Point) -> Plane {
        Plane {
            normal,
            offset: dot(normal, point),
        }
    }

    /// Distance from it in millimetres, positive where the normal points.
    pub(crate) fn distance(&self, point: Point) -> f64 {
        (dot(self.normal, point) - self.offset) / length(self.normal)
    }
}

/// Points nearer to a plane than this lie on it; the generators keep everything much farther apart.
const ON_PLANE: f64 = 1e-7;

/// Convex cells that share whole facets.
#[derive(Clone, Debug, Default)]
pub(crate) struct Cells {
    points: Vec<Point>,
    cells: Vec<Cell>,
}

#[derive(Clone, Debug)]
struct Cell {
    /// Convex facets, each counter-clockwise seen from outside the cell.
    facets: Vec<Vec<usize>>,
    filled: bool,
}

/// What bounds a solid: convex facets, counter-clockwise seen from outside, and its sharp edges.
#[derive(Clone, Debug, Default)]
pub(crate) struct Boundary {
    /// Convex polygons that make up the surface; neighbours may lie in one plane.
    pub(crate) facets: Vec<Vec<Point>>,
    /// Pieces of the edges at which the surface turns.
    pub(crate) edges: Vec<[Point; 2]>,
}

impl Cells {
    /// One empty box from the origin to `size`.
    pub(crate) fn boxed(size: Point) -> Cells {
        let points = (0..8)
            .map(|i| [0, 1, 2].map(|k| if i >> k & 1 == 1 { size[k] } else { 0.0 }))
            .collect();
        Cells {
            points,
            cells: vec![Cell {
                facets: BOX_FACETS.map(Vec::from).to_vec(),
                filled: false,
            }],
        }
    }

    /// A grid of boxes cut into 24 tetrahedra each by the six planes through two opposite edges; a tetrahedron is filled
    /// if `filled` says so of its box and its centroid (in units of the box, -1 to 1).
    pub(crate) fn half_cubes(
        lines: &[Vec<f64>; 3],
        filled: impl Fn([usize; 3], Point) -> bool,
    ) -> Cells {
        let mut cells = Cells::default();
        let mut known = BTreeMap::new();
        let boxes = lines.each_ref().map(|line| line.len() - 1);
        for at in grid(boxes) {
            // Corners, middles of sides and the middle of the box stand on a grid of half boxes.
            let mut point = |half: [usize; 3]| {
                *known
                    .entry([0, 1, 2].map(|k| 2 * at[k] + half[k]))
                    .or_insert_with(|| {
                        cells.points.push([0, 1, 2].map(|k| {
                            let [low, high] = [lines[k][at[k]], lines[k][at[k] + 1]];
                            [low, f64::midpoint(low, high), high][half[k]]
                        }));
                        cells.points.len() - 1
                    })
            };
            for facet in BOX_FACETS {
                let corners = facet.map(|i| [0, 1, 2].map(|k| 2 * (i >> k & 1)));
                let middle = [0, 1, 2].map(|k| corners.iter().map(|c| c[k]).sum::<usize>() / 4);
                for i in 0..4 {
                    let halves = [corners[i], corners[(i + 1) % 4], middle, [1, 1, 1]];
                    let centroid = [0, 1, 2]
                        .map(|k| halves.iter().map(|h| h[k] as f64 - 1.0).sum::<f64>() / 4.0);
                    let [a, b, c, d] = halves.map(&mut point);
                    let facets = [[a, b, c], [b, a, d], [c, b, d], [a, c, d]]
                        .map(Vec::from)
                        .to_vec();
                    cells.cells.push(Cell {
                        facets,
                        filled: filled(at, centroid),
                    });
                }
            }
        }
        cells
    }

    /// Cuts every cell that lies on both sides of a plane in two.
    pub(crate) fn cut(&mut self, plane: Plane) {
        let side = |point: &Point| {
            let distance = plane.distance(*point);
            if distance.abs() < ON_PLANE {
                0
            } else {
                distance.total_cmp(&0.0) as i32
            }
        };
        let mut knife = Knife {
            sides: self.points.iter().map(side).collect(),
            plane,
            new: BTreeMap::new(),
        };
        let mut cut = Vec::new();
        for cell in std::mem::take(&mut self.cells) {
            let has = |wanted: i32| {
                cell.facets
                    .iter()
                    .flatten()
                    .any(|&p| knife.sides[p] == wanted)
            };
            if has(1) && has(-1) {
                cut.extend(knife.split(&cell, &mut self.points));
            } else {
                cut.push(cell);
            }
        }
        self.cells = cut;
    }

    /// Fills the cells whose centroid satisfies a condition and empties the others.
    pub(crate) fn fill(&mut self, inside: impl Fn(Point) -> bool) {
        for i in 0..self.cells.len() {
            self.cells[i].filled = inside(self.centroid_of(&self.cells[i]));
        }
    }

    /// The centroid of each cell's corners and whether it is filled: enough to tell solids of these cells apart.
    pub(crate) fn samples(&self) -> Vec<(Point, bool)> {
        self.cells
            .iter()
            .map(|cell| (self.centroid_of(cell), cell.filled))
            .collect()
    }

    /// Volume of the filled cells in cubic millimetres.
    pub(crate) fn volume(&self) -> f64 {
        self.boundary()
            .facets
            .iter()
            .map(|facet| cone_volume(facet))
            .sum()
    }

    /// Area of the boundary in square millimetres.
    pub(crate) fn surface(&self) -> f64 {
        self.boundary()
            .facets
            .iter()
            .map(|facet| length(area_vector(facet)) / 2.0)
            .sum()
    }

    /// The smallest box around the filled cells.
    pub(crate) fn bounds(&self) -> [Point; 2] {
        let filled = self.cells.iter().filter(|cell| cell.filled);
        let corners = filled
            .flat_map(|cell| cell.facets.iter().flatten())
            .map(|&p| self.points[p]);
        corners.fold(
            [[f64::INFINITY; 3], [f64::NEG_INFINITY; 3]],
            |[low, high], p| {
                [
                    [0, 1, 2].map(|k| low[k].min(p[k])),
                    [0, 1, 2].map(|k| high[k].max(p[k])),
                ]
            },
        )
    }

    /// Moves every point; `reverses` says whether that changes left and right hands.
    pub(crate) fn move_points(&mut self, reverses: bool, moved: impl Fn(Point) -> Point) {
        for point in &mut self.points {
            *point = moved(*point);
        }
        if reverses {
            self.cells
                .iter_mut()
                .flat_map(|cell| &mut cell.facets)
                .for_each(|facet| facet.reverse());
        }
    }

    /// Whether the filled cells are one piece with a two-manifold boundary.
    pub(crate) fn is_valid(&self) -> bool {
        let surface = self.surface_facets();
        self.is_one_piece() && edges_are_sound(&surface) && corners_are_sound(&surface)
    }

    /// How far the surface turns at its flattest edge: the least distance between a facet's farthest corner and the plane
    /// of the facet beyond an edge, in millimetres.
    pub(crate) fn flattest_turn(&self) -> f64 {
        let at = |facet: &[usize]| facet.iter().map(|&p| self.points[p]).collect::<Vec<_>>();
        let turn = |[a, b]: [&[usize]; 2]| {
            let [a, b] = [at(a), at(b)];
            let plane = Plane::through(a[0], area_vector(&a));
            b.iter()
                .map(|p| plane.distance(*p).abs())
                .fold(0.0, f64::max)
        };
        let facets = self.surface_facets();
        let beside = neighbours(&facets);
        let turns = beside
            .values()
            .filter(|pair| pair.len() == 2 && self.turns(pair));
        turns
            .flat_map(|pair| [turn([pair[0], pair[1]]), turn([pair[1], pair[0]])])
            .fold(f64::INFINITY, f64::min)
    }

    /// Whether the facets at an edge are anything but two in one plane.
    fn turns(&self, beside: &[&[usize]]) -> bool {
        let [a, b] = beside else { return true };
        let [a, b] = [a, b].map(|f| {
            unit(area_vector(
                &f.iter().map(|&p| self.points[p]).collect::<Vec<_>>(),
            ))
        });
        length(minus(a, b)) > 1e-7
    }

    /// The surface between filled and empty, and the edges at which it turns.
    pub(crate) fn boundary(&self) -> Boundary {
        let facets = self.surface_facets();
        let beside = neighbours(&facets);
        let edges = beside.iter().filter(|(_, pair)| self.turns(pair));
        Boundary {
            edges: edges
                .map(|(ends, _)| ends.map(|p| self.points[p]))
                .collect(),
            facets: facets
                .iter()
                .map(|facet| facet.iter().map(|&p| self.points[p]).collect())
                .collect(),
        }
    }

    /// The facets with a filled cell on just one side, seen from the empty side.
    fn surface_facets(&self) -> Vec<Vec<usize>> {
        let mut once: BTreeMap<Vec<usize>, Vec<usize>> = BTreeMap::new();
        for facet in self
            .cells
            .iter()
            .filter(|cell| cell.filled)
            .flat_map(|cell| &cell.facets)
        {
            let key = sorted(facet);
            if once.remove(&key).is_none() {
                once.insert(key, facet.clone());
            }
        }
        once.into_values().collect()
    }

    fn is_one_piece(&self) -> bool {
        let filled: Vec<&Cell> = self.cells.iter().filter(|cell| cell.filled).collect();
        let mut owners: BTreeMap<Vec<usize>, Vec<usize>> = BTreeMap::new();
        for (i, cell) in filled.iter().enumerate() {
            for facet in &cell.facets {
                owners.entry(sorted(facet)).or_default().push(i);
            }
        }
        let links = owners
            .into_values()
            .filter(|pair| pair.len() == 2)
            .map(|pair| [pair[0], pair[1]]);
        !filled.is_empty() && hang_together(filled.len(), links)
    }

    fn centroid_of(&self, cell: &Cell) -> Point {
        let mut corners: Vec<usize> = cell.facets.concat();
        corners.sort_unstable();
        corners.dedup();
        centroid(&corners.iter().map(|&p| self.points[p]).collect::<Vec<_>>())
    }
}

/// The sides of a box by its corners, corner `i` being high along x, y, z where bit 0, 1, 2 of `i` is set.
const BOX_FACETS: [[usize; 4]; 6] = [
    [0, 2, 3, 1],
    [4, 5, 7, 6],
    [0, 1, 5, 4],
    [2, 6, 7, 3],
    [0, 4, 6, 2],
    [1, 3, 7, 5],
];

/// Every place in a grid of boxes.
pub(crate) fn grid([nx, ny, nz]: [usize; 3]) -> impl Iterator<Item = [usize; 3]> {
    (0..nz).flat_map(move |z| (0..ny).flat_map(move |y| (0..nx).map(move |x| [x, y, z])))
}

/// A plane on its way through the cells.
struct Knife {
    plane: Plane,
    /// The side each point lies on: 1 where the normal points, 0 on the plane.
    sides: Vec<i32>,
    /// Points made on edges, by the edge's ends.
    new: BTreeMap<[usize; 2], usize>,
}

impl Knife {
    /// The two parts of a cell that lies on both sides.
    fn split(&mut self, cell: &Cell, points: &mut Vec<Point>) -> [Cell; 2] {
        let mut halves = [Vec::new(), Vec::new()];
        let mut rim = Vec::new();
        for facet in &cell.facets {
            let facet = self.with_crossings(facet, points);
            rim.extend(facet.iter().copied().filter(|&p| self.sides[p] == 0));
            for (half, side) in halves.iter_mut().zip([1, -1]) {
                if facet.iter().any(|&p| self.sides[p] == side) {
                    half.push(
                        facet
                            .iter()
                            .copied()
                            .filter(|&p| self.sides[p] != -side)
                            .collect(),
                    );
                }
            }
        }
        rim.sort_unstable();
        rim.dedup();
        let lid = self.in_a_ring(rim, points);
        halves[0].push(lid.iter().rev().copied().collect());
        halves[1].push(lid);
        halves.map(|facets| Cell {
            facets,
            filled: cell.filled,
        })
    }

    /// The facet with a point added wherever an edge crosses the plane.
    fn with_crossings(&mut self, facet: &[usize], points: &mut Vec<Point>) -> Vec<usize> {
        let mut whole = Vec::new();
        for [a, b] in ring(facet) {
            whole.push(a);
            if self.sides[a] * self.sides[b] < 0 {
                let ends = [a.min(b), a.max(b)];
                let place = *self.new.entry(ends).or_insert_with(|| {
                    let [p, q] = ends.map(|i| points[i]);
                    let [dp, dq] = [p, q].map(|point| self.plane.distance(point));
                    points.push([0, 1, 2].map(|k| p[k] + (q[k] - p[k]) * (dp / (dp - dq))));
                    self.sides.push(0);
                    points.len() - 1
                });
                whole.push(place);
            }
        }
        whole
    }

    /// Points of a convex polygon in the plane, counter-clockwise seen from where the normal points.
    fn in_a_ring(&self, mut rim: Vec<usize>, points: &[Point]) -> Vec<usize> {
        let normal = unit(self.plane.normal);
        let middle = centroid(&rim.iter().map(|&p| points[p]).collect::<Vec<_>>());
        let across = unit(cross(normal, minus(points[rim[0]], middle)));
        let along = cross(across, normal);
        let turn = |p: usize| {
            let way = minus(points[p], middle);
            let [x, y] = [dot(way, along), dot(way, across)];
            let slope = x / (x.abs() + y.abs());
            if y < 0.0 { 3.0 + slope } else { 1.0 - slope }
        };
        rim.sort_by(|&p, &q| turn(p).total_cmp(&turn(q)));
        rim
    }
}

/// The facets at each edge, by its ends.
fn neighbours(facets: &[Vec<usize>]) -> BTreeMap<[usize; 2], Vec<&[usize]>> {
    let mut beside: BTreeMap<[usize; 2], Vec<&[usize]>> = BTreeMap::new();
    for facet in facets {
        for [a, b] in ring(facet) {
            beside.entry([a.min(b), a.max(b)]).or_default().push(facet);
        }
    }
    beside
}

/// Whether each edge of a surface has exactly two facets.
fn edges_are_sound(surface: &[Vec<usize>]) -> bool {
    neighbours(surface).values().all(|facets| facets.len() == 2)
}

/// Whether the facets at each corner of a surface with sound edges hang together through edges at that corner.
fn corners_are_sound(surface: &[Vec<usize>]) -> bool {
    let mut around: BTreeMap<usize, Vec<[usize; 2]>> = BTreeMap::new();
    for facet in surface {
        for (i, &corner) in facet.iter().enumerate() {
            let n = facet.len();
            around
                .entry(corner)
                .or_default()
                .push([facet[(i + n - 1) % n], facet[(i + 1) % n]]);
        }
    }
    around.values().all(|facets| {
        let pairs = (0..facets.len()).flat_map(|i| (0..i).map(move |j| [i, j]));
        let touch = |[i, j]: &[usize; 2]| facets[*i].iter().any(|p| facets[*j].contains(p));
        hang_together(facets.len(), pairs.filter(touch))
    })
}

/// Whether `count` things are connected by links.
fn hang_together(count: usize, links: impl Iterator<Item = [usize; 2]>) -> bool {
    let mut leader: Vec<usize> = (0..count).collect();
    fn find(leader: &[usize], mut i: usize) -> usize {
        while leader[i] != i {
            i = leader[i];
        }
        i
    }
    let mut groups = count;
    for [a, b] in links {
        let [a, b] = [a, b].map(|i| find(&leader, i));
        if a != b {
            leader[a] = b;
            groups -= 1;
        }
    }
    groups == 1
}

/// The edges of a polygon, each from a corner to the next.
fn ring(facet: &[usize]) -> impl Iterator<Item = [usize; 2]> + '_ {
    facet
        .iter()
        .copied()
        .zip(facet.iter().copied().cycle().skip(1))
        .map(|(a, b)| [a, b])
}

fn sorted(facet: &[usize]) -> Vec<usize> {
    let mut sorted = facet.to_vec();
    sorted.sort_unstable();
    sorted
}

/// The mean of some points.
pub(crate) fn centroid(points: &[Point]) -> Point {
    [0, 1, 2].map(|k| points.iter().map(|p| p[k]).sum::<f64>() / points.len() as f64)
}

/// Twice the area of a polygon, along its normal (Newell's method).
pub(crate) fn area_vector(polygon: &[Point]) -> Point {
    let next = polygon.iter().cycle().skip(1);
    let first = polygon[0];
    polygon.iter().zip(next).fold([0.0; 3], |sum, (a, b)| {
        let part = cross(minus(*a, first), minus(*b, first));
        [0, 1, 2].map(|k| sum[k] + part[k])
    })
}

/// The signed volume between a polygon and the origin.
fn cone_volume(polygon: &[Point]) -> f64 {
    dot(area_vector(polygon), polygon[0]) / 6.0
}

/// Scalar product.
pub(crate) fn dot(a: Point, b: Point) -> f64 {
    a[0] * b[0] + a[1] * b[1] + a[2] * b[2]
}

/// Vector product.
pub(crate) fn cross(a: Point, b: Point) -> Point {
    [
        a[1] * b[2] - a[2] * b[1],
        a[2] * b[0] - a[0] * b[2],
        a[0] * b[1] - a[1] * b[0],
    ]
}

/// From `b` to `a`.
pub(crate) fn minus(a: Point, b: Point) -> Point {
    [0, 1, 2].map(|k| a[k] - b[k])
}

/// Length of a vector.
pub(crate) fn length(a: Point) -> f64 {
    dot(a, a).sqrt()
}

/// The vector made one millimetre long.
pub(crate) fn unit(a: Point) -> Point {
    a.map(|c| c / length(a))
}

//! Random plane-faced solids of many shapes, biased to what is hard: nearly equal lengths, flat slopes, off-grid places.
//!
//! Every solid follows from its number alone, is one piece with a two-manifold boundary, and its box starts at the
//! origin. Features stay well above the default tolerance, so each drawing means exactly what it shows.

use crate::cells::{Cells, Plane, Point, grid, minus};
use crate::layout::Views;
use crate::project::{EXACT, project};
use crate::random::Random;

/// What a random solid is made like.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub(crate) enum Kind {
    /// Cubes and half-cubes of an uneven grid.
    HalfCubes,
    /// A random simple polygon, extended along an axis.
    Prism,
    /// A box with edges and corners cut off.
    Chamfered,
    /// A box cut by planes in any direction.
    SkewCut,
    /// A box with pockets, holes, slots and cavities.
    Pocketed,
    /// A box with vee and dovetail grooves.
    Grooved,
    /// A pyramid or a frustum on a plinth.
    Pyramid,
    /// A slab with wedges and boxes standing on it.
    Bossed,
}

/// Every kind.
pub(crate) const KINDS: [Kind; 8] = [
    Kind::HalfCubes,
    Kind::Prism,
    Kind::Chamfered,
    Kind::SkewCut,
    Kind::Pocketed,
    Kind::Grooved,
    Kind::Pyramid,
    Kind::Bossed,
];

/// What can be told apart is at least this far apart, in millimetres: several times the default tolerance of the largest
/// solid made here (50 mm / 2000).
const FINEST: f64 = 0.15;

/// The random solid of a kind with this number.
pub(crate) fn solid(kind: Kind, number: u64) -> Cells {
    let mut random = Random::new(number * 8 + kind as u64);
    loop {
        let mut cells = Maker {
            random: &mut random,
        }
        .make(kind);
        if cells.is_valid() {
            let [low, high] = cells.bounds();
            cells.move_points(false, |p| minus(p, low));
            if is_fine(&cells) && (0..3).all(|k| high[k] - low[k] > 2.0) {
                return cells;
            }
        }
    }
}

/// Whether a drawing shows all there is: corners at different places on an axis, faces that meet at an angle, ends beside
/// lines.
fn is_fine(cells: &Cells) -> bool {
    let boundary = cells.boundary();
    let apart = |k: usize| {
        let mut places: Vec<f64> = boundary.edges.iter().flatten().map(|p| p[k]).collect();
        places.sort_by(f64::total_cmp);
        places.windows(2).all(|w| can_be_told(w[1] - w[0]))
    };
    (0..3).all(apart)
        && cells.flattest_turn() > FINEST
        && ends_are_clear(&project(&boundary, EXACT).merged())
}

/// Whether every end of a stroke lies on a stroke or clearly beside it, and no two strokes nearly continue each other.
fn ends_are_clear(views: &Views) -> bool {
    views.strokes.iter().all(|strokes| {
        let ends: Vec<[f64; 2]> = strokes
            .iter()
            .flat_map(|stroke| [stroke.from, stroke.to])
            .collect();
        let pairs = strokes
            .iter()
            .flat_map(|a| strokes.iter().map(move |b| (a, b)));
        strokes
            .iter()
            .all(|stroke| ends.iter().all(|end| can_be_told(stroke.distance(*end))))
            && pairs.filter_map(|(a, b)| a.bend(b, EXACT)).all(can_be_told)
    })
}

fn can_be_told(distance: f64) -> bool {
    !(1e-6..=FINEST).contains(&distance)
}

/// A convex region: behind all of these planes.
type Piece = Vec<Plane>;

struct Maker<'a> {
    random: &'a mut Random,
}

impl Maker<'_> {
    fn make(&mut self, kind: Kind) -> Cells {
        match kind {
            Kind::HalfCubes => self.half_cubes(),
            Kind::Prism => self.prism(),
            Kind::Chamfered => self.chamfered(),
            Kind::SkewCut => self.skew_cut(),
            Kind::Pocketed => self.pocketed(),
            Kind::Grooved => self.grooved(),
            Kind::Pyramid => self.pyramid(),
            Kind::Bossed => self.bossed(),
        }
    }

    /// A length of about `low` to `high` millimetres: whole, or with decimals, or just short of the one or the other.
    fn length(&mut self, low: f64, high: f64) -> f64 {
        let any = self.random.between(low, high);
        match self.random.below(4) {
            0 => any,
            1 => (any.round() - 0.2).max(low),
            _ => any.round(),
        }
    }

    fn size(&mut self) -> Point {
        [0; 3].map(|_| self.length(12.0, 50.0))
    }

    fn half_cubes(&mut self) -> Cells {
        let boxes = *self.random.pick(&[
            [2, 1, 1],
            [1, 2, 1],
            [1, 2, 2],
            [2, 2, 1],
            [3, 2, 1],
            [2, 2, 2],
        ]);
        let lines = boxes.map(|n| {
            let steps = (0..n).scan(0.0, |at, _| {
                *at += self.length(4.0, 12.0);
                Some(*at)
            });
            [0.0].into_iter().chain(steps).collect::<Vec<f64>>()
        });
        let choice = |random: &mut Random| match random.below(4) {
            0 => 0,
            1 => 13,
            _ => random.within(1, 12),
        };
        let choices: Vec<usize> = grid(boxes).map(|_| choice(self.random)).collect();
        Cells::half_cubes(&lines, |[x, y, z], at| {
            half_cube_holds(choices[x + boxes[0] * (y + boxes[1] * z)], at)
        })
    }

    fn prism(&mut self) -> Cells {
        let along = self.random.below(3);
        let [u, v] = [(along + 1) % 3, (along + 2) % 3];
        let size = self.size();
        let outline = self.polygon([size[u], size[v]]);
        let mut cells = Cells::boxed(size);
        for (a, b) in sides(&outline) {
            let mut normal = [0.0; 3];
            (normal[u], normal[v]) = (a[1] - b[1], b[0] - a[0]);
            let mut point = [0.0; 3];
            (point[u], point[v]) = (a[0], a[1]);
            cells.cut(Plane::through(point, normal));
        }
        cells.fill(|p| is_inside(&outline, [p[u], p[v]]));
        cells
    }

    /// A random simple polygon in a rectangle: corners in order around its middle, at any distance from it.
    fn polygon(&mut self, size: [f64; 2]) -> Vec<[f64; 2]> {
        loop {
            let corners = self.random.within(3, 6);
            let mut outline: Vec<[f64; 2]> = (0..corners)
                .map(|_| size.map(|s| self.length(0.0, s)))
                .collect();
            let turn = |p: &[f64; 2]| {
                let [x, y] = [0, 1].map(|k| p[k] - size[k] / 2.0);
                let slope = x / (x.abs() + y.abs()).max(1e-9);
                if y < 0.0 { 3.0 + slope } else { 1.0 - slope }
            };
            outline.sort_by(|p, q| turn(p).total_cmp(&turn(q)));
            let roomy = sides(&outline).all(|(a, b)| (a[0] - b[0]).hypot(a[1] - b[1]) > 2.0);
            let middle = size.map(|s| s / 2.0);
            let around = sides(&outline).all(|(a, b)| left_of(a, b, middle) > 2.0);
            if roomy && around {
                return outline;
            }
        }
    }

    fn chamfered(&mut self) -> Cells {
        let size = self.size();
        let gone = (0..self.random.within(1, 4))
            .map(|_| {
                let mut point = [0.0; 3];
                let mut normal = [0.0; 3];
                // Across an edge two numbers say how much is cut off, at a corner three.
                let spared = if self.random.one_in(3) {
                    3
                } else {
                    self.random.below(3)
                };
                for k in (0..3).filter(|k| *k != spared) {
                    let cut = self.length(1.0, size[k] / 2.5);
                    let high = self.random.one_in(2);
                    normal[k] = if high { -1.0 } else { 1.0 } / cut;
                    point[k] = if high { size[k] } else { 0.0 };
                }
                let corner = Plane::through(point, normal);
                vec![Plane {
                    offset: corner.offset + 1.0,
                    ..corner
                }]
            })
            .collect::<Vec<_>>();
        carved(size, &gone)
    }

    fn skew_cut(&mut self) -> Cells {
        let size = self.size();
        let gone = (0..self.random.within(1, 2))
            .map(|_| {
                let point = size.map(|s| self.length(s * 0.3, s * 0.9));
                let normal = [0; 3].map(|_| self.random.between(-1.0, 1.0));
                vec![Plane::through(point, normal)]
            })
            .collect::<Vec<_>>();
        carved(size, &gone)
    }

    fn pocketed(&mut self) -> Cells {
        let size = self.size();
        let mut gone = Vec::new();
        let mut used: [Vec<f64>; 3] = size.map(|s| vec![0.0, s]);
        for _ in 0..self.random.within(1, 3) {
            let spans = [0, 1, 2].map(|k| {
                let ends = [0, 1].map(|_| self.place(size[k], &used[k]));
                used[k].extend(ends);
                [ends[0].min(ends[1]), ends[0].max(ends[1])]
            });
            gone.push(block(spans));
        }
        carved(size, &gone)
    }

    /// A coordinate: a new one, one used before, or one just beside it.
    fn place(&mut self, size: f64, used: &[f64]) -> f64 {
        let known = *self.random.pick(used);
        match self.random.below(6) {
            0 | 1 => known,
            2 => (known + if self.random.one_in(2) { 0.3 } else { -0.3 }).clamp(0.0, size),
            _ => self.length(1.0, size - 1.0),
        }
    }

    fn grooved(&mut self) -> Cells {
        let size = self.size();
        let mut gone = Vec::new();
        for _ in 0..self.random.within(1, 2) {
            let along = self.random.below(3);
            let [u, v] = [(along + 1) % 3, (along + 2) % 3];
            let middle = self.length(size[u] * 0.35, size[u] * 0.65);
            let half = self.length(1.0, size[u] * 0.25);
            let depth = self.length(1.0, size[v] * 0.6);
            // A slope outward makes a vee or a trough, inward a dovetail.
            let slope = *self.random.pick(&[1.0, 0.5, -0.4, 0.1, 2.0]);
            let mut piece = Vec::new();
            for side in [1.0, -1.0] {
                let mut normal = [0.0; 3];
                (normal[u], normal[v]) = (side, -slope);
                let mut point = [0.0; 3];
                (point[u], point[v]) = (middle + side * half, size[v]);
                piece.push(Plane::through(point, normal));
            }
            let mut floor = [0.0; 3];
            floor[v] = -1.0;
            piece.push(Plane {
                normal: floor,
                offset: depth - size[v],
            });
            gone.push(piece);
        }
        carved(size, &gone)
    }

    fn pyramid(&mut self) -> Cells {
        let size = self.size();
        let plinth = if self.random.one_in(2) {
            0.0
        } else {
            self.length(1.0, size[2] / 2.0)
        };
        let apex = [
            self.length(0.0, size[0]),
            self.length(0.0, size[1]),
            size[2],
        ];
        let rise = size[2] - plinth;
        let mut planes = Vec::new();
        for (k, side) in [(0, 1.0), (0, -1.0), (1, 1.0), (1, -1.0)] {
            let reach = if side > 0.0 {
                size[k] - apex[k]
            } else {
                apex[k]
            };
            let mut normal = [0.0, 0.0, reach];
            normal[k] = side * rise;
            planes.push(Plane::through(apex, normal));
        }
        if self.random.one_in(2) {
            let top = plinth + rise * self.random.between(0.3, 0.8);
            planes.push(Plane {
                normal: [0.0, 0.0, 1.0],
                offset: top,
            });
        }
        let gone: Vec<Piece> = planes.iter().map(|plane| vec![flipped(plane)]).collect();
        carved(size, &gone)
    }

    fn bossed(&mut self) -> Cells {
        let size = self.size();
        let slab = self.length(2.0, size[2] / 2.0);
        let mut kept = vec![block([
            [-1.0, size[0] + 1.0],
            [-1.0, size[1] + 1.0],
            [-1.0, slab],
        ])];
        for _ in 0..self.random.within(1, 2) {
            let spans = [0, 1].map(|k| {
                let inset = self.random.between(1.0, size[k] / 3.0).round();
                let low = *self.random.pick(&[0.0, inset]);
                [low, self.length(low + 2.0, size[k])]
            });
            let mut boss = block([spans[0], spans[1], [slab - 1.0, size[2]]]);
            if self.random.one_in(2) {
                let k = self.random.below(2);
                let mut normal = [0.0, 0.0, spans[k][1] - spans[k][0]];
                normal[k] = size[2] - slab;
                let mut point = [0.0, 0.0, size[2]];
                point[k] = spans[k][0];
                boss.push(Plane::through(point, normal));
            }
            kept.push(boss);
        }
        let mut cells = Cells::boxed(size);
        for plane in kept.iter().flatten() {
            cells.cut(*plane);
        }
        cells.fill(|p| kept.iter().any(|piece| is_behind(piece, p)));
        cells
    }
}

/// A box without these pieces.
fn carved(size: Point, gone: &[Piece]) -> Cells {
    let mut cells = Cells::boxed(size);
    for plane in gone.iter().flatten() {
        cells.cut(*plane);
    }
    cells.fill(|p| !gone.iter().any(|piece| is_behind(piece, p)));
    cells
}

/// Whether a half-cube (or an empty or a full cube) holds a point of its box, whose coordinates run from -1 to 1.
///
/// 0 is the full cube, 1 to 12 the half-cubes, 13 nothing: a plane through two opposite edges parallel to one of three
/// axes, leaning one of two ways, and the material on one of two sides.
pub(crate) fn half_cube_holds(choice: usize, at: Point) -> bool {
    match choice {
        0 => true,
        13.. => false,
        _ => {
            let half = choice - 1;
            let [u, v] = [[1, 2], [2, 0], [0, 1]][half / 4];
            let lean = if half & 1 == 0 {
                at[u] - at[v]
            } else {
                at[u] + at[v]
            };
            (lean > 0.0) == (half & 2 == 0)
        }
    }
}

/// The inside of a box as a piece.
fn block(spans: [[f64; 2]; 3]) -> Piece {
    let side = |k: usize, sign: f64, at: f64| {
        let mut normal = [0.0; 3];
        normal[k] = sign;
        Plane {
            normal,
            offset: sign * at,
        }
    };
    (0..3)
        .flat_map(|k| [side(k, -1.0, spans[k][0]), side(k, 1.0, spans[k][1])])
        .collect()
}

fn flipped(plane: &Plane) -> Plane {
    Plane {
        normal: plane.normal.map(|c| -c),
        offset: -plane.offset,
    }
}

fn is_behind(piece: &[Plane], point: Point) -> bool {
    piece.iter().all(|plane| plane.distance(point) < 0.0)
}

/// The sides of a polygon, each from a corner to the next.
fn sides(outline: &[[f64; 2]]) -> impl Iterator<Item = ([f64; 2], [f64; 2])> + '_ {
    outline
        .iter()
        .copied()
        .zip(outline.iter().copied().cycle().skip(1))
}

/// Distance of `p` to the left of the line from `a` to `b`.
fn left_of(a: [f64; 2], b: [f64; 2], p: [f64; 2]) -> f64 {
    let way = [b[0] - a[0], b[1] - a[1]];
    (way[0] * (p[1] - a[1]) - way[1] * (p[0] - a[0])) / way[0].hypot(way[1])
}

/// Whether a point lies in a polygon: a line to the right crosses its sides an odd number of times.
fn is_inside(outline: &[[f64; 2]], p: [f64; 2]) -> bool {
    let crossed = sides(outline).filter(|(a, b)| {
        (a[1] > p[1]) != (b[1] > p[1])
            && p[0] < a[0] + (p[1] - a[1]) / (b[1] - a[1]) * (b[0] - a[0])
    });
    crossed.count() % 2 == 1
}

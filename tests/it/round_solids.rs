//! Random solids with round faces: a block, a bracket or a turned shaft with a few features. Every solid follows from
//! its number alone, is one piece with a two-manifold boundary, and what can be told apart is well above the tolerance.

use crate::cells::{Point, dot, length, minus};
use crate::drafter::{Body, Drafting, Surface, ball, block, draft, frustum, ring, rod};
use crate::random::Random;

/// What a random solid is made of.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Kind {
    /// Planes and cylinders along the axes.
    Cylinders,
    /// Cones, spheres and rings as well.
    Cones,
}

/// Surfaces that do not touch are at least this far from it, in millimetres.
const CLEAR: f64 = 0.3;

/// What can be told apart on an axis is at least this far apart, in millimetres: four times the default tolerance of the
/// largest solid made here (60 mm / 2000).
const FINEST: f64 = 0.12;

/// The random solid of a kind with this number, drawn.
pub(crate) fn drafted(kind: Kind, number: u64) -> Drafting {
    let mut random = Random::new(number * 2 + kind as u64);
    loop {
        let mut maker = Maker {
            random: &mut random,
            kind,
        };
        let body = maker.make();
        if !is_clear(&body) {
            continue;
        }
        let drafting = draft(&body);
        if !drafting.touches_itself && is_fine(&drafting) && is_one_piece(&drafting) {
            return drafting;
        }
    }
}

/// A length: whole or half millimetres mostly, else any.
pub(crate) fn any_length(random: &mut Random, low: f64, high: f64) -> f64 {
    let any = random.between(low, high);
    if random.one_in(4) {
        any
    } else {
        ((any * 2.0).round() / 2.0).clamp(low, high)
    }
}

struct Maker<'a> {
    random: &'a mut Random,
    kind: Kind,
}

impl Maker<'_> {
    fn make(&mut self) -> Body {
        match self.random.below(6) {
            0..=2 => self.block_with_features(),
            3 => self.bracket(),
            _ => self.turned(),
        }
    }

    fn length(&mut self, low: f64, high: f64) -> f64 {
        any_length(self.random, low, high)
    }

    fn block_with_features(&mut self) -> Body {
        let size = [
            self.length(24.0, 60.0),
            self.length(20.0, 44.0),
            self.length(14.0, 32.0),
        ];
        let mut body = block([0.0; 3], size);
        if self.random.one_in(2) {
            body = body.without(self.rounded_corners(size));
        }
        for _ in 0..self.random.within(1, 3) {
            body = self.featured(body, size);
        }
        body
    }

    /// One or more edges along an axis rounded off: what is taken away.
    fn rounded_corners(&mut self, size: Point) -> Vec<Body> {
        let axis = self.random.below(3);
        let [u, v] = [(axis + 1) % 3, (axis + 2) % 3];
        let most = size[u].min(size[v]) / 3.0;
        let mut gone = Vec::new();
        for _ in 0..self.random.within(1, 3) {
            let radius = self.length(2.0, most);
            let at = [u, v].map(|k| if self.random.one_in(2) { size[k] } else { 0.0 });
            gone.push(corner(
                axis,
                at,
                [u, v],
                [size[u], size[v]],
                radius,
                [-1.0, size[axis] + 1.0],
            ));
        }
        gone
    }

    fn featured(&mut self, body: Body, size: Point) -> Body {
        let axis = self.random.below(3);
        let through = [-1.0, size[axis] + 1.0];
        let blind = {
            let depth = self.length(size[axis] * 0.3, size[axis] * 0.7);
            if self.random.one_in(2) {
                [-1.0, depth]
            } else {
                [size[axis] - depth, size[axis] + 1.0]
            }
        };
        let [u, v] = [(axis + 1) % 3, (axis + 2) % 3];
        let radius = self.length(2.0, size[u].min(size[v]) / 4.0);
        let mut at = [0.0; 3];
        for k in [u, v] {
            at[k] = self.length(radius + 2.0, size[k] - radius - 2.0);
        }
        let choices = if self.kind == Kind::Cones { 12 } else { 8 };
        match self.random.below(choices) {
            0 | 1 => body.without([rod(axis, at, radius, through)]),
            2 => body.without([rod(axis, at, radius, blind)]),
            3 => body.without([
                rod(axis, at, radius, blind),
                rod(axis, at, radius * 0.5, through),
            ]),
            4 => body.without(self.slot(axis, at, radius, size)),
            5 => body.without([self.groove(axis, u, radius, size)]),
            6 => self.boss(body, size),
            7 => body.without([self.step(size)]),
            8 => body.without(self.countersunk(axis, at, radius, size)),
            9 => body.without([self.socket(at, axis, radius, size)]),
            10 => body.without([self.conical_pit(axis, at, radius, size)]),
            _ => self.dome(body, size),
        }
    }

    /// A slot with round ends right through.
    fn slot(&mut self, axis: usize, at: Point, radius: f64, size: Point) -> Vec<Body> {
        let along = (axis + 1) % 3;
        let across = (axis + 2) % 3;
        let room = size[along] - radius - 2.0 - at[along];
        if room < 3.0 {
            return vec![rod(axis, at, radius, [-1.0, size[axis] + 1.0])];
        }
        let mut far = at;
        far[along] += self.length(2.0, room);
        let (mut low, mut high) = (at, far);
        low[across] -= radius;
        high[across] += radius;
        (low[axis], high[axis]) = (-1.0, size[axis] + 1.0);
        let span = [-1.0, size[axis] + 1.0];
        vec![
            block(low, high),
            rod(axis, at, radius, span),
            rod(axis, far, radius, span),
        ]
    }

    /// A round groove along an axis in a face across `u`: half a round, more or less.
    fn groove(&mut self, axis: usize, u: usize, radius: f64, size: Point) -> Body {
        let v = 3 - axis - u;
        let mut at = [0.0; 3];
        at[v] = self.length(radius + 2.0, size[v] - radius - 2.0);
        let shift = *self.random.pick(&[0.0, 0.0, 0.4, -0.4]) * radius;
        at[u] = if self.random.one_in(2) {
            size[u] + shift
        } else {
            -shift
        };
        rod(axis, at, radius, [-1.0, size[axis] + 1.0])
    }

    /// A round boss on top, mostly bored.
    fn boss(&mut self, body: Body, size: Point) -> Body {
        let radius = self.length(4.0, size[0].min(size[1]) / 3.0);
        let at = [0, 1].map(|k| self.length(radius + 1.0, size[k] - radius - 1.0));
        let at = [at[0], at[1], 0.0];
        let top = size[2] + self.length(3.0, 14.0);
        let body = body.with([rod(2, at, radius, [size[2], top])]);
        match self.random.below(3) {
            0 => body,
            1 => body.without([rod(2, at, radius * 0.5, [-1.0, top + 1.0])]),
            _ => body.without([rod(2, at, radius * 0.5, [size[2] * 0.5, top + 1.0])]),
        }
    }

    /// A corner of the block along an axis cut away.
    fn step(&mut self, size: Point) -> Body {
        let spared = self.random.below(3);
        let (mut low, mut high) = ([-1.0; 3], size.map(|c| c + 1.0));
        for k in (0..3).filter(|k| *k != spared) {
            let depth = self.length(size[k] * 0.2, size[k] * 0.5);
            if self.random.one_in(2) {
                high[k] = depth;
            } else {
                low[k] = size[k] - depth;
            }
        }
        block(low, high)
    }

    fn countersunk(&mut self, axis: usize, at: Point, radius: f64, size: Point) -> Vec<Body> {
        let wide = radius * 0.6;
        let depth = (radius - wide) * *self.random.pick(&[1.0, 1.5]);
        let top = size[axis];
        // The cone runs on a little beyond the face, so that its rim lies in the face alone.
        let slope = (radius - wide) / depth;
        vec![
            rod(axis, at, wide, [-1.0, top + 2.0]),
            frustum(axis, at, [wide, radius + slope], [top - depth, top + 1.0]),
        ]
    }

    /// Part of a ball pressed into the upper face across an axis.
    fn socket(&mut self, at: Point, axis: usize, radius: f64, size: Point) -> Body {
        let mut center = at;
        center[axis] = size[axis] + radius * *self.random.pick(&[0.0, 0.3]);
        ball(center, radius)
    }

    /// A pointed pit from the upper face across an axis.
    fn conical_pit(&mut self, axis: usize, at: Point, radius: f64, size: Point) -> Body {
        let depth = self.length(size[axis] * 0.3, size[axis] * 0.7);
        let slope = radius / depth;
        frustum(
            axis,
            at,
            [0.0, radius + slope],
            [size[axis] - depth, size[axis] + 1.0],
        )
    }

    /// A dome or a blunt cone on top.
    fn dome(&mut self, body: Body, size: Point) -> Body {
        let radius = self.length(4.0, size[0].min(size[1]) / 3.0);
        let at = [0, 1].map(|k| self.length(radius + 1.0, size[k] - radius - 1.0));
        let at = [at[0], at[1], size[2]];
        if self.random.one_in(2) {
            let upper = block([-100.0, -100.0, size[2] * 0.5], [100.0, 100.0, 100.0]);
            body.with([ball(at, radius).and(upper)])
        } else {
            let top = size[2] + self.length(4.0, 12.0);
            body.with([frustum(2, at, [radius, radius * 0.5], [size[2], top])])
        }
    }

    /// An angle with a round inside fillet, its holes in both legs.
    fn bracket(&mut self) -> Body {
        let [width, depth, height] = [
            self.length(28.0, 50.0),
            self.length(20.0, 40.0),
            self.length(24.0, 44.0),
        ];
        let (leg, wall) = (self.length(5.0, 9.0), self.length(5.0, 9.0));
        let radius = self.length(3.0, 8.0);
        let mut body = block([0.0; 3], [width, depth, leg]).with([
            block([0.0; 3], [wall, depth, height]),
            block([wall, 0.0, leg], [wall + radius, depth, leg + radius]).without([rod(
                1,
                [wall + radius, 0.0, leg + radius],
                radius,
                [-1.0, depth + 1.0],
            )]),
        ]);
        let hole = self.length(2.0, 4.0);
        let low = wall + radius + hole + 1.0;
        if width - hole - 1.5 > low + 1.0 {
            let at = [self.length(low, width - hole - 1.5), depth * 0.5, 0.0];
            body = body.without([rod(2, at, hole, [-1.0, leg + 1.0])]);
            if self.kind == Kind::Cones {
                let cone = frustum(2, at, [hole, hole + 3.0], [leg - 2.0, leg + 1.0]);
                body = body.without([cone]);
            }
        }
        let up = leg + radius + hole + 1.0;
        if self.random.one_in(2) && height - hole - 1.5 > up + 1.0 {
            let at = [0.0, depth * 0.5, self.length(up, height - hole - 1.5)];
            body = body.without([rod(0, at, hole, [-1.0, wall + 1.0])]);
        }
        if self.random.one_in(2) {
            let r = self.length(2.0, depth / 3.0);
            let gone = corner(
                2,
                [width, 0.0],
                [0, 1],
                [width, depth],
                r,
                [-1.0, leg + 1.0],
            );
            body = body.without([gone]);
        }
        body
    }

    /// Steps of unlike radius along an axis, with bores, flats, grooves and cross holes.
    fn turned(&mut self) -> Body {
        let axis = self.random.below(3);
        let mut parts = Vec::new();
        let mut steps = Vec::new();
        let mut from = 0.0;
        let mut last = 0.0;
        for _ in 0..self.random.within(1, 3) {
            let to = from + self.length(8.0, 24.0);
            let mut radius = self.length(6.0, 18.0);
            while f64::abs(radius - last) < 1.0 {
                radius = self.length(6.0, 18.0);
            }
            parts.push(rod(axis, [0.0; 3], radius, [from, to]));
            steps.push((radius, [from, to]));
            (from, last) = (to, radius);
        }
        if self.kind == Kind::Cones {
            parts.push(self.nose(axis, last, from));
        }
        let mut body = Body::Union(parts);
        for _ in 0..self.random.within(1, 2) {
            let (radius, span) = *self.random.pick(&steps);
            body = self.cut_step(body, axis, radius, span);
        }
        if self.random.one_in(2) {
            let least = steps.iter().map(|s| s.0).fold(f64::INFINITY, f64::min);
            let radius = least * 0.4;
            let end = *self.random.pick(&[200.0, steps[0].1[1] * 0.6]);
            body = body.without([rod(axis, [0.0; 3], radius, [-1.0, end])]);
        }
        body
    }

    /// The end of a shaft: a cone, a dome, or half a ball.
    fn nose(&mut self, axis: usize, radius: f64, from: f64) -> Body {
        let mut center = [0.0; 3];
        center[axis] = from;
        match self.random.below(3) {
            0 => {
                let rest = *self.random.pick(&[0.0, 0.5, 0.7]) * radius;
                let to = from + self.length(3.0, 12.0);
                frustum(axis, [0.0; 3], [radius, rest], [from, to])
            }
            1 => ball(center, radius),
            _ => {
                let behind = self.length(2.0, radius);
                center[axis] -= behind;
                let mut low = [-100.0; 3];
                low[axis] = from;
                ball(center, radius.hypot(behind)).and(block(low, [100.0; 3]))
            }
        }
    }

    fn cut_step(&mut self, body: Body, axis: usize, radius: f64, [from, to]: [f64; 2]) -> Body {
        let [u, v] = [(axis + 1) % 3, (axis + 2) % 3];
        let middle = f64::midpoint(from, to);
        let (mut low, mut high) = ([-100.0; 3], [100.0; 3]);
        match self
            .random
            .below(if self.kind == Kind::Cones { 5 } else { 4 })
        {
            // A flat over the whole step.
            0 => {
                (low[axis], high[axis]) = (from, to);
                low[u] = self.length(radius * 0.4, radius * 0.8);
                body.without([block(low, high)])
            }
            // A keyway open at the top.
            1 => {
                (low[axis], high[axis]) = (from + 1.5, to - 1.5);
                low[u] = radius * 0.6;
                let half = self.length(1.5, radius * 0.4);
                (low[v], high[v]) = (-half, half);
                body.without([block(low, high)])
            }
            // A hole crosswise.
            2 | 3 => {
                let mut at = [0.0; 3];
                at[axis] = middle;
                let hole = self.length(1.5, (radius * 0.5).min((to - from) / 2.0 - 1.5));
                body.without([rod(u, at, hole, [-100.0, 100.0])])
            }
            // A round groove.
            _ => {
                let mut at = [0.0; 3];
                at[axis] = middle;
                let wire = self.length(1.0, (radius * 0.3).min((to - from) / 2.0 - 1.0));
                body.without([ring(axis, at, radius, wire)])
            }
        }
    }
}

/// What a rounding of the edge along `axis` takes away; `at` is the edge in the axes `uv`, the block ends at `size`.
fn corner(
    axis: usize,
    at: [f64; 2],
    uv: [usize; 2],
    size: [f64; 2],
    radius: f64,
    span: [f64; 2],
) -> Body {
    let (mut low, mut high, mut middle) = ([0.0; 3], [0.0; 3], [0.0; 3]);
    (low[axis], high[axis]) = (span[0], span[1]);
    for i in 0..2 {
        let k = uv[i];
        let far = at[i] > size[i] / 2.0;
        middle[k] = if far { at[i] - radius } else { radius };
        (low[k], high[k]) = if far {
            (middle[k], at[i] + 1.0)
        } else {
            (-1.0, radius)
        };
    }
    block(low, high).without([rod(axis, middle, radius, [span[0] - 1.0, span[1] + 1.0])])
}

/// Whether no two surfaces nearly touch.
pub(crate) fn is_clear(body: &Body) -> bool {
    let surfaces = body.bounded_surfaces();
    surfaces.iter().enumerate().all(|(i, (a, room))| {
        surfaces[i + 1..].iter().all(|(b, other)| {
            let meet =
                (0..3).all(|k| room[0][k] <= other[1][k] + 1.0 && other[0][k] <= room[1][k] + 1.0);
            !meet || clearance(a, b).is_none_or(|gap| !(1e-6..CLEAR).contains(&gap))
        })
    })
}

/// How far two surfaces are from touching each other; nothing where they cannot. Zero is a smooth passage.
fn clearance(a: &Surface, b: &Surface) -> Option<f64> {
    match (a, b) {
        (Surface::Plane { normal, .. }, Surface::Cylinder { axis, radius }) => {
            let parallel = dot(*normal, axis.way).abs() < 1e-9;
            parallel.then(|| (a.distance(axis.through).abs() - radius).abs())
        }
        // A ball that touches a plane does so in a point: never wanted, so it is called nearly touching.
        (Surface::Plane { .. }, Surface::Sphere { center, radius }) => {
            Some((a.distance(*center).abs() - radius).abs().max(2e-6))
        }
        (Surface::Cylinder { axis, radius }, Surface::Cylinder { axis: o, radius: r }) => {
            let between = minus(o.through, axis.through);
            let side = crate::cells::cross(axis.way, o.way);
            let (parallel, apart) = if length(side) < 1e-9 {
                (true, length(axis.out(o.through)))
            } else {
                (false, dot(between, crate::cells::unit(side)).abs())
            };
            let gap = (apart - radius - r)
                .abs()
                .min((apart - (radius - r).abs()).abs());
            Some(if parallel { gap } else { gap.max(2e-6) })
        }
        (Surface::Sphere { center, radius }, Surface::Cylinder { axis, radius: r }) => {
            let apart = length(axis.out(*center));
            let gap = (apart - (radius - r).abs())
                .abs()
                .min((apart - radius - r).abs());
            Some(if apart < 1e-9 { gap } else { gap.max(2e-6) })
        }
        (Surface::Cylinder { .. }, Surface::Plane { .. } | Surface::Sphere { .. })
        | (Surface::Sphere { .. }, Surface::Plane { .. }) => clearance(b, a),
        _ => None,
    }
}

/// Whether ends and turning points of edges are at clearly different places on each axis.
pub(crate) fn is_fine(drafting: &Drafting) -> bool {
    (0..3).all(|k| {
        let mut places = drafting.places(k);
        places.sort_by(f64::total_cmp);
        places
            .windows(2)
            .all(|w| !(1e-6..FINEST).contains(&(w[1] - w[0])))
    })
}

/// Whether all material hangs together, looked at in small cubes.
pub(crate) fn is_one_piece(drafting: &Drafting) -> bool {
    const CUBES: usize = 36;
    let at = |i: usize, k: usize| (i as f64 + 0.5) / CUBES as f64 * drafting.size[k];
    let place = |[x, y, z]: [usize; 3]| x + CUBES * (y + CUBES * z);
    let mut filled = vec![false; CUBES.pow(3)];
    for cube in crate::cells::grid([CUBES; 3]) {
        filled[place(cube)] = drafting.contains([0, 1, 2].map(|k| at(cube[k], k)));
    }
    let mut pieces = 0;
    for start in crate::cells::grid([CUBES; 3]) {
        if !filled[place(start)] {
            continue;
        }
        pieces += 1;
        filled[place(start)] = false;
        let mut open = vec![start];
        while let Some(cube) = open.pop() {
            for k in 0..3 {
                for next in [cube[k].checked_sub(1), Some(cube[k] + 1)]
                    .into_iter()
                    .flatten()
                {
                    let mut beside = cube;
                    beside[k] = next;
                    if next < CUBES && std::mem::take(&mut filled[place(beside)]) {
                        open.push(beside);
                    }
                }
            }
        }
    }
    pieces == 1
}

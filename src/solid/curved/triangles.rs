//! Cuts a patch, laid flat, into triangles that stay near its surface.
//!
//! A constrained Delaunay triangulation of its border, with points added inside until no triangle leaves the surface too
//! far. Triangles that the flat shows as slivers on a straight border are turned into better ones by exchanging diagonals.

use super::Patch;
use super::cut::{BOTH_WAYS, Cuts, THIN, bends_both_ways};
use super::flatten::Flat;
use crate::geom::num::sin_cos;
use crate::geom::surface::{Profile, Surface};
use crate::geom::{P3, V2, V3};
use crate::solid::mesh::{Fineness, inner_triangles, settled};
use rustc_hash::FxHashMap;
use spade::{ConstrainedDelaunayTriangulation, Point2, PositionInTriangulation, Triangulation};

type Cells = ConstrainedDelaunayTriangulation<Point2<f64>>;

/// How often points are added where triangles are too coarse.
const ROUNDS: usize = 16;

/// Inner points keep this share of the usual distance from the border.
const CLEAR: f64 = 0.55;

/// How many inner points a patch may get in one direction.
const MOST_ROWS: f64 = 2000.0;

/// A patch laid flat.
pub(super) struct Sheet<'s> {
    surface: &'s Surface,
    flat: Flat,
    /// Its different border points, places in the points of the cuts.
    pub(super) corners: Vec<u32>,
    /// Where these are in space.
    pub(super) border: Vec<P3>,
    /// The steps of its borders as places in `corners`; the patch lies to the left.
    steps: Vec<[usize; 2]>,
    /// Points added inside, in space; in triangles they follow the corners.
    pub(super) inner: Vec<P3>,
}

impl<'s> Sheet<'s> {
    /// Of a patch whose borders have been cut.
    pub(super) fn of(cuts: &Cuts, patch: &'s Patch) -> Self {
        let borders = cuts.borders(patch);
        let mut corners: Vec<u32> = borders.concat();
        corners.sort_unstable();
        corners.dedup();
        let place = |v: u32| corners.binary_search(&v).unwrap_or(0);
        let mut steps = Vec::with_capacity(corners.len());
        for border in &borders {
            let next = border.iter().cycle().skip(1);
            steps.extend(border.iter().zip(next).map(|(a, b)| [place(*a), place(*b)]));
        }
        let border: Vec<P3> = corners.iter().map(|v| cuts.points[*v as usize]).collect();
        Sheet {
            surface: &patch.surface,
            flat: Flat::new(&patch.surface, patch.outward, &border),
            corners,
            border,
            steps,
            inner: Vec::new(),
        }
    }

    /// The triangles as places in the corners, then the inner points; counter-clockwise seen from outside.
    pub(super) fn triangles(&mut self, fineness: &Fineness) -> Vec<[usize; 3]> {
        if let [_, _, _] = self.steps[..] {
            let [a, b, c] = [0, 1, 2].map(|k| self.steps[k][0]);
            if self.surface.is_plane() {
                return vec![[a, b, c]];
            }
        }
        let laid = |p: &P3| point2(&self.flat.at(p));
        let points: Vec<Point2<f64>> = self.border.iter().map(laid).collect();
        let conflict = |_| debug_assert!(false, "the border of a patch crosses itself");
        let cells = Cells::try_bulk_load_cdt(points, self.steps.clone(), conflict);
        // Only infinite or absurdly small coordinates are refused, and no solid has them.
        let Ok(mut cells) = cells else {
            debug_assert!(false, "the points of a patch cannot be cut into triangles");
            return Vec::new();
        };
        if !self.surface.is_plane() {
            for at in self.lattice(fineness) {
                self.add(&mut cells, &at);
            }
            for _ in 0..ROUNDS {
                let coarse = self.coarse(&cells, fineness);
                let before = self.inner.len();
                for at in &coarse {
                    self.add(&mut cells, at);
                }
                if self.inner.len() == before {
                    break;
                }
            }
        }
        let mut triangles = inner_triangles(&cells, &self.steps);
        self.exchange_diagonals(&cells, &mut triangles);
        triangles
    }

    /// Adds a point inside, unless it falls on a border or on another point.
    fn add(&mut self, cells: &mut Cells, at: &V2) {
        let place = point2(at);
        let free = match cells.locate(place) {
            PositionInTriangulation::OnFace(_) => true,
            PositionInTriangulation::OnEdge(edge) => {
                !cells.directed_edge(edge).is_constraint_edge()
            }
            _ => false,
        };
        if free && cells.insert(place).is_ok() {
            self.inner.push(self.flat.back(at));
        }
    }

    /// A corner or inner point in space.
    pub(super) fn point(&self, k: usize) -> &P3 {
        self.border
            .get(k)
            .unwrap_or_else(|| &self.inner[k - self.border.len()])
    }

    /// Rows of points inside a patch that bends both ways, as far apart as triangles may be long.
    #[allow(
        clippy::cast_possible_truncation,
        clippy::cast_sign_loss,
        reason = "a small number of rows"
    )]
    fn lattice(&self, fineness: &Fineness) -> Vec<V2> {
        let Some(spacing) = spacing(self.surface, fineness) else {
            return Vec::new();
        };
        let border: Vec<V2> = self.border.iter().map(|p| self.flat.at(p)).collect();
        let low = border.iter().fold(border[0], |low, p| low.inf(p));
        let high = border.iter().fold(border[0], |high, p| high.sup(p));
        let size = high - low;
        let rows = [0, 1].map(|k| (size[k] / spacing[k]).ceil().clamp(1.0, MOST_ROWS));
        let step = V2::new(size.x / rows[0], size.y / rows[1]);
        let ends: Vec<[V2; 2]> = self.steps.iter().map(|s| s.map(|k| border[k])).collect();
        let mut found = Vec::new();
        for i in 1..rows[1] as u32 {
            let up = low.y + step.y * f64::from(i);
            let crossings = crossings(&ends, up);
            for j in 1..rows[0] as u32 {
                let at = V2::new(low.x + step.x * f64::from(j), up);
                let before = crossings.partition_point(|x| *x < at.x);
                let scaled = |p: &V2| V2::new((p.x - at.x) / step.x, (p.y - at.y) / step.y).norm();
                if before % 2 == 1 && border.iter().all(|p| scaled(p) > CLEAR) {
                    found.push(at);
                }
            }
        }
        found
    }

    /// Where to add points: in the middle of the longest free sides of triangles that are too coarse.
    fn coarse(&self, cells: &Cells, fineness: &Fineness) -> Vec<V2> {
        let turn = fineness.angle_degrees.to_radians();
        let mut found: Vec<([usize; 2], V2)> = Vec::new();
        for corners in inner_triangles(cells, &self.steps) {
            if !self.is_coarse(corners, fineness.chord_mm, turn) {
                continue;
            }
            let at = corners.map(|k| self.flat.at(self.point(k)));
            let sides = [[0, 1], [1, 2], [2, 0]];
            let free = sides.into_iter().filter(|[i, j]| {
                let ends = [corners[*i], corners[*j]];
                let is_step = |s: &[usize; 2]| *s == ends || *s == [ends[1], ends[0]];
                ends.iter().any(|k| *k >= self.border.len()) || !self.steps.iter().any(is_step)
            });
            let length = |[i, j]: &[usize; 2]| (at[*i] - at[*j]).norm();
            if let Some([i, j]) = free.max_by(|s, t| length(s).total_cmp(&length(t))) {
                let mut ends = [corners[i], corners[j]];
                ends.sort_unstable();
                found.push((ends, 0.5 * (at[i] + at[j])));
            }
        }
        found.sort_unstable_by_key(|(ends, _)| *ends);
        found.dedup_by_key(|(ends, _)| *ends);
        found.into_iter().map(|(_, at)| at).collect()
    }

    /// Whether a triangle leaves the surface too far, or the surface turns too much across it.
    fn is_coarse(&self, corners: [usize; 3], chord: f64, turn: f64) -> bool {
        let [a, b, c] = corners.map(|k| self.point(k));
        let middles = [
            nalgebra::center(a, b),
            nalgebra::center(b, c),
            nalgebra::center(c, a),
            P3::from((a.coords + b.coords + c.coords) / 3.0),
        ];
        if middles
            .iter()
            .any(|m| self.surface.distance(m).abs() > chord)
        {
            return true;
        }
        let [n, m, o] = [a, b, c].map(|p| self.surface.normal(p));
        let most = sin_cos(turn).0 * 1.001;
        // A cone has no normal at its apex.
        let apex = |p: &P3| match self.surface.turned() {
            Some(t) => matches!(t.profile, Profile::Cone { .. }) && t.split(p).1.norm() < THIN,
            None => false,
        };
        let turns =
            |p: &P3, u: &V3, q: &P3, v: &V3| u.cross(v).norm() > most && !apex(p) && !apex(q);
        turns(a, &n, b, &m) || turns(b, &m, c, &o) || turns(c, &o, a, &n)
    }

    /// Exchanges the long side of slivers for the other diagonal of the two triangles along it, where that helps.
    fn exchange_diagonals(&self, cells: &Cells, triangles: &mut [[usize; 3]]) {
        let at: Vec<V2> = cells
            .vertices()
            .map(|v| V2::new(v.position().x, v.position().y))
            .collect();
        let mut owner: FxHashMap<[usize; 2], usize> = FxHashMap::default();
        for (t, corners) in triangles.iter().enumerate() {
            owner.extend(sides(*corners).map(|side| (side, t)));
        }
        let mut todo: Vec<usize> = (0..triangles.len())
            .filter(|t| height(triangles[*t].map(|k| at[k])) < THIN)
            .collect();
        // Each exchange makes the worst triangle of two better; the bound is for rounding's sake.
        for _ in 0..8 * triangles.len() {
            let Some(t) = todo.pop() else {
                break;
            };
            let [a, b, c] = longest_first(triangles[t], &at);
            let Some(&other) = owner.get(&[b, a]) else {
                continue;
            };
            let Some(d) = triangles[other].into_iter().find(|k| *k != a && *k != b) else {
                continue;
            };
            let worst = |pair: [[usize; 3]; 2]| {
                let heights = pair.map(|t| height(t.map(|k| at[k])));
                heights[0].min(heights[1])
            };
            let pair = [[a, d, c], [d, b, c]];
            if worst(pair) <= worst([triangles[t], triangles[other]]) {
                continue;
            }
            owner.remove(&[a, b]);
            owner.remove(&[b, a]);
            for (place, corners) in [t, other].into_iter().zip(pair) {
                triangles[place] = corners;
                owner.extend(sides(corners).map(|side| (side, place)));
                if height(corners.map(|k| at[k])) < THIN {
                    todo.insert(0, place);
                }
            }
        }
    }
}

fn point2(at: &V2) -> Point2<f64> {
    Point2::new(settled(at.x), settled(at.y))
}

fn sides([a, b, c]: [usize; 3]) -> [[usize; 2]; 3] {
    [[a, b], [b, c], [c, a]]
}

/// The corners in turn, the longest side between the first two.
fn longest_first(corners: [usize; 3], at: &[V2]) -> [usize; 3] {
    let length = |k: usize| (at[corners[k]] - at[corners[(k + 1) % 3]]).norm();
    let first = [0, 1, 2]
        .into_iter()
        .max_by(|i, j| length(*i).total_cmp(&length(*j)))
        .unwrap_or(0);
    [0, 1, 2].map(|k| corners[(first + k) % 3])
}

/// The height of a triangle above its longest side, negative if it is turned over.
fn height([a, b, c]: [V2; 3]) -> f64 {
    let longest = (b - a).norm().max((c - b).norm()).max((a - c).norm());
    (b - a).perp(&(c - a)) / longest
}

/// Where borders cross a level, ascending.
fn crossings(ends: &[[V2; 2]], level: f64) -> Vec<f64> {
    let mut found: Vec<f64> = ends
        .iter()
        .filter(|[a, b]| (a.y <= level) != (b.y <= level))
        .map(|[a, b]| a.x + (level - a.y) / (b.y - a.y) * (b.x - a.x))
        .collect();
    found.sort_unstable_by(f64::total_cmp);
    found
}

/// How far apart points on a ball or torus may be, in the flat, right and up.
fn spacing(surface: &Surface, fineness: &Fineness) -> Option<[f64; 2]> {
    if !bends_both_ways(surface) {
        return None;
    }
    // A chord of length l leaves a circle of radius r by l^2 / 8r.
    let turn = fineness.angle_degrees.to_radians();
    let length = |r: f64| {
        let chord = (8.0 * r * fineness.chord_mm * BOTH_WAYS[0]).sqrt();
        chord.min(turn * r * BOTH_WAYS[1])
    };
    match surface.turned()?.profile {
        Profile::Torus { major, minor } => Some([length(major + minor), length(minor)]),
        Profile::Sphere { radius } => Some([length(radius); 2]),
        _ => None,
    }
}

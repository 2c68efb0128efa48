//! Cuts a patch, laid flat, into triangles that stay near its surface.
//!
//! A constrained Delaunay triangulation of its border, with points added inside until no triangle leaves the surface too
//! far. Triangles that the flat shows as slivers on a straight border are turned into better ones by exchanging diagonals.

use super::Patch;
use super::cut::{BOTH_WAYS, Cuts, SO_SMALL, THIN, bends_both_ways};
use super::flatten::Flat;
use crate::geom::num::sin_cos;
use crate::geom::surface::{Profile, Surface};
use crate::geom::{Few, P3, V2, V3};
use crate::solid::mesh::{Fineness, askew, inner_triangles};
use rustc_hash::{FxHashMap, FxHashSet};
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
    /// Its borders as places in `corners`, the patch to the left.
    rings: Vec<Vec<usize>>,
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
        let rings: Vec<Vec<usize>> = (borders.iter())
            .map(|border| border.iter().map(|v| place(*v)).collect())
            .collect();
        let mut steps = Vec::with_capacity(corners.len());
        for ring in &rings {
            let next = ring.iter().cycle().skip(1);
            steps.extend(ring.iter().zip(next).map(|(a, b)| [*a, *b]));
        }
        let border: Vec<P3> = corners.iter().map(|v| cuts.points[*v as usize]).collect();
        Sheet {
            surface: &patch.surface,
            flat: Flat::new(&patch.surface, patch.outward, &border),
            corners,
            border,
            rings,
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
        let Some(mut cells) = self.cells() else {
            return self.clipped();
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
        if !self.fill(&triangles) {
            self.inner.clear();
            return self.clipped();
        }
        self.exchange_diagonals(&cells, &mut triangles);
        triangles
    }

    /// Whether triangles meet side to side and end at the border: not if it runs the wrong way round.
    fn fill(&self, triangles: &[[usize; 3]]) -> bool {
        let steps: FxHashSet<[usize; 2]> = self.steps.iter().copied().collect();
        let all: FxHashSet<[usize; 2]> = triangles.iter().flat_map(|t| sides(*t)).collect();
        let matched = |[a, b]: [usize; 2]| steps.contains(&[a, b]) || all.contains(&[b, a]);
        steps.iter().all(|step| all.contains(step))
            && triangles.iter().flat_map(|t| sides(*t)).all(matched)
    }

    /// The triangulation of the border, unless the border crosses itself.
    fn cells(&self) -> Option<Cells> {
        let laid = |p: &P3| askew(self.flat.at(p).into());
        let points: Vec<Point2<f64>> = self.border.iter().map(laid).collect();
        let mut crosses = false;
        let steps = self.steps.clone();
        let cells = Cells::try_bulk_load_cdt(points, steps, |_| crosses = true).ok()?;
        (!crosses && cells.num_vertices() == self.border.len()).then_some(cells)
    }

    /// Triangles of a patch whose border crosses itself a little, as that of an inaccurate drawing may: corners are cut off
    /// one by one, the best first, whatever is left. The surface closes all the same.
    fn clipped(&self) -> Vec<[usize; 3]> {
        let at: Vec<V2> = self.border.iter().map(|p| self.flat.at(p)).collect();
        let mut ring = self.one_ring(&at);
        let mut triangles = Vec::with_capacity(ring.len());
        while ring.len() > 3 {
            let n = ring.len();
            let corners = |k: usize| [(k + n - 1) % n, k, (k + 1) % n].map(|k| ring[k]);
            let free = |k: &usize| {
                let ear = corners(*k);
                ring.iter()
                    .all(|v| ear.contains(v) || !within(&at[*v], ear.map(|c| at[c])))
            };
            let depth: Vec<f64> = (0..n).map(|k| height(corners(k).map(|c| at[c]))).collect();
            let deepest = |tried: &[bool]| {
                let open = (0..n).filter(|k| !tried[*k]);
                open.max_by(|i, j| depth[*i].total_cmp(&depth[*j]))
            };
            // The deepest is nearly always free, and only that takes a look at all corners.
            let mut tried: Vec<bool> = depth.iter().map(|d| *d <= 0.0 || d.is_nan()).collect();
            let ear = loop {
                match deepest(&tried) {
                    Some(k) if free(&k) => break k,
                    Some(k) => tried[k] = true,
                    None => break deepest(&vec![false; n]).unwrap_or(0),
                }
            };
            let [before, corner, after] = corners(ear);
            ring.remove(ear);
            if before == after {
                // The way there and back again: what lies on both its sides meets.
                ring.remove(ear % ring.len());
            } else {
                triangles.push([before, corner, after]);
            }
        }
        triangles.extend(<[usize; 3]>::try_from(ring));
        triangles
    }

    /// All borders as one ring of corners: each hole is joined to it where they are nearest.
    fn one_ring(&self, at: &[V2]) -> Vec<usize> {
        let mut rings = self.rings.iter().cloned();
        let mut whole = rings.next().unwrap_or_default();
        for hole in rings {
            let pairs = (0..whole.len()).flat_map(|i| (0..hole.len()).map(move |j| (i, j)));
            let apart = |&(i, j): &(usize, usize)| (at[whole[i]] - at[hole[j]]).norm();
            if let Some((i, j)) = pairs.min_by(|p, q| apart(p).total_cmp(&apart(q))) {
                let tour = hole[j..].iter().chain(&hole[..=j]).copied();
                let joint = tour.chain([whole[i]]).collect::<Vec<_>>();
                whole.splice(i + 1..i + 1, joint);
            }
        }
        whole
    }

    /// Adds a point inside, unless it falls on a border or on another point.
    fn add(&mut self, cells: &mut Cells, at: &V2) {
        let place = askew((*at).into());
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
        let steps: FxHashSet<[usize; 2]> = self.steps.iter().map(|s| sorted(*s)).collect();
        let mut found: Vec<([usize; 2], V2)> = Vec::new();
        for corners in inner_triangles(cells, &self.steps) {
            let all = sides(corners).map(sorted);
            let free: Few<[usize; 2], 3> = all.into_iter().filter(|s| !steps.contains(s)).collect();
            if !self.is_coarse(corners, &free, fineness) {
                continue;
            }
            let at = |k: usize| self.flat.at(self.point(k));
            let length = |[i, j]: &[usize; 2]| (at(*i) - at(*j)).norm();
            let longest = free
                .into_iter()
                .max_by(|s, t| length(s).total_cmp(&length(t)));
            found.extend(longest.map(|[i, j]| ([i, j], 0.5 * (at(i) + at(j)))));
        }
        found.sort_unstable_by_key(|(ends, _)| *ends);
        found.dedup_by_key(|(ends, _)| *ends);
        found.into_iter().map(|(_, at)| at).collect()
    }

    /// Whether a triangle leaves the surface too far in its middle or on a free side, or the surface turns too much along a
    /// free side. Its sides on the border are as they are.
    fn is_coarse(&self, corners: [usize; 3], free: &[[usize; 2]], fineness: &Fineness) -> bool {
        let off = |p: &P3| self.surface.distance(p).abs();
        // Corners on the border of an inaccurate drawing lie beside the surface themselves.
        let beside = corners
            .iter()
            .fold(0.0_f64, |most, k| most.max(off(self.point(*k))));
        let sum: V3 = corners.iter().map(|k| self.point(*k).coords).sum();
        let leaves = off(&P3::from(sum / 3.0)) - beside;
        let most = sin_cos(fineness.angle_degrees.to_radians()).0 * 1.001;
        leaves > fineness.chord_mm
            || free.iter().any(|side| {
                let [a, b] = side.map(|k| self.point(k));
                let leaves = off(&nalgebra::center(a, b)) - beside;
                let turn = self.surface.normal(a).cross(&self.surface.normal(b)).norm();
                let turns = turn > most && !self.at_apex(a) && !self.at_apex(b);
                leaves > fineness.chord_mm || turns && leaves > fineness.chord_mm * SO_SMALL
            })
    }

    /// Whether a point is the apex of a cone, where it has no normal.
    fn at_apex(&self, point: &P3) -> bool {
        self.surface.turned().is_some_and(|turned| {
            matches!(turned.profile, Profile::Cone { .. }) && turned.split(point).1.norm() < THIN
        })
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

pub(super) fn sides<T: Copy>([a, b, c]: [T; 3]) -> [[T; 2]; 3] {
    [[a, b], [b, c], [c, a]]
}

fn sorted([a, b]: [usize; 2]) -> [usize; 2] {
    [a.min(b), a.max(b)]
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

/// Whether a point lies inside a triangle that runs counter-clockwise.
fn within(point: &V2, [a, b, c]: [V2; 3]) -> bool {
    [(a, b), (b, c), (c, a)]
        .into_iter()
        .all(|(from, to)| (to - from).perp(&(point - from)) > 0.0)
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

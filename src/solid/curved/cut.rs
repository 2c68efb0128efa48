//! Cuts the edges of a solid into short straight pieces, each edge once, so that both patches along it use the same points.
//!
//! An edge is cut into equal shares of its way until chords and turns are small enough. Where the polygons of a patch
//! would then cross each other, near tangent edges, the pieces that do are halved.

use super::flatten::Flat;
use super::{CurvedEdge, CurvedSolid, Patch};
use crate::geom::pairs::{Bounds, overlapping};
use crate::geom::path::{Course, Path};
use crate::geom::surface::{Profile, Surface};
use crate::geom::{P3, V2};
use crate::solid::mesh::Fineness;
use std::f64::consts::FRAC_1_SQRT_2;

/// No edge is cut into more pieces.
const MOST_PIECES: usize = 4096;

/// How often pieces that cross are looked for and halved.
const ROUNDS: usize = 32;

/// Pieces are not halved below this length in millimetres.
const SHORT: f64 = 20.0 * THIN;

/// Where borders cross that should not, for they end a little off their curves, points are taken out again as far around
/// as this many chord tolerances.
const AROUND: f64 = 2.0;

/// Borders of a patch nearer than this in millimetres are pulled apart by cutting them finer, if that helps.
pub(super) const THIN: f64 = 1e-4;

/// Along patches that bend both ways chord and turn of an edge are smaller by this, for a triangle reaches farther from the
/// surface than its sides do: its two short sides as the sides of a square whose diagonal just will do.
pub(super) const BOTH_WAYS: [f64; 2] = [0.5, FRAC_1_SQRT_2];

/// Turns do not matter where a chord leaves its curve by less than this share of the chord tolerance: inaccurate ends would
/// otherwise ask for pieces without number.
pub(super) const SO_SMALL: f64 = 0.02;

/// A piece that leaves its chord by more than this share of its length has a kink; on a circle that would be a turn of 45
/// degrees.
const KINK: f64 = 0.1;

/// The edges of a solid cut into pieces.
pub(crate) struct Cuts {
    /// The shares of the way at which each edge is cut, ends included.
    shares: Vec<Vec<f64>>,
    /// The points there, as places in `points`.
    pub(crate) along: Vec<Vec<u32>>,
    /// The solid's vertices, then the points on its edges.
    pub(crate) points: Vec<P3>,
    /// The shares at which the points in `along` lie.
    placed: Vec<Vec<f64>>,
    /// The edges from which points were taken out again.
    straightened: Vec<bool>,
}

impl Cuts {
    /// Cuts every edge.
    pub(crate) fn new(solid: &CurvedSolid, fineness: &Fineness) -> Self {
        let shares = solid
            .edges
            .iter()
            .map(|edge| equal_shares(pieces(solid, edge, fineness)))
            .collect();
        let mut cuts = Cuts {
            shares,
            along: Vec::new(),
            points: Vec::new(),
            placed: Vec::new(),
            straightened: vec![false; solid.edges.len()],
        };
        cuts.place(solid);
        let mut todo: Vec<usize> = (0..solid.faces.len()).collect();
        for _ in 0..ROUNDS {
            let touched = cuts.pull_apart(solid, &todo, fineness.chord_mm * AROUND);
            if touched.is_empty() {
                break;
            }
            cuts.place(solid);
            todo = touched;
        }
        cuts
    }

    /// The borders of a patch as places in `points`, the patch to the left seen from outside.
    pub(crate) fn borders(&self, patch: &Patch) -> Vec<Vec<u32>> {
        patch
            .borders
            .iter()
            .map(|border| self.pieces_of(border).map(|piece| piece.ends[0]).collect())
            .collect()
    }

    fn pieces_of<'s>(&'s self, border: &'s [super::Step]) -> impl Iterator<Item = Piece> + 's {
        border.iter().flat_map(|step| {
            let edge = step.edge as usize;
            let along = &self.along[edge];
            let last = along.len() - 2;
            (0..=last).map(move |k| {
                let place = if step.forward { k } else { last - k };
                let ends = [along[place], along[place + 1]];
                Piece {
                    edge,
                    place,
                    ends: if step.forward {
                        ends
                    } else {
                        [ends[1], ends[0]]
                    },
                }
            })
        })
    }

    /// Makes the points of all edges.
    fn place(&mut self, solid: &CurvedSolid) {
        self.points.clone_from(&solid.vertices);
        self.along.clear();
        self.placed.clone_from(&self.shares);
        for (edge, shares) in solid.edges.iter().zip(&self.shares) {
            let first = self.points.len();
            let inner = &shares[1..shares.len() - 1];
            self.points
                .extend(inner.iter().map(|share| edge.path.point(*share)));
            let number = |k| u32::try_from(k).expect("fewer than 2^32 points");
            let middle = (first..self.points.len()).map(number);
            let along = std::iter::once(edge.ends[0]).chain(middle);
            self.along.push(along.chain([edge.ends[1]]).collect());
        }
    }

    /// Halves the pieces that cross or all but touch others of one of the given patches; where that has not helped, takes
    /// points out. Returns the patches touched.
    fn pull_apart(&mut self, solid: &CurvedSolid, patches: &[usize], around: f64) -> Vec<usize> {
        let mut near: Vec<Near> = Vec::new();
        for face in patches {
            near.extend(self.near(solid, &solid.faces[*face]));
        }
        // From the last piece on, so that the places of the others stay; crossing before touching.
        near.sort_unstable_by(|a, b| b.cmp(a));
        near.dedup_by_key(|n| (n.edge, n.place));
        let mut touched = Vec::new();
        for piece in near {
            if self.settle(solid, &piece, around) {
                touched.extend(solid.edges[piece.edge].faces.map(|f| f as usize));
            }
        }
        touched.sort_unstable();
        touched.dedup();
        touched
    }

    /// Halves a piece or takes out the points around it; false if neither is to be done.
    fn settle(&mut self, solid: &CurvedSolid, piece: &Near, around: f64) -> bool {
        let Near { edge, place, .. } = *piece;
        let at = |k: usize| self.points[self.along[edge][k] as usize];
        // Places before this one have not changed, and halving has not moved its start.
        let (from, to) = (at(place), at(place + 1));
        let shares = &mut self.shares[edge];
        if self.straightened[edge] || shares.len() > MOST_PIECES {
            return false;
        }
        if (to - from).norm() > SHORT {
            shares.insert(place + 1, 0.5 * (shares[place] + shares[place + 1]));
            return true;
        }
        if !piece.crosses {
            return false;
        }
        let last = self.along[edge].len() - 1;
        let kept = |k: &usize| *k == 0 || *k == last || (at(*k) - from).norm() > around;
        let mut kept: Vec<f64> = (0..=last)
            .filter(kept)
            .map(|k| self.placed[edge][k])
            .collect();
        // Two edges between the same corners must not become one.
        if kept.len() == 2 && has_twin(solid, edge) {
            kept.insert(1, 0.5);
        }
        self.shares[edge] = kept;
        self.straightened[edge] = true;
        true
    }

    /// The curved pieces of a patch's borders that cross or all but touch another.
    fn near(&self, solid: &CurvedSolid, patch: &Patch) -> Vec<Near> {
        let borders = patch.borders.iter();
        let pieces: Vec<Piece> = borders.flat_map(|b| self.pieces_of(b)).collect();
        let curved = |piece: &Piece| !solid.edges[piece.edge].path.is_straight();
        if !pieces.iter().any(curved) {
            return Vec::new();
        }
        let at = |v: u32| self.points[v as usize];
        let border: Vec<P3> = pieces.iter().map(|p| at(p.ends[0])).collect();
        let flat = Flat::new(&patch.surface, patch.outward, &border);
        let spans: Vec<[V2; 2]> = pieces
            .iter()
            .map(|p| p.ends.map(|v| flat.at(&at(v))))
            .collect();
        let boxes: Vec<Bounds<2>> = spans.iter().map(bounds).collect();
        let mut found = Vec::new();
        // Too many pairs are never drawn: then pieces stay as they are.
        for (i, j) in overlapping(&boxes).unwrap_or_default() {
            let [i, j] = [i, j].map(|k| k as usize);
            let pair = [&pieces[i], &pieces[j]];
            if let Some(crosses) = too_near(pair, [&spans[i], &spans[j]]) {
                let both = pair.into_iter().filter(|piece| curved(piece));
                found.extend(both.map(|piece| Near {
                    edge: piece.edge,
                    place: piece.place,
                    crosses,
                }));
            }
        }
        found
    }
}

/// Whether another edge has the same ends.
fn has_twin(solid: &CurvedSolid, edge: usize) -> bool {
    let [a, b] = solid.edges[edge].ends;
    let twin = |e: &CurvedEdge| e.ends == [a, b] || e.ends == [b, a];
    solid.edges.iter().filter(|e| twin(e)).count() > 1
}

/// A piece that crosses another border, or comes too near to it.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
struct Near {
    edge: usize,
    /// Counted from the start of the edge.
    place: usize,
    crosses: bool,
}

/// A piece of an edge in the direction of a border.
struct Piece {
    edge: usize,
    /// Counted from the start of the edge.
    place: usize,
    ends: [u32; 2],
}

/// The box around a piece that others nearer than is thin reach into.
fn bounds([a, b]: &[V2; 2]) -> Bounds<2> {
    let around = V2::repeat(THIN / 2.0);
    [(a.inf(b) - around).into(), (a.sup(b) + around).into()]
}

/// Whether two pieces cross (`true`) or come nearer than is thin (`false`), other than at a common end.
fn too_near(pieces: [&Piece; 2], [a, b]: [&[V2; 2]; 2]) -> Option<bool> {
    let joined = |v: &u32| pieces[1].ends.contains(v);
    let shared = pieces[0].ends.iter().filter(|v| joined(v)).count();
    if shared > 1 {
        return None;
    }
    if shared == 0 {
        let near = |p: &V2, s: &[V2; 2]| distance(p, s) < THIN;
        let touches = || a.iter().any(|p| near(p, b)) || b.iter().any(|p| near(p, a));
        return (crosses(a, b) || touches()).then(|| crosses(a, b));
    }
    // With a common end, the free end of the shorter one must keep away from the longer one.
    let free = |own: &Piece, span: &[V2; 2], other: &Piece| {
        let k = usize::from(other.ends.contains(&own.ends[0]));
        (span[k], span[1 - k])
    };
    let (free_a, corner) = free(pieces[0], a, pieces[1]);
    let (free_b, _) = free(pieces[1], b, pieces[0]);
    let (long, short) = if (free_a - corner).norm() > (free_b - corner).norm() {
        (a, free_b)
    } else {
        (b, free_a)
    };
    let beside = (free_a - corner).dot(&(free_b - corner)) > 0.0;
    (beside && distance(&short, long) < THIN).then_some(false)
}

/// The distance of a point from a straight piece.
fn distance(point: &V2, [a, b]: &[V2; 2]) -> f64 {
    let way = b - a;
    let share = ((point - a).dot(&way) / way.norm_squared()).clamp(0.0, 1.0);
    (point - a - way * share).norm()
}

fn crosses(a: &[V2; 2], b: &[V2; 2]) -> bool {
    let side = |s: &[V2; 2], p: &V2| (s[1] - s[0]).perp(&(p - s[0])) > 0.0;
    side(a, &b[0]) != side(a, &b[1]) && side(b, &a[0]) != side(b, &a[1])
}

#[allow(clippy::cast_precision_loss, reason = "a few thousand at most")]
fn equal_shares(pieces: usize) -> Vec<f64> {
    (0..=pieces).map(|k| k as f64 / pieces as f64).collect()
}

/// How many equal pieces an edge is cut into.
#[allow(
    clippy::cast_possible_truncation,
    clippy::cast_precision_loss,
    clippy::cast_sign_loss,
    reason = "a few thousand at most"
)]
fn pieces(solid: &CurvedSolid, edge: &CurvedEdge, fineness: &Fineness) -> usize {
    if edge.path.is_straight() {
        return 1;
    }
    let surfaces = edge.faces.map(|f| &solid.faces[f as usize].surface);
    let finer = if surfaces.iter().any(|s| bends_both_ways(s)) {
        BOTH_WAYS
    } else {
        [1.0; 2]
    };
    let limits = [
        fineness.chord_mm * finer[0],
        fineness.angle_degrees.to_radians() * finer[1],
    ];
    let mut pieces = 1;
    while pieces < MOST_PIECES {
        let excess = (0..pieces)
            .map(|k| {
                let ends = [k, k + 1].map(|k| k as f64 / pieces as f64);
                let [chord, turn] = bend(&edge.path, surfaces, ends);
                let turn = if chord < fineness.chord_mm * SO_SMALL {
                    0.0
                } else {
                    turn
                };
                (chord / limits[0]).sqrt().max(turn / limits[1])
            })
            .fold(0.0, f64::max);
        if excess <= 1.0 {
            break;
        }
        pieces = (pieces + 1).max((pieces as f64 * excess) as usize);
    }
    pieces.min(MOST_PIECES)
}

/// Whether a surface is curved in all directions.
pub(super) fn bends_both_ways(surface: &Surface) -> bool {
    let profile = surface.turned().map(|turned| turned.profile);
    matches!(
        profile,
        Some(Profile::Sphere { .. } | Profile::Torus { .. })
    )
}

/// How far a part of a path leaves its chord, in millimetres, and by what angle it or a surface along it turns, in radians.
fn bend(path: &Path, surfaces: [&Surface; 2], [from, to]: [f64; 2]) -> [f64; 2] {
    let [a, m, b] = [from, 0.5 * (from + to), to].map(|share| path.point(share));
    let way = b - a;
    let off = m - a - way * ((m - a).dot(&way) / way.norm_squared());
    let sin = |u: &crate::geom::V3, v: &crate::geom::V3| u.cross(v).norm();
    let turn = surfaces
        .map(|s| sin(&s.normal(&a), &s.normal(&b)))
        .into_iter()
        .chain([sin(&(m - a).normalize(), &(b - m).normalize()) * 2.0])
        .fold(0.0, f64::max);
    // Ends beside the curve make a kink that no cutting will smooth.
    let kink = matches!(path.course, Course::Meeting(_)) && off.norm() > KINK * way.norm();
    if kink && (from == 0.0 || to == 1.0) && to - from <= 0.125 {
        return [0.0, 0.0];
    }
    [off.norm(), turn]
}

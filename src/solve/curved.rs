//! The board of a drawing with curved lines.
//!
//! Borders of regions may run where a view shows nothing, so a piece of drawn line is cut into spots where they pass below
//! it. What lies over a spot, and how deep, is found by looking: from the middle of the spot, and through one inner point of
//! each region.

use super::board::{Board, Crossing, Sighted, Spot};
use super::twins::{beside_visible, share_twins};
use crate::arrange::{Arrangement, Piece};
use crate::face::curved::{CurvedFaces, CurvedRegion};
use crate::face::{Half, Leaf, Leaves, Region};
use crate::geom::arena::Id;
use crate::geom::carrier::Carrier;
use crate::geom::integral::flux;
use crate::geom::pairs::{Bounds, BoxIndex};
use crate::geom::path::{Conic, Path, Place, locate};
use crate::geom::surface::Profile;
use crate::geom::tolerance::Tolerance;
use crate::geom::{Few, P2, P3, V2, V3};
use crate::options::TangentEdges;
use crate::sheet::{Placement, View};
use crate::wireframe::curved::{CurvedWireframe, Seen};
use crate::wireframe::{Edge, Vertex};
use std::f64::consts::TAU;

/// All candidates of a drawing with curved lines, ready to choose from.
#[derive(Debug)]
pub(crate) struct CurvedBoard {
    pub(crate) views: [Arrangement; 3],
    pub(crate) wireframe: CurvedWireframe,
    pub(crate) faces: CurvedFaces,
    pub(crate) tolerance: Tolerance,
    placement: Placement,
    tangent_edges: TangentEdges,
    spots: [Vec<Covered>; 3],
    /// Edges over blank paper, by view.
    blank: [Vec<Id<Edge>>; 3],
    /// The regions on each line of sight, from near to far, and whether their normals point to the viewer.
    sights: Vec<Vec<(Id<Region>, bool)>>,
    extents: Vec<(f64, [P3; 2])>,
}

/// A spot and what lies over it.
#[derive(Debug)]
struct Covered {
    piece: Id<Piece>,
    edges: Few<Id<Edge>, 4>,
    edge_nearness: Few<f64, 4>,
    regions: Few<Id<Region>, 4>,
    region_nearness: Few<f64, 4>,
}

/// The normal of a surface is perpendicular to a direction if the sine of what is missing is less than this.
const EDGE_ON: f64 = 0.01;

/// How long, in tolerances, two lines that touch may stay within the tolerance of each other for nobody to miss the piece.
const TOUCH: f64 = 20.0;

/// A cone is seen from its end if the cosine of the angle between its axis and the line of sight is more than this.
const ALONG_VIEW: f64 = 0.999;

impl CurvedBoard {
    /// Puts the stages' results together: what lies over what.
    pub(crate) fn new(
        views: [Arrangement; 3],
        wireframe: CurvedWireframe,
        faces: CurvedFaces,
        placement: Placement,
        tolerance: Tolerance,
        tangent_edges: TangentEdges,
    ) -> Self {
        let extents = faces
            .regions
            .iter()
            .map(|region| extent(&wireframe, &faces, region))
            .collect();
        let blank = View::ALL.map(|view| {
            let edges = wireframe.edges.iter().enumerate();
            edges
                .filter(|(_, e)| e.seen[view.index()] == Seen::Blank)
                .map(|(number, _)| Id::new(number))
                .collect()
        });
        let mut board = CurvedBoard {
            views,
            wireframe,
            faces,
            tolerance,
            placement,
            tangent_edges,
            spots: Default::default(),
            blank,
            sights: Vec::new(),
            extents,
        };
        let overlooks = View::ALL.map(|view| Overlook::of(&board, view));
        board.spots = View::ALL.map(|view| board.spots(&overlooks[view.index()]));
        board.sights = board.lines_of_sight(&overlooks);
        board
    }

    /// How the sheet treats tangent edges.
    pub(crate) fn tangent_edges(&self) -> TangentEdges {
        self.tangent_edges
    }

    fn region(&self, region: Id<Region>) -> &CurvedRegion {
        &self.faces.regions[region.ix()]
    }

    /// Every piece of a view, cut where edges over blank paper cross it, with what lies over each part.
    fn spots(&self, overlook: &Overlook) -> Vec<Covered> {
        let view = overlook.view;
        let arrangement = &self.views[view.index()];
        let mut edges_over: Vec<Few<Id<Edge>, 4>> = vec![Few::new(); arrangement.pieces.len()];
        for (number, edge) in self.wireframe.edges.iter().enumerate() {
            if let Seen::Over(pieces) = &edge.seen[view.index()] {
                pieces
                    .iter()
                    .for_each(|p| edges_over[p.ix()].push(Id::new(number)));
            }
        }
        share_twins(arrangement, &mut edges_over, self.tolerance.mm());
        let covered = beside_visible(arrangement, self.tolerance.mm());
        let blank = BlankPaths::of(self, view);
        let mut spots = Vec::new();
        for piece in arrangement.pieces.ids().filter(|p| !covered[p.ix()]) {
            let paths = piece_paths(arrangement, piece);
            let first = spots.len();
            for places in blank.places(self, &paths, view) {
                let edges = &edges_over[piece.ix()];
                let Some(at) = self.clearest(overlook, edges, &places) else {
                    continue;
                };
                let covered = self.covered(overlook, piece, edges, at);
                let known = spots[first..].iter().any(|other: &Covered| {
                    other.edges == covered.edges && other.regions == covered.regions
                });
                if !known {
                    spots.push(covered);
                }
            }
        }
        spots
    }

    /// The first of some places, all with the same candidates over them, that lies on the border of no region but of those
    /// with an edge there. If there is none, the first; but none at all on a piece so short that it lies within the tolerance
    /// of a border that it touches: there nobody can say what covers it, and it goes on in pieces that can be judged.
    fn clearest(&self, overlook: &Overlook, edges: &[Id<Edge>], places: &[P2; 5]) -> Option<P2> {
        let clear = |at: &&P2| {
            let (_, borders) = overlook.look(self, **at);
            let beside = |id: &Id<Region>| self.has_border_along(*id, edges);
            borders.iter().all(beside)
        };
        let [.., start, end] = places;
        let short = (end - start).norm() <= TOUCH * self.tolerance.mm();
        let first = places.first().filter(|_| !short);
        places.iter().find(clear).or(first).copied()
    }

    fn has_border_along(&self, id: Id<Region>, edges: &[Id<Edge>]) -> bool {
        self.region(id).halves().any(|h| edges.contains(&h.edge))
    }

    /// What lies over a point of a piece, nearest first.
    fn covered(
        &self,
        overlook: &Overlook,
        piece: Id<Piece>,
        edges: &[Id<Edge>],
        at: P2,
    ) -> Covered {
        let view = overlook.view;
        let near = |depth: f64| view.nearness(depth);
        let [right, up] = view.axes();
        let mut over: Vec<(f64, Id<Edge>)> = edges
            .iter()
            .map(|&edge| {
                let path = self.wireframe.path(edge);
                let span = path.ends[1] - path.ends[0];
                let axis = if span[right].abs() >= span[up].abs() {
                    0
                } else {
                    1
                };
                let point = path.point_at([right, up][axis], at[axis]);
                (near(point[view.depth_axis()]), edge)
            })
            .collect();
        over.sort_by(|a, b| b.0.total_cmp(&a.0).then(a.1.cmp(&b.1)));
        let (mut regions, _) = overlook.look(self, at);
        // What has an edge over the piece has it along its border, however inaccurately drawn.
        regions.retain(|(_, id)| !self.has_border_along(*id, edges));
        Covered {
            piece,
            edges: over.iter().map(|o| o.1).collect(),
            edge_nearness: over.iter().map(|o| o.0).collect(),
            regions: regions.iter().map(|o| o.1).collect(),
            region_nearness: regions.iter().map(|o| o.0).collect(),
        }
    }

    /// Lines of sight through an inner point of each region; a line serves all regions on it.
    fn lines_of_sight(&self, overlooks: &[Overlook; 3]) -> Vec<Vec<(Id<Region>, bool)>> {
        let mut served = vec![false; self.faces.regions.len()];
        let mut sights = Vec::new();
        for number in 0..self.faces.regions.len() {
            if served[number] {
                continue;
            }
            let region = &self.faces.regions[number];
            let mut views = View::ALL;
            let lean = self.mean_normal(region);
            views.sort_by(|a, b| {
                let size = |v: &View| lean[v.depth_axis()].abs();
                size(b).total_cmp(&size(a))
            });
            let sight = views.iter().find_map(|view| {
                if region.signs[view.depth_axis()] == 0 {
                    return None;
                }
                self.inner_points(region, *view).find_map(|at| {
                    let (met, borders) = overlooks[view.index()].look(self, at);
                    (borders.is_empty() && met.iter().any(|m| m.1.ix() == number))
                        .then_some((*view, met))
                })
            });
            let Some((view, met)) = sight else { continue };
            let line = met.into_iter().map(|(_, id)| {
                served[id.ix()] = true;
                let lean = self.region(id).signs[view.depth_axis()];
                (id, view.nearness(f64::from(lean)) > 0.0)
            });
            sights.push(line.collect());
        }
        sights
    }

    fn mean_normal(&self, region: &CurvedRegion) -> V3 {
        let surface = self.faces.surface(region);
        let normals = region
            .paths(&self.wireframe)
            .map(|p| surface.normal(&p.middle()));
        normals.fold(V3::zeros(), |sum, n| sum + n)
    }

    /// Points inside a region as a view sees it, the most central ones first.
    fn inner_points<'a>(
        &'a self,
        region: &'a CurvedRegion,
        view: View,
    ) -> impl Iterator<Item = P2> + 'a {
        let [right, up] = view.axes();
        let paths: Vec<&Path> = region.paths(&self.wireframe).collect();
        let mut heights: Vec<f64> = paths.iter().map(|p| p.ends[0][up]).collect();
        heights.extend(paths.iter().map(|p| p.ends[1][up]));
        heights.sort_unstable_by(f64::total_cmp);
        heights.dedup();
        let mut gaps: Vec<[f64; 2]> = heights.windows(2).map(|w| [w[0], w[1]]).collect();
        gaps.sort_by(|a, b| (b[1] - b[0]).total_cmp(&(a[1] - a[0])));
        let levels = gaps
            .into_iter()
            .flat_map(|[low, high]| [0.5, 0.38, 0.63, 0.21, 0.83].map(|s| low + (high - low) * s));
        levels.flat_map(move |level| {
            let mut across: Vec<f64> = paths
                .iter()
                .filter(|p| (p.ends[0][up] <= level) != (p.ends[1][up] <= level))
                .map(|p| p.point_at(up, level)[right])
                .collect();
            across.sort_unstable_by(f64::total_cmp);
            let mut gaps: Vec<[f64; 2]> = across.chunks_exact(2).map(|g| [g[0], g[1]]).collect();
            gaps.sort_by(|a, b| (b[1] - b[0]).total_cmp(&(a[1] - a[0])));
            gaps.into_iter().take(3).flat_map(move |[low, high]| {
                [0.5, 0.36, 0.67].map(|s| P2::new(low + (high - low) * s, level))
            })
        })
    }
}

/// A region's part of the volume, and the box around it.
fn extent(
    wireframe: &CurvedWireframe,
    faces: &CurvedFaces,
    region: &CurvedRegion,
) -> (f64, [P3; 2]) {
    let mut paths = region.paths(wireframe);
    let first = paths.next().map_or([P3::origin(); 2], Path::bounds);
    let bounds = paths.fold(first, |[low, high], path| {
        let [a, b] = path.bounds();
        [low.inf(&a), high.sup(&b)]
    });
    let surface = faces.surface(region);
    let borders = region
        .halves()
        .map(|half| (wireframe.path(half.edge), half.forward));
    (flux(surface, borders), bounds)
}

/// The way of a piece in the view's plane, its depth 0: one path, or short straight ones along a free curve.
fn piece_paths(view: &Arrangement, piece: Id<Piece>) -> Vec<Path> {
    let [right, up] = view.view.axes();
    let lift = |x: f64, y: f64| {
        let mut point = P3::origin();
        (point[right], point[up]) = (x, y);
        point
    };
    let p = &view.pieces[piece];
    let flat = p.ends.map(|n| view.nodes[n].at);
    let ends = flat.map(|at| lift(at.x, at.y));
    let conic = |center: &P2, axes: [V2; 2]| {
        let [u, v] = axes.map(|w| lift(w.x, w.y).coords);
        let mut conic = Conic {
            center: lift(center.x, center.y),
            u,
            v,
            from: 0.0,
            to: 0.0,
        };
        [conic.from, conic.to] = ends.map(|end| conic.angle(&end));
        if conic.to < conic.from {
            conic.to += TAU;
        }
        vec![Path::bent(conic, ends)]
    };
    let Some(carrier) = p.carrier.map(|c| &view.carriers[c as usize]) else {
        return vec![Path::straight(ends[0], ends[1])];
    };
    match carrier {
        Carrier::Circle { center, radius } => conic(center, [V2::x() * *radius, V2::y() * *radius]),
        Carrier::Ellipse { center, axes } => conic(center, *axes),
        Carrier::Free { .. } => {
            let from = carrier.parameter(&flat[0]);
            let to = carrier.onward(from, carrier.parameter(&flat[1]));
            let at = |k: u32| match k {
                0 => ends[0],
                FREE_STEPS => ends[1],
                k => {
                    let share = f64::from(k) / f64::from(FREE_STEPS);
                    let at = carrier.point(from + (to - from) * share);
                    lift(at.x, at.y)
                }
            };
            (0..FREE_STEPS)
                .map(|k| Path::straight(at(k), at(k + 1)))
                .collect()
        }
    }
}

/// Into how many straight steps a free curve is cut to look at it.
const FREE_STEPS: u32 = 8;

/// The edges over blank paper of a view, by where they are seen.
struct BlankPaths {
    edges: Vec<Id<Edge>>,
    index: BoxIndex<2>,
}

impl BlankPaths {
    fn of(board: &CurvedBoard, view: View) -> Self {
        let edges = board.blank[view.index()].clone();
        let boxes: Vec<Bounds<2>> = edges
            .iter()
            .map(|&e| seen_box(board.wireframe.path(e).bounds(), view))
            .collect();
        BlankPaths {
            edges,
            index: BoxIndex::new(&boxes),
        }
    }

    /// Places on each of the parts into which blank edges cut a piece, its middle first.
    fn places(&self, board: &CurvedBoard, piece: &[Path], view: View) -> Vec<[P2; 5]> {
        let axes = view.axes();
        let mut cuts: Vec<(usize, f64)> = Vec::new();
        for (k, path) in piece.iter().enumerate() {
            self.index
                .touching(&seen_box(path.bounds(), view), |number| {
                    let edge = self.edges[number as usize];
                    let shares = path.crossings(board.wireframe.path(edge), axes);
                    cuts.extend(shares.into_iter().map(|share| (k, share)));
                });
        }
        let last = piece.len() - 1;
        cuts.push((last, 1.0));
        cuts.sort_unstable_by(|a, b| a.0.cmp(&b.0).then(a.1.total_cmp(&b.1)));
        let place = |(k, share): (usize, f64)| {
            let at = piece[k].point(share);
            P2::new(at[axes[0]], at[axes[1]])
        };
        let inner = |from, to| SHARES.map(|share| place(between(from, to, share)));
        let mut parts = Vec::new();
        let mut from = (0, 0.0);
        for cut in cuts {
            if (place(cut) - place(from)).norm() > 2.0 * board.tolerance.mm() {
                parts.push(inner(from, cut));
                from = cut;
            }
        }
        if parts.is_empty() {
            parts.push(inner((0, 0.0), (last, 1.0)));
        }
        parts
    }
}

/// Where on a part it is looked, as shares of the way: in the middle, and where that is not clear of borders, elsewhere.
const SHARES: [f64; 5] = [0.5, 0.25, 0.75, 0.1, 0.9];

/// The place at a share of the way between two places on a chain of paths.
#[allow(
    clippy::cast_possible_truncation,
    clippy::cast_precision_loss,
    clippy::cast_sign_loss,
    reason = "a short chain"
)]
fn between(from: (usize, f64), to: (usize, f64), share: f64) -> (usize, f64) {
    let [start, end] = [from, to].map(|(k, rest)| k as f64 + rest);
    let there = start + (end - start) * share;
    let k = (there as usize).min(to.0);
    (k, there - k as f64)
}

fn seen_box([low, high]: [P3; 2], view: View) -> Bounds<2> {
    let [right, up] = view.axes();
    [[low[right], low[up]], [high[right], high[up]]]
}

/// The regions that a view does not see edge-on, by where they are seen.
struct Overlook {
    view: View,
    regions: Vec<Id<Region>>,
    index: BoxIndex<2>,
}

/// The regions that a line of sight meets, with their nearness, and those that it meets on their border.
type Met = (Vec<(f64, Id<Region>)>, Vec<Id<Region>>);

impl Overlook {
    fn of(board: &CurvedBoard, view: View) -> Self {
        let regions: Vec<Id<Region>> = (0..board.faces.regions.len())
            .map(Id::new)
            .filter(|r| board.region(*r).signs[view.depth_axis()] != 0)
            .collect();
        let boxes: Vec<Bounds<2>> = regions
            .iter()
            .map(|r| seen_box(board.extents[r.ix()].1, view))
            .collect();
        Overlook {
            view,
            regions,
            index: BoxIndex::new(&boxes),
        }
    }

    /// The regions over a point of the view, nearest first, and those on whose border the point lies.
    fn look(&self, board: &CurvedBoard, at: P2) -> Met {
        let mut found = Vec::new();
        let mut borders = Vec::new();
        let axes = self.view.axes();
        self.index.touching(&[[at.x, at.y]; 2], |number| {
            let id = self.regions[number as usize];
            let region = board.region(id);
            match locate(
                region.paths(&board.wireframe),
                axes,
                &at,
                board.tolerance.mm(),
            ) {
                Place::Outside => {}
                Place::Border => borders.push(id),
                Place::Inside => {
                    if let Some(depth) = board.depth(id, self.view, at) {
                        found.push((self.view.nearness(depth), id));
                    }
                }
            }
        });
        found.sort_by(|a, b| b.0.total_cmp(&a.0).then(a.1.cmp(&b.1)));
        (found, borders)
    }
}

impl CurvedBoard {
    /// Whether a view shows a border of a curved region and the border opposite as one line: close to its contour a surface
    /// does not get away from it.
    fn is_seen_as_line(&self, region: &CurvedRegion, border: Id<Edge>, view: View) -> bool {
        let edge = |id: Id<Edge>| &self.wireframe.edges[id.ix()];
        let here = edge(border);
        let (Seen::Over(pieces), false) = (
            &here.seen[view.index()],
            self.faces.surface(region).is_plane(),
        ) else {
            return false;
        };
        region.halves().map(|half| edge(half.edge)).any(|other| {
            let apart = here.ends.iter().all(|end| !other.ends.contains(end));
            let shared = |p: &Id<Piece>| pieces.contains(p);
            apart && matches!(&other.seen[view.index()], Seen::Over(pieces) if pieces.iter().any(shared))
        })
    }

    /// The coordinate along the depth axis at which a line of sight meets a region.
    fn depth(&self, id: Id<Region>, view: View, at: P2) -> Option<f64> {
        let region = self.region(id);
        let surface = self.faces.surface(region);
        let axis = view.depth_axis();
        let [right, up] = view.axes();
        let mut from = P3::origin();
        (from[right], from[up]) = (at.x, at.y);
        let mut direction = V3::zeros();
        direction[axis] = 1.0;
        let hits = surface.hits(&from, &direction);
        let [low, high] = self.extents[id.ix()].1;
        // How badly a place suits the region: wrong signs of the normal first, then beyond its box.
        let misfit = |t: &f64| {
            let normal = surface.normal(&(from + direction * *t));
            let wrong: f64 = (0..3)
                .map(|k| (-normal[k] * f64::from(region.signs[k])).max(0.0))
                .sum();
            let beyond = (low[axis] - t).max(t - high[axis]).max(0.0);
            wrong * (high - low).norm() + beyond
        };
        hits.iter()
            .copied()
            .min_by(|a, b| misfit(a).total_cmp(&misfit(b)))
    }
}

impl Board for CurvedBoard {
    fn views(&self) -> &[Arrangement; 3] {
        &self.views
    }

    fn placement(&self) -> Placement {
        self.placement
    }

    fn tolerance(&self) -> Tolerance {
        self.tolerance
    }

    fn without_edge(&self) -> &[Vec<Id<Piece>>; 3] {
        &self.wireframe.without_edge
    }

    fn borders(&self, region: Id<Region>) -> &[Vec<Half>] {
        &self.region(region).borders
    }

    fn region_count(&self) -> usize {
        self.faces.regions.len()
    }

    fn exclusions(&self) -> &[[Id<Region>; 2]] {
        &[]
    }

    fn excludes_all_crossings(&self) -> bool {
        false
    }

    fn extent(&self, region: Id<Region>) -> (f64, [P3; 2]) {
        self.extents[region.ix()]
    }

    fn edge_count(&self) -> usize {
        self.wireframe.edges.len()
    }

    fn ends(&self, edge: Id<Edge>) -> [Id<Vertex>; 2] {
        self.wireframe.edges[edge.ix()].ends
    }

    fn around(&self, edge: Id<Edge>) -> &Leaves {
        &self.faces.around[edge.ix()]
    }

    fn crossing(&self, edge: Id<Edge>, leaves: [&Leaf; 2], view: View) -> Crossing {
        let regions = leaves.map(|leaf| self.region(leaf.region));
        let [a, b] = regions.map(|region| self.faces.surface(region));
        let at = self.wireframe.path(edge).middle();
        let curved = if a.is_plane() { b } else { a };
        let lean = curved.normal(&at)[view.depth_axis()].abs();
        let cone_from_its_end = curved.turned().is_some_and(|turned| {
            matches!(turned.profile, Profile::Cone { .. })
                && turned.axis[view.depth_axis()].abs() > ALONG_VIEW
        });
        if lean > EDGE_ON || cone_from_its_end {
            // Pieces of one surface, and of one plane, have no edge between them that anyone would draw.
            let two_faces = regions[0].surface != regions[1].surface && !curved.is_plane();
            match self.tangent_edges {
                TangentEdges::Drawn if two_faces => Crossing::Tangent,
                TangentEdges::Either if two_faces => Crossing::MaybeTangent,
                // Seen as no more than a line, a region covers nothing but its own other border.
                _ if regions.iter().any(|r| self.is_seen_as_line(r, edge, view)) => {
                    Crossing::EdgeOn
                }
                _ => Crossing::Over,
            }
        } else if curved.is_plane() {
            Crossing::EdgeOn
        } else {
            Crossing::Contour
        }
    }

    fn blank(&self, view: View) -> &[Id<Edge>] {
        &self.blank[view.index()]
    }

    fn at_vertex(&self, vertex: Id<Vertex>) -> Vec<Id<Region>> {
        let edges = self.wireframe.at_vertex[vertex.ix()].iter();
        let mut regions: Vec<Id<Region>> = edges
            .flat_map(|e| self.faces.around[e.ix()].iter().map(|leaf| leaf.region))
            .collect();
        regions.sort_unstable();
        regions.dedup();
        regions
    }

    fn spot_count(&self, view: View) -> u32 {
        u32::try_from(self.spots[view.index()].len()).expect("fewer than 2^32 spots")
    }

    fn piece(&self, spot: Spot) -> Id<Piece> {
        self.spot(spot).piece
    }

    fn edges_over(&self, spot: Spot) -> &[Id<Edge>] {
        &self.spot(spot).edges
    }

    fn regions_over(&self, spot: Spot) -> &[Id<Region>] {
        &self.spot(spot).regions
    }

    fn edge_nearness(&self, spot: Spot, edge: Id<Edge>) -> f64 {
        let spot = self.spot(spot);
        let place = spot.edges.iter().position(|e| *e == edge);
        place.map_or(f64::NEG_INFINITY, |k| spot.edge_nearness[k])
    }

    fn region_nearness(&self, spot: Spot, region: Id<Region>) -> f64 {
        let spot = self.spot(spot);
        let place = spot.regions.iter().position(|r| *r == region);
        place.map_or(f64::NEG_INFINITY, |k| spot.region_nearness[k])
    }

    fn sights(&self, visit: &mut dyn FnMut(&[Sighted])) {
        self.sights.iter().for_each(|met| visit(met));
    }
}

impl CurvedBoard {
    fn spot(&self, spot: Spot) -> &Covered {
        &self.spots[spot.view.index()][spot.number as usize]
    }
}

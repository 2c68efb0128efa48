//! What a line of sight through a point of a view meets.

use super::CurvedBoard;
use crate::face::Region;
use crate::geom::arena::Id;
use crate::geom::pairs::{Bounds, BoxIndex};
use crate::geom::path::Path;
use crate::geom::seen::{Place, locate};
use crate::geom::{Few, P2, P3, V3};
use crate::sheet::View;
use crate::wireframe::Edge;

/// A box of space as a view sees it.
pub(super) fn seen_box([low, high]: [P3; 2], view: View) -> Bounds<2> {
    let [right, up] = view.axes();
    [[low[right], low[up]], [high[right], high[up]]]
}

/// The regions that a view does not see edge-on, by where they are seen.
pub(super) struct Overlook {
    pub(super) view: View,
    regions: Vec<Id<Region>>,
    index: BoxIndex<2>,
    /// The borders of each of the regions, where they are many.
    borders: Vec<Option<Borders>>,
}

/// The regions that a line of sight meets, with their nearness, nearest first.
pub(super) type Inside = Few<(f64, Id<Region>), 8>;

/// Those, and the regions that it meets on their border.
pub(super) type Met = (Inside, Few<Id<Region>, 4>);

impl Overlook {
    pub(super) fn of(board: &CurvedBoard, view: View) -> Self {
        let regions: Vec<Id<Region>> = (0..board.faces.regions.len())
            .map(Id::new)
            .filter(|r| board.region(*r).signs[view.depth_axis()] != 0)
            .collect();
        let boxes: Vec<Bounds<2>> = regions
            .iter()
            .map(|r| seen_box(board.boxes[r.ix()], view))
            .collect();
        let many = |r: &Id<Region>| Borders::of(board, *r, view);
        Overlook {
            view,
            borders: regions.iter().map(many).collect(),
            regions,
            index: BoxIndex::new(&boxes),
        }
    }

    /// The regions over a point of the view, nearest first, and those on whose border the point lies, but for those in `skip`.
    pub(super) fn look(&self, board: &CurvedBoard, at: P2, skip: &[Id<Region>]) -> Met {
        let mut found = Inside::new();
        let mut borders = Few::new();
        self.index.touching(&[[at.x, at.y]; 2], |number| {
            let id = self.regions[number as usize];
            if skip.contains(&id) {
                return;
            }
            match self.place(board, number as usize, &at) {
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

    /// Where a point of the view lies, seen from one of the regions.
    fn place(&self, board: &CurvedBoard, number: usize, at: &P2) -> Place {
        let (axes, reach) = (self.view.axes(), board.tolerance.mm());
        match &self.borders[number] {
            Some(borders) => locate(borders.beside(board, at).into_iter(), axes, at, reach),
            None => {
                let region = board.region(self.regions[number]);
                locate(region.paths(&board.wireframe), axes, at, reach)
            }
        }
    }
}

/// A region with fewer borders than this is looked at border by border.
const MANY: usize = 60;

/// The many borders of a region, found by where they are seen.
struct Borders {
    edges: Vec<Id<Edge>>,
    index: BoxIndex<2>,
}

impl Borders {
    fn of(board: &CurvedBoard, id: Id<Region>, view: View) -> Option<Self> {
        let region = board.region(id);
        if region.halves().count() < MANY {
            return None;
        }
        let edges: Vec<Id<Edge>> = region.halves().map(|half| half.edge).collect();
        let reach = board.tolerance.mm();
        let [[leftmost, _], _] = seen_box(board.boxes[id.ix()], view);
        // A border matters to all points to its left, for they are inside or outside by how many they have to their right.
        let around = |edge: &Id<Edge>| {
            let [[_, low], [right, high]] = seen_box(board.wireframe.path(*edge).bounds(), view);
            [[leftmost, low - reach], [right + reach, high + reach]]
        };
        let boxes: Vec<Bounds<2>> = edges.iter().map(around).collect();
        let index = BoxIndex::new(&boxes);
        Some(Borders { edges, index })
    }

    /// The borders that have a say in where a point lies.
    fn beside<'b>(&self, board: &'b CurvedBoard, at: &P2) -> Vec<&'b Path> {
        let mut paths = Vec::new();
        self.index.touching(&[[at.x, at.y]; 2], |number| {
            paths.push(board.wireframe.path(self.edges[number as usize]));
        });
        paths
    }
}

impl CurvedBoard {
    /// The coordinate along the depth axis at which a line of sight meets a region.
    pub(super) fn depth(&self, id: Id<Region>, view: View, at: P2) -> Option<f64> {
        let region = self.region(id);
        let surface = self.faces.surface(region);
        let axis = view.depth_axis();
        let [right, up] = view.axes();
        let mut from = P3::origin();
        (from[right], from[up]) = (at.x, at.y);
        let mut direction = V3::zeros();
        direction[axis] = 1.0;
        let hits = surface.hits(&from, &direction);
        let [low, high] = self.boxes[id.ix()];
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

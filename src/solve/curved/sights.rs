//! Lines of sight through one inner point of each region.

use super::CurvedBoard;
use super::overlook::Overlook;
use crate::face::Region;
use crate::face::curved::CurvedRegion;
use crate::geom::arena::Id;
use crate::geom::path::Path;
use crate::geom::{P2, P3, V3};
use crate::sheet::View;

impl CurvedBoard {
    /// Lines of sight through an inner point of each region; a line serves all regions on it.
    pub(super) fn lines_of_sight(&self, overlooks: &[Overlook; 3]) -> Vec<Vec<(Id<Region>, bool)>> {
        let mut served = vec![false; self.faces.regions.len()];
        let mut sights = Vec::new();
        for number in 0..self.faces.regions.len() {
            if served[number] {
                continue;
            }
            let region = &self.faces.regions[number];
            let sight = self.views_of(region).find_map(|view| {
                self.inner_points(region, view).find_map(|at| {
                    let (met, borders) = overlooks[view.index()].look(self, at, &[]);
                    (borders.is_empty() && met.iter().any(|m| m.1.ix() == number))
                        .then_some((view, met))
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

    /// Whether the middle of a region lies within the tolerance of another region's surface.
    pub(super) fn is_beside(&self, one: Id<Region>, other: Id<Region>) -> bool {
        let middle = self.views_of(self.region(one)).find_map(|view| {
            let [right, up] = view.axes();
            let at = self.inner_points(self.region(one), view).next()?;
            let mut middle = P3::origin();
            (middle[right], middle[up]) = (at.x, at.y);
            middle[view.depth_axis()] = self.depth(one, view, at)?;
            Some(middle)
        });
        let surface = self.faces.surface(self.region(other));
        middle.is_some_and(|at| surface.distance(&at).abs() <= self.tolerance.mm())
    }

    /// The views that do not see a region edge-on, the one that sees most of it first.
    fn views_of(&self, region: &CurvedRegion) -> impl Iterator<Item = View> + use<> {
        let (lean, signs) = (self.mean_normal(region), region.signs);
        let mut views = View::ALL;
        views.sort_by(|a, b| {
            let size = |v: &View| lean[v.depth_axis()].abs();
            size(b).total_cmp(&size(a))
        });
        let sees = move |view: &View| signs[view.depth_axis()] != 0;
        views.into_iter().filter(sees)
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

//! Tori of which no section is drawn as an arc, for something else has cut away where the section would show.
//!
//! The upper and the lower circle of a torus are contours in both side views and show as rows. Where they are cut, each ends on
//! the curve of the cut, which is highest and lowest there. A circle of the end-on view then is the widest or the narrowest.

use super::turned::{Found, Given, end_on, lifted, side_views, turned};
use crate::geom::P2;
use crate::geom::carrier::Carrier;
use crate::geom::num::Diagonal;
use crate::geom::surface::Profile;
use crate::sheet::View;

/// Adds the tori about one axis with a circle of the end-on view whose upper and lower circle end on a sampled curve.
pub(super) fn tori(given: &Given, along: usize, found: &mut Found) {
    let end_on = end_on(along);
    for (across, side) in side_views(along) {
        for carrier in &given.views[side.index()].carriers {
            let Some(tops) = Tops::of((carrier, side), given, along, found.tolerance) else {
                continue;
            };
            for ring in given.rings(end_on) {
                let mut origin = lifted(end_on, ring.center, 0.0);
                origin[along] = f64::midpoint(tops.low, tops.high);
                let minor = 0.5 * (tops.high - tops.low);
                for major in [ring.radius - minor, ring.radius + minor] {
                    let center = [origin[across], origin[along]];
                    if major > minor && tops.fit(center, [major, minor], found.tolerance) {
                        let profile = Profile::Torus { major, minor };
                        found.add(along, turned(along, origin, profile), [0.0; 2]);
                    }
                }
            }
        }
    }
}

/// A sampled curve of a side view with rows that end on it where it is lowest and highest.
struct Tops {
    low: f64,
    high: f64,
    /// Points of the curve, across the axis and along it.
    points: Vec<[f64; 2]>,
    /// The rows, across the axis.
    rows: Vec<[f64; 2]>,
}

impl Tops {
    fn of(
        (carrier, side): (&Carrier, View),
        given: &Given,
        along: usize,
        tolerance: f64,
    ) -> Option<Self> {
        let Carrier::Free { points } = carrier else {
            return None;
        };
        let up = usize::from(side.axes()[1] == along);
        let points: Vec<[f64; 2]> = points.iter().map(|p| [p[1 - up], p[up]]).collect();
        let heights = points.iter().map(|p| p[1]);
        let low = heights.clone().fold(f64::INFINITY, f64::min);
        let high = heights.fold(f64::NEG_INFINITY, f64::max);
        let ends_on_curve = |x: f64, height: f64| {
            let at = if up == 1 {
                P2::new(x, height)
            } else {
                P2::new(height, x)
            };
            carrier.distance(&at) <= tolerance
        };
        let mut ending = Vec::new();
        for height in [low, high] {
            let place = given.axes.find(along, height)?;
            let rows = given.rows.at(side, along, place).iter().map(|row| row.span);
            let before = ending.len();
            ending.extend(rows.filter(|span| span.iter().any(|x| ends_on_curve(*x, height))));
            if ending.len() == before {
                return None;
            }
        }
        (high - low > 4.0 * tolerance).then_some(Tops {
            low,
            high,
            points,
            rows: ending,
        })
    }

    /// Whether curve and rows lie within the outline of a torus with this centre.
    fn fit(&self, [x, z]: [f64; 2], [major, minor]: [f64; 2], tolerance: f64) -> bool {
        let within = |[px, pz]: &[f64; 2]| {
            let out = (px - x).abs() - major;
            out <= tolerance || out.diagonal(pz - z) <= minor + tolerance
        };
        let reach = |end: &f64| (end - x).abs() <= major + tolerance;
        self.points.iter().all(within) && self.rows.iter().flatten().all(reach)
    }
}

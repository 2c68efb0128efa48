//! Pairs of regions that cannot both be there.
//!
//! Two regions of different planes that cross along a line would have an edge there, and a drawn one: where no candidate
//! edge lies, they exclude each other. A corner that touches the inside of a region excludes it from all regions at the
//! corner.

use super::{Faces, Region, flat, flat_axes};
use crate::geom::arena::Id;
use crate::geom::crowded::CrowdedError;
use crate::geom::pairs::{Bounds, BoxIndex, overlapping};
use crate::geom::plane::Plane;
use crate::geom::tolerance::Tolerance;
use crate::geom::{P2, P3, V3};
use crate::wireframe::Wireframe;
use itertools::Itertools;

/// All such pairs, each once, in a fixed order.
///
/// # Errors
/// If too many regions lie near one another.
pub(super) fn exclusions(
    wireframe: &Wireframe,
    faces: &Faces,
    tolerance: Tolerance,
) -> Result<Vec<[Id<Region>; 2]>, CrowdedError> {
    let outlines: Vec<Outline> = faces
        .regions
        .ids()
        .map(|id| Outline::of(wireframe, faces, id))
        .collect();
    let boxes: Vec<Bounds<3>> = outlines.iter().map(|o| o.bounds).collect();
    let mut found = Vec::new();
    for (i, j) in overlapping(&boxes)? {
        let (f, g) = (&outlines[i as usize], &outlines[j as usize]);
        if f.straddles(&g.plane, tolerance)
            && g.straddles(&f.plane, tolerance)
            && cross(f, g, tolerance)
        {
            found.push([Id::new(i as usize), Id::new(j as usize)]);
        }
    }
    found.extend(touching(wireframe, faces, &outlines, &boxes, tolerance));
    for pair in &mut found {
        pair.sort_unstable();
    }
    found.sort_unstable();
    found.dedup();
    Ok(found)
}

/// A region as geometry.
struct Outline {
    plane: Plane,
    bounds: Bounds<3>,
    /// The segments of its borders.
    sides: Vec<[P3; 2]>,
}

impl Outline {
    fn of(wireframe: &Wireframe, faces: &Faces, id: Id<Region>) -> Self {
        let sides: Vec<[P3; 2]> = faces.regions[id]
            .halves()
            .map(|h| wireframe.span(h.edge))
            .collect();
        let first = sides[0][0];
        let (lo, hi) = sides
            .iter()
            .flatten()
            .fold((first, first), |(lo, hi), p| (lo.inf(p), hi.sup(p)));
        Outline {
            plane: *faces.plane(id),
            bounds: [[lo.x, lo.y, lo.z], [hi.x, hi.y, hi.z]],
            sides,
        }
    }

    /// Whether its box reaches beyond a plane on both sides, by more than the tolerance.
    fn straddles(&self, plane: &Plane, tolerance: Tolerance) -> bool {
        let [lo, hi] = self.bounds;
        let reach = |sign: f64| -> f64 {
            let farthest = [0, 1, 2].map(|k| {
                let n = plane.normal[k];
                if n * sign > 0.0 { n * hi[k] } else { n * lo[k] }
            });
            sign * (farthest.iter().sum::<f64>() - plane.offset)
        };
        reach(1.0) > tolerance.slack() && reach(-1.0) > tolerance.slack()
    }

    /// Where the borders meet another plane, measured along `direction`, which lies in both planes.
    fn meets<'a>(
        &'a self,
        plane: &'a Plane,
        direction: &'a V3,
        tolerance: Tolerance,
    ) -> impl Iterator<Item = (f64, P3)> + 'a {
        self.sides.iter().flat_map(move |[a, b]| {
            let (da, db) = (plane.distance(a), plane.distance(b));
            let on = |p: &P3, d: f64| (d.abs() <= tolerance.slack()).then_some(*p);
            let crossing = (da * db < 0.0 && da.abs().min(db.abs()) > tolerance.slack())
                .then(|| a + (b - a) * (da / (da - db)));
            [on(a, da), on(b, db), crossing]
                .into_iter()
                .flatten()
                .map(|p| (direction.dot(&p.coords), p))
        })
    }

    /// Whether a point of its plane lies inside it, farther from every border than the tolerance.
    fn contains(&self, point: &P3, tolerance: Tolerance) -> bool {
        let axes = flat_axes(&self.plane.normal);
        let p = flat(axes, point);
        let mut inside = false;
        for side in &self.sides {
            if near(point, side, tolerance) {
                return false;
            }
            let [a, b]: [P2; 2] = side.map(|end| flat(axes, &end));
            if (a.y <= p.y) != (b.y <= p.y) && p.x < a.x + (b.x - a.x) * ((p.y - a.y) / (b.y - a.y))
            {
                inside = !inside;
            }
        }
        inside
    }
}

/// Whether a point lies within the tolerance of a segment.
fn near(point: &P3, [a, b]: &[P3; 2], tolerance: Tolerance) -> bool {
    let along = b - a;
    let reach = (along.dot(&(point - a)) / along.norm_squared()).clamp(0.0, 1.0);
    (a + along * reach - point).norm() <= tolerance.slack()
}

/// Whether two regions share an open stretch of line inside both.
fn cross(f: &Outline, g: &Outline, tolerance: Tolerance) -> bool {
    let direction = f.plane.normal.cross(&g.plane.normal);
    if direction.norm() <= f64::EPSILON.sqrt() {
        return false;
    }
    let direction = direction.normalize();
    let mut stops: Vec<(f64, P3)> = f
        .meets(&g.plane, &direction, tolerance)
        .chain(g.meets(&f.plane, &direction, tolerance))
        .collect();
    stops.sort_unstable_by(|a, b| a.0.total_cmp(&b.0));
    stops
        .iter()
        .tuple_windows()
        .filter(|(a, b)| b.0 - a.0 > tolerance.slack())
        .any(|(a, b)| {
            let middle = nalgebra::center(&a.1, &b.1);
            f.contains(&middle, tolerance) && g.contains(&middle, tolerance)
        })
}

/// Pairs of a region and another with a corner inside it.
fn touching(
    wireframe: &Wireframe,
    faces: &Faces,
    outlines: &[Outline],
    boxes: &[Bounds<3>],
    tolerance: Tolerance,
) -> Vec<[Id<Region>; 2]> {
    let index = BoxIndex::new(boxes);
    let mut found = Vec::new();
    for (id, vertex) in wireframe.vertices.enumerate() {
        let at = vertex.at;
        let edges = &wireframe.at_vertex[id.ix()];
        let margin = tolerance.slack();
        let around = [
            [at.x - margin, at.y - margin, at.z - margin],
            [at.x + margin, at.y + margin, at.z + margin],
        ];
        index.touching(&around, |r| {
            let outline = &outlines[r as usize];
            if outline.plane.distance(&at).abs() > tolerance.slack() {
                return;
            }
            let region = Id::<Region>::new(r as usize);
            let plane = faces.regions[region].plane;
            // A corner of the plane's own subdivision lies on borders only; that is quickly seen.
            let leaves = edges.iter().flat_map(|e| &faces.around[e.ix()]);
            let mut planes = leaves.map(|leaf| faces.regions[leaf.region].plane);
            if !planes.any(|other| other == plane) && outline.contains(&at, tolerance) {
                let own = faces.at_vertex(wireframe, id);
                found.extend(own.into_iter().map(|o| [region, o]));
            }
        });
    }
    found
}

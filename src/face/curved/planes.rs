//! Every plane that two straight candidate edges at a vertex span, and every plane of a round edge.

use super::count;
use crate::face::surfaces::fitted;
use crate::geom::arena::Id;
use crate::geom::path::{Course, Path};
use crate::geom::plane::Plane;
use crate::geom::surface::Surface;
use crate::geom::tolerance::{ROUNDING, Tolerance};
use crate::geom::{P3, V3};
use crate::wireframe::Edge;
use crate::wireframe::curved::CurvedWireframe;

/// Two edges span a plane if the sine of the angle between them is more than this.
const BENT: f64 = 1e-3;

/// A normal this near to an axis is along it, if the drawing's tolerance says so as well.
const UPRIGHT: f64 = 1e-2;

/// All planes, those across an axis first.
pub(super) fn planes(wireframe: &CurvedWireframe, tolerance: Tolerance) -> Vec<Surface> {
    let mut spanned: Vec<(f64, [P3; 3])> = Vec::new();
    for (vertex, here) in wireframe.at_vertex.iter().enumerate() {
        for (i, &a) in here.iter().enumerate() {
            for &b in &here[..i] {
                spanned.extend(corner(wireframe, vertex, [a, b]));
            }
        }
    }
    for edge in &wireframe.edges {
        if !edge.path.is_straight() {
            let [a, b] = edge.path.ends;
            let c = edge.path.middle();
            spanned.extend(flat_area(&edge.path, [a, b, c]));
        }
    }
    // The widest corners span their planes best.
    spanned.sort_by(|a, b| b.0.total_cmp(&a.0));
    let mut found = Found {
        wireframe,
        straight: [Vec::new(), Vec::new(), Vec::new()],
        slanting: Vec::new(),
        tolerance,
    };
    for (_, points) in &spanned {
        found.add(points);
    }
    let straight = found.straight.into_iter().flatten();
    straight.chain(found.slanting).map(Surface::Plane).collect()
}

/// The points that span the plane of two straight edges at a vertex, with the area of their triangle.
fn corner(
    wireframe: &CurvedWireframe,
    vertex: usize,
    edges: [Id<Edge>; 2],
) -> Option<(f64, [P3; 3])> {
    let at = wireframe.vertices[vertex];
    let mut far = [at; 2];
    for (edge, far) in edges.into_iter().zip(&mut far) {
        let edge = &wireframe.edges[edge.ix()];
        if !edge.path.is_straight() {
            return None;
        }
        let [a, b] = edge.ends;
        *far = wireframe.vertices[if a.ix() == vertex { b } else { a }.ix()];
    }
    let [u, v] = far.map(|p| p - at);
    let area = u.cross(&v).norm();
    (area > BENT * u.norm() * v.norm()).then_some((area, [at, far[0], far[1]]))
}

/// Three points of a curve, if it is flat.
fn flat_area(path: &Path, points: [P3; 3]) -> Option<(f64, [P3; 3])> {
    let [a, b, c] = points;
    let normal = (b - a).cross(&(c - a));
    let area = normal.norm();
    let flat = match &path.course {
        Course::Conic(_) => true,
        Course::Straight => false,
        Course::Meeting(_) => [0.2, 0.35, 0.65, 0.8].iter().all(|&share| {
            let off = normal.dot(&(path.point(share) - a)) / area;
            off.abs() <= 1e-6 * (b - a).norm()
        }),
    };
    (flat && area > 0.0).then_some((area, points))
}

struct Found<'a> {
    wireframe: &'a CurvedWireframe,
    /// Planes across x, y and z.
    straight: [Vec<Plane>; 3],
    slanting: Vec<Plane>,
    tolerance: Tolerance,
}

impl Found<'_> {
    fn add(&mut self, points: &[P3; 3]) {
        let [a, b, c] = points;
        let normal = (b - a).cross(&(c - a)).normalize();
        let axis = normal.iamax();
        let same = |p: &P3| (p[axis] - a[axis]).abs() <= self.tolerance.mm();
        let upright = (0..3).all(|k| k == axis || normal[k].abs() <= UPRIGHT);
        if upright && same(b) && same(c) {
            let near = |plane: &Plane| (plane.offset - a[axis]).abs() <= self.tolerance.mm();
            if !self.straight[axis].iter().any(near) {
                let mut unit = V3::zeros();
                unit[axis] = 1.0;
                self.straight[axis].push(Plane::through(a, &unit));
            }
            return;
        }
        let slack = self.tolerance.slack();
        let passes = |plane: &Plane| points.iter().all(|p| plane.distance(p).abs() <= slack);
        if self.slanting.iter().any(passes) {
            return;
        }
        let plane = Plane::through(a, &normal);
        let off = |p: &P3| plane.distance(p).abs();
        let edges = self.wireframe.edges.iter().filter(|e| {
            e.path.ends.iter().all(|p| off(p) <= slack) && off(&e.path.middle()) <= slack
        });
        let mut ends: Vec<P3> = edges.flat_map(|e| e.path.ends).collect();
        // Edges that merely leave the plane slowly must not tilt it: most ends lie on it much better than they do.
        ends.sort_by(|p, q| off(p).total_cmp(&off(q)));
        let typical = ends.get(ends.len() / 2).map_or(0.0, off);
        let good = ends.partition_point(|p| off(p) <= (3.0 * typical).max(ROUNDING));
        ends.truncate(good);
        self.slanting
            .push(self.edge_on(fitted(plane, &ends), &ends));
    }

    /// A fitted plane made to stand exactly edge-on to the views that see it so, if its points say so within the tolerance: a
    /// lean of a hair's breadth would be one side of it turned to the view.
    fn edge_on(&self, plane: Plane, points: &[P3]) -> Plane {
        let flat = plane
            .normal
            .map(|c| if c.abs() <= UPRIGHT { 0.0 } else { c });
        let middle = points.iter().fold(V3::zeros(), |sum, p| sum + p.coords) / count(points.len());
        let straight = Plane::through(&middle.into(), &flat.normalize());
        let near = |p: &P3| straight.distance(p).abs() <= self.tolerance.slack();
        if flat != plane.normal && points.iter().all(near) {
            straight
        } else {
            plane
        }
    }
}

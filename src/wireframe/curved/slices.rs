//! Planes that may cut curved surfaces in edges, each with the drawn line along it in the views that see it edge-on.
//!
//! Whatever lies in a plane shows as a part of one straight line where the plane is seen edge-on. So only as much of the
//! plane matters as there is drawn line along it; most planes have next to none where they pass through a surface.

use super::turned::Candidate;
use crate::arrange::{Arrangement, Node, Run, Slope};
use crate::geom::arena::Id;
use crate::geom::axis::Axes;
use crate::geom::carrier::Carrier;
use crate::geom::plane::Plane;
use crate::geom::surface::Profile;
use crate::geom::{Few, P3, V3};

/// Two surfaces whose normals differ by less (sine of the angle) touch rather than cross.
pub(super) const TOUCHING: f64 = 1e-3;

/// A component of a plane's normal that is less than this is nought.
const EDGE_ON: f64 = 1e-9;

/// Planes at all points nearer than this, in millimetres, are one.
const SAME: f64 = 1e-9;

/// A plane and the drawn line along it.
pub(super) struct Slice {
    pub(super) plane: Plane,
    /// The object axis it is across; none if it slants.
    across: Option<usize>,
    /// For each view that sees it edge-on, an object axis along which line is drawn, and from where to where.
    lines: Few<(usize, Vec<[f64; 2]>), 2>,
}

impl Slice {
    fn of(plane: Plane, across: Option<usize>, views: &[Arrangement; 3], reach: f64) -> Self {
        let edge_on = views
            .iter()
            .filter(|view| plane.normal[view.view.depth_axis()].abs() <= EDGE_ON);
        let lines = edge_on
            .map(|view| lines_along(&plane, view, reach))
            .collect();
        Slice {
            plane,
            across,
            lines,
        }
    }

    /// As much of a box, `reach` wider, as the drawn line along the plane reaches from end to end; none if there is none.
    pub(super) fn narrowed(&self, bounds: &[P3; 2], reach: f64) -> Option<[P3; 2]> {
        let mut left = *bounds;
        for (axis, spans) in &self.lines {
            let wide = [left[0][*axis] - reach, left[1][*axis] + reach];
            let within = spans.iter().filter(|s| s[0] <= wide[1] && wide[0] <= s[1]);
            let hull = within.fold([f64::INFINITY, f64::NEG_INFINITY], |hull, span| {
                [hull[0].min(span[0]), hull[1].max(span[1])]
            });
            left[0][*axis] = left[0][*axis].max(hull[0] - reach);
            left[1][*axis] = left[1][*axis].min(hull[1] + reach);
        }
        (0..3).all(|k| left[0][k] <= left[1][k]).then_some(left)
    }

    /// Whether it may cut a surface in a curve that neither rows nor arcs show in true shape.
    pub(super) fn cuts(&self, of: &Candidate, has_sampled: bool, tolerance: f64) -> bool {
        let Some(axis) = self.across else {
            // A cylinder is cut along its axis in straight lines.
            let cylinder = matches!(of.surface.profile, Profile::Cylinder { .. });
            return !cylinder || self.plane.normal.dot(&of.surface.axis).abs() > TOUCHING;
        };
        let bent = match of.surface.profile {
            // In a hyperbola, and a torus in a curve of the fourth degree.
            Profile::Cone { .. } => true,
            Profile::Torus { .. } => has_sampled,
            Profile::Cylinder { .. } => of.along.is_none(),
            Profile::Sphere { .. } => false,
        };
        // Through the axis it is a pair of straight lines, or of circles.
        let aside = || {
            (self.plane.offset - of.surface.origin[axis]).abs() > tolerance
                || of.surface.axis[axis].abs() > TOUCHING
        };
        bent && Some(axis) != of.along && aside()
    }
}

/// Planes seen edge-on as a sloping line, and planes across an axis at each known place, where line is drawn along them.
pub(super) fn slices(views: &[Arrangement; 3], axes: &Axes, reach: f64) -> Vec<Slice> {
    let mut all: Vec<Slice> = Vec::new();
    for view in views {
        let [right, up] = view.view.axes();
        for run in view.runs.iter().filter(|r| r.slope == Slope::Sloping) {
            let [a, b] = run_ends(run).map(|n| view.nodes[n].at);
            let along = (b - a).normalize();
            let (mut normal, mut point) = (V3::zeros(), P3::origin());
            (normal[right], normal[up]) = (-along.y, along.x);
            (point[right], point[up]) = (a.x, a.y);
            let plane = Plane::through(&point, &normal);
            let known = |s: &Slice| {
                (s.plane.normal - plane.normal).amax() < SAME * 1e-3
                    && (s.plane.offset - plane.offset).abs() < SAME
            };
            if !all.iter().any(known) {
                all.push(Slice::of(plane, None, views, reach));
            }
        }
    }
    for axis in 0..3 {
        let places = u32::try_from(axes.len(axis)).expect("fewer than 2^32 places");
        for place in 0..places {
            let plane = Plane {
                normal: V3::ith(axis, 1.0),
                offset: axes.value(axis, place),
            };
            let slice = Slice::of(plane, Some(axis), views, reach);
            if slice.lines.iter().all(|(_, spans)| !spans.is_empty()) {
                all.push(slice);
            }
        }
    }
    all
}

fn run_ends(run: &Run) -> [Id<Node>; 2] {
    [run.nodes[0], run.nodes[run.nodes.len() - 1]]
}

/// An axis of a view that sees a plane edge-on, and the stretches of it where the view has drawn line along the plane.
fn lines_along(plane: &Plane, view: &Arrangement, reach: f64) -> (usize, Vec<[f64; 2]>) {
    let [right, up] = view.view.axes();
    let side = usize::from(plane.normal[right].abs() >= plane.normal[up].abs());
    let mut spans = Vec::new();
    let mut add = |ends: [Id<Node>; 2]| {
        let [a, b] = ends.map(|n| view.nodes[n].at);
        let off = |x: f64, y: f64| plane.normal[right] * x + plane.normal[up] * y - plane.offset;
        if off(a.x, a.y).abs() <= reach && off(b.x, b.y).abs() <= reach {
            spans.push([a[side].min(b[side]), a[side].max(b[side])]);
        }
    };
    for run in view.runs.iter() {
        match run.carrier.map(|c| &view.carriers[c as usize]) {
            None => add(run_ends(run)),
            // A sampled curve may well be straight for a while.
            Some(Carrier::Free { .. }) => run
                .nodes
                .windows(2)
                .for_each(|pair| add([pair[0], pair[1]])),
            Some(Carrier::Circle { .. } | Carrier::Ellipse { .. }) => {}
        }
    }
    ([right, up][side], spans)
}

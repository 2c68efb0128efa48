//! Cylinders and cones whose axis lies in a plane across an object axis, but not along one: inclined holes and bosses, mitred
//! tubes, inclined countersinks and spouts.
//!
//! The view that sees the axis in its true length shows two sloping contours: parallel, as far apart as the cylinder is wide,
//! or, of a cone (`tapered`), mirror images about the axis. In both other views a cylinder's contours run along the axis of
//! the sheet on either side of its own, or its ends are ellipses; either says how deep the axis lies. Of a part of a cylinder,
//! such as a groove down a slope, one contour is enough if an end shows as an ellipse: that says where the axis is.

use super::Stretch;
use super::rows::{Rows, shared, view_of};
use super::straight::point;
use super::tapered::{self, Wedge, along_axes};
use super::turned::Candidate;
use crate::arrange::{Arrangement, Run, Slope};
use crate::geom::arena::Id;
use crate::geom::axis::Axes;
use crate::geom::carrier::Carrier;
use crate::geom::num::{Diagonal, arc_cosine, sin_cos};
use crate::geom::path::Path;
use crate::geom::surface::{Profile, Surface, Turned};
use crate::geom::{P2, P3, V2, V3};
use crate::sheet::View;

/// Two sloping lines are parallel if the sine of the angle between them is less than this, and their ends say so too.
const PARALLEL: f64 = 0.01;

/// Pairs of sloping lines beyond this number are not looked at.
const MOST_PAIRS: usize = 20_000;

/// Sloping lines of a view beyond this number are not looked at on their own.
const MOST_CONTOURS: usize = 400;

/// All such cylinders, each once.
pub(super) fn surfaces(
    views: &[Arrangement; 3],
    axes: &Axes,
    rows: &Rows,
    tolerance: f64,
) -> Vec<Candidate> {
    let mut found: Vec<Candidate> = Vec::new();
    for view in views {
        let slopes = straight(view, Slope::Sloping);
        let mut pairs = 0;
        for (i, a) in slopes.iter().enumerate() {
            for b in &slopes[..i] {
                pairs += 1;
                if pairs > MOST_PAIRS {
                    continue;
                }
                if let Some(band) = Band::between(a, b, tolerance) {
                    for depth in depths(views, (axes, rows), view.view, &band, tolerance) {
                        add(&mut found, band.cylinder(view.view, depth), tolerance);
                    }
                } else if let Some(wedge) = Wedge::between(a, b, tolerance) {
                    for cone in wedge.cones(views, view.view, tolerance) {
                        add(&mut found, cone, tolerance);
                    }
                }
            }
        }
        for cone in along_axes(views, view, tolerance) {
            add(&mut found, cone, tolerance);
        }
        for contour in slopes.iter().take(MOST_CONTOURS) {
            for cylinder in by_mouths(views, axes, view.view, contour, tolerance) {
                add(&mut found, cylinder, tolerance);
            }
            for cone in tapered::by_mouths(views, axes, (view.view, contour), tolerance) {
                add(&mut found, cone, tolerance);
            }
        }
    }
    found
}

/// The cylinders with a contour in a view that meet a plane across an axis of it in a drawn ellipse.
///
/// A cylinder that meets the plane at a slant is longer there than wide by the sine of the slant, and the ellipse's centre is
/// on its axis, at the height of the plane.
fn by_mouths(
    views: &[Arrangement; 3],
    axes: &Axes,
    view: View,
    contour: &[P2; 2],
    tolerance: f64,
) -> Vec<Turned> {
    let depth = view.depth_axis();
    let along = (contour[1] - contour[0]).normalize();
    let across = V2::new(-along.y, along.x);
    let mut found = Vec::new();
    for (k, axis) in view.axes().into_iter().enumerate() {
        let other = &views[view_of(axis, depth).index()];
        let side = usize::from(other.view.axes()[1] == depth);
        for carrier in &other.carriers {
            let (Some((center, wide)), Some((_, long))) =
                (round(carrier, side), round(carrier, 1 - side))
            else {
                continue;
            };
            if (long * along[1 - k].abs() - wide).abs() > tolerance {
                continue;
            }
            for out in [wide, -wide] {
                let start = contour[0] + across * out;
                let middle = start + along * ((center[1 - side] - start[k]) / along[k]);
                if axes.find(view.axes()[1 - k], middle[1 - k]).is_some() {
                    let [right, up] = view.axes();
                    found.push(Turned {
                        origin: point([right, up, depth], [middle.x, middle.y, center[side]]),
                        axis: point([right, up, depth], [along.x, along.y, 0.0]).coords,
                        profile: Profile::Cylinder { radius: wide },
                    });
                }
            }
        }
    }
    found
}

/// The ends of the straight runs of a view that slope so.
pub(super) fn straight(view: &Arrangement, slope: Slope) -> Vec<[P2; 2]> {
    let runs = view.runs.iter().filter(|r| r.slope == slope);
    runs.map(|r| ends(view, r)).collect()
}

fn ends(view: &Arrangement, run: &Run) -> [P2; 2] {
    [run.nodes[0], run.nodes[run.nodes.len() - 1]].map(|n| view.nodes[n].at)
}

/// The strip between two parallel sloping lines, a cylinder seen from the side.
struct Band {
    /// A point of its middle line, and that line's direction.
    middle: P2,
    along: V2,
    radius: f64,
    /// The box around the two lines.
    low: P2,
    high: P2,
}

impl Band {
    fn between(a: &[P2; 2], b: &[P2; 2], tolerance: f64) -> Option<Self> {
        let (u, v) = (a[1] - a[0], b[1] - b[0]);
        let v = if u.dot(&v) < 0.0 { -v } else { v };
        if u.perp(&v).abs() > PARALLEL * u.norm() * v.norm() {
            return None;
        }
        // The longer a line the better its direction.
        let along = (u + v).normalize();
        let off = |p: &P2| along.perp(&(p - a[0]));
        let width = 0.5 * (off(&b[0]) + off(&b[1]));
        let start = 0.5 * off(&a[1]);
        let straight = (off(&a[1]) - start).abs() <= tolerance
            && b.iter().all(|p| (off(p) - width).abs() <= tolerance);
        let across = V2::new(-along.y, along.x);
        (straight && width.abs() > 4.0 * tolerance).then(|| Band {
            middle: a[0] + across * (0.5 * (start + width)),
            along,
            radius: 0.5 * (width - start).abs(),
            low: a[0].inf(&a[1]).inf(&b[0]).inf(&b[1]),
            high: a[0].sup(&a[1]).sup(&b[0]).sup(&b[1]),
        })
    }

    /// The cylinder whose axis lies at a depth of the view.
    fn cylinder(&self, view: View, depth: f64) -> Turned {
        let [right, up] = view.axes();
        let axes = [right, up, view.depth_axis()];
        Turned {
            origin: point(axes, [self.middle.x, self.middle.y, depth]),
            axis: point(axes, [self.along.x, self.along.y, 0.0]).coords,
            profile: Profile::Cylinder {
                radius: self.radius,
            },
        }
    }
}

/// The depths at which the axis may lie: half-way between two rows of another view that are as far apart as the cylinder is
/// wide, or at the centre of an ellipse or circle as wide as it.
fn depths(
    views: &[Arrangement; 3],
    (axes, rows): (&Axes, &Rows),
    view: View,
    band: &Band,
    tolerance: f64,
) -> Vec<f64> {
    let depth = view.depth_axis();
    let places = u32::try_from(axes.len(depth)).expect("fewer than 2^32 places");
    let mut found = Vec::new();
    for (k, axis) in view.axes().into_iter().enumerate() {
        let other = view_of(axis, depth);
        let span = [band.low[k], band.high[k]];
        let has_row = |place: u32| {
            let mut rows = rows.at(other, depth, place).iter();
            rows.any(|row| shared(row.span, span, tolerance).is_some())
        };
        for place in (0..places).filter(|place| has_row(*place)) {
            let near = axes.value(depth, place);
            let far = axes.find(depth, near + 2.0 * band.radius);
            if let Some(far) = far.filter(|far| has_row(*far)) {
                found.push(f64::midpoint(near, axes.value(depth, far)));
            }
        }
        let side = usize::from(other.axes()[1] == depth);
        found.extend(views[other.index()].carriers.iter().filter_map(|carrier| {
            let (center, reach) = round(carrier, side)?;
            let within = (span[0]..=span[1]).contains(&center[1 - side]);
            (within && (reach - band.radius).abs() <= tolerance).then_some(center[side])
        }));
    }
    found
}

/// The centre of a circle or ellipse, and how far it reaches from there along an axis of its view.
pub(super) fn round(carrier: &Carrier, side: usize) -> Option<(P2, f64)> {
    match carrier {
        Carrier::Circle { center, radius } => Some((*center, *radius)),
        Carrier::Ellipse { center, axes } => Some((*center, axes[0][side].diagonal(axes[1][side]))),
        Carrier::Free { .. } => None,
    }
}

/// Adds a surface unless it is known.
fn add(found: &mut Vec<Candidate>, surface: Turned, tolerance: f64) {
    let (radius, slope, far) = match surface.profile {
        Profile::Cylinder { radius } => (radius, 0.0, 10.0),
        // Not as far as its apex.
        Profile::Cone { radius, slope } => (radius, slope, 0.5 / slope.abs().max(0.5)),
        Profile::Sphere { .. } | Profile::Torus { .. } => return,
    };
    let side = V3::ith(surface.axis.iamin(), 1.0);
    let other = surface.axis.cross(&side);
    let points = [-far, far].map(|far| far * radius).map(|height| {
        let p = surface.origin + surface.axis * height;
        [side, -side, other].map(|out| p + out * (radius + slope * height))
    });
    let known = found.iter().any(|c| {
        let on = |p: &P3| Surface::Turned(c.surface).distance(p).abs() <= tolerance;
        points.iter().flatten().all(on)
    });
    if !known {
        found.push(Candidate {
            along: None,
            surface,
        });
    }
}

/// The straight contours of an inclined cylinder or cone in each view, as far as they are drawn there.
pub(super) fn contours(views: &[Arrangement; 3], surface: &Turned, tolerance: f64) -> Vec<Stretch> {
    let mut found = Vec::new();
    for view in views {
        let towards = V3::ith(view.view.depth_axis(), 1.0);
        for (from, along) in rulings(surface, &towards) {
            for (id, run) in view.runs.enumerate().filter(|(_, r)| r.carrier.is_none()) {
                let path = lifted(view, run, (&from, &along), tolerance);
                found.extend(path.map(|path| stretch(view.view, id, path)));
            }
        }
    }
    found
}

fn stretch(view: View, run: Id<Run>, path: Path) -> Stretch {
    let mut runs = [None; 3];
    runs[view.index()] = Some(run);
    Stretch {
        path,
        runs,
        loose: false,
    }
}

/// The lines of a cylinder or cone along which its normal is perpendicular to a line of sight: a point and the direction.
pub(super) fn rulings(surface: &Turned, towards: &V3) -> Vec<(P3, V3)> {
    let climb = surface.axis.dot(towards);
    let Some(level) = (towards - surface.axis * climb).try_normalize(1e-9) else {
        return Vec::new();
    };
    let (radius, slope) = match surface.profile {
        Profile::Cylinder { radius } => (radius, 0.0),
        Profile::Cone { radius, slope } => (radius, slope),
        Profile::Sphere { .. } | Profile::Torus { .. } => return Vec::new(),
    };
    // The normal leans against the axis by the slope: out · level = slope * climb.
    let cosine = slope * climb / level.dot(towards);
    if cosine.abs() >= 1.0 {
        return Vec::new();
    }
    let across = surface.axis.cross(&level);
    let turn = arc_cosine(cosine);
    [turn, -turn]
        .map(|turn| {
            let (sin, cos) = sin_cos(turn);
            let out = level * cos + across * sin;
            (surface.origin + out * radius, surface.axis + out * slope)
        })
        .to_vec()
}

/// The part of a line in space below which a straight run of a view lies, if the run lies on its image.
fn lifted(
    view: &Arrangement,
    run: &Run,
    (from, along): (&P3, &V3),
    tolerance: f64,
) -> Option<Path> {
    let [right, up] = view.view.axes();
    let start = P2::new(from[right], from[up]);
    let way = V2::new(along[right], along[up]);
    let square = way.norm_squared();
    if square < 1e-6 {
        return None;
    }
    let ends = ends(view, run);
    let on = |p: &P2| way.perp(&(p - start)).abs() <= tolerance * square.sqrt();
    if !ends.iter().all(on) {
        return None;
    }
    let [a, b] = ends.map(|p| from + along * (way.dot(&(p - start)) / square));
    Some(Path::straight(a, b))
}

//! The curves a solid with curved faces shows along a line of sight: its sharp edges, and the contours where a surface
//! turns away from the viewer.
//!
//! A contour lies where the normal is perpendicular to the line of sight: along rulings of cylinders and cones, on a circle
//! of a ball, on two closed curves of a torus. Each is cut where it meets the border of a patch, and the parts inside are
//! kept. A smooth edge is drawn only if it is a contour all along.

use super::inside::Caster;
use super::{CurvedSolid, Patch};
use crate::geom::conic::Conic;
use crate::geom::num::{angle, arc_cosine, sin_cos};
use crate::geom::path::Path;
use crate::geom::seen::Place;
use crate::geom::surface::{Profile, Turned};
use crate::geom::{Few, P3, V3};
use std::f64::consts::FRAC_PI_2;

/// A normal within this of perpendicular to the line of sight is perpendicular, as the sine of the angle.
const EDGE_ON: f64 = 1e-6;

/// In how many steps a border is searched for contours.
const STEPS: u32 = 24;

/// Contours nearer to a border than this share of the solid's size lie on it.
const ON_BORDER: f64 = 1e-9;

/// Contours shorter than this share of the solid's size are none.
const ONE_PLACE: f64 = 1e-7;

/// A curve of a solid that is seen as a line.
#[derive(Clone, Debug)]
pub(crate) struct Outline {
    pub(crate) course: Way,
    /// The patches it belongs to; a contour has one.
    pub(crate) faces: Few<u32, 2>,
}

/// How an outline runs.
#[derive(Clone, Debug)]
pub(crate) enum Way {
    /// Along a path.
    Path(Path),
    /// Along the contour of a torus.
    Tube(Tube),
}

/// A part of a torus contour: at each angle about the axis, in radians from `from` to `to`, the point of the tube where
/// the normal is perpendicular to the line of sight.
#[derive(Clone, Debug)]
pub(crate) struct Tube {
    turned: Turned,
    towards: V3,
    /// Two directions across the axis from which the angle is counted.
    across: [V3; 2],
    /// Which of the two curves, 1 or -1.
    side: f64,
    from: f64,
    to: f64,
}

impl Way {
    /// The point at a share of the way, 0 to 1.
    pub(crate) fn point(&self, share: f64) -> P3 {
        match self {
            Way::Path(path) => path.point(share),
            Way::Tube(tube) => tube.point(tube.from + (tube.to - tube.from) * share),
        }
    }

    /// The part between two shares of the way.
    pub(crate) fn part(&self, [from, to]: [f64; 2]) -> Self {
        match self {
            Way::Path(path) => Way::Path(path.part([from, to], [path.point(from), path.point(to)])),
            Way::Tube(tube) => {
                let at = |share: f64| tube.from + (tube.to - tube.from) * share;
                Way::Tube(Tube {
                    from: at(from),
                    to: at(to),
                    ..tube.clone()
                })
            }
        }
    }
}

impl Tube {
    fn point(&self, turn: f64) -> P3 {
        let Profile::Torus { major, minor } = self.turned.profile else {
            return self.turned.origin;
        };
        let (sin, cos) = sin_cos(turn);
        let out = self.across[0] * cos + self.across[1] * sin;
        let (climb, reach) = (self.turned.axis.dot(&self.towards), out.dot(&self.towards));
        let normal = (out * climb - self.turned.axis * reach).normalize() * self.side;
        self.turned.origin + out * major + normal * minor
    }

    /// The shares of the way at which the curve comes towards the viewer and turns back: its image has a tip there.
    pub(crate) fn tips(&self) -> Vec<f64> {
        let at = |share: f64| self.from + (self.to - self.from) * share;
        let ahead = |share: f64| {
            let step = 1e-4;
            let (before, after) = (self.point(at(share) - step), self.point(at(share) + step));
            let point = self.point(at(share));
            let (_, out) = self.turned.split(&point);
            let major = match self.turned.profile {
                Profile::Torus { major, .. } => major,
                _ => 0.0,
            };
            let normal = point - (self.turned.origin + out.normalize() * major);
            (after - before).dot(&normal.cross(&self.towards))
        };
        roots(&ahead)
    }
}

/// The curves of a solid seen along `towards`, a unit vector that points to the viewer. Curves seen end-on are among them.
pub(crate) fn outlines(caster: &Caster, solid: &CurvedSolid, towards: &V3) -> Vec<Outline> {
    let look = Look {
        caster,
        solid,
        towards: *towards,
    };
    let edges = solid.edges.iter().filter(|edge| {
        let patch = &solid.faces[edge.faces[0] as usize];
        !edge.smooth || look.is_edge_on(patch, &edge.path)
    });
    let mut found: Vec<Outline> = edges
        .map(|edge| Outline {
            course: Way::Path(edge.path.clone()),
            faces: edge.faces.into_iter().collect(),
        })
        .collect();
    for (face, patch) in (0_u32..).zip(&solid.faces) {
        if let Some(turned) = patch.surface.turned() {
            look.add_contours(face, patch, turned, &mut found);
        }
    }
    found
}

/// A solid looked at.
struct Look<'s> {
    caster: &'s Caster<'s>,
    solid: &'s CurvedSolid,
    towards: V3,
}

impl Look<'_> {
    /// How much a patch leans towards the viewer at a point: the sine of the angle.
    fn lean(&self, patch: &Patch, point: &P3) -> f64 {
        patch.surface.normal(point).dot(&self.towards)
    }

    /// Whether a patch is seen edge-on all along one of its borders.
    fn is_edge_on(&self, patch: &Patch, path: &Path) -> bool {
        let level = |share: f64| self.lean(patch, &path.point(share)).abs() < EDGE_ON;
        [0.1, 0.3, 0.5, 0.7, 0.9].into_iter().all(level)
    }

    /// Adds the contours inside a patch.
    fn add_contours(&self, face: u32, patch: &Patch, turned: &Turned, found: &mut Vec<Outline>) {
        let size = self.caster.size();
        let mut middle = V3::zeros();
        for path in self.solid.paths(patch) {
            middle += path.middle() - turned.origin;
        }
        let borders: f64 = self.solid.paths(patch).map(|_| 1.0).sum();
        let middle = turned.origin + middle / borders;
        let crossings = self.crossings(patch);
        for carrier in carriers(turned, &self.towards, &middle) {
            let on_carrier = |p: &P3| carrier.place(p, size);
            let mut places: Vec<f64> = crossings.iter().filter_map(on_carrier).collect();
            places.sort_unstable_by(f64::total_cmp);
            for pair in places.windows(2) {
                let [from, mid, to] = [pair[0], 0.5 * (pair[0] + pair[1]), pair[1]];
                let apart = (carrier.point(from) - carrier.point(to)).norm();
                let place = self
                    .caster
                    .place(face, &carrier.point(mid), size * ON_BORDER);
                if apart > size * ONE_PLACE && place == Place::Inside {
                    found.push(Outline {
                        course: carrier.part([from, to]),
                        faces: std::iter::once(face).collect(),
                    });
                }
            }
        }
    }

    /// The points on the borders of a patch at which it is seen edge-on.
    fn crossings(&self, patch: &Patch) -> Vec<P3> {
        let mut found = Vec::new();
        for path in self.solid.paths(patch) {
            let level = |end: &&P3| self.lean(patch, end).abs() < EDGE_ON;
            found.extend(path.ends.iter().filter(level));
            if !self.is_edge_on(patch, path) {
                let lean = |share: f64| self.lean(patch, &path.point(share));
                found.extend(roots(&lean).into_iter().map(|share| path.point(share)));
            }
        }
        found
    }
}

/// A whole curve along which a surface turns away.
enum Carrier {
    Ruling { from: P3, along: V3 },
    Circle(Conic),
    Tube(Tube),
}

/// The contours of a whole surface; angles are counted from the direction of `middle`.
fn carriers(turned: &Turned, towards: &V3, middle: &P3) -> Few<Carrier, 2> {
    let climb = turned.axis.dot(towards);
    let Some(level) = (towards - turned.axis * climb).try_normalize(1e-9) else {
        // Seen along the axis, a ball and a torus still turn away.
        return along_axis(turned, middle);
    };
    let across = turned.axis.cross(&level);
    let ruling = |turn: f64, radius: f64, slope: f64| {
        let (sin, cos) = sin_cos(turn);
        let out = level * cos + across * sin;
        Carrier::Ruling {
            from: turned.origin + out * radius,
            along: turned.axis + out * slope,
        }
    };
    match turned.profile {
        Profile::Cylinder { radius } => [1.0, -1.0]
            .map(|side| ruling(side * FRAC_PI_2, radius, 0.0))
            .into_iter()
            .collect(),
        Profile::Cone { radius, slope } => {
            // The normal leans against the axis by the slope: out · level = slope * climb.
            let cos = slope * climb / level.dot(towards);
            if cos.abs() >= 1.0 {
                return Few::new();
            }
            let turn = arc_cosine(cos);
            [turn, -turn]
                .map(|turn| ruling(turn, radius, slope))
                .into_iter()
                .collect()
        }
        Profile::Sphere { radius } => {
            std::iter::once(circle(turned, radius, towards, middle)).collect()
        }
        Profile::Torus { .. } => {
            let (_, out) = turned.split(middle);
            let ahead = out.normalize();
            [1.0, -1.0]
                .map(|side| {
                    Carrier::Tube(Tube {
                        turned: *turned,
                        towards: *towards,
                        across: [ahead, turned.axis.cross(&ahead)],
                        side,
                        from: 0.0,
                        to: 0.0,
                    })
                })
                .into_iter()
                .collect()
        }
    }
}

fn along_axis(turned: &Turned, middle: &P3) -> Few<Carrier, 2> {
    let circles = match turned.profile {
        Profile::Sphere { radius } => vec![radius],
        Profile::Torus { major, minor } => vec![major + minor, major - minor],
        _ => Vec::new(),
    };
    circles
        .into_iter()
        .map(|radius| circle(turned, radius, &turned.axis, middle))
        .collect()
}

/// The circle about the centre across a direction.
fn circle(turned: &Turned, radius: f64, across: &V3, middle: &P3) -> Carrier {
    let reach = middle - turned.origin;
    let level = reach - across * reach.dot(across);
    let ahead = level
        .try_normalize(1e-9)
        .unwrap_or_else(|| V3::ith(across.iamin(), 1.0).cross(across).normalize());
    Carrier::Circle(Conic {
        center: turned.origin,
        u: ahead * radius,
        v: across.cross(&ahead) * radius,
        from: 0.0,
        to: 0.0,
    })
}

impl Carrier {
    fn point(&self, place: f64) -> P3 {
        match self {
            Carrier::Ruling { from, along } => from + along * place,
            Carrier::Circle(conic) => conic.point(place),
            Carrier::Tube(tube) => tube.point(place),
        }
    }

    /// Where on the curve a point lies, if it lies on it.
    fn place(&self, point: &P3, size: f64) -> Option<f64> {
        let place = match self {
            Carrier::Ruling { from, along } => (point - from).dot(along) / along.norm_squared(),
            Carrier::Circle(conic) => conic.angle(point),
            Carrier::Tube(tube) => {
                let (_, out) = tube.turned.split(point);
                angle(out.dot(&tube.across[1]), out.dot(&tube.across[0]))
            }
        };
        ((self.point(place) - point).norm() < 1e-4 * size).then_some(place)
    }

    fn part(&self, [from, to]: [f64; 2]) -> Way {
        match self {
            Carrier::Ruling { .. } => Way::Path(Path::straight(self.point(from), self.point(to))),
            Carrier::Circle(conic) => Way::Path(Path::conic(Conic { from, to, ..*conic })),
            Carrier::Tube(tube) => Way::Tube(Tube {
                from,
                to,
                ..tube.clone()
            }),
        }
    }
}

/// The shares between 0 and 1 at which a function changes its sign.
pub(crate) fn roots(f: &impl Fn(f64) -> f64) -> Vec<f64> {
    let mut found = Vec::new();
    let mut before = (0.0, f(0.0));
    for k in 1..=STEPS {
        let share = f64::from(k) / f64::from(STEPS);
        let here = (share, f(share));
        if (before.1 < 0.0) != (here.1 < 0.0) {
            let (mut low, mut high) = (before.0, here.0);
            for _ in 0..48 {
                let mid = 0.5 * (low + high);
                if (f(mid) < 0.0) == (before.1 < 0.0) {
                    low = mid;
                } else {
                    high = mid;
                }
            }
            found.push(0.5 * (low + high));
        }
        before = here;
    }
    found
}

//! Solids with curved faces for tests: turned ones from their profile, crossing cylinders, and any from loose patches.

use super::{CurvedEdge, CurvedSolid, Patch, Step};
use crate::geom::num::angle;
use crate::geom::path::{Conic, Course, Meeting, Path};
use crate::geom::plane::Plane;
use crate::geom::surface::{Profile, Surface, Turned};
use crate::geom::{P3, V3};
use petgraph::unionfind::UnionFind;
use std::f64::consts::{FRAC_1_SQRT_2, FRAC_PI_2, PI};

/// A patch not yet joined to its neighbours: its surface, whether that faces outward, and its borders.
pub(crate) type Loose = (Surface, bool, Vec<Vec<Path>>);

/// Where things are the same, in millimetres.
const SAME: f64 = 1e-7;

/// Joins loose patches to a solid: corners and edges that coincide become one.
pub(crate) fn assemble(loose: Vec<Loose>) -> CurvedSolid {
    let mut solid = CurvedSolid::default();
    for (f, (surface, outward, borders)) in (0_u32..).zip(loose) {
        let samples: Vec<V3> = borders
            .iter()
            .flatten()
            .map(|p| surface.normal(&p.middle()))
            .collect();
        let sum: V3 = samples.iter().sum();
        let signs = [0, 1, 2].map(|k| {
            let flat = samples.iter().all(|n| n[k].abs() < 1e-9);
            if flat { 0 } else { sum[k].signum() as i8 }
        });
        let borders = borders
            .into_iter()
            .map(|border| {
                border
                    .into_iter()
                    .map(|p| add_edge(&mut solid, p, f))
                    .collect()
            })
            .collect();
        solid.faces.push(Patch {
            surface,
            outward,
            signs,
            borders,
            shell: 0,
        });
    }
    finish(&mut solid);
    solid
}

fn add_edge(solid: &mut CurvedSolid, mut path: Path, face: u32) -> Step {
    let ends = path.ends.map(|end| {
        let found = solid.vertices.iter().position(|v| (v - end).norm() < SAME);
        found.unwrap_or_else(|| {
            solid.vertices.push(end);
            solid.vertices.len() - 1
        }) as u32
    });
    path.ends = ends.map(|v| solid.vertices[v as usize]);
    if let Course::Meeting(meeting) = &mut path.course {
        let last = meeting.points.len() - 1;
        let mut points = meeting.points.to_vec();
        (points[0], points[last]) = (path.ends[0], path.ends[1]);
        meeting.points = points.into();
    }
    let middle = path.middle();
    let same =
        |e: &CurvedEdge| e.ends == [ends[1], ends[0]] && (e.path.middle() - middle).norm() < SAME;
    if let Some(edge) = solid.edges.iter().position(same) {
        assert_eq!(
            solid.edges[edge].faces[1],
            u32::MAX,
            "a third patch at {middle:?}"
        );
        solid.edges[edge].faces[1] = face;
        return Step {
            edge: edge as u32,
            forward: false,
        };
    }
    solid.edges.push(CurvedEdge {
        ends,
        path,
        faces: [face, u32::MAX],
        smooth: false,
    });
    Step {
        edge: solid.edges.len() as u32 - 1,
        forward: true,
    }
}

fn finish(solid: &mut CurvedSolid) {
    let mut joined = UnionFind::<usize>::new(solid.faces.len());
    for edge in &mut solid.edges {
        assert_ne!(edge.faces[1], u32::MAX, "open at {:?}", edge.path.ends);
        let middle = edge.path.middle();
        let [n, m] = edge.faces.map(|f| {
            let patch = &solid.faces[f as usize];
            patch.surface.normal(&middle) * if patch.outward { 1.0 } else { -1.0 }
        });
        edge.smooth = (n - m).norm() < 1e-6;
        joined.union(edge.faces[0] as usize, edge.faces[1] as usize);
    }
    let labels = joined.into_labeling();
    let reach = |label: usize| {
        let own = solid
            .edges
            .iter()
            .filter(|e| labels[e.faces[0] as usize] == label);
        own.flat_map(|e| e.path.ends)
            .fold(f64::MIN, |most, p| most.max(p.x))
    };
    let mut shells = labels.clone();
    shells.sort_unstable();
    shells.dedup();
    shells.sort_by(|a, b| reach(*b).total_cmp(&reach(*a)));
    solid.shells = shells.len() as u32;
    for (patch, label) in solid.faces.iter_mut().zip(&labels) {
        patch.shell = shells.iter().position(|s| s == label).unwrap() as u32;
    }
}

/// A step of a profile from the point before: straight, or an arc about a centre (radius, height).
#[derive(Clone, Copy, Debug)]
pub(crate) enum Way {
    Line([f64; 2]),
    Arc([f64; 2], [f64; 2]),
}

use Way::{Arc, Line};

impl Way {
    fn to(self) -> [f64; 2] {
        match self {
            Line(to) | Arc(_, to) => to,
        }
    }
}

/// Where a turned solid stands: a point of its axis, two directions across it and the axis.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Stand {
    pub(crate) origin: P3,
    pub(crate) basis: [V3; 3],
}

/// Upright at the origin.
pub(crate) const UPRIGHT: usize = 2;

/// At a point with the axis along x, y or z (0, 1, 2).
pub(crate) fn along(axis: usize, origin: [f64; 3]) -> Stand {
    Stand {
        origin: P3::from(origin),
        basis: [1, 2, 3].map(|k| V3::ith((axis + k) % 3, 1.0)),
    }
}

impl Stand {
    fn out(&self, turn: f64) -> V3 {
        let (sin, cos) = crate::geom::num::sin_cos(turn);
        self.basis[0] * cos + self.basis[1] * sin
    }

    fn at(&self, [radius, height]: [f64; 2], turn: f64) -> P3 {
        self.origin + self.out(turn) * radius + self.basis[2] * height
    }

    /// The circle of a profile point in one quarter.
    fn circle(&self, [radius, height]: [f64; 2], quarter: usize) -> Path {
        Path::conic(Conic {
            center: self.at([0.0, height], 0.0),
            u: self.basis[0] * radius,
            v: self.basis[1] * radius,
            from: quarter as f64 * FRAC_PI_2,
            to: (quarter + 1) as f64 * FRAC_PI_2,
        })
    }

    fn meridian(&self, from: [f64; 2], way: Way, quarter: usize) -> Path {
        let turn = quarter as f64 * FRAC_PI_2;
        match way {
            Line(to) => Path::straight(self.at(from, turn), self.at(to, turn)),
            Arc(center, to) => {
                let direction = |p: [f64; 2]| angle(p[1] - center[1], p[0] - center[0]);
                let radius = (from[0] - center[0]).hypot(from[1] - center[1]);
                let (start, end) = (direction(from), direction(to));
                let sweep = (end - start + PI).rem_euclid(2.0 * PI) - PI;
                Path::conic(Conic {
                    center: self.at(center, turn),
                    u: self.out(turn) * radius,
                    v: self.basis[2] * radius,
                    from: start,
                    to: start + sweep,
                })
            }
        }
    }

    fn surface(&self, from: [f64; 2], way: Way) -> (Surface, bool) {
        let [a, b] = [from, way.to()];
        let profile = match way {
            Line(_) if a[1] == b[1] => {
                let up = if a[0] < b[0] { -1.0 } else { 1.0 };
                let plane = Plane::through(&self.at(a, 0.0), &(self.basis[2] * up));
                return (Surface::Plane(plane), true);
            }
            Line(_) if a[0] == b[0] => Profile::Cylinder { radius: a[0] },
            Line(_) => {
                let slope = (b[0] - a[0]) / (b[1] - a[1]);
                Profile::Cone {
                    radius: a[0] - slope * a[1],
                    slope,
                }
            }
            Arc(c, _) => {
                let minor = (a[0] - c[0]).hypot(a[1] - c[1]);
                match c[0] {
                    0.0 => Profile::Sphere { radius: minor },
                    major => Profile::Torus { major, minor },
                }
            }
        };
        let (center, outward) = match way {
            Line(_) => (0.0, b[1] > a[1]),
            Arc(c, _) => {
                let cross = (a[0] - c[0]) * (b[1] - c[1]) - (a[1] - c[1]) * (b[0] - c[0]);
                (c[1], cross > 0.0)
            }
        };
        let turned = Turned {
            origin: self.at([0.0, center], 0.0),
            axis: self.basis[2],
            profile,
        };
        (Surface::Turned(turned), outward)
    }
}

/// The patches of a turned surface: profile points (radius, height) with the material to the left, closed or from axis
/// to axis. Arcs span a quarter at most, from one of the four main directions to the next or within.
pub(crate) fn turned_patches(stand: &Stand, start: [f64; 2], ways: &[Way]) -> Vec<Loose> {
    let mut loose = Vec::new();
    let mut from = start;
    for &way in ways {
        let to = way.to();
        let (surface, outward) = stand.surface(from, way);
        let circle = |p: [f64; 2], forward: bool, q: usize| {
            let path = stand.circle(p, q);
            (p[0] > 0.0).then(|| if forward { path } else { path.reversed() })
        };
        if surface.is_plane() {
            let whole = |p, forward: bool| -> Vec<Path> {
                let mut all: Vec<Path> = (0..4).filter_map(|q| circle(p, forward, q)).collect();
                if !forward {
                    all.reverse();
                }
                all
            };
            let mut borders = vec![whole(from, true), whole(to, false)];
            if from[0] < to[0] {
                borders.reverse();
            }
            borders.retain(|b| !b.is_empty());
            loose.push((surface, outward, borders));
        } else {
            for q in 0..4 {
                let border = [
                    circle(from, true, q),
                    Some(stand.meridian(from, way, q + 1)),
                    circle(to, false, q),
                    Some(stand.meridian(from, way, q).reversed()),
                ];
                loose.push((
                    surface,
                    outward,
                    vec![border.into_iter().flatten().collect()],
                ));
            }
        }
        from = to;
    }
    loose
}

/// A turned solid, upright with its axis through the origin.
pub(crate) fn turned(start: [f64; 2], ways: &[Way]) -> CurvedSolid {
    assemble(turned_patches(&along(UPRIGHT, [0.0; 3]), start, ways))
}

/// A ring of the outer and inner diameter (0 for a disc) and height.
pub(crate) fn ring(outer: f64, inner: f64, height: f64) -> CurvedSolid {
    let (r, s) = (outer / 2.0, inner / 2.0);
    let mut ways = vec![Line([r, 0.0]), Line([r, height]), Line([s, height])];
    if inner > 0.0 {
        ways.push(Line([s, 0.0]));
    }
    turned([s, 0.0], &ways)
}

/// A ball about the origin.
pub(crate) fn ball(radius: f64) -> CurvedSolid {
    let c = [0.0, 0.0];
    turned(
        [0.0, -radius],
        &[Arc(c, [radius, 0.0]), Arc(c, [0.0, radius])],
    )
}

/// A torus about the origin.
pub(crate) fn torus(major: f64, minor: f64) -> CurvedSolid {
    let c = [major, 0.0];
    turned(
        [major, -minor],
        &[
            Arc(c, [major + minor, 0.0]),
            Arc(c, [major, minor]),
            Arc(c, [major - minor, 0.0]),
            Arc(c, [major, -minor]),
        ],
    )
}

/// A cylinder's side through the origin.
pub(crate) fn side(axis: V3, radius: f64) -> Surface {
    Surface::Turned(Turned {
        origin: P3::origin(),
        axis,
        profile: Profile::Cylinder { radius },
    })
}

/// What two equal cylinders along x and y have in common.
pub(crate) fn two_cylinders(r: f64) -> CurvedSolid {
    let mut loose = Vec::new();
    let point = |x: f64, y: f64, z: f64| P3::new(x * r, y * r, z * r);
    for up in [1.0, -1.0] {
        for [sx, sy] in [[1.0, 0.0], [0.0, 1.0], [-1.0, 0.0], [0.0, -1.0]] {
            // The face that looks along (sx, sy), between the ellipses to its left and right.
            let to_side = |left: f64| point(sx - left * sy, sy + left * sx, 0.0);
            let rib = |left: f64| {
                Path::conic(Conic {
                    center: P3::origin(),
                    u: to_side(left).coords,
                    v: V3::z() * up * r,
                    from: 0.0,
                    to: FRAC_PI_2,
                })
            };
            let mut border = vec![
                Path::straight(to_side(-up), to_side(up)),
                rib(up),
                rib(-up).reversed(),
            ];
            border.iter_mut().for_each(|p| {
                p.ends = p.ends.map(|e| {
                    if (e - point(0.0, 0.0, up)).norm() < SAME {
                        point(0.0, 0.0, up)
                    } else {
                        e
                    }
                });
            });
            let axis = V3::new(sy.abs(), sx.abs(), 0.0);
            loose.push((side(axis, r), true, vec![border]));
        }
    }
    assemble(loose)
}

/// What three equal cylinders along x, y and z have in common.
pub(crate) fn three_cylinders(r: f64) -> CurvedSolid {
    let mut loose = Vec::new();
    for axis in 0..3 {
        let [a, b, c] = [0, 1, 2].map(|k| V3::ith((axis + k) % 3, 1.0));
        for turn in 0..4 {
            let (sin, cos) = crate::geom::num::sin_cos_degrees(f64::from(turn) * 90.0);
            // In the quarter between the directions p and q.
            let (p, q) = (b * cos + c * sin, c * cos - b * sin);
            let arc = |from: V3, to: V3, tip: f64| {
                // From the direction `from` half way towards `to`, leaving towards the tip.
                Path::conic(Conic {
                    center: P3::origin(),
                    u: from * r,
                    v: (to + a * tip) * r,
                    from: 0.0,
                    to: PI / 4.0,
                })
            };
            let border = vec![
                arc(p, q, -1.0),
                arc(q, p, -1.0).reversed(),
                arc(q, p, 1.0),
                arc(p, q, 1.0).reversed(),
            ];
            // Seen from outside with the axis up, q lies to the right of p.
            loose.push((side(a, r), true, vec![border]));
        }
    }
    let solid = assemble(loose);
    let corner = r * FRAC_1_SQRT_2;
    assert!(
        solid
            .vertices
            .iter()
            .any(|v| (v - P3::new(corner, corner, corner)).norm() < SAME)
    );
    solid
}

/// A quarter of the curve where a cylinder of radius `r` along x meets a larger one of radius `big` along z, in the given
/// octant, from z = 0 to y = 0, in `steps` chords.
pub(crate) fn meeting(r: f64, big: f64, octant: [f64; 3], steps: u32) -> Path {
    let [sx, sy, sz] = octant;
    let point = |k: u32| {
        let (sin, cos) = crate::geom::num::sin_cos(f64::from(k) / f64::from(steps) * FRAC_PI_2);
        let (y, z) = if k == steps {
            (0.0, r)
        } else {
            (r * cos, r * sin)
        };
        P3::new(sx * (big * big - y * y).sqrt(), sy * y, sz * z)
    };
    let points: Vec<P3> = (0..=steps).map(point).collect();
    Path {
        ends: [points[0], points[steps as usize]],
        course: Course::Meeting(Meeting {
            surfaces: [side(V3::x(), r), side(V3::z(), big)],
            points: points.into(),
        }),
    }
}

/// The patches of a bore of radius `r` along x through an upright shaft of radius `big`, facing away from the axis.
fn bore(r: f64, big: f64, outward: bool, loose: &mut Vec<Loose>) {
    for (sy, sz) in [(1.0, 1.0), (-1.0, 1.0), (-1.0, -1.0), (1.0, -1.0)] {
        let reach = (big * big - r * r).sqrt();
        let low = Path::straight(P3::new(-reach, sy * r, 0.0), P3::new(reach, sy * r, 0.0));
        let high = Path::straight(P3::new(-big, 0.0, sz * r), P3::new(big, 0.0, sz * r));
        let end = |sx: f64| meeting(r, big, [sx, sy, sz], 8);
        let border = vec![low, end(1.0), high.reversed(), end(-1.0).reversed()];
        // In the first quarter this runs the wrong way round seen from outside: x to the right, y up and towards.
        let border = turned_round(border, sy * sz > 0.0);
        loose.push((
            side(V3::x(), r),
            outward,
            vec![turned_round(border, !outward)],
        ));
    }
}

fn turned_round(border: Vec<Path>, flip: bool) -> Vec<Path> {
    match flip {
        true => border.iter().rev().map(Path::reversed).collect(),
        false => border,
    }
}

/// What a cylinder of radius `r` along x and a larger one of radius `big` along z have in common.
pub(crate) fn crossing(r: f64, big: f64) -> CurvedSolid {
    let mut loose = Vec::new();
    bore(r, big, true, &mut loose);
    for (sx, sy) in [(1.0, 1.0), (-1.0, 1.0), (-1.0, -1.0), (1.0, -1.0)] {
        let middle = Path::straight(P3::new(sx * big, 0.0, -r), P3::new(sx * big, 0.0, r));
        let end = |sz: f64| meeting(r, big, [sx, sy, sz], 8);
        let border = vec![middle.reversed(), end(-1.0).reversed(), end(1.0)];
        loose.push((
            side(V3::z(), big),
            true,
            vec![turned_round(border, sx * sy < 0.0)],
        ));
    }
    assemble(loose)
}

/// An upright shaft of radius `big` from -height to height with a bore of radius `r` along x.
pub(crate) fn cross_drilled(r: f64, big: f64, height: f64) -> CurvedSolid {
    let mut loose = Vec::new();
    bore(r, big, false, &mut loose);
    let stand = along(UPRIGHT, [0.0; 3]);
    for (h, from, to) in [(-height, 0.0, big), (height, big, 0.0)] {
        loose.extend(turned_patches(&stand, [from, h], &[Line([to, h])]));
    }
    for (quarter, (sx, sy)) in [(1.0, 1.0), (-1.0, 1.0), (-1.0, -1.0), (1.0, -1.0)]
        .into_iter()
        .enumerate()
    {
        let up = |turn: usize| {
            let foot = stand.at([big, -height], turn as f64 * FRAC_PI_2);
            [foot, foot + V3::z() * 2.0 * height]
        };
        let bitten = |[foot, head]: [P3; 2]| {
            let [lower, upper] = [-r, r].map(|z| P3::new(foot.x, foot.y, z));
            let end = |sz: f64| meeting(r, big, [sx, sy, sz], 8);
            vec![
                Path::straight(foot, lower),
                end(-1.0).reversed(),
                end(1.0),
                Path::straight(upper, head),
            ]
        };
        let whole = |[foot, head]: [P3; 2]| vec![Path::straight(foot, head)];
        let (here, next) = (up(quarter), up(quarter + 1));
        let (left, right) = match quarter % 2 {
            0 => (bitten(here), whole(next)),
            _ => (whole(here), bitten(next)),
        };
        let mut border = vec![stand.circle([big, -height], quarter)];
        border.extend(right);
        border.push(stand.circle([big, height], quarter).reversed());
        border.extend(turned_round(left, true));
        loose.push((side(V3::z(), big), true, vec![border]));
    }
    assemble(loose)
}

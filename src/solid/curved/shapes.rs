//! Curved solids for tests, made without any of the engine: outlines pulled straight or turned about an axis, and faces
//! sewn together by hand.

pub(crate) use super::bores::cross_drilled;
use super::{CurvedEdge, CurvedSolid, Patch, Step};
use crate::geom::conic::Conic;
use crate::geom::meeting::Meeting;
use crate::geom::num::angle;
use crate::geom::path::{Course, Path};
use crate::geom::plane::Plane;
use crate::geom::surface::{Profile, Surface, Turned};
use crate::geom::{P2, P3, V2, V3};
use petgraph::unionfind::UnionFind;
use std::collections::BTreeMap;
use std::f64::consts::FRAC_PI_2;

/// A face by its surface and its borders, outer one first: paths in order that have the face to their left, seen from
/// outside the material. Every path is monotone along each axis, and no component of the normal changes sign.
#[derive(Clone, Debug)]
pub(crate) struct Piece {
    pub(crate) surface: Surface,
    pub(crate) outward: bool,
    pub(crate) borders: Vec<Vec<Path>>,
}

impl Piece {
    pub(crate) fn new(surface: Surface, outward: bool, borders: Vec<Vec<Path>>) -> Self {
        Piece {
            surface,
            outward,
            borders,
        }
    }

    /// The same with the axes exchanged in a ring, so that what ran along z runs along x (1) or y (2).
    fn rolled(&self, by: usize) -> Self {
        let roll = |v: V3| V3::from([0, 1, 2].map(|k: usize| v[(k + 2 * by) % 3]));
        let point = |p: P3| P3::from(roll(p.coords));
        let surface = |s: Surface| match s {
            Surface::Plane(p) => Surface::Plane(Plane {
                normal: roll(p.normal),
                ..p
            }),
            Surface::Turned(t) => Surface::Turned(Turned {
                origin: point(t.origin),
                axis: roll(t.axis),
                ..t
            }),
        };
        let path = |p: &Path| Path {
            ends: p.ends.map(point),
            course: match &p.course {
                Course::Straight => Course::Straight,
                Course::Conic(c) => {
                    let rolled = Conic {
                        center: point(c.center),
                        u: roll(c.u),
                        v: roll(c.v),
                        ..**c
                    };
                    return Path::bent(rolled, p.ends.map(point));
                }
                Course::Meeting(m) => Course::Meeting(Meeting {
                    surfaces: m.surfaces.map(surface),
                    points: m.points.iter().map(|p| point(*p)).collect(),
                }),
            },
        };
        Piece {
            surface: surface(self.surface),
            outward: self.outward,
            borders: self
                .borders
                .iter()
                .map(|border| border.iter().map(path).collect())
                .collect(),
        }
    }
}

/// Pieces made along z, laid along another axis: (x, y, z) become (y, z, x) along y and (z, x, y) along x.
pub(crate) fn along(axis: usize, pieces: &[Piece]) -> Vec<Piece> {
    let by = (axis + 1) % 3;
    pieces.iter().map(|piece| piece.rolled(by)).collect()
}

/// A place rounded, to find the same place again.
fn key(p: &P3) -> [i64; 3] {
    [p.x, p.y, p.z].map(|c| (c * 1e6).round() as i64)
}

/// Sews faces together: borders of two faces that run along each other become edges. The shell with the largest box
/// is the outer one.
pub(crate) fn sewn(pieces: &[Piece]) -> CurvedSolid {
    let mut solid = CurvedSolid::default();
    let mut corners = BTreeMap::new();
    // By ends and middle: the edge.
    let mut edges: BTreeMap<[[i64; 3]; 3], u32> = BTreeMap::new();
    for (f, piece) in (0_u32..).zip(pieces) {
        let mut borders = Vec::new();
        for border in &piece.borders {
            let steps = border.iter().map(|path| {
                let ends = path.ends.map(|p| {
                    *corners.entry(key(&p)).or_insert_with(|| {
                        solid.vertices.push(p);
                        solid.vertices.len() as u32 - 1
                    })
                });
                let [a, b, m] = [path.ends[0], path.ends[1], path.middle()].map(|p| key(&p));
                let ends_key = if a < b { [a, b, m] } else { [b, a, m] };
                if let Some(&edge) = edges.get(&ends_key) {
                    let known: &mut CurvedEdge = &mut solid.edges[edge as usize];
                    assert_eq!(known.faces[1], u32::MAX, "three faces at {path:?}");
                    known.faces[1] = f;
                    let forward = known.ends == ends;
                    assert!(!forward, "two faces run the same way along {path:?}");
                    return Step { edge, forward };
                }
                let edge = solid.edges.len() as u32;
                edges.insert(ends_key, edge);
                let places = ends.map(|v| solid.vertices[v as usize]);
                let path = path.part([0.0, 1.0], places);
                solid.edges.push(CurvedEdge {
                    ends,
                    path,
                    faces: [f, u32::MAX],
                    smooth: false,
                });
                Step {
                    edge,
                    forward: true,
                }
            });
            borders.push(steps.collect());
        }
        solid.faces.push(Patch {
            surface: piece.surface,
            outward: piece.outward,
            signs: signs(piece),
            borders,
            shell: 0,
        });
    }
    finish(solid)
}

/// The signs of the normal, from places on the borders.
fn signs(piece: &Piece) -> [i8; 3] {
    let mut most = V3::zeros();
    for path in piece.borders.iter().flatten() {
        for share in [0.25, 0.5, 0.75] {
            let normal = piece.surface.normal(&path.point(share));
            for k in 0..3 {
                if normal[k].abs() > f64::abs(most[k]) {
                    most[k] = normal[k];
                }
            }
        }
    }
    let sign = |x: f64| if x.abs() < 1e-9 { 0 } else { x.signum() as i8 };
    [sign(most.x), sign(most.y), sign(most.z)]
}

/// Marks smooth edges and numbers the shells.
fn finish(mut solid: CurvedSolid) -> CurvedSolid {
    let mut groups = UnionFind::<usize>::new(solid.faces.len());
    let faces = &solid.faces;
    for edge in &mut solid.edges {
        assert_ne!(edge.faces[1], u32::MAX, "open border at {:?}", edge.path);
        groups.union(edge.faces[0] as usize, edge.faces[1] as usize);
        let middle = edge.path.middle();
        let [n, m] = edge.faces.map(|f| faces[f as usize].outward(&middle));
        edge.smooth = (n - m).norm() < 1e-6;
    }
    let roots = groups.into_labeling();
    let mut boxes: BTreeMap<usize, [P3; 2]> = BTreeMap::new();
    for (face, root) in solid.faces.iter().zip(&roots) {
        for path in solid.paths(face) {
            let [a, b] = path.bounds();
            let entry = boxes.entry(*root).or_insert([a, b]);
            *entry = [entry[0].inf(&a), entry[1].sup(&b)];
        }
    }
    let mut order: Vec<(usize, f64)> = boxes
        .iter()
        .map(|(root, [a, b])| (*root, (b - a).norm()))
        .collect();
    order.sort_by(|a, b| b.1.total_cmp(&a.1));
    for (face, root) in solid.faces.iter_mut().zip(&roots) {
        face.shell = order.iter().position(|(r, _)| r == root).unwrap() as u32;
    }
    solid.shells = order.len() as u32;
    solid
}

/// A step of an outline: straight or along a circle, at most a quarter of it and within one quadrant.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Bend {
    from: P2,
    to: P2,
    /// Centre of the circle, and whether it is run counter-clockwise.
    around: Option<(P2, bool)>,
}

impl Bend {
    /// Straight.
    pub(crate) fn line(from: [f64; 2], to: [f64; 2]) -> Self {
        Bend {
            from: from.into(),
            to: to.into(),
            around: None,
        }
    }

    /// Along a circle around `center`.
    pub(crate) fn arc(from: [f64; 2], to: [f64; 2], center: [f64; 2], ccw: bool) -> Self {
        Bend {
            from: from.into(),
            to: to.into(),
            around: Some((center.into(), ccw)),
        }
    }

    fn reversed(&self) -> Self {
        Bend {
            from: self.to,
            to: self.from,
            around: self.around.map(|(center, ccw)| (center, !ccw)),
        }
    }

    /// The path of it laid into space by `place`.
    fn path(&self, place: impl Fn(P2) -> P3) -> Path {
        let [a, b] = [place(self.from), place(self.to)];
        match self.around {
            None => Path::straight(a, b),
            Some((center, ccw)) => {
                let u = self.from - center;
                let v = if ccw {
                    V2::new(-u.y, u.x)
                } else {
                    V2::new(u.y, -u.x)
                };
                let middle = place(center);
                let (w, radius) = (self.to - center, u.norm());
                let to = angle(w.dot(&v), w.dot(&u));
                let conic = Conic {
                    center: middle,
                    u: place(center + u) - middle,
                    v: place(center + v) - middle,
                    from: 0.0,
                    to: if to < 0.0 { to + 4.0 * FRAC_PI_2 } else { to },
                };
                assert!((w.norm() - radius).abs() < 1e-9, "no arc: {self:?}");
                Path::bent(conic, [a, b])
            }
        }
    }

    /// Where a circle's middle, and its radius.
    fn circle(&self) -> Option<(P2, f64)> {
        self.around
            .map(|(center, _)| (center, (self.from - center).norm()))
    }
}

/// The straight sides of a polygon.
pub(crate) fn polygon(corners: &[[f64; 2]]) -> Vec<Bend> {
    let next = corners.iter().cycle().skip(1);
    corners
        .iter()
        .zip(next)
        .map(|(a, b)| Bend::line(*a, *b))
        .collect()
}

/// A rectangle, counter-clockwise.
pub(crate) fn rectangle(lo: [f64; 2], hi: [f64; 2]) -> Vec<Bend> {
    polygon(&[lo, [hi[0], lo[1]], hi, [lo[0], hi[1]]])
}

/// A circle, counter-clockwise, in quarters.
pub(crate) fn circle([x, y]: [f64; 2], r: f64) -> Vec<Bend> {
    let at = [[x + r, y], [x, y + r], [x - r, y], [x, y - r]];
    (0..4)
        .map(|k| Bend::arc(at[k], at[(k + 1) % 4], [x, y], true))
        .collect()
}

/// The outline run the other way: a hole.
pub(crate) fn hole(mut outline: Vec<Bend>) -> Vec<Bend> {
    outline.reverse();
    outline.iter().map(Bend::reversed).collect()
}

/// A rectangle with all corners rounded, counter-clockwise.
pub(crate) fn rounded([x, y]: [f64; 2], [s, t]: [f64; 2], r: f64) -> Vec<Bend> {
    vec![
        Bend::line([x + r, y], [s - r, y]),
        Bend::arc([s - r, y], [s, y + r], [s - r, y + r], true),
        Bend::line([s, y + r], [s, t - r]),
        Bend::arc([s, t - r], [s - r, t], [s - r, t - r], true),
        Bend::line([s - r, t], [x + r, t]),
        Bend::arc([x + r, t], [x, t - r], [x + r, t - r], true),
        Bend::line([x, t - r], [x, y + r]),
        Bend::arc([x, y + r], [x + r, y], [x + r, y + r], true),
    ]
}

fn plane(at: &P3, normal: V3) -> Surface {
    Surface::Plane(Plane::through(at, &normal))
}

pub(super) fn turned(origin: P3, axis: V3, profile: Profile) -> Surface {
    Surface::Turned(Turned {
        origin,
        axis,
        profile,
    })
}

/// Outlines pulled from one height to another along z: the first counter-clockwise seen from above, holes clockwise.
pub(crate) fn pulled([low, high]: [f64; 2], outlines: &[Vec<Bend>]) -> Vec<Piece> {
    let at = |h: f64| move |p: P2| P3::new(p.x, p.y, h);
    let cap = |h: f64, normal: V3, outlines: &[Vec<Bend>]| {
        let paths = |o: &Vec<Bend>| o.iter().map(|bend| bend.path(at(h))).collect();
        Piece::new(
            plane(&P3::new(0.0, 0.0, h), normal),
            true,
            outlines.iter().map(paths).collect(),
        )
    };
    let under: Vec<_> = outlines.iter().map(|o| hole(o.clone())).collect();
    let mut pieces = vec![cap(low, -V3::z(), &under), cap(high, V3::z(), outlines)];
    for bend in outlines.iter().flatten() {
        let border = vec![
            bend.path(at(low)),
            Path::straight(at(low)(bend.to), at(high)(bend.to)),
            bend.reversed().path(at(high)),
            Path::straight(at(high)(bend.from), at(low)(bend.from)),
        ];
        let along = bend.to - bend.from;
        let (surface, outward) = match (bend.circle(), bend.around) {
            (Some((center, radius)), Some((_, ccw))) => {
                let cylinder = Profile::Cylinder { radius };
                (turned(at(low)(center), V3::z(), cylinder), ccw)
            }
            _ => {
                let normal = V3::new(along.y, -along.x, 0.0);
                (plane(&at(low)(bend.from), normal), true)
            }
        };
        pieces.push(Piece::new(surface, outward, vec![border]));
    }
    pieces
}

/// The quarter circle from `quarter` times 90 degrees on at the given distance from the z axis and height.
pub(super) fn quarter(quarter: u32, radius: f64, height: f64) -> Path {
    let from = f64::from(quarter) * FRAC_PI_2;
    Path::conic(Conic {
        center: P3::new(0.0, 0.0, height),
        u: V3::x() * radius,
        v: V3::y() * radius,
        from,
        to: from + FRAC_PI_2,
    })
}

/// A profile turned about the z axis: distance from the axis and height, counter-clockwise with the distance to the
/// right. Sides on the axis itself are left out.
pub(crate) fn turned_about(profile: &[Bend]) -> Vec<Piece> {
    let mut pieces = Vec::new();
    for bend in profile {
        let (a, b) = (bend.from, bend.to);
        if bend.around.is_none() && a.y == b.y {
            pieces.push(ring(a.x, b.x, a.y));
            continue;
        }
        let (surface, outward) = swept(bend);
        for k in 0..4 {
            let side = |bend: &Bend, k: u32| {
                let (sin, cos) = [(0.0, 1.0), (1.0, 0.0), (0.0, -1.0), (-1.0, 0.0)][k as usize % 4];
                bend.path(|p| P3::new(p.x * cos, p.x * sin, p.y))
            };
            let mut border = Vec::new();
            if a.x > 0.0 {
                border.push(quarter(k, a.x, a.y));
            }
            border.push(side(bend, k + 1));
            if b.x > 0.0 {
                border.push(quarter(k, b.x, b.y).reversed());
            }
            border.push(side(&bend.reversed(), k));
            pieces.push(Piece::new(surface, outward, vec![border]));
        }
    }
    pieces
}

/// The surface a side sweeps, and whether its normal points out of the material.
fn swept(bend: &Bend) -> (Surface, bool) {
    let up = |h: f64| P3::new(0.0, 0.0, h);
    let (a, b) = (bend.from, bend.to);
    let Some((_, ccw)) = bend.around else {
        let slope = (b.x - a.x) / (b.y - a.y);
        let profile = if slope == 0.0 {
            Profile::Cylinder { radius: a.x }
        } else {
            Profile::Cone { radius: a.x, slope }
        };
        return (turned(up(a.y), V3::z(), profile), b.y > a.y);
    };
    let (center, radius) = bend.circle().unwrap();
    let profile = if center.x == 0.0 {
        Profile::Sphere { radius }
    } else {
        Profile::Torus {
            major: center.x,
            minor: radius,
        }
    };
    (turned(up(center.y), V3::z(), profile), ccw)
}

/// The flat ring that a level side sweeps: it looks down if the side runs outwards.
fn ring(from: f64, to: f64, height: f64) -> Piece {
    let circle = |r: f64| -> Vec<Path> { (0..4).map(|k| quarter(k, r, height)).collect() };
    let back = |r: f64| -> Vec<Path> { circle(r).iter().rev().map(Path::reversed).collect() };
    let mut borders = Vec::new();
    if to > from {
        // Seen from below counter-clockwise is clockwise from above.
        borders.push(back(to));
        borders.extend((from > 0.0).then(|| circle(from)));
    } else {
        borders.push(circle(from));
        borders.extend((to > 0.0).then(|| back(to)));
    }
    let normal = if to > from { -V3::z() } else { V3::z() };
    Piece::new(plane(&P3::new(0.0, 0.0, height), normal), true, borders)
}

/// A cylinder that stands on the origin of an axis.
pub(crate) fn cylinder(axis: usize, radius: f64, height: f64) -> CurvedSolid {
    let profile = polygon(&[[0.0, 0.0], [radius, 0.0], [radius, height], [0.0, height]]);
    turned_solid(axis, &profile[..3])
}

/// A profile turned about an axis.
pub(crate) fn turned_solid(axis: usize, profile: &[Bend]) -> CurvedSolid {
    sewn(&along(axis, &turned_about(profile)))
}

/// Outlines pulled along an axis.
pub(crate) fn pulled_solid(axis: usize, heights: [f64; 2], outlines: &[Vec<Bend>]) -> CurvedSolid {
    sewn(&along(axis, &pulled(heights, outlines)))
}

/// A flat ring (washer) that lies on the origin.
pub(crate) fn washer(inner: f64, outer: f64, height: f64) -> CurvedSolid {
    let corners = [[inner, 0.0], [outer, 0.0], [outer, height], [inner, height]];
    turned_solid(2, &polygon(&corners))
}

/// A plate 40 x 30 x 10 mm with a round hole of 20 mm in its middle.
pub(crate) fn plate_with_hole() -> CurvedSolid {
    let outlines = [
        rectangle([0.0, 0.0], [40.0, 30.0]),
        hole(circle([20.0, 15.0], 10.0)),
    ];
    pulled_solid(2, [0.0, 10.0], &outlines)
}

/// A plate with `n` times `n` round holes of 10 mm, 20 mm apart, 10 mm thick.
pub(crate) fn holes(n: u32) -> CurvedSolid {
    let size = f64::from(n) * 20.0;
    let mut outlines = vec![rectangle([0.0, 0.0], [size, size])];
    for k in 0..n * n {
        let middle = [k % n, k / n].map(|i| f64::from(i) * 20.0 + 10.0);
        outlines.push(hole(circle(middle, 5.0)));
    }
    pulled_solid(2, [0.0, 10.0], &outlines)
}

/// A block 40 x 20 x 30 mm (x, y, z) whose upper right edge is rounded with 10 mm.
pub(crate) fn rounded_block() -> CurvedSolid {
    // Right and up here are z and x.
    let outline = vec![
        Bend::line([0.0, 0.0], [30.0, 0.0]),
        Bend::line([30.0, 0.0], [30.0, 30.0]),
        Bend::arc([30.0, 30.0], [20.0, 40.0], [20.0, 30.0], true),
        Bend::line([20.0, 40.0], [0.0, 40.0]),
        Bend::line([0.0, 40.0], [0.0, 0.0]),
    ];
    pulled_solid(1, [0.0, 20.0], &[outline])
}

/// A frustum of a cone: radii below and above.
pub(crate) fn frustum(below: f64, above: f64, height: f64) -> CurvedSolid {
    let profile = [
        Bend::line([0.0, 0.0], [below, 0.0]),
        Bend::line([below, 0.0], [above, height]),
        Bend::line([above, height], [0.0, height]),
    ];
    turned_solid(2, &profile)
}

/// A ball around the origin.
pub(crate) fn ball(radius: f64) -> CurvedSolid {
    let profile = [
        Bend::arc([0.0, -radius], [radius, 0.0], [0.0, 0.0], true),
        Bend::arc([radius, 0.0], [0.0, radius], [0.0, 0.0], true),
    ];
    turned_solid(2, &profile)
}

/// A torus around the origin.
pub(crate) fn torus(axis: usize, major: f64, minor: f64) -> CurvedSolid {
    turned_solid(axis, &circle([major, 0.0], minor))
}

/// The solid shifted.
pub(crate) fn moved(solid: &CurvedSolid, by: V3) -> CurvedSolid {
    let surface = |s: Surface| match s {
        Surface::Plane(p) => Surface::Plane(Plane {
            offset: p.offset + p.normal.dot(&by),
            ..p
        }),
        Surface::Turned(t) => Surface::Turned(Turned {
            origin: t.origin + by,
            ..t
        }),
    };
    let course = |course: &Course| match course {
        Course::Straight => Course::Straight,
        Course::Conic(c) => {
            let center = c.center + by;
            Path::conic(Conic { center, ..**c }).course
        }
        Course::Meeting(m) => Course::Meeting(Meeting {
            surfaces: m.surfaces.map(surface),
            points: m.points.iter().map(|p| p + by).collect(),
        }),
    };
    let mut solid = solid.clone();
    for vertex in &mut solid.vertices {
        *vertex += by;
    }
    for edge in &mut solid.edges {
        edge.path = Path {
            ends: edge.path.ends.map(|p| p + by),
            course: course(&edge.path.course),
        };
    }
    for face in &mut solid.faces {
        face.surface = surface(face.surface);
    }
    solid
}

/// The solid shifted so that its box starts at the origin.
pub(crate) fn in_corner(solid: &CurvedSolid) -> CurvedSolid {
    moved(solid, -solid.bounds()[0].coords)
}

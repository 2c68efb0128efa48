//! Solids of crossing cylinders for tests, sewn together by hand.

use super::CurvedSolid;
use super::shapes::{Piece, circle, pulled, sewn};
use crate::geom::conic::Conic;
use crate::geom::meeting::Meeting;
use crate::geom::num::{sin_cos, sin_cos_degrees};
use crate::geom::path::{Course, Path};
use crate::geom::surface::{Profile, Surface, Turned};
use crate::geom::{P3, V3};
use std::f64::consts::{FRAC_PI_2, PI};

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
    let mut pieces = Vec::new();
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
            let border = vec![
                Path::straight(to_side(-up), to_side(up)),
                rib(up),
                rib(-up).reversed(),
            ];
            let axis = V3::new(sy.abs(), sx.abs(), 0.0);
            pieces.push(Piece::new(side(axis, r), true, vec![border]));
        }
    }
    sewn(&pieces)
}

/// What three equal cylinders along x, y and z have in common.
pub(crate) fn three_cylinders(r: f64) -> CurvedSolid {
    let mut pieces = Vec::new();
    for axis in 0..3 {
        let [a, b, c] = [0, 1, 2].map(|k| V3::ith((axis + k) % 3, 1.0));
        for turn in 0..4 {
            let (sin, cos) = sin_cos_degrees(f64::from(turn) * 90.0);
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
            pieces.push(Piece::new(side(a, r), true, vec![border]));
        }
    }
    sewn(&pieces)
}

/// A quarter of the curve where a cylinder of radius `r` along x meets a larger one of radius `big` along z, in the given
/// octant, from z = 0 to y = 0, in `steps` chords.
pub(crate) fn meeting(r: f64, big: f64, octant: [f64; 3], steps: u32) -> Path {
    let [sx, sy, sz] = octant;
    let point = |k: u32| {
        let (sin, cos) = sin_cos(f64::from(k) / f64::from(steps) * FRAC_PI_2);
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
fn bore(r: f64, big: f64, outward: bool, pieces: &mut Vec<Piece>) {
    for (sy, sz) in [(1.0, 1.0), (-1.0, 1.0), (-1.0, -1.0), (1.0, -1.0)] {
        let reach = (big * big - r * r).sqrt();
        let low = Path::straight(P3::new(-reach, sy * r, 0.0), P3::new(reach, sy * r, 0.0));
        let high = Path::straight(P3::new(-big, 0.0, sz * r), P3::new(big, 0.0, sz * r));
        let end = |sx: f64| meeting(r, big, [sx, sy, sz], 8);
        let border = vec![low, end(1.0), high.reversed(), end(-1.0).reversed()];
        // In the first quarter this runs the wrong way round seen from outside: x to the right, y up and towards.
        let border = turned_round(border, sy * sz > 0.0);
        pieces.push(Piece::new(
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
    let mut pieces = Vec::new();
    bore(r, big, true, &mut pieces);
    for (sx, sy) in [(1.0, 1.0), (-1.0, 1.0), (-1.0, -1.0), (1.0, -1.0)] {
        let middle = Path::straight(P3::new(sx * big, 0.0, -r), P3::new(sx * big, 0.0, r));
        let end = |sz: f64| meeting(r, big, [sx, sy, sz], 8);
        let border = vec![middle.reversed(), end(-1.0).reversed(), end(1.0)];
        pieces.push(Piece::new(
            side(V3::z(), big),
            true,
            vec![turned_round(border, sx * sy < 0.0)],
        ));
    }
    sewn(&pieces)
}

/// An upright shaft of radius `big` from -height to height with a bore of radius `r` along x.
pub(crate) fn drilled_shaft(r: f64, big: f64, height: f64) -> CurvedSolid {
    let mut pieces = pulled([-height, height], &[circle([0.0, 0.0], big)]);
    for piece in pieces.iter_mut().filter(|p| !p.surface.is_plane()) {
        let border = &mut piece.borders[0];
        let sy = border.iter().map(|p| p.middle().y).sum::<f64>().signum();
        let at_mouth = |p: &Path| p.is_straight() && p.ends[0].y.abs() < 1e-9;
        let place = border.iter().position(at_mouth).unwrap();
        let rises = border[place].ends[0].z < border[place].ends[1].z;
        let at = |z: f64| P3::new(border[place].ends[0].x, 0.0, z);
        let end = |sz: f64| meeting(r, big, [at(0.0).x.signum(), sy, sz], 8);
        let bitten = vec![
            Path::straight(at(-height), at(-r)),
            end(-1.0).reversed(),
            end(1.0),
            Path::straight(at(r), at(height)),
        ];
        border.splice(place..=place, turned_round(bitten, !rises));
    }
    bore(r, big, false, &mut pieces);
    sewn(&pieces)
}

//! A block with two bores that meet in space curves, for tests.

use super::CurvedSolid;
use super::shapes::{Piece, circle, hole, pulled, quarter, rectangle, sewn, turned};
use crate::geom::conic::Conic;
use crate::geom::meeting::Meeting;
use crate::geom::num::sin_cos;
use crate::geom::path::{Course, Path};
use crate::geom::surface::{Profile, Surface};
use crate::geom::{P3, V3};
use std::f64::consts::FRAC_PI_2;

/// Half the block's side.
const HALF: f64 = 20.0;
/// Radius of the bore along z.
const WIDE: f64 = 10.0;
/// Radius of the bore along x.
const NARROW: f64 = 6.0;

/// A block of 40 mm around the origin with a bore of radius 10 mm along z and one of radius 6 mm along x.
pub(crate) fn cross_drilled() -> CurvedSolid {
    let mut pieces: Vec<Piece> = pulled(
        [-HALF, HALF],
        &[
            rectangle([-HALF, -HALF], [HALF, HALF]),
            hole(circle([0.0, 0.0], WIDE)),
        ],
    );
    let wide = turned(P3::origin(), V3::z(), Profile::Cylinder { radius: WIDE });
    let narrow = turned(P3::origin(), V3::x(), Profile::Cylinder { radius: NARROW });
    pieces.retain(|piece| piece.surface.is_plane());
    for piece in &mut pieces {
        if let Surface::Plane(plane) = piece.surface
            && plane.normal.x.abs() > 0.5
        {
            let x = plane.normal.x;
            piece
                .borders
                .push((0..4).map(|k| mouth(x, k, NARROW, HALF)).collect());
        }
    }
    for side in [1.0, -1.0] {
        for k in 0..4 {
            pieces.push(Piece::new(
                narrow,
                false,
                vec![tunnel(side, k, [wide, narrow])],
            ));
        }
    }
    for k in 0..4 {
        pieces.push(Piece::new(wide, false, vec![shaft(k, [wide, narrow])]));
    }
    sewn(&pieces)
}

/// Angle steps around x that run clockwise seen from outside the block's face at `side`.
fn around(side: f64, k: u32, r: f64) -> [V3; 2] {
    let at = |k: u32| {
        let (sin, cos) = [(0.0, 1.0), (1.0, 0.0), (0.0, -1.0), (-1.0, 0.0)][k as usize % 4];
        V3::new(0.0, -side * cos * r, sin * r)
    };
    [at(k), at(k + 1)]
}

fn mouth(side: f64, k: u32, r: f64, half: f64) -> Path {
    let [a, b] = around(side, k, r);
    let conic = Conic {
        center: P3::new(side * half, 0.0, 0.0),
        u: a,
        v: b,
        from: 0.0,
        to: FRAC_PI_2,
    };
    Path::bent(conic, [a, b].map(|v| P3::new(side * half, v.y, v.z)))
}

/// Where the bores meet, below the mouth's step `k`.
fn meeting(side: f64, k: u32, surfaces: [Surface; 2]) -> Path {
    let [a, b] = around(side, k, NARROW);
    let point = |t: f64| {
        let (sin, cos) = sin_cos(t);
        let v = a * cos + b * sin;
        P3::new(side * (WIDE * WIDE - v.y * v.y).sqrt(), v.y, v.z)
    };
    let points: Vec<P3> = (0..=8)
        .map(|i| point(f64::from(i) / 8.0 * FRAC_PI_2))
        .collect();
    Path {
        ends: [points[0], points[8]],
        course: Course::Meeting(Meeting {
            surfaces,
            points: points.into(),
        }),
    }
}

/// A quarter of the narrow bore on one side.
fn tunnel(side: f64, k: u32, surfaces: [Surface; 2]) -> Vec<Path> {
    let outer = mouth(side, k, NARROW, HALF).reversed();
    let inner = meeting(side, k, surfaces);
    let down = Path::straight(outer.ends[1], inner.ends[0]);
    let up = Path::straight(inner.ends[1], outer.ends[0]);
    vec![outer, down, inner, up]
}

/// A quarter of the wide bore, between the directions `k` and `k + 1` quarters from x.
fn shaft(k: u32, surfaces: [Surface; 2]) -> Vec<Path> {
    let lift = |p: P3, z: f64| P3::new(p.x, p.y, z);
    let bottom = quarter(k, WIDE, -HALF).reversed();
    let top = quarter(k, WIDE, HALF);
    let [start, end] = [bottom.ends[1], bottom.ends[0]];
    // Seen from inside the bore, angles run to the left: down one side, along the bottom, up the other.
    let side = if matches!(k % 4, 0 | 3) { 1.0 } else { -1.0 };
    let y = if k % 4 < 2 { 1.0 } else { -1.0 };
    let pieces: Vec<Path> = (0..4)
        .map(|i| meeting(side, i, surfaces))
        .filter(|path| path.middle().y * y > 0.0)
        .collect();
    let mut hollow: Vec<Path> = pieces.iter().map(Path::reversed).collect();
    if (hollow[0].ends[1] - hollow[1].ends[0]).norm() > 1e-9 {
        hollow.swap(0, 1);
    }
    let [from, to] = [hollow[0].ends[0], hollow[1].ends[1]];
    let straight = |p: P3, za: f64, zb: f64| Path::straight(lift(p, za), lift(p, zb));
    let mut border = vec![
        bottom,
        straight(start, -HALF, HALF),
        top,
        straight(end, HALF, -HALF),
    ];
    // The hollow lies on the side where y is 0.
    let split = if start.y.abs() < 1e-9 { 1 } else { 3 };
    let ruling = border[split].clone();
    let [a, b] = ruling.ends;
    let first = Path::straight(a, lift(a, from.z));
    let last = Path::straight(lift(b, to.z), b);
    border.splice(split..=split, [vec![first], hollow, vec![last]].concat());
    border
}

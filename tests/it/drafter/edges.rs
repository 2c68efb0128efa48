//! Which stretches of the candidate curves are edges: the surfaces around a point cut its surroundings into sectors,
//! and where filled and empty sectors change is where faces are.

use super::body::{Body, Room, shared_room};
use super::candidates::{contours, crossings};
use super::curve::Curve;
use super::space::{AXES, TURN, across, cos_sin, direction, halved, plus, times};
use super::surface::{SAME, Surface};
use super::view::TO_VIEWER;
use crate::cells::{Point, cross, dot, length, unit};

/// A stretch of a curve along which faces meet.
#[derive(Clone, Debug)]
pub(crate) struct Edge {
    /// The curve.
    pub(crate) curve: Curve,
    /// The stretch of its parameter.
    pub(crate) range: [f64; 2],
    /// In which of the three views it is drawn; in none if it is smooth and no contour.
    pub(crate) drawn: [bool; 3],
    /// Whether two faces on different surfaces run into each other without a bend.
    pub(crate) tangent: bool,
}

/// The edges of a body, smooth ones too; and whether some edge is touched by more than two faces.
pub(crate) fn edges(body: &Body) -> (Vec<Edge>, bool) {
    let bounded = body.bounded_surfaces();
    let surfaces: Vec<Surface> = bounded.iter().map(|(surface, _)| *surface).collect();
    let mut found = Vec::new();
    let mut touching = false;
    for curve in candidates(body, &bounded) {
        for range in stretches(&curve, &surfaces) {
            match look(body, &surfaces, &curve, range) {
                Around::Nothing => {}
                Around::Touching => touching = true,
                Around::Faces { drawn, tangent } => found.push(Edge {
                    curve: curve.clone(),
                    range,
                    drawn,
                    tangent,
                }),
            }
        }
    }
    (found, touching)
}

/// The curves that edges can lie on; both surfaces of an edge must be there.
fn candidates(body: &Body, surfaces: &[(Surface, Room)]) -> Vec<Curve> {
    let whole = body.room();
    let bounded = (0..3).all(|k| whole[0][k].is_finite() && whole[1][k].is_finite());
    assert!(bounded, "a body with bounds, not {whole:?}");
    let grown = |room: Room| {
        let [low, high] = shared_room(whole, room);
        [low.map(|c| c - 1.0), high.map(|c| c + 1.0)]
    };
    let mut curves = Vec::new();
    for (i, (a, room)) in surfaces.iter().enumerate() {
        for (b, other) in &surfaces[i + 1..] {
            let common = grown(shared_room(*room, *other));
            if (0..3).all(|k| common[0][k] < common[1][k]) {
                curves.extend(crossings(a, b, &common));
            }
        }
        for way in TO_VIEWER {
            curves.extend(contours(a, way, &grown(*room)));
        }
    }
    curves
}

impl Edge {
    /// The greatest coordinate along a direction of the axes, `sign` 1, or the least, -1.
    pub(crate) fn extreme(&self, axis: usize, sign: f64) -> f64 {
        let stops = self.curve.stops(self.range);
        let speed = |t: f64| self.curve.way(t)[axis];
        let turning = |w: &&[f64]| (speed(w[0]) > 0.0) != (speed(w[1]) > 0.0);
        let turns = stops
            .windows(2)
            .filter(turning)
            .map(|w| halved(w[0], w[1], speed));
        let far = self
            .range
            .into_iter()
            .chain(turns)
            .map(|t| sign * self.curve.at(t)[axis]);
        sign * far.fold(f64::NEG_INFINITY, f64::max)
    }
}

/// A curve cut wherever it meets a surface; stretches too short to be seen are left out.
fn stretches(curve: &Curve, surfaces: &[Surface]) -> Vec<[f64; 2]> {
    let mut cuts: Vec<f64> = surfaces
        .iter()
        .flat_map(|surface| curve.meetings(surface))
        .collect();
    cuts.extend(curve.range);
    cuts.sort_by(f64::total_cmp);
    let mut kept: Vec<f64> = Vec::new();
    for cut in cuts {
        let apart = kept
            .last()
            .is_none_or(|last| (cut - last) * curve.speed(f64::midpoint(*last, cut)) > 10.0 * SAME);
        if apart {
            kept.push(cut);
        }
    }
    kept.windows(2).map(|w| [w[0], w[1]]).collect()
}

/// What is around a stretch.
enum Around {
    /// No face, or none that ends or turns here.
    Nothing,
    /// Two faces.
    Faces { drawn: [bool; 3], tangent: bool },
    /// More than two faces.
    Touching,
}

fn look(body: &Body, surfaces: &[Surface], curve: &Curve, [from, to]: [f64; 2]) -> Around {
    // Not in the middle, where symmetry lets other things happen.
    let at = |part: f64| from + part * (to - from);
    let t = at(0.437);
    if is_pinched(body, surfaces, curve, t) {
        return Around::Touching;
    }
    let faces = match faces_at(body, surfaces, curve, t).as_slice() {
        [] => return Around::Nothing,
        [a, b] => [*a, *b],
        _ => return Around::Touching,
    };
    if dot(faces[0], faces[1]) > -1.0 + 1e-9 {
        return Around::Faces {
            drawn: [true; 3],
            tangent: false,
        };
    }
    let drawn = [0, 1, 2].map(|view| {
        [0.31, 0.543, 0.73].iter().all(|part| {
            // At the tip of a cone a stretch may be too short to look beside it; nobody would see it.
            let faces = faces_at(body, surfaces, curve, at(*part));
            faces.first().is_some_and(|face| {
                let normal = cross(unit(curve.way(at(*part))), *face);
                dot(normal, TO_VIEWER[view]).abs() < SAME
            })
        })
    });
    let sides = [faces[0], faces[1]].map(|way| face_on(body, surfaces, curve.at(t), way));
    Around::Faces {
        drawn,
        tangent: sides.iter().all(|on| !on.is_empty())
            && !sides[0].iter().any(|s| sides[1].contains(s)),
    }
}

/// The surfaces, by place, on which the smooth face lies that leaves a point in a direction.
fn face_on(body: &Body, surfaces: &[Surface], p: Point, way: Point) -> Vec<usize> {
    /// How far from the point is looked, in millimetres: surfaces that touch there are apart by much more than `SAME`.
    const ASIDE: f64 = 0.01;
    /// Less than surfaces are apart there, in millimetres.
    const CLEAR: f64 = 1e-7;
    let on = |s: &&(usize, &Surface)| s.1.distance(p).abs() < SAME;
    let foot = plus(p, times(way, ASIDE));
    let bounds = |(_, surface): &(usize, &Surface)| {
        let normal = surface.normal(foot);
        let at = plus(foot, times(normal, -surface.distance(foot)));
        let filled = [CLEAR, -CLEAR].map(|h| body.contains(plus(at, times(normal, h))));
        dot(normal, way).abs() < 0.1 && filled[0] != filled[1]
    };
    let touching = surfaces.iter().enumerate();
    let found = touching.filter(|s| on(&s)).filter(bounds);
    found.map(|(place, _)| place).collect()
}

/// Whether material or void between two surfaces that touch along the curve runs out to nothing there.
fn is_pinched(body: &Body, surfaces: &[Surface], curve: &Curve, t: f64) -> bool {
    /// How far to the side of the curve is looked, in millimetres.
    const ASIDE: f64 = 1e-2;
    /// Beyond the outermost of the touching surfaces there, in millimetres.
    const BEYOND: f64 = 1e-3;
    let p = curve.at(t);
    let along = unit(curve.way(t));
    let on: Vec<&Surface> = surfaces
        .iter()
        .filter(|s| s.distance(p).abs() < SAME)
        .collect();
    let Some(normal) = on.iter().enumerate().find_map(|(i, a)| {
        let normal = a.normal(p);
        let touches = |b: &&Surface| length(cross(normal, b.normal(p))) < 1e-6;
        on[i + 1..].iter().any(touches).then_some(normal)
    }) else {
        return false;
    };
    [ASIDE, -ASIDE].iter().any(|aside| {
        let foot = plus(p, times(cross(normal, along), *aside));
        let height = |surface: &Surface| {
            let mut h = 0.0;
            for _ in 0..8 {
                let q = plus(foot, times(normal, h));
                h -= surface.distance(q) / dot(surface.normal(q), normal);
            }
            h
        };
        let touching = on
            .iter()
            .filter(|s| length(cross(normal, s.normal(p))) < 1e-6);
        let mut heights: Vec<f64> = touching.map(|s| height(s)).collect();
        heights.sort_by(f64::total_cmp);
        let mut looks = vec![heights[0] - BEYOND];
        looks.extend(heights.windows(2).map(|w| f64::midpoint(w[0], w[1])));
        looks.push(heights[heights.len() - 1] + BEYOND);
        let filled = looks
            .iter()
            .map(|h| body.contains(plus(foot, times(normal, *h))));
        let filled: Vec<bool> = filled.collect();
        filled.windows(2).filter(|w| w[0] != w[1]).count() > 1
    })
}

/// The directions, across the curve, in which faces leave it.
fn faces_at(body: &Body, surfaces: &[Surface], curve: &Curve, t: f64) -> Vec<Point> {
    /// How far from the curve the sectors are looked at, in millimetres.
    const ASIDE: f64 = 1e-4;
    let p = curve.at(t);
    let along = unit(curve.way(t));
    let [u, v] = across(along);
    let mut angles = Vec::new();
    for surface in surfaces.iter().filter(|s| s.distance(p).abs() < SAME) {
        let leaving = cross(surface.normal(p), along);
        if length(leaving) > 0.5 {
            let angle =
                direction(dot(leaving, u), dot(leaving, v)).rem_euclid(std::f64::consts::PI);
            angles.extend([angle, angle + std::f64::consts::PI]);
        }
    }
    angles.sort_by(f64::total_cmp);
    angles.dedup_by(|b, a| *b - *a < 1e-6);
    if angles.len() > 2 && angles[0] + TURN - angles[angles.len() - 1] < 1e-6 {
        angles.pop();
    }
    let way = |angle: f64| {
        let [c, s] = cos_sin(angle);
        plus(times(u, c), times(v, s))
    };
    let filled: Vec<bool> = (0..angles.len())
        .map(|i| {
            let next = angles
                .get(i + 1)
                .copied()
                .unwrap_or_else(|| angles[0] + TURN);
            let middle = way(f64::midpoint(angles[i], next));
            body.contains(plus(p, times(middle, ASIDE)))
        })
        .collect();
    (0..angles.len())
        .filter(|&i| filled[i] != filled[(i + angles.len() - 1) % angles.len()])
        .map(|i| way(angles[i]))
        .collect()
}

/// Least and greatest corner of the box around some edges.
pub(crate) fn bounds(edges: &[Edge]) -> [Point; 2] {
    [-1.0, 1.0].map(|sign| {
        [0, 1, 2].map(|axis| {
            let far = edges.iter().map(|edge| sign * edge.extreme(axis, sign));
            sign * far.fold(f64::NEG_INFINITY, f64::max)
        })
    })
}

/// The axes' directions that run right and up in a view.
pub(crate) fn right_and_up(view: usize) -> [Point; 2] {
    [[AXES[0], AXES[2]], [AXES[0], AXES[1]], [AXES[1], AXES[2]]][view]
}

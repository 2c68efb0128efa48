//! Where edges may lie: the crossings of two surfaces, and the contours of one.

use super::body::{Room, principal};
use super::curve::Curve;
use super::space::{
    AXES, TURN, across, ahead, arc_cosine, cos_sin, direction, plus, rejected, times,
};
use super::surface::{Axis, SAME, Surface};
use super::trace::trace;
use crate::cells::{Point, cross, dot, length, minus, unit};

/// No body reaches so far from where its surfaces meet, in millimetres.
const FAR: f64 = 1e6;

/// All curves in a box that edges between two surfaces can lie on.
pub(crate) fn crossings(a: &Surface, b: &Surface, room: &Room) -> Vec<Curve> {
    match (a, b) {
        (Surface::Plane { .. }, Surface::Plane { .. }) => two_planes(a, b, room),
        (Surface::Plane { normal, .. }, _) => cut_by_plane(a, *normal, b, room),
        (_, Surface::Plane { normal, .. }) => cut_by_plane(b, *normal, a, room),
        _ => two_round(a, b, room),
    }
}

/// The contours of a surface for a viewer in direction `to_viewer`.
pub(crate) fn contours(surface: &Surface, to_viewer: Point, room: &Room) -> Vec<Curve> {
    match surface {
        Surface::Plane { .. } => Vec::new(),
        Surface::Sphere { center, radius } => vec![Curve::circle(*center, to_viewer, *radius)],
        Surface::Cylinder { axis, radius } => {
            let side = cross(axis.way, to_viewer);
            if length(side) < SAME {
                return Vec::new();
            }
            let side = times(unit(side), *radius);
            [1.0, -1.0]
                .iter()
                .filter_map(|k| Curve::line(ahead(axis.through, side, *k), axis.way, room))
                .collect()
        }
        // The normal `out - slope way` is upright on the view where `out . viewer` is `slope way . viewer`.
        Surface::Cone {
            axis,
            radius,
            slope,
        } => {
            let lean = slope * dot(axis.way, to_viewer);
            let apex = axis.at(-radius / slope);
            let away = length(rejected(to_viewer, axis.way));
            rulings(axis, *slope, to_viewer, lean, away)
                .into_iter()
                .filter_map(|way| Curve::line(apex, way, room))
                .collect()
        }
        Surface::Torus { axis, major, minor } => {
            let lean = dot(axis.way, to_viewer).abs();
            if lean > 1.0 - SAME {
                let both = [major + minor, major - minor];
                return both
                    .iter()
                    .map(|r| Curve::circle(axis.through, axis.way, *r))
                    .collect();
            }
            assert!(lean < SAME, "a ring seen askew");
            let side = times(cross(axis.way, to_viewer), *major);
            let mut out: Vec<Curve> = [1.0, -1.0]
                .iter()
                .map(|k| Curve::circle(ahead(axis.through, side, *k), to_viewer, *minor))
                .collect();
            out.extend([1.0, -1.0].map(|k| Curve::circle(axis.at(k * minor), axis.way, *major)));
            out
        }
    }
}

/// The directions of a cone's rulings whose outward part has `out . viewer = wanted`; `away` is the viewer's own part
/// across the axis.
fn rulings(axis: &Axis, slope: f64, viewer: Point, wanted: f64, away: f64) -> Vec<Point> {
    if away < SAME || wanted.abs() > away * (1.0 + 1e-12) {
        return Vec::new();
    }
    let [e, f] = across(axis.way);
    let middle = direction(dot(viewer, e), dot(viewer, f));
    let half = arc_cosine(wanted / away);
    let sides: &[f64] = if half.min(std::f64::consts::PI - half) < SAME {
        &[1.0]
    } else {
        &[1.0, -1.0]
    };
    sides
        .iter()
        .map(|side| {
            let [c, s] = cos_sin(middle + side * half);
            plus(axis.way, times(plus(times(e, c), times(f, s)), slope))
        })
        .collect()
}

fn two_planes(a: &Surface, b: &Surface, room: &Room) -> Vec<Curve> {
    let (
        Surface::Plane { normal, offset },
        Surface::Plane {
            normal: n,
            offset: o,
        },
    ) = (a, b)
    else {
        return Vec::new();
    };
    let way = cross(*normal, *n);
    let square = dot(way, way);
    if square < SAME * SAME {
        return Vec::new();
    }
    let foot = plus(
        times(cross(*n, way), offset / square),
        times(cross(way, *normal), o / square),
    );
    Curve::line(foot, way, room).into_iter().collect()
}

fn cut_by_plane(plane: &Surface, normal: Point, round: &Surface, room: &Room) -> Vec<Curve> {
    match round {
        Surface::Plane { .. } => Vec::new(),
        Surface::Sphere { center, radius } => {
            let off = plane.distance(*center);
            circle_if(
                radius * radius - off * off,
                ahead(*center, normal, -off),
                normal,
            )
        }
        Surface::Cylinder { axis, radius } => cut_cylinder(plane, normal, axis, *radius, room),
        Surface::Cone {
            axis,
            radius,
            slope,
        } => {
            if dot(normal, axis.way).abs() > 1.0 - 1e-12 {
                let height = -plane.distance(axis.through) / dot(normal, axis.way);
                let r = radius + slope * height;
                return circle_if(r * r.abs(), axis.at(height), axis.way);
            }
            cut_cone(plane, normal, round, room)
        }
        Surface::Torus { axis, major, minor } => {
            let off = plane.distance(axis.through);
            if dot(normal, axis.way).abs() > 1.0 - SAME {
                let center = ahead(axis.through, normal, -off);
                let wide = (minor * minor - off * off).max(0.0).sqrt();
                if off.abs() > minor + SAME {
                    return Vec::new();
                }
                if wide < 1e-4 {
                    return circle_if(major * major, center, axis.way);
                }
                let mut both = circle_if((major + wide).powi(2), center, axis.way);
                both.extend(circle_if((major - wide).powi(2), center, axis.way));
                return both;
            }
            if off.abs() < SAME && dot(normal, axis.way).abs() < SAME {
                let side = times(cross(axis.way, normal), *major);
                return [1.0, -1.0]
                    .map(|k| Curve::circle(ahead(axis.through, side, k), normal, *minor))
                    .to_vec();
            }
            trace(plane, round, room)
        }
    }
}

fn circle_if(square: f64, center: Point, way: Point) -> Vec<Curve> {
    if square < SAME {
        return Vec::new();
    }
    vec![Curve::circle(center, way, square.sqrt())]
}

fn cut_cylinder(
    plane: &Surface,
    normal: Point,
    axis: &Axis,
    radius: f64,
    room: &Room,
) -> Vec<Curve> {
    let lean = dot(normal, axis.way);
    let off = plane.distance(axis.through);
    if lean.abs() < 1e-12 {
        let foot = ahead(axis.through, normal, -off);
        return parallel_lines(
            radius * radius - off * off,
            foot,
            cross(normal, axis.way),
            axis,
            room,
        );
    }
    let center = axis.at(-off / lean);
    if lean.abs() > 1.0 - 1e-12 {
        return circle_if(radius * radius, center, axis.way);
    }
    let minor = unit(cross(axis.way, normal));
    let major = cross(normal, minor);
    vec![Curve::ellipse(
        center,
        [times(major, radius / lean.abs()), times(minor, radius)],
    )]
}

/// Two lines along an axis beside a foot, at the root of `square` to both sides; one if that is nothing.
fn parallel_lines(square: f64, foot: Point, side: Point, axis: &Axis, room: &Room) -> Vec<Curve> {
    if square < -SAME {
        return Vec::new();
    }
    // A distance that is out by rounding has a square that is out by as much, times the radius.
    let wide = if square < SAME { 0.0 } else { square.sqrt() };
    let sides: &[f64] = if wide == 0.0 { &[0.0] } else { &[1.0, -1.0] };
    sides
        .iter()
        .filter_map(|k| Curve::line(ahead(foot, side, k * wide), axis.way, room))
        .collect()
}

fn cut_cone(plane: &Surface, normal: Point, cone: &Surface, room: &Room) -> Vec<Curve> {
    let Surface::Cone {
        axis,
        radius,
        slope,
    } = cone
    else {
        return Vec::new();
    };
    let apex = axis.at(-radius / slope);
    if plane.distance(apex).abs() < SAME {
        // A ruling `way + slope out` lies in the plane where `out . normal` is `-way . normal / slope`.
        let wanted = -dot(axis.way, normal) / slope;
        return rulings(
            axis,
            *slope,
            normal,
            wanted,
            length(rejected(normal, axis.way)),
        )
        .into_iter()
        .filter_map(|way| Curve::line(apex, way, room))
        .collect();
    }
    let lean = dot(normal, axis.way);
    if lean.abs() > SAME {
        // In the plane through the axis: two rulings and the plane's line of greatest fall.
        let foot = axis.at(-plane.distance(axis.through) / lean);
        let fall = unit(rejected(axis.way, normal));
        let (aside, along) = (length(axis.out(plus(foot, fall))), dot(fall, axis.way));
        let here = radius + slope * axis.height(foot);
        let ends = [
            here / (aside - slope * along),
            -here / (aside + slope * along),
        ];
        let on_cone = |t: f64| radius + slope * axis.height(ahead(foot, fall, t)) > SAME;
        // Along a ruling the plane cuts a parabola, by rounding an ellipse that reaches beyond all bounds.
        if ends.iter().all(|t| t.abs() < FAR && on_cone(*t)) {
            let center = ahead(foot, fall, f64::midpoint(ends[0], ends[1]));
            let r = radius + slope * axis.height(center);
            let wide = (r * r - dot(axis.out(center), axis.out(center))).sqrt();
            let long = (ends[0] - ends[1]).abs() / 2.0;
            let side = unit(cross(normal, fall));
            return vec![Curve::ellipse(
                center,
                [times(fall, long), times(side, wide)],
            )];
        }
    }
    trace(plane, cone, room)
}

fn two_round(a: &Surface, b: &Surface, room: &Room) -> Vec<Curve> {
    if let Some(axis) = common_axis(a, b) {
        let (p, q) = (profile(a, &axis), profile(b, &axis));
        return meet(&p, &q)
            .into_iter()
            .filter(|[r, _]| *r > SAME)
            .map(|[r, h]| Curve::circle(axis.at(h), axis.way, r))
            .collect();
    }
    let (
        Surface::Cylinder { axis, radius },
        Surface::Cylinder {
            axis: other,
            radius: r,
        },
    ) = (a, b)
    else {
        return trace(a, b, room);
    };
    let side = cross(axis.way, other.way);
    if length(side) < SAME {
        let apart = axis.out(other.through);
        let d = length(apart);
        let along = (d * d + radius * radius - r * r) / (2.0 * d);
        let foot = ahead(axis.through, apart, along / d);
        let aside = cross(axis.way, times(apart, 1.0 / d));
        return parallel_lines(radius * radius - along * along, foot, aside, axis, room);
    }
    let side = unit(side);
    let between = minus(other.through, axis.through);
    if (radius - r).abs() < SAME && dot(between, side).abs() < SAME {
        let turned = rejected(other.way, axis.way);
        let center = axis.at(axis.height(other.through)
            - dot(axis.out(other.through), turned) / dot(turned, turned)
                * dot(other.way, axis.way));
        // The two ellipses cross where the cylinders touch, a quarter of a turn to either side: each is two halves.
        let quarter = TURN / 4.0;
        let halves = [[-quarter, quarter], [quarter, 3.0 * quarter]];
        return [1.0, -1.0]
            .iter()
            .flat_map(|k| {
                let long = unit(ahead(axis.way, other.way, *k));
                let lean = length(rejected(long, axis.way));
                let arms = [times(long, radius / lean), times(side, *radius)];
                halves.map(|range| Curve {
                    range,
                    ..Curve::ellipse(center, arms)
                })
            })
            .collect();
    }
    trace(a, b, room)
}

/// The axis that both surfaces are turned about, if there is one.
fn common_axis(a: &Surface, b: &Surface) -> Option<Axis> {
    match (axis_of(a), axis_of(b)) {
        (Some(axis), Some(other)) => axis.is_along(&other).then_some(axis),
        (Some(axis), None) => turns_about(b, &axis).then_some(axis),
        (None, Some(axis)) => turns_about(a, &axis).then_some(axis),
        (None, None) => {
            let (Surface::Sphere { center, .. }, Surface::Sphere { center: c, .. }) = (a, b) else {
                return None;
            };
            let between = minus(*c, *center);
            let way = if length(between) < SAME {
                AXES[2]
            } else {
                unit(between)
            };
            Some(Axis {
                through: *center,
                way: principal(way).map_or(way, |k| AXES[k]),
            })
        }
    }
}

fn axis_of(surface: &Surface) -> Option<Axis> {
    match surface {
        Surface::Cylinder { axis, .. }
        | Surface::Cone { axis, .. }
        | Surface::Torus { axis, .. } => Some(*axis),
        Surface::Plane { .. } | Surface::Sphere { .. } => None,
    }
}

fn turns_about(sphere: &Surface, axis: &Axis) -> bool {
    matches!(sphere, Surface::Sphere { center, .. } if length(axis.out(*center)) < SAME)
}

/// A surface's section through its axis, as (radius, height).
enum Profile {
    Line { from: [f64; 2], way: [f64; 2] },
    Circle { center: [f64; 2], radius: f64 },
}

fn profile(surface: &Surface, about: &Axis) -> Profile {
    match surface {
        Surface::Cone {
            axis,
            radius,
            slope,
        } => Profile::Line {
            from: [*radius, about.height(axis.through)],
            way: [slope * dot(axis.way, about.way), 1.0],
        },
        Surface::Cylinder { radius, .. } => Profile::Line {
            from: [*radius, 0.0],
            way: [0.0, 1.0],
        },
        Surface::Sphere { center, radius } => Profile::Circle {
            center: [0.0, about.height(*center)],
            radius: *radius,
        },
        Surface::Torus { axis, major, minor } => Profile::Circle {
            center: [*major, about.height(axis.through)],
            radius: *minor,
        },
        Surface::Plane { .. } => unreachable!("a plane is no round surface"),
    }
}

fn meet(a: &Profile, b: &Profile) -> Vec<[f64; 2]> {
    match (a, b) {
        (Profile::Line { from, way }, Profile::Line { from: f, way: w }) => {
            let turn = way[0] * w[1] - way[1] * w[0];
            if turn.abs() < 1e-12 {
                return Vec::new();
            }
            let t = ((f[0] - from[0]) * w[1] - (f[1] - from[1]) * w[0]) / turn;
            vec![[from[0] + t * way[0], from[1] + t * way[1]]]
        }
        (Profile::Line { from, way }, Profile::Circle { center, radius })
        | (Profile::Circle { center, radius }, Profile::Line { from, way }) => {
            let n = way[0].hypot(way[1]);
            let way = way.map(|c| c / n);
            let (x, y) = (center[0] - from[0], center[1] - from[1]);
            let (along, off) = (x * way[0] + y * way[1], x * way[1] - y * way[0]);
            let at = |t: f64| [from[0] + t * way[0], from[1] + t * way[1]];
            both_sides(radius * radius - off * off).map_or(Vec::new(), |sides| {
                sides.iter().map(|s| at(along + s)).collect()
            })
        }
        (
            Profile::Circle { center, radius },
            Profile::Circle {
                center: c,
                radius: r,
            },
        ) => {
            let [x, y] = [c[0] - center[0], c[1] - center[1]];
            let d = x.hypot(y);
            if d < SAME {
                return Vec::new();
            }
            let along = (d * d + radius * radius - r * r) / (2.0 * d);
            let [u, v] = [x / d, y / d];
            both_sides(radius * radius - along * along).map_or(Vec::new(), |sides| {
                let at = |s: &f64| [center[0] + along * u - s * v, center[1] + along * v + s * u];
                sides.iter().map(at).collect()
            })
        }
    }
}

/// Plus and minus the root; nothing twice is one.
fn both_sides(square: f64) -> Option<Vec<f64>> {
    if square < -SAME {
        None
    } else if square < SAME {
        Some(vec![0.0])
    } else {
        Some(vec![square.sqrt(), -square.sqrt()])
    }
}

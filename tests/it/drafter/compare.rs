//! Whether two sheets show the same drawing: wherever the one has a line, the other has one of the same type.

use foldback::{LineType, Shape, Sheet, View};

use super::space::{TURN, cos_sin};

/// Points along a line of a view, in the view's own millimetres.
struct Trail {
    hidden: bool,
    points: Vec<[f64; 2]>,
    room: [[f64; 2]; 2],
}

/// The first place where two sheets differ by more than `within` millimetres, whatever their unit and layout.
///
/// Both must say which line stands in which view. A hidden line under a visible one counts for nothing.
pub(crate) fn difference(a: &Sheet, b: &Sheet, within: f64) -> Option<String> {
    View::ALL.into_iter().find_map(|view| {
        let (mut p, mut q) = (trails(a, view), trails(b, view));
        let (size, other) = (to_corner(&mut p), to_corner(&mut q));
        if (0..2).any(|k| (size[k] - other[k]).abs() > within) {
            return Some(format!("{}: size {size:?} against {other:?}", view.name()));
        }
        let forth = first_not_in(&p, &q, within).map(|at| format!("{}: {at}", view.name()));
        let back = || first_not_in(&q, &p, within);
        forth.or_else(|| back().map(|at| format!("{}, other way: {at}", view.name())))
    })
}

fn trails(sheet: &Sheet, view: View) -> Vec<Trail> {
    let scale = sheet.unit.millimetres();
    let lines = sheet.lines.iter().filter(|line| {
        line.view == Some(view) && matches!(line.line_type, LineType::Visible | LineType::Hidden)
    });
    lines
        .map(|line| {
            let points: Vec<[f64; 2]> = flattened(&line.shape)
                .iter()
                .map(|p| p.map(|c| c * scale))
                .collect();
            Trail {
                hidden: line.line_type == LineType::Hidden,
                points,
                room: [[0.0; 2]; 2],
            }
        })
        .collect()
}

/// Moves all to the corner of their box; returns its size.
fn to_corner(trails: &mut [Trail]) -> [f64; 2] {
    let far = |sign: f64| {
        let points = || trails.iter().flat_map(|t| &t.points);
        [0, 1].map(|k| {
            points()
                .map(|p| sign * p[k])
                .fold(f64::NEG_INFINITY, f64::max)
        })
    };
    let (low, high) = (far(-1.0).map(|c| -c), far(1.0));
    for trail in trails {
        for p in &mut trail.points {
            *p = [p[0] - low[0], p[1] - low[1]];
        }
        let points = &trail.points;
        let end = |sign: f64| {
            [0, 1].map(|k| {
                sign * points
                    .iter()
                    .map(|p| sign * p[k])
                    .fold(f64::NEG_INFINITY, f64::max)
            })
        };
        trail.room = [end(-1.0), end(1.0)];
    }
    [high[0] - low[0], high[1] - low[1]]
}

fn first_not_in(a: &[Trail], b: &[Trail], within: f64) -> Option<String> {
    a.iter().find_map(|trail| {
        spots(trail).into_iter().find_map(|spot| {
            let own = type_at(a, spot, within / 100.0)?;
            // Too near to a visible line to tell which of the two the other drawing means.
            if own != type_at(a, spot, 2.0 * within)? {
                return None;
            }
            let other = type_at(b, spot, within);
            (other != Some(own))
                .then(|| format!("at {spot:.3?} {} against {}", word(Some(own)), word(other)))
        })
    })
}

/// Places along a trail, half a millimetre apart, not at its ends.
fn spots(trail: &Trail) -> Vec<[f64; 2]> {
    const STEP: f64 = 0.5;
    let mut spots = Vec::new();
    let mut left = STEP / 2.0;
    for w in trail.points.windows(2) {
        let long = (w[1][0] - w[0][0]).hypot(w[1][1] - w[0][1]);
        while left < long {
            let part = left / long;
            spots.push([0, 1].map(|k| w[0][k] + part * (w[1][k] - w[0][k])));
            left += STEP;
        }
        left -= long;
    }
    spots
}

/// What is drawn at a place: visible (`false`) before hidden (`true`) before nothing.
fn type_at(trails: &[Trail], p: [f64; 2], within: f64) -> Option<bool> {
    let near = trails.iter().filter(|trail| {
        let inside =
            (0..2).all(|k| trail.room[0][k] - within <= p[k] && p[k] <= trail.room[1][k] + within);
        inside
            && trail
                .points
                .windows(2)
                .any(|w| is_beside([w[0], w[1]], p, within))
    });
    near.map(|trail| trail.hidden).min()
}

fn is_beside([a, b]: [[f64; 2]; 2], p: [f64; 2], within: f64) -> bool {
    let way = [b[0] - a[0], b[1] - a[1]];
    let square = (way[0] * way[0] + way[1] * way[1]).max(1e-30);
    let t = (((p[0] - a[0]) * way[0] + (p[1] - a[1]) * way[1]) / square).clamp(0.0, 1.0);
    (p[0] - a[0] - t * way[0]).hypot(p[1] - a[1] - t * way[1]) < within
}

/// A shape as points whose chords stray by less than a thousandth of a millimetre on parts of usual size.
fn flattened(shape: &Shape) -> Vec<[f64; 2]> {
    match shape {
        Shape::Line { from, to } => vec![*from, *to],
        Shape::Polyline(points) | Shape::Curve(points) => points.clone(),
        Shape::Circle { center, radius } => round(*center, [*radius; 2], 0.0, [0.0, 360.0]),
        Shape::Arc {
            center,
            radius,
            start,
            end,
        } => round(*center, [*radius; 2], 0.0, [*start, *end]),
        Shape::Ellipse {
            center,
            radii,
            rotation,
        } => round(*center, *radii, *rotation, [0.0, 360.0]),
        Shape::EllipticalArc {
            center,
            radii,
            rotation,
            start,
            end,
        } => round(*center, *radii, *rotation, [*start, *end]),
    }
}

fn round(
    center: [f64; 2],
    radii: [f64; 2],
    rotation: f64,
    [start, end]: [f64; 2],
) -> Vec<[f64; 2]> {
    let end = if end <= start { end + 360.0 } else { end };
    let [c, s] = cos_sin(rotation.to_radians());
    let at = |degrees: f64| {
        let [x, y] = cos_sin(degrees / 360.0 * TURN);
        let [x, y] = [radii[0] * x, radii[1] * y];
        [center[0] + x * c - y * s, center[1] + x * s + y * c]
    };
    const CHORDS: i32 = 512;
    (0..=CHORDS)
        .map(|i| at(start + (end - start) * f64::from(i) / f64::from(CHORDS)))
        .collect()
}

fn word(drawn: Option<bool>) -> &'static str {
    match drawn {
        None => "nothing",
        Some(false) => "a visible line",
        Some(true) => "a hidden line",
    }
}

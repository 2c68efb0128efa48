//! Solids put together: simple pieces joined, taken away and intersected. A piece is what lies inside all its surfaces.

use super::space::{AXES, ahead, plus, times};
use super::spans::{EVERYWHERE, Spans, both, either, except};
use super::surface::{Axis, SAME, Surface};
use crate::cells::{Point, cross, dot, length, minus, unit};

/// A box by its least and its greatest corner.
pub(crate) type Room = [Point; 2];

/// A solid as a tree of pieces.
#[derive(Clone, Debug)]
pub(crate) enum Body {
    /// Inside all of these.
    Piece(Vec<Surface>),
    /// In any of them.
    Union(Vec<Body>),
    /// In the first and in none of the others.
    Without(Box<Body>, Vec<Body>),
    /// In all of them.
    Common(Vec<Body>),
}

/// The box between two corners.
pub(crate) fn block(low: Point, high: Point) -> Body {
    let planes = (0..3).flat_map(|k| {
        [
            plane(times(AXES[k], -1.0), -low[k]),
            plane(AXES[k], high[k]),
        ]
    });
    Body::Piece(planes.collect())
}

/// A round rod along an axis (0 x, 1 y, 2 z) through a point of it, `span` along that axis.
pub(crate) fn rod(axis: usize, through: Point, radius: f64, span: [f64; 2]) -> Body {
    let line = line(axis, through);
    Body::Piece(capped(Surface::Cylinder { axis: line, radius }, axis, span))
}

/// A cone or frustum along an axis through a point of it: its radii at the two ends of `span`.
pub(crate) fn frustum(axis: usize, through: Point, radii: [f64; 2], span: [f64; 2]) -> Body {
    let mut foot = through;
    foot[axis] = span[0];
    let cone = Surface::Cone {
        axis: line(axis, foot),
        radius: radii[0],
        slope: (radii[1] - radii[0]) / (span[1] - span[0]),
    };
    Body::Piece(capped(cone, axis, span))
}

/// A round bar from one point to another in any direction, its ends square: the radii at the two; a frustum if they differ.
pub(crate) fn bar(ends: [Point; 2], radii: [f64; 2]) -> Body {
    let reach = minus(ends[1], ends[0]);
    let way = unit(reach);
    let axis = Axis {
        through: ends[0],
        way,
    };
    let side = if radii[0] == radii[1] {
        Surface::Cylinder {
            axis,
            radius: radii[0],
        }
    } else {
        Surface::Cone {
            axis,
            radius: radii[0],
            slope: (radii[1] - radii[0]) / length(reach),
        }
    };
    let foot = plane(times(way, -1.0), -dot(way, ends[0]));
    Body::Piece(vec![side, foot, plane(way, dot(way, ends[1]))])
}

/// A ball.
pub(crate) fn ball(center: Point, radius: f64) -> Body {
    Body::Piece(vec![Surface::Sphere { center, radius }])
}

/// A ring of round wire about an axis: radius of the ring and of the wire.
pub(crate) fn ring(axis: usize, center: Point, major: f64, minor: f64) -> Body {
    Body::Piece(vec![Surface::Torus {
        axis: line(axis, center),
        major,
        minor,
    }])
}

/// Everything on the side of the plane through `point` that `normal` points away from.
pub(crate) fn half(point: Point, normal: Point) -> Body {
    let normal = unit(normal);
    Body::Piece(vec![plane(normal, dot(normal, point))])
}

/// A prism along an axis over a convex outline given counter-clockwise, in the two other axes in their cyclic order
/// (along x: y, z; along y: z, x; along z: x, y).
pub(crate) fn prism(axis: usize, outline: &[[f64; 2]], span: [f64; 2]) -> Body {
    let [u, v] = [(axis + 1) % 3, (axis + 2) % 3];
    let mut surfaces = caps(axis, span).to_vec();
    for (i, a) in outline.iter().enumerate() {
        let b = outline[(i + 1) % outline.len()];
        let mut normal = [0.0; 3];
        (normal[u], normal[v]) = (b[1] - a[1], a[0] - b[0]);
        let normal = unit(normal);
        surfaces.push(plane(normal, normal[u] * a[0] + normal[v] * a[1]));
    }
    Body::Piece(surfaces)
}

impl Body {
    /// This and others as one.
    pub(crate) fn with(self, others: impl IntoIterator<Item = Body>) -> Body {
        Body::Union([self].into_iter().chain(others).collect())
    }

    /// This with others taken away.
    pub(crate) fn without(self, others: impl IntoIterator<Item = Body>) -> Body {
        Body::Without(Box::new(self), others.into_iter().collect())
    }

    /// What this and another share.
    pub(crate) fn and(self, other: Body) -> Body {
        Body::Common(vec![self, other])
    }

    /// Whether a point lies inside.
    pub(crate) fn contains(&self, p: Point) -> bool {
        match self {
            Body::Piece(surfaces) => surfaces.iter().all(|s| s.distance(p) < 0.0),
            Body::Union(bodies) => bodies.iter().any(|b| b.contains(p)),
            Body::Without(first, others) => {
                first.contains(p) && !others.iter().any(|b| b.contains(p))
            }
            Body::Common(bodies) => bodies.iter().all(|b| b.contains(p)),
        }
    }

    /// Where a ray runs inside.
    pub(crate) fn spans(&self, from: Point, way: Point) -> Spans {
        match self {
            Body::Piece(surfaces) => shared(surfaces.iter().map(|s| s.spans(from, way))),
            Body::Union(bodies) => bodies.iter().fold(Spans::new(), |sum, body| {
                either(&sum, &body.spans(from, way))
            }),
            Body::Without(first, others) => {
                let mut left = first.spans(from, way);
                for body in others {
                    if left.is_empty() {
                        break;
                    }
                    left = except(&left, &body.spans(from, way));
                }
                left
            }
            Body::Common(bodies) => shared(bodies.iter().map(|b| b.spans(from, way))),
        }
    }

    /// All its surfaces, each once, with a box around all pieces that they bound.
    pub(crate) fn bounded_surfaces(&self) -> Vec<(Surface, Room)> {
        let mut all = Vec::new();
        self.collect(&mut all);
        let mut once: Vec<(Surface, Room)> = Vec::new();
        for (surface, room) in all {
            match once.iter_mut().find(|(known, _)| known.is_same(&surface)) {
                Some((_, known)) => *known = hull(*known, room),
                None => once.push((surface, room)),
            }
        }
        once
    }

    fn collect(&self, into: &mut Vec<(Surface, Room)>) {
        match self {
            Body::Piece(surfaces) => {
                let room = self.room();
                into.extend(surfaces.iter().map(|s| (*s, room)));
            }
            Body::Union(bodies) | Body::Common(bodies) => {
                bodies.iter().for_each(|body| body.collect(into));
            }
            Body::Without(first, others) => {
                first.collect(into);
                others.iter().for_each(|body| body.collect(into));
            }
        }
    }

    /// A box around it; it may be larger than need be, without bounds where the pieces say nothing.
    pub(crate) fn room(&self) -> Room {
        match self {
            Body::Piece(surfaces) => {
                let caps = narrowed(surfaces.iter().map(|s| room_of(s, NO_BOUNDS)));
                let rooms = surfaces.iter().map(|s| room_of(s, caps));
                narrowed(rooms.chain(corners(surfaces)))
            }
            Body::Common(bodies) => narrowed(bodies.iter().map(Body::room)),
            Body::Without(first, _) => first.room(),
            Body::Union(bodies) => {
                let nothing = [[f64::INFINITY; 3], [f64::NEG_INFINITY; 3]];
                bodies.iter().map(Body::room).fold(nothing, hull)
            }
        }
    }
}

/// Everywhere.
const NO_BOUNDS: Room = [[f64::NEG_INFINITY; 3], [f64::INFINITY; 3]];

/// The box that two boxes share; it may be inside out.
pub(crate) fn shared_room([low, high]: Room, [l, h]: Room) -> Room {
    [
        [0, 1, 2].map(|k| low[k].max(l[k])),
        [0, 1, 2].map(|k| high[k].min(h[k])),
    ]
}

fn hull([low, high]: Room, [l, h]: Room) -> Room {
    [
        [0, 1, 2].map(|k| low[k].min(l[k])),
        [0, 1, 2].map(|k| high[k].max(h[k])),
    ]
}

fn narrowed(rooms: impl Iterator<Item = Room>) -> Room {
    rooms.fold(NO_BOUNDS, shared_room)
}

/// The box around the corners of a piece with plane faces only; nothing for any other.
fn corners(surfaces: &[Surface]) -> Option<Room> {
    let mut planes = Vec::new();
    for surface in surfaces {
        let Surface::Plane { normal, offset } = surface else {
            return None;
        };
        planes.push((*normal, *offset));
    }
    let mut room: Option<Room> = None;
    for (i, (a, p)) in planes.iter().enumerate() {
        for (j, (b, q)) in planes[..i].iter().enumerate() {
            for (c, r) in &planes[..j] {
                let turn = dot(*a, cross(*b, *c));
                if turn.abs() < 1e-9 {
                    continue;
                }
                let sum = plus(times(cross(*b, *c), *p), times(cross(*c, *a), *q));
                let corner = times(plus(sum, times(cross(*a, *b), *r)), 1.0 / turn);
                if surfaces.iter().all(|s| s.distance(corner) < SAME) {
                    room = Some(hull(room.unwrap_or([corner; 2]), [corner; 2]));
                }
            }
        }
    }
    // Two planes bound nothing.
    if planes.len() > 3 { room } else { None }
}

/// The box around the inside of a surface; a cone is looked at between the `caps` only.
fn room_of(surface: &Surface, caps: Room) -> Room {
    let mut room = NO_BOUNDS;
    let mut around = |center: Point, reach: Point| {
        for k in 0..3 {
            room[0][k] = center[k] - reach[k];
            room[1][k] = center[k] + reach[k];
        }
    };
    match surface {
        Surface::Plane { normal, offset } => {
            if let Some(k) = principal(*normal) {
                let side = usize::from(normal[k] > 0.0);
                room[side][k] = offset / normal[k];
            }
        }
        Surface::Sphere { center, radius } => around(*center, [*radius; 3]),
        Surface::Torus { axis, major, minor } => around(axis.through, [major + minor; 3]),
        Surface::Cylinder { axis, radius } => {
            if let Some(k) = principal(axis.way) {
                let mut reach = [*radius; 3];
                reach[k] = f64::INFINITY;
                around(axis.through, reach);
            }
        }
        Surface::Cone {
            axis,
            radius,
            slope,
        } => {
            if let Some(k) = principal(axis.way) {
                let at = |h: f64| radius + slope * (h - axis.through[k]) * axis.way[k];
                let widest = at(caps[0][k]).max(at(caps[1][k]));
                let mut reach = [widest; 3];
                reach[k] = f64::INFINITY;
                around(axis.through, reach);
            }
        }
    }
    room
}

/// The axis a unit vector runs along, either way.
pub(crate) fn principal(way: Point) -> Option<usize> {
    (0..3).find(|&k| way[k].abs() > 1.0 - 1e-12)
}

fn shared(lists: impl Iterator<Item = Spans>) -> Spans {
    let mut left = vec![EVERYWHERE];
    for list in lists {
        left = both(&left, &list);
        if left.is_empty() {
            break;
        }
    }
    left
}

fn capped(side: Surface, axis: usize, span: [f64; 2]) -> Vec<Surface> {
    let [low, high] = caps(axis, span);
    vec![side, low, high]
}

fn caps(axis: usize, span: [f64; 2]) -> [Surface; 2] {
    [
        plane(times(AXES[axis], -1.0), -span[0]),
        plane(AXES[axis], span[1]),
    ]
}

fn plane(normal: Point, offset: f64) -> Surface {
    Surface::Plane { normal, offset }
}

fn line(axis: usize, through: Point) -> Axis {
    Axis {
        through,
        way: AXES[axis],
    }
}

/// A body moved.
pub(crate) fn moved(body: &Body, by: Point) -> Body {
    let list = |bodies: &[Body]| bodies.iter().map(|b| moved(b, by)).collect();
    match body {
        Body::Piece(surfaces) => {
            Body::Piece(surfaces.iter().map(|s| moved_surface(s, by)).collect())
        }
        Body::Union(bodies) => Body::Union(list(bodies)),
        Body::Without(first, others) => Body::Without(Box::new(moved(first, by)), list(others)),
        Body::Common(bodies) => Body::Common(list(bodies)),
    }
}

fn moved_surface(surface: &Surface, by: Point) -> Surface {
    let mut out = *surface;
    match &mut out {
        Surface::Plane { normal, offset } => *offset += dot(*normal, by),
        Surface::Sphere { center, .. } => *center = plus(*center, by),
        Surface::Cylinder { axis, .. }
        | Surface::Cone { axis, .. }
        | Surface::Torus { axis, .. } => axis.through = ahead(axis.through, by, 1.0),
    }
    out
}

//! Puts the faces of a solid in the order in which they can be painted over one another, farthest first.
//!
//! The plane of a face that looks at the viewer parts all others into those before and those behind it; faces on both
//! sides are cut along it. Done again on both sides this gives an exact order even where faces overlap one another in a
//! ring (Fuchs, Kedem and Naylor, *On Visible Surface Generation by A Priori Tree Structures*, 1980).

use crate::geom::plane::Plane;
use crate::geom::{P3, V3};
use crate::solid::mesh::triangles_of;
use crate::solid::{Face, Polyhedron};

/// Corners nearer to a plane than this share of the part's size lie in it: smaller than any feature, larger than the
/// inaccuracy of corners.
const IN_PLANE: f64 = 1e-5;

/// How many planes are tried before one is chosen to part the rest.
const TRIALS: usize = 8;

/// A whole face or a convex piece of one.
#[derive(Clone, Debug)]
pub(super) struct Patch {
    /// The direction its face looks in.
    pub(super) normal: V3,
    /// Its loops, counter-clockwise seen from outside, holes clockwise.
    pub(super) loops: Vec<Vec<P3>>,
    /// The face, a place in the solid's faces.
    pub(super) face: usize,
    /// Whether it is a single loop without inward corners.
    convex: bool,
}

/// The faces that look along `towards`, the line of sight, so that none is painted over by one behind it.
pub(super) fn back_to_front(solid: &Polyhedron, towards: &V3) -> Vec<Patch> {
    let [lo, hi] = solid.bounds();
    let slack = (hi - lo).norm() * IN_PLANE;
    let looking = |(_, face): &(usize, &Face)| face.plane.normal.dot(towards) > 0.0;
    let faces = solid.faces.iter().enumerate().filter(looking);
    let mut todo = vec![Work::Order(
        faces.map(|(f, face)| whole(solid, f, face)).collect(),
    )];
    let mut done = Vec::new();
    while let Some(work) = todo.pop() {
        match work {
            Work::Paint(patches) => done.extend(patches),
            Work::Order(patches) if patches.len() < 2 => done.extend(patches),
            Work::Order(mut patches) => {
                // Set aside so that the rest becomes fewer even if its face is not quite flat.
                let chosen = patches.swap_remove(best_to_part(solid, &patches, slack));
                let plane = &solid.faces[chosen.face].plane;
                let [behind, mut within, before] = parted(solid, patches, plane, slack);
                within.push(chosen);
                todo.push(Work::Order(before));
                todo.push(Work::Paint(within));
                todo.push(Work::Order(behind));
            }
        }
    }
    done
}

/// Some faces, whichever way they look, in no order.
pub(super) fn unsorted(solid: &Polyhedron, wanted: impl Fn(usize) -> bool) -> Vec<Patch> {
    let faces = solid.faces.iter().enumerate();
    let wanted = faces.filter(|(f, _)| wanted(*f));
    wanted.map(|(f, face)| whole(solid, f, face)).collect()
}

/// What is left to do; the last one comes first.
enum Work {
    Order(Vec<Patch>),
    Paint(Vec<Patch>),
}

fn whole(solid: &Polyhedron, face: usize, f: &Face) -> Patch {
    let at = |v: &u32| solid.vertices[*v as usize];
    let loops: Vec<Vec<P3>> = f.loops.iter().map(|l| l.iter().map(at).collect()).collect();
    let border = &loops[0];
    let corner = |k: usize| border[k % border.len()];
    let turns_left = |k: usize| {
        let turn = (corner(k + 1) - corner(k)).cross(&(corner(k + 2) - corner(k + 1)));
        turn.dot(&f.plane.normal) >= 0.0
    };
    Patch {
        normal: f.plane.normal,
        face,
        convex: loops.len() == 1 && border.len() < 5 && (0..border.len()).all(turns_left),
        loops,
    }
}

/// Which sides of a plane a patch reaches to: behind, before.
fn sides(patch: &Patch, plane: &Plane, slack: f64) -> [bool; 2] {
    let mut reached = [false; 2];
    for corner in patch.loops.iter().flatten() {
        let above = plane.distance(corner);
        reached[0] |= above < -slack;
        reached[1] |= above > slack;
    }
    reached
}

/// The patch whose plane cuts few others and parts them evenly.
fn best_to_part(solid: &Polyhedron, patches: &[Patch], slack: f64) -> usize {
    let plane = |k: usize| &solid.faces[patches[k].face].plane;
    let cost = |k: &usize| {
        let mut counts = [0_usize; 3];
        for patch in patches {
            match sides(patch, plane(*k), slack) {
                [true, true] => counts[2] += 1,
                [behind, before] => {
                    counts[0] += usize::from(behind);
                    counts[1] += usize::from(before);
                }
            }
        }
        counts[2] * TRIALS + counts[0].abs_diff(counts[1])
    };
    let step = patches.len().div_ceil(TRIALS);
    (0..patches.len())
        .step_by(step)
        .min_by_key(cost)
        .unwrap_or(0)
}

/// The patches behind, in and before a plane, cut where they reach to both sides.
fn parted(solid: &Polyhedron, patches: Vec<Patch>, plane: &Plane, slack: f64) -> [Vec<Patch>; 3] {
    let mut parts = [Vec::new(), Vec::new(), Vec::new()];
    for patch in patches {
        match sides(&patch, plane, slack) {
            [true, false] => parts[0].push(patch),
            [false, false] => parts[1].push(patch),
            [false, true] => parts[2].push(patch),
            [true, true] => {
                for piece in convex_pieces(solid, patch) {
                    let flipped = plane.flipped();
                    parts[0].extend(clipped(&piece, &flipped, slack));
                    parts[2].extend(clipped(&piece, plane, slack));
                }
            }
        }
    }
    parts
}

fn convex_pieces(solid: &Polyhedron, patch: Patch) -> Vec<Patch> {
    if patch.convex {
        return vec![patch];
    }
    let triangles = triangles_of(solid, &solid.faces[patch.face]);
    let piece = |t: [u32; 3]| Patch {
        normal: patch.normal,
        loops: vec![t.map(|v| solid.vertices[v as usize]).to_vec()],
        face: patch.face,
        convex: true,
    };
    triangles.into_iter().map(piece).collect()
}

/// The part of a convex patch before a plane (Sutherland and Hodgman's clipping), or nothing if it is but a sliver.
fn clipped(patch: &Patch, plane: &Plane, slack: f64) -> Option<Patch> {
    let border = &patch.loops[0];
    let mut kept = Vec::with_capacity(border.len() + 1);
    let mut reaches = false;
    for (k, a) in border.iter().enumerate() {
        let b = &border[(k + 1) % border.len()];
        let (from, to) = (plane.distance(a), plane.distance(b));
        reaches |= from > slack;
        if from >= 0.0 {
            kept.push(*a);
        }
        if (from > 0.0 && to < 0.0) || (from < 0.0 && to > 0.0) {
            kept.push(a + (b - a) * (from / (from - to)));
        }
    }
    reaches.then(|| Patch {
        loops: vec![kept],
        ..patch.clone()
    })
}

#[cfg(test)]
#[allow(
    clippy::cast_possible_truncation,
    reason = "numbers in tests are small"
)]
mod tests {
    use super::*;
    use crate::geom::V2;
    use crate::solid::blocks::{Dice, pinched};
    use crate::solid::project::Frame;
    use crate::solid::shapes::{from_faces, loft, rectangle, upright, windows};

    /// Whether a point lies strictly inside loops, by a ray to the right.
    fn covers(loops: &[Vec<P3>], frame: &Frame, point: V2) -> bool {
        let mut inside = false;
        for corners in loops {
            for k in 0..corners.len() {
                let [a, b] = [corners[k], corners[(k + 1) % corners.len()]].map(|c| frame.at(&c));
                if (a.y > point.y) != (b.y > point.y) {
                    inside ^= a.x + (point.y - a.y) / (b.y - a.y) * (b.x - a.x) > point.x;
                }
            }
        }
        inside
    }

    /// What is painted last over random points must be the face that is nearest there.
    fn assert_nearest_on_top(solid: &Polyhedron, frame: &Frame, dice: &mut Dice) {
        let patches = back_to_front(solid, &frame.towards);
        let images: Vec<V2> = solid.vertices.iter().map(|p| frame.at(p)).collect();
        let lo = images.iter().fold(V2::repeat(f64::MAX), |lo, p| lo.inf(p));
        let hi = images.iter().fold(V2::repeat(f64::MIN), |hi, p| hi.sup(p));
        for _ in 0..100 {
            let share = V2::new(dice.roll(99_991) as f64, dice.roll(99_991) as f64) / 99_991.0;
            let point = lo + (hi - lo).component_mul(&share);
            let painted = patches
                .iter()
                .rfind(|p| covers(&p.loops, frame, point))
                .map(|p| p.face);
            // The line of sight through the point: `far + towards * t`.
            let far = P3::from(frame.right * point.x / frame.right.norm_squared());
            let far = far + frame.up * (point.y - frame.at(&far).y) / frame.up.norm_squared();
            let nearness = |f: usize| {
                let plane = &solid.faces[f].plane;
                -plane.distance(&far) / plane.normal.dot(&frame.towards)
            };
            let at = |l: &Vec<u32>| {
                l.iter()
                    .map(|v| solid.vertices[*v as usize])
                    .collect::<Vec<P3>>()
            };
            let nearest = (0..solid.faces.len())
                .filter(|f| solid.faces[*f].plane.normal.dot(&frame.towards) > 1e-9)
                .filter(|f| {
                    covers(
                        &solid.faces[*f].loops.iter().map(at).collect::<Vec<_>>(),
                        frame,
                        point,
                    )
                })
                .max_by(|f, g| nearness(*f).total_cmp(&nearness(*g)));
            assert_eq!(painted, nearest, "at {point:?}");
        }
    }

    #[test]
    fn the_nearest_face_is_painted_last() {
        let frame = Frame::of_axes([[0.9, -0.4], [0.7, 0.5], [0.0, 1.0]]);
        // `far` above is exact only if right and up are at right angles.
        let square = Frame {
            up: frame.up - frame.right * (frame.up.dot(&frame.right) / frame.right.norm_squared()),
            ..frame
        };
        let mut dice = Dice(30);
        for blocks in Dice(31).pieces(80) {
            assert_nearest_on_top(&blocks.solid(), &square, &mut dice);
        }
        let shaft = |lo, hi| {
            let mut hole = rectangle(lo, hi);
            hole.reverse();
            hole
        };
        let outer = [
            rectangle([0.0, 0.0], [40.0, 30.0]),
            rectangle([6.0, 3.0], [28.0, 25.0]),
        ];
        let inner = [
            shaft([8.0, 9.0], [20.0, 21.0]),
            shaft([13.0, 12.0], [24.0, 19.0]),
        ];
        for solid in [
            loft([0.0, 25.0], &[outer, inner]),
            upright(&windows(3)),
            pinched().solid(),
            ring(),
        ] {
            assert_nearest_on_top(&solid, &square, &mut dice);
        }
    }

    /// Three long blocks that overlap one another in a ring: no order of whole faces paints them (apart from each other,
    /// which does not matter here).
    fn ring() -> Polyhedron {
        let (mut corners, mut faces) = (Vec::new(), Vec::new());
        for turn in 0..3 {
            let bar = crate::solid::shapes::block([30.0, 4.0, 4.0]);
            let base = corners.len() as u32;
            corners.extend(bar.corners().map(|c| {
                let mut turned = [c[0], c[1], c[2] + c[0] / 2.0];
                turned[1] += 1.0;
                turned.rotate_right(turn);
                turned
            }));
            let lifted = |l: &Vec<u32>| l.iter().map(|v| v + base).collect();
            faces.extend(
                bar.faces
                    .iter()
                    .map(|f| f.loops.iter().map(lifted).collect::<Vec<_>>()),
            );
        }
        from_faces(&corners, &faces)
    }
}

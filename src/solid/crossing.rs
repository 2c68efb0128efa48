//! Finds parts of a surface that meet where they should not: an edge through a face or touching one.
//!
//! Wherever two faces cross or touch other than along their common edges and corners, some edge meets some face that it
//! is no border of. So edges are held against the faces whose boxes they reach.

use super::check::Defect;
use super::region::{Place, Region};
use super::{Edge, Polyhedron};
use crate::geom::P3;
use crate::geom::tolerance::Tolerance;
use rstar::primitives::{GeomWithData, Rectangle};
use rstar::{AABB, RTree, RTreeObject};
use std::ops::ControlFlow;

/// Two things touch if they are nearer than this share of the tolerance. Parts may lawfully come nearer than the
/// tolerance (beside the tip of a wedge), but only touching ones come that near.
const TOUCH: f64 = 1e-3;

/// From how many faces on a tree is faster than going through all of them.
const MANY: usize = 64;

type Box3 = Rectangle<[f64; 3]>;

/// Reports each edge that passes through or touches a face it is no border of.
pub(super) fn visit<B>(
    solid: &Polyhedron,
    tolerance: Tolerance,
    report: &mut impl FnMut(Defect) -> ControlFlow<B>,
) -> ControlFlow<B> {
    let mut meetings = Meetings::new(solid, tolerance.mm() * TOUCH);
    let boxes: Vec<GeomWithData<Box3, u32>> = (0_u32..)
        .zip(&solid.faces)
        .map(|(f, face)| {
            GeomWithData::new(
                box_of(face.loops.iter().flatten().map(|v| meetings.at(*v))),
                f,
            )
        })
        .collect();
    let tree = (boxes.len() >= MANY).then(|| RTree::bulk_load(boxes.clone()));
    for (edge, e) in (0_u32..).zip(&solid.edges) {
        let reach = widened(
            &box_of(e.ends.iter().map(|v| meetings.at(*v))).envelope(),
            meetings.touch,
        );
        let mut look = |face: u32| match meetings.between(e, face) {
            Some(Meeting::Through) => report(Defect::Crossing { edge, face }),
            Some(Meeting::Touch) => report(Defect::Touching { edge, face }),
            None => ControlFlow::Continue(()),
        };
        match &tree {
            Some(tree) => tree
                .locate_in_envelope_intersecting(reach)
                .try_for_each(|f| look(f.data))?,
            None => {
                let near = |f: &&GeomWithData<Box3, u32>| meets(&f.envelope(), &reach);
                boxes.iter().filter(near).try_for_each(|f| look(f.data))?;
            }
        }
    }
    ControlFlow::Continue(())
}

fn box_of<'a>(points: impl Iterator<Item = &'a P3>) -> Box3 {
    let (mut lo, mut hi) = (P3::from([f64::MAX; 3]), P3::from([f64::MIN; 3]));
    for p in points {
        (lo, hi) = (lo.inf(p), hi.sup(p));
    }
    Rectangle::from_corners(lo.into(), hi.into())
}

fn widened(reach: &AABB<[f64; 3]>, by: f64) -> AABB<[f64; 3]> {
    AABB::from_corners(reach.lower().map(|x| x - by), reach.upper().map(|x| x + by))
}

fn meets(a: &AABB<[f64; 3]>, b: &AABB<[f64; 3]>) -> bool {
    let ([al, ah], [bl, bh]) = ([a.lower(), a.upper()], [b.lower(), b.upper()]);
    (0..3).all(|k| al[k] <= bh[k] && bl[k] <= ah[k])
}

enum Meeting {
    Through,
    Touch,
}

/// What is needed to tell whether an edge meets a face.
struct Meetings<'a> {
    solid: &'a Polyhedron,
    /// In millimetres.
    touch: f64,
    /// For each corner the faces around it, sorted: those of corner v stand from `start[v]` to `start[v + 1]`.
    around: Vec<u32>,
    start: Vec<usize>,
    /// Faces laid flat, once they are needed.
    regions: Vec<Option<Region>>,
}

impl<'a> Meetings<'a> {
    fn new(solid: &'a Polyhedron, touch: f64) -> Self {
        let ends = solid
            .edges
            .iter()
            .flat_map(|e| e.ends.map(|v| (v, e.faces)));
        let mut pairs: Vec<(u32, u32)> =
            ends.flat_map(|(v, faces)| faces.map(|f| (v, f))).collect();
        pairs.sort_unstable();
        pairs.dedup();
        let mut start = vec![0; solid.vertices.len() + 1];
        for (v, _) in &pairs {
            start[*v as usize + 1] += 1;
        }
        for v in 1..start.len() {
            start[v] += start[v - 1];
        }
        Meetings {
            solid,
            touch,
            around: pairs.into_iter().map(|(_, f)| f).collect(),
            start,
            regions: solid.faces.iter().map(|_| None).collect(),
        }
    }

    fn at(&self, v: u32) -> &'a P3 {
        &self.solid.vertices[v as usize]
    }

    fn is_corner(&self, v: u32, face: u32) -> bool {
        let around = &self.around[self.start[v as usize]..self.start[v as usize + 1]];
        around.contains(&face)
    }

    /// How an edge meets a face that it is no border of, other than by an end that is a corner of the face.
    fn between(&mut self, e: &Edge, face: u32) -> Option<Meeting> {
        if e.faces.contains(&face) {
            return None;
        }
        let plane = &self.solid.faces[face as usize].plane;
        let above = e.ends.map(|v| plane.distance(self.at(v)));
        let clear = above.map(|d| d.abs() > self.touch);
        if clear == [true; 2] && above[0].signum() == above[1].signum() {
            return None;
        }
        let corner = e.ends.map(|v| self.is_corner(v, face));
        let on = [0, 1].map(|k| corner[k] || !clear[k]);
        let [a, b] = e.ends.map(|v| *self.at(v));
        let touch = |is: bool| is.then_some(Meeting::Touch);
        match on {
            [true, true] => touch(self.runs_within(a, b, face)),
            [true, false] => touch(!corner[0] && self.holds(a, face)),
            [false, true] => touch(!corner[1] && self.holds(b, face)),
            [false, false] => {
                let share = above[0] / (above[0] - above[1]);
                self.holds(a + (b - a) * share, face)
                    .then_some(Meeting::Through)
            }
        }
    }

    fn region(&mut self, face: u32) -> &Region {
        let solid = self.solid;
        let place = &mut self.regions[face as usize];
        place.get_or_insert_with(|| Region::of(solid, &solid.faces[face as usize]))
    }

    /// Whether a point in the plane of a face lies in it or on its border.
    fn holds(&mut self, point: P3, face: u32) -> bool {
        let touch = self.touch;
        let region = self.region(face);
        region.place(region.flat(&point), touch) != Place::Outside
    }

    /// Whether any part of an edge in the plane of a face runs within it or along its border.
    fn runs_within(&mut self, a: P3, b: P3, face: u32) -> bool {
        let touch = self.touch;
        let region = self.region(face);
        let (a, b) = (region.flat(&a), region.flat(&b));
        let slack = touch / (b - a).norm();
        let mut cuts = region.cuts(a, b, touch);
        cuts.retain(|share| *share > 0.0 && *share < 1.0);
        cuts.extend([0.0, 1.0]);
        cuts.sort_unstable_by(f64::total_cmp);
        cuts.windows(2).any(|part| {
            let middle = a + (b - a) * ((part[0] + part[1]) / 2.0);
            part[1] - part[0] > 2.0 * slack && region.place(middle, touch) != Place::Outside
        })
    }
}

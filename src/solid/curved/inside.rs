//! Lines of sight through a curved solid: which patches a line meets, and whether a point of a surface lies in a patch.
//!
//! The normal's components keep their signs over a patch, so the patch lies one-to-one over each plane across an axis
//! that it does not contain. There "in the patch" is a question about its projected borders. A line along an object axis
//! is asked in its own view; another one by the axis that the normal is nearest to where the line meets the surface.
//! The same signs keep the extremes of each coordinate on the borders, so the box around those is the patch's.

use super::{CurvedSolid, Patch};
use crate::geom::pairs::{Bounds, BoxIndex, overlap};
use crate::geom::path::Path;
use crate::geom::seen::{Place, locate};
use crate::geom::surface::Surface;
use crate::geom::{Few, P2, P3, V3};
use rstar::primitives::{GeomWithData, Rectangle};
use rstar::{AABB, RTree, SelectionFunction};
use std::cell::{Cell, OnceCell};

/// Boxes are widened by this share of the solid's size: borders may lie off their surface by about twice the default
/// tolerance.
const MARGIN: f64 = 1e-3;

/// What a line meets nearer to its start than this share of the solid's size is not in front of the start.
const AHEAD: f64 = 1e-6;

/// A point nearer to a border than this share of the solid's size is on it.
const ON_BORDER: f64 = 1e-9;

/// From how many patches on a tree is faster than going through all of them.
const MANY: usize = 64;

/// From how many steps its borders have an index of their own.
const LONG: usize = 48;

type Box3 = [P3; 2];

/// Casts lines of sight at the patches of one solid.
pub(crate) struct Caster<'s> {
    solid: &'s CurvedSolid,
    boxes: Vec<Box3>,
    tree: Option<RTree<Boxed>>,
    /// For faces with long borders, by the axis they are seen along.
    borders: Vec<[Option<Box<Borders<'s>>>; 3]>,
    /// By axis, the patches that look against it and those that look along it, once they were asked for.
    facing: [[OnceCell<Facing>; 2]; 3],
    /// The patch that covered a place last: it is asked first, for often it covers the next place too.
    last: Cell<u32>,
    size: f64,
}

/// The axis along which a viewer looks, and the side on which he stands.
pub(crate) type Viewer = (usize, f64);

impl<'s> Caster<'s> {
    /// Gets a solid ready; time grows about linearly with its patches.
    pub(crate) fn new(solid: &'s CurvedSolid) -> Self {
        let size = solid.size();
        let margin = V3::repeat(size * MARGIN);
        let boxes: Vec<Box3> = solid
            .faces
            .iter()
            .map(|patch| {
                let [low, high] = bounds(solid, patch);
                [low - margin, high + margin]
            })
            .collect();
        let boxed = (0_u32..).zip(&boxes).map(|(face, [low, high])| {
            GeomWithData::new(Rectangle::from_corners((*low).into(), (*high).into()), face)
        });
        let tree = (boxes.len() >= MANY).then(|| RTree::bulk_load(boxed.collect()));
        let borders = (solid.faces.iter())
            .map(|patch| [0, 1, 2].map(|axis| Borders::of(solid, patch, axis).map(Box::new)))
            .collect();
        Caster {
            solid,
            boxes,
            tree,
            borders,
            facing: Default::default(),
            last: Cell::new(0),
            size,
        }
    }

    /// The diagonal of the solid's box, in millimetres.
    pub(crate) fn size(&self) -> f64 {
        self.size
    }

    /// Whether material stands strictly in front of `from` on the line of sight `towards` the viewer, a unit vector.
    pub(crate) fn covered(&self, from: &P3, towards: &V3) -> bool {
        let ahead = self.size * AHEAD;
        let covers = |face: u32| {
            self.looks_towards(face, towards)
                && self.meetings(face, from, towards).any(|t| {
                    t > ahead && self.outward(face, &(from + towards * t)).dot(towards) > 0.0
                })
        };
        let last = self.last.get();
        let ray = Ray {
            from: *from,
            towards: *towards,
        };
        let near = |[low, high]: &Box3| ray.meets(&low.coords, &high.coords);
        if self.boxes.get(last as usize).is_some_and(near) && covers(last) {
            return true;
        }
        self.any_near(&ray, |face| {
            let found = face != last && covers(face);
            if found {
                self.last.set(face);
            }
            found
        })
    }

    /// The same along an axis towards the viewer, who stands on one `side` of everything, 1 or -1. Patches in `skip` do not
    /// count; those of an edge that `from` lies beside are to be skipped.
    pub(crate) fn covered_along(&self, from: &P3, (axis, side): Viewer, skip: &[u32]) -> bool {
        let ahead = self.size * AHEAD;
        let facing = self.facing[axis][usize::from(side > 0.0)]
            .get_or_init(|| Facing::of(self.solid, &self.boxes, axis, side));
        let towards = V3::ith(axis, side);
        let covers = |place: u32| {
            let face = facing.faces[place as usize];
            let [low, high] = &self.boxes[face as usize];
            let farthest = (if side > 0.0 { high } else { low })[axis];
            (farthest - from[axis]) * side > ahead
                && !skip.contains(&face)
                && self.depth(face, from, axis, side).is_some_and(|t| {
                    t > ahead && self.outward(face, &(from + towards * t)).dot(&towards) > 0.0
                })
        };
        let at = across(axis).map(|k| from[k]);
        let last = &facing.last;
        let again = |place: u32| overlap(&facing.boxes[place as usize], &[at; 2]) && covers(place);
        if last.get().is_some_and(again) {
            return true;
        }
        let mut found = false;
        facing.index.touching(&[at; 2], |place| {
            if !found && last.get() != Some(place) && covers(place) {
                last.set(Some(place));
                found = true;
            }
        });
        found
    }

    /// Calls `visit` with each patch that the line from `from` towards `towards`, a unit vector, meets strictly in
    /// front of its start, and how far away in millimetres; in no particular order. Patches seen edge-on are not met.
    pub(crate) fn hits(&self, from: &P3, towards: &V3, mut visit: impl FnMut(u32, f64)) {
        let ahead = self.size * AHEAD;
        let ray = Ray {
            from: *from,
            towards: *towards,
        };
        self.any_near(&ray, |face| {
            self.meetings(face, from, towards)
                .filter(|t| *t > ahead)
                .for_each(|t| visit(face, t));
            false
        });
    }

    /// Where a point of a patch's surface lies with respect to the patch; `tolerance`, in millimetres, is how near to a
    /// border counts as on it.
    pub(crate) fn place(&self, face: u32, point: &P3, tolerance: f64) -> Place {
        let patch = &self.solid.faces[face as usize];
        let normal = patch.surface.normal(point);
        let axis = (0..3)
            .filter(|k| patch.signs[*k] != 0)
            .max_by(|i, j| normal[*i].abs().total_cmp(&normal[*j].abs()));
        let Some(axis) = axis else {
            return Place::Outside;
        };
        let [low, high] = &self.boxes[face as usize];
        let agrees = normal[axis] * f64::from(patch.signs[axis]) > 0.0;
        if !agrees || (0..3).any(|k| point[k] < low[k] || point[k] > high[k]) {
            return Place::Outside;
        }
        self.place_along(face, axis, point, tolerance)
    }

    /// The same, seen along an axis; only where that is one-to-one.
    fn place_along(&self, face: u32, axis: usize, point: &P3, tolerance: f64) -> Place {
        let axes = across(axis);
        let at = P2::new(point[axes[0]], point[axes[1]]);
        match &self.borders[face as usize][axis] {
            Some(borders) => borders.locate(&at, tolerance),
            None => {
                let patch = &self.solid.faces[face as usize];
                locate(self.solid.paths(patch), axes, &at, tolerance)
            }
        }
    }

    /// Whether a patch can look towards the viewer at all.
    fn looks_towards(&self, face: u32, towards: &V3) -> bool {
        let patch = &self.solid.faces[face as usize];
        let side = if patch.outward { 1.0 } else { -1.0 };
        (0..3).any(|k| side * f64::from(patch.signs[k]) * towards[k] > 0.0)
    }

    /// The normal that points out of the material.
    pub(crate) fn outward(&self, face: u32, point: &P3) -> V3 {
        self.solid.faces[face as usize].outward(point)
    }

    /// The places at which a line meets a patch.
    fn meetings(&self, face: u32, from: &P3, towards: &V3) -> impl Iterator<Item = f64> {
        let on_border = self.size * ON_BORDER;
        let patch = &self.solid.faces[face as usize];
        let axis = towards.iamax();
        let along_axis = towards[axis].abs() == 1.0;
        let single = if along_axis {
            self.depth(face, from, axis, towards[axis])
        } else {
            None
        };
        let all = (!along_axis).then(|| patch.surface.hits(from, towards));
        let all = all.into_iter().flatten().filter(move |t| {
            let point = from + towards * *t;
            self.place(face, &point, on_border) != Place::Outside
        });
        single.into_iter().chain(all)
    }

    /// Where a line along an axis, in the direction of `sign`, meets a patch.
    fn depth(&self, face: u32, from: &P3, axis: usize, sign: f64) -> Option<f64> {
        let patch = &self.solid.faces[face as usize];
        if patch.signs[axis] == 0 {
            return None;
        }
        if self.place_along(face, axis, from, self.size * ON_BORDER) == Place::Outside {
            return None;
        }
        let direction = V3::ith(axis, sign);
        let [low, high] =
            self.boxes[face as usize].map(|corner| (corner[axis] - from[axis]) * sign);
        let (near, far) = (low.min(high), low.max(high));
        let beyond = |t: f64| (near - t).max(t - far);
        let turned_right = |t: &f64| {
            let normal = patch.surface.normal(&(from + direction * *t));
            normal[axis] * f64::from(patch.signs[axis]) >= 0.0
        };
        let hits = patch.surface.hits(from, &direction);
        hits.into_iter()
            .filter(turned_right)
            .min_by(|s, t| beyond(*s).total_cmp(&beyond(*t)))
            .or_else(|| Some(nearest(&patch.surface, from, &direction, [near, far])))
    }

    /// Whether `test` holds for some patch whose box the line meets from its start on.
    fn any_near(&self, ray: &Ray, mut test: impl FnMut(u32) -> bool) -> bool {
        match &self.tree {
            Some(tree) => tree
                .locate_with_selection_function(*ray)
                .any(|boxed| test(boxed.data)),
            None => (0_u32..)
                .zip(&self.boxes)
                .any(|(face, [low, high])| ray.meets(&low.coords, &high.coords) && test(face)),
        }
    }
}

/// Where a line that misses a surface by a little comes nearest to it, within a range.
///
/// So near to a contour the surface is as steep as can be: how far a place is off says little, but the nearest one is
/// right to the width of the patch there.
fn nearest(surface: &Surface, from: &P3, direction: &V3, [near, far]: [f64; 2]) -> f64 {
    const STEPS: u32 = 32;
    (0..=STEPS)
        .map(|k| near + (far - near) * f64::from(k) / f64::from(STEPS))
        .map(|t| (t, surface.distance(&(from + direction * t)).abs()))
        .min_by(|a, b| a.1.total_cmp(&b.1))
        .map_or(near, |(t, _)| t)
}

/// The patches that look one way along an axis, by where they are seen.
struct Facing {
    faces: Vec<u32>,
    boxes: Vec<Bounds<2>>,
    index: BoxIndex<2>,
    /// The one that covered a place last: it is asked first, for often it covers the next place too.
    last: Cell<Option<u32>>,
}

impl Facing {
    fn of(solid: &CurvedSolid, boxes: &[Box3], axis: usize, side: f64) -> Self {
        let looks = |(face, patch): (u32, &Patch)| {
            (f64::from(patch.facing()[axis]) == side).then_some(face)
        };
        let faces: Vec<u32> = (0_u32..).zip(&solid.faces).filter_map(looks).collect();
        let seen = |face: &u32| boxes[*face as usize].map(|p| across(axis).map(|k| p[k]));
        let boxes: Vec<Bounds<2>> = faces.iter().map(seen).collect();
        Facing {
            index: BoxIndex::new(&boxes),
            faces,
            boxes,
            last: Cell::new(None),
        }
    }
}

/// The long borders of a face as seen along an axis, with an index.
struct Borders<'s> {
    paths: Vec<&'s Path>,
    index: BoxIndex<2>,
    axes: [usize; 2],
    /// Right of everything.
    beyond: f64,
}

impl<'s> Borders<'s> {
    fn of(solid: &'s CurvedSolid, patch: &'s Patch, axis: usize) -> Option<Self> {
        let steps: usize = patch.borders.iter().map(Vec::len).sum();
        if steps < LONG || patch.signs[axis] == 0 {
            return None;
        }
        let [i, j] = across(axis);
        let paths: Vec<&Path> = solid.paths(patch).collect();
        let flat = |path: &&Path| path.bounds().map(|p| [p[i], p[j]]);
        let boxes: Vec<_> = paths.iter().map(flat).collect();
        let beyond = boxes
            .iter()
            .map(|[_, high]| high[0])
            .fold(f64::MIN, f64::max);
        Some(Borders {
            index: BoxIndex::new(&boxes),
            paths,
            axes: [i, j],
            beyond,
        })
    }

    /// As [`locate`], which asks only for what is near and what is level with a point and to the right of it.
    fn locate(&self, at: &P2, tolerance: f64) -> Place {
        let mut asked: Few<&Path, 32> = Few::new();
        let low = [at.x - tolerance, at.y - tolerance];
        let high = [self.beyond.max(low[0]), at.y + tolerance];
        self.index
            .touching(&[low, high], |k| asked.push(self.paths[k as usize]));
        locate(asked.into_iter(), self.axes, at, tolerance)
    }
}

/// A half line.
#[derive(Clone, Copy)]
struct Ray {
    from: P3,
    towards: V3,
}

impl Ray {
    /// Whether it meets the box between two corners.
    fn meets(&self, low: &V3, high: &V3) -> bool {
        let (mut enter, mut leave) = (0.0_f64, f64::INFINITY);
        for k in 0..3 {
            let (start, step) = (self.from[k], self.towards[k]);
            if step == 0.0 {
                if start < low[k] || start > high[k] {
                    return false;
                }
                continue;
            }
            let (a, b) = ((low[k] - start) / step, (high[k] - start) / step);
            enter = enter.max(a.min(b));
            leave = leave.min(a.max(b));
        }
        enter <= leave
    }
}

type Boxed = GeomWithData<Rectangle<[f64; 3]>, u32>;

impl SelectionFunction<Boxed> for Ray {
    fn should_unpack_parent(&self, envelope: &AABB<[f64; 3]>) -> bool {
        self.meets(&envelope.lower().into(), &envelope.upper().into())
    }

    fn should_unpack_leaf(&self, leaf: &Boxed) -> bool {
        let [low, high] = [leaf.geom().lower(), leaf.geom().upper()];
        self.meets(&low.into(), &high.into())
    }
}

/// The two axes other than `axis`, so that a view along it has them right and up.
pub(crate) fn across(axis: usize) -> [usize; 2] {
    [[1, 2], [0, 2], [0, 1]][axis]
}

/// The box around a patch.
fn bounds(solid: &CurvedSolid, patch: &Patch) -> Box3 {
    solid
        .paths(patch)
        .map(Path::bounds)
        .reduce(|[a, b], [c, d]| [a.inf(&c), b.sup(&d)])
        .unwrap_or([P3::origin(); 2])
}

impl CurvedSolid {
    /// The smallest box around it: least and greatest `[x, y, z]` in millimetres.
    pub(crate) fn bounds(&self) -> Box3 {
        let first = self.vertices.first().copied().unwrap_or_else(P3::origin);
        self.vertices
            .iter()
            .fold([first, first], |[lo, hi], p| [lo.inf(p), hi.sup(p)])
    }

    /// The diagonal of that box.
    pub(crate) fn size(&self) -> f64 {
        let [low, high] = self.bounds();
        (high - low).norm()
    }

    /// The paths of all borders of a patch.
    pub(crate) fn paths<'s>(&'s self, patch: &'s Patch) -> impl Iterator<Item = &'s Path> + Clone {
        let steps = patch.borders.iter().flatten();
        steps.map(|step| &self.edges[step.edge as usize].path)
    }
}

impl Patch {
    /// The unit normal that points out of the material, at a point of the surface.
    pub(crate) fn outward(&self, point: &P3) -> V3 {
        let normal = self.surface.normal(point);
        if self.outward { normal } else { -normal }
    }

    /// The signs of the normal that points out of the material, along x, y and z.
    pub(crate) fn facing(&self) -> [i8; 3] {
        if self.outward {
            self.signs
        } else {
            self.signs.map(|sign| -sign)
        }
    }
}

#[cfg(test)]
mod tests {
    use super::super::shapes::*;
    use super::*;
    use crate::geom::num::Diagonal;

    /// Numbers between -1 and 1 that look random.
    fn dice() -> impl FnMut() -> f64 {
        let mut state = 12_345_u64;
        move || {
            state = state
                .wrapping_mul(6_364_136_223_846_793_005)
                .wrapping_add(1_442_695_040_888_963_407);
            (state >> 33) as f64 / f64::from(1_u32 << 30) - 1.0
        }
    }

    /// From inside the material any line leaves it once more often than it enters it.
    fn agrees(solid: &CurvedSolid, holds: impl Fn(&P3) -> bool) {
        let caster = Caster::new(solid);
        let mut next = dice();
        let [low, high] = solid.bounds();
        let mut within = 0;
        for k in 0..600 {
            let at = low
                .coords
                .zip_map(&high.coords, |a, b| a + (b - a) * (0.5 + 0.55 * next()));
            let at = P3::from(at);
            let askew = V3::new(next(), next(), next()).normalize();
            let towards = [
                V3::x(),
                -V3::x(),
                V3::y(),
                -V3::y(),
                V3::z(),
                -V3::z(),
                askew,
            ][k % 7];
            let mut turns = 0;
            let mut out = 0;
            caster.hits(&at, &towards, |face, t| {
                let leaves = caster.outward(face, &(at + towards * t)).dot(&towards) > 0.0;
                turns += if leaves { 1 } else { -1 };
                out += i32::from(leaves);
            });
            assert_eq!(turns, i32::from(holds(&at)), "{at:?} {towards:?}");
            assert_eq!(caster.covered(&at, &towards), out > 0);
            if let Some(axis) = (0..3).find(|k| towards[*k].abs() == 1.0) {
                assert_eq!(
                    caster.covered_along(&at, (axis, towards[axis]), &[]),
                    out > 0
                );
            }
            within += turns;
        }
        assert!(within > 60, "{within}");
    }

    #[test]
    fn lines_leave_material_as_often_as_they_enter_it() {
        agrees(&plate_with_hole(), |p| {
            p.x > 0.0
                && p.x < 40.0
                && p.y > 0.0
                && p.y < 30.0
                && p.z > 0.0
                && p.z < 10.0
                && (p.x - 20.0).diagonal(p.y - 15.0) > 10.0
        });
        agrees(&frustum(10.0, 4.0, 12.0), |p| {
            p.z > 0.0 && p.z < 12.0 && p.x.diagonal(p.y) < 10.0 - p.z / 2.0
        });
        agrees(&ball(7.0), |p| p.coords.norm() < 7.0);
        agrees(&torus(0, 9.0, 4.0), |p| {
            (p.y.diagonal(p.z) - 9.0).diagonal(p.x) < 4.0
        });
        agrees(&washer(3.0, 9.0, 5.0), |p| {
            let r = p.x.diagonal(p.y);
            p.z > 0.0 && p.z < 5.0 && r > 3.0 && r < 9.0
        });
        agrees(&cross_drilled(), |p| {
            p.coords.amax() < 20.0 && p.x.diagonal(p.y) > 10.0 && p.y.diagonal(p.z) > 6.0
        });
        agrees(&rounded_block(), |p| {
            let beyond = |c: f64, k: f64| (c - k).max(0.0);
            p.x > 0.0
                && p.y > 0.0
                && p.y < 20.0
                && p.z > 0.0
                && beyond(p.x, 30.0).diagonal(beyond(p.z, 20.0)) < 10.0
        });
    }

    #[test]
    fn many_patches_give_what_few_give() {
        for n in [3, 5] {
            let size = f64::from(n) * 20.0;
            let off = |c: f64| c.rem_euclid(20.0) - 10.0;
            let plate = holes(n);
            assert_eq!(plate.faces.len() > MANY, n == 5);
            agrees(&plate, |p| {
                let within = |c: f64, most: f64| c > 0.0 && c < most;
                let in_block = within(p.x, size) && within(p.y, size) && within(p.z, 10.0);
                in_block && off(p.x).diagonal(off(p.y)) > 5.0
            });
        }
    }

    #[test]
    fn skipped_patches_cover_nothing() {
        let ball = ball(7.0);
        let caster = Caster::new(&ball);
        let covering = |face: &u32| {
            let others: Vec<u32> = (0..8).filter(|f| f != face).collect();
            caster.covered_along(&P3::new(1.0, 2.0, 3.0), (2, 1.0), &others)
        };
        // The one octant above the point.
        let above: Vec<u32> = (0..8).filter(covering).collect();
        assert_eq!(above.len(), 1);
        assert_eq!(ball.faces[above[0] as usize].signs, [1, 1, 1]);
    }
}

//! Proves a reading: the solid, drawn again, must give back the sheet.
//!
//! Two comparisons per view say it all, because visible takes precedence over hidden: the visible lines of both must
//! cover the same places, and all lines of both must. Each line is laid on the other drawing, and every place on it must
//! lie within reach of a line there. Splits, overlaps and doubled lines do not matter.
//!
//! Upright and level lines stand on snapped coordinates and must match them. A sloping line may have had its ends moved
//! by the tolerance, so what lies near one is within reach; that is also where a line that passes behind its material
//! changes from visible to hidden a little early or late.

use super::Polyhedron;
use super::lines::{Lines, ONE_DIRECTION};
use super::project::{Frame, Stroke, project};
use crate::geom::V2;
use crate::options::HiddenLines;
use crate::sheet::{Drawing, View};
use rstar::{AABB, RTree, RTreeObject};

/// A place where the drawing of a solid differs from a sheet.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Difference {
    /// The view it is in.
    pub(crate) view: View,
    /// Where, right and up in the view, in object coordinates (millimetres).
    pub(crate) at: [f64; 2],
    /// What differs.
    pub(crate) what: Deviation,
}

/// The ways a drawing of a solid can differ from a sheet.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Deviation {
    /// The sheet has a line that the solid does not give.
    Missing,
    /// The solid gives a line that the sheet does not have.
    Extra,
    /// Visible on one and hidden on the other.
    WrongType,
}

/// How far from a sloping line a place is still on it, in tolerances: each of the two drawings may be off by one.
const REACH: f64 = 2.0;

/// How far from an upright or level line a place is still on it, in tolerances: coordinates that snapping kept apart are
/// at least one tolerance apart, so this never takes one for the other.
const LEVEL_REACH: f64 = 0.25;

/// From how many lines on a tree is faster than going through all of them.
const MANY: usize = 96;

/// Checks that a sound solid has exactly the drawn lines, each of its type.
///
/// A line of the sheet or the solid is missed or reported wherever it lies farther than two tolerances (a quarter, for
/// upright and level lines) from every line that could stand for it. Time grows about linearly with the lines.
///
/// # Errors
///
/// The first difference, in the order of the views.
pub(crate) fn gives_back(
    solid: &Polyhedron,
    drawing: &Drawing,
    hidden_lines: HiddenLines,
) -> Result<(), Difference> {
    let tolerance = drawing.tolerance.mm();
    for view in View::ALL {
        let strokes = project(solid, &Frame::of_view(view));
        let given = Layer::new(&Lines::of(strokes.iter().map(Stroke::line)), tolerance);
        let drawn = drawing.views[view.index()].iter().map(|segment| {
            let ends = [segment.from, segment.to].map(|end| drawing.at(view, end));
            (ends, !segment.hidden)
        });
        let drawn = Layer::new(&Lines::of(drawn), tolerance);
        let due = match hidden_lines {
            HiddenLines::Required => given.lies_on(&drawn, Deviation::Extra),
            HiddenLines::Optional => {
                let lines = strokes.iter().map(Stroke::line);
                let visible = Lines::of(lines.filter(|(_, visible)| *visible));
                Layer::new(&visible, tolerance).lies_on(&drawn, Deviation::Extra)
            }
        };
        let found = due.and_then(|()| drawn.lies_on(&given, Deviation::Missing));
        found.map_err(|(at, what)| Difference { view, at, what })?;
    }
    Ok(())
}

/// Where something differs, and what.
type Found = ([f64; 2], Deviation);

/// A straight mark in a view.
#[derive(Clone, Copy, Debug)]
struct Mark {
    from: V2,
    to: V2,
    along: V2,
    length: f64,
    visible: bool,
    /// Exactly upright or level.
    level: bool,
}

impl Mark {
    fn between([from, to]: [V2; 2], visible: bool) -> Self {
        let length = (to - from).norm();
        let along = (to - from) / length;
        Mark {
            from,
            to,
            along,
            length,
            visible,
            level: along.amin() <= ONE_DIRECTION,
        }
    }

    /// The part of this mark, as distances along it, within `reach` of `other`: of the rectangle that surrounds it.
    fn part_near(&self, other: &Mark, reach: f64) -> Option<[f64; 2]> {
        let offset = self.from - other.from;
        let mut part = [0.0, self.length];
        let left = (other.along.perp(&offset), other.along.perp(&self.along));
        let ahead = (other.along.dot(&offset), other.along.dot(&self.along));
        clip(&mut part, left, [-reach, reach]);
        clip(&mut part, ahead, [-reach, other.length + reach]);
        (part[0] < part[1]).then_some(part)
    }
}

/// Shortens `part` to where `start + slope * t` lies between the bounds.
fn clip(part: &mut [f64; 2], (start, slope): (f64, f64), [lo, hi]: [f64; 2]) {
    let inside = |at: f64| lo <= at && at <= hi;
    if inside(start + slope * part[0]) && inside(start + slope * part[1]) {
        return;
    }
    let (mut near, mut far) = ((lo - start) / slope, (hi - start) / slope);
    if near > far {
        std::mem::swap(&mut near, &mut far);
    }
    // A line that runs level beside the bounds gives infinities of one sign, and so an empty part.
    part[0] = part[0].max(near);
    part[1] = part[1].min(far);
}

impl RTreeObject for Mark {
    type Envelope = AABB<[f64; 2]>;

    fn envelope(&self) -> Self::Envelope {
        AABB::from_corners(self.from.into(), self.to.into())
    }
}

/// All marks of one view of one drawing.
struct Layer {
    marks: Vec<Mark>,
    tree: Option<RTree<Mark>>,
    tolerance: f64,
}

impl Layer {
    fn new(lines: &Lines, tolerance: f64) -> Self {
        let mut marks = Vec::with_capacity(lines.visible.len() + lines.hidden.len());
        for (kind, visible) in [(&lines.visible, true), (&lines.hidden, false)] {
            let mark = |ends: &[V2; 2]| Mark::between(*ends, visible);
            marks.extend(kind.iter().map(mark));
        }
        let tree = (marks.len() >= MANY).then(|| RTree::bulk_load(marks.clone()));
        Layer {
            marks,
            tree,
            tolerance,
        }
    }

    /// Every mark must lie on marks of `other`: visible ones on visible ones, hidden ones on any.
    fn lies_on(&self, other: &Layer, missed: Deviation) -> Result<(), Found> {
        let mut parts = Vec::new();
        for mark in &self.marks {
            if let Some(at) = other.gap(mark, mark.visible, &mut parts) {
                let drawn_otherwise = mark.visible && other.gap(mark, false, &mut parts).is_none();
                let what = if drawn_otherwise {
                    Deviation::WrongType
                } else {
                    missed
                };
                return Err(((mark.from + mark.along * at).into(), what));
            }
        }
        Ok(())
    }

    /// The middle of the first part of `mark` out of reach of all marks here, or of all visible ones.
    fn gap(&self, mark: &Mark, visible: bool, parts: &mut Vec<[f64; 2]>) -> Option<f64> {
        parts.clear();
        let slack = self.tolerance * LEVEL_REACH;
        // Lays another mark on it; true once a single one covers it whole, as is most often the case.
        let mut covers = |other: &Mark| {
            if visible && !other.visible {
                return false;
            }
            let exact = mark.level && other.level;
            let reach = if exact { slack } else { self.tolerance * REACH };
            let part = mark.part_near(other, reach);
            parts.extend(part);
            part == Some([0.0, mark.length])
        };
        let covered = match &self.tree {
            None => self.marks.iter().any(covers),
            Some(tree) => {
                let margin = V2::repeat(self.tolerance * REACH);
                let lo = mark.from.inf(&mark.to) - margin;
                let hi = mark.from.sup(&mark.to) + margin;
                let near = AABB::from_corners(lo.into(), hi.into());
                tree.locate_in_envelope_intersecting(near).any(&mut covers)
            }
        };
        if covered {
            None
        } else {
            first_gap(parts, mark.length, slack)
        }
    }
}

/// The middle of the first gap longer than `slack` that the parts leave between 0 and `length`.
fn first_gap(parts: &mut [[f64; 2]], length: f64, slack: f64) -> Option<f64> {
    parts.sort_unstable_by(|a, b| a[0].total_cmp(&b[0]));
    let mut covered = 0.0;
    for [start, end] in parts.iter() {
        if *start > covered + slack {
            return Some((covered + start) / 2.0);
        }
        covered = end.max(covered);
    }
    (length > covered + slack).then_some((covered + length) / 2.0)
}

#[cfg(test)]
#[allow(
    clippy::cast_possible_truncation,
    reason = "numbers in tests are small"
)]
mod tests {
    use super::super::blocks::Dice;
    use super::super::shapes::{
        Lines, block, from_faces, loft, prism, rectangle, sheet_of, upright, windows,
    };
    use super::*;
    use std::collections::BTreeMap;
    use std::collections::btree_map::Entry;

    /// The lines of a solid's drawing, hidden ones under visible ones included.
    fn lines_of(solid: &Polyhedron) -> Lines {
        View::ALL.map(|view| {
            let strokes = project(solid, &Frame::of_view(view));
            strokes.iter().map(|s| (s.from, s.to, !s.visible)).collect()
        })
    }

    /// One grid step: view and ends.
    type Step = (usize, [i64; 2], [i64; 2]);

    /// Grid steps of 10 mm with visible taking precedence: what block drawings are compared by.
    fn steps(lines: &Lines) -> BTreeMap<Step, bool> {
        let mut steps = BTreeMap::new();
        for (view, lines) in lines.iter().enumerate() {
            for (from, to, hidden) in lines {
                let mut ends = [*from, *to].map(|p| p.map(|x| (x / 10.0).round() as i64));
                ends.sort_unstable();
                let along = usize::from(ends[0][0] == ends[1][0]);
                for k in ends[0][along]..ends[1][along] {
                    let mut unit = [ends[0], ends[0]];
                    (unit[0][along], unit[1][along]) = (k, k + 1);
                    *steps.entry((view, unit[0], unit[1])).or_insert(false) |= !hidden;
                }
            }
        }
        steps
    }

    #[test]
    fn a_solid_gives_back_its_own_drawing() {
        for blocks in Dice(7).pieces(200) {
            let solid = blocks.solid();
            let sheet = sheet_of(&lines_of(&solid), 0.05);
            assert_eq!(gives_back(&solid, &sheet, HiddenLines::Required), Ok(()));
        }
    }

    /// The drawing a block sheet stands for, every grid step once.
    fn lines_from(steps: &BTreeMap<Step, bool>) -> Lines {
        let mut lines = Lines::default();
        for ((view, from, to), visible) in steps {
            let ends = [from, to].map(|p| p.map(|x| x as f64 * 10.0));
            lines[*view].push((ends[0], ends[1], !visible));
        }
        lines
    }

    #[test]
    fn every_changed_step_of_a_drawing_is_noticed() {
        let mut dice = Dice(8);
        let mut found = BTreeMap::new();
        for blocks in Dice(10).pieces(600) {
            let solid = blocks.solid();
            let mut changed = steps(&lines_of(&solid));
            assert_eq!(
                gives_back(
                    &solid,
                    &sheet_of(&lines_from(&changed), 0.05),
                    HiddenLines::Required
                ),
                Ok(())
            );
            let step = *changed.keys().nth(dice.roll(changed.len())).unwrap();
            let view = step.0;
            let [i, j] = [dice.roll(3) as i64, dice.roll(2) as i64];
            let upright = (view, [i, j], [i, j + 1]);
            let expected = if let Entry::Vacant(blank) = changed.entry(upright) {
                blank.insert(dice.roll(2) == 0);
                Deviation::Missing
            } else if dice.roll(2) == 0 {
                changed.remove(&step);
                Deviation::Extra
            } else {
                changed
                    .entry(step)
                    .and_modify(|visible| *visible = !*visible);
                Deviation::WrongType
            };
            let found_one = gives_back(
                &solid,
                &sheet_of(&lines_from(&changed), 0.05),
                HiddenLines::Required,
            )
            .unwrap_err();
            assert_eq!((found_one.what, found_one.view.index()), (expected, view));
            *found.entry(format!("{expected:?}")).or_insert(0) += 1;
        }
        assert!(
            found.len() == 3 && found.values().all(|n| *n > 50),
            "{found:?}"
        );
    }

    #[test]
    fn split_and_doubled_lines_change_nothing() {
        let solid = windows(2);
        let mut lines = lines_of(&solid);
        for view in &mut lines {
            for k in 0..view.len() {
                let (from, to, hidden) = view[k];
                let third = [0, 1].map(|a| from[a] + (to[a] - from[a]) / 3.0);
                view.push((to, third, hidden));
            }
        }
        assert_eq!(
            gives_back(&solid, &sheet_of(&lines, 0.05), HiddenLines::Required),
            Ok(())
        );
    }

    #[test]
    fn the_difference_tells_where_and_what() {
        let solid = block([40.0, 20.0, 30.0]);
        let mut lines = lines_of(&solid);
        lines[1].push(([10.0, 0.0], [10.0, 20.0], true));
        let found = gives_back(&solid, &sheet_of(&lines, 0.02), HiddenLines::Required).unwrap_err();
        let missing = Difference {
            view: View::Top,
            at: [10.0, 10.0],
            what: Deviation::Missing,
        };
        // The line's ends lie on the outline and are within its reach.
        assert!((found.at[1] - missing.at[1]).abs() < 0.1);
        assert_eq!(
            (found.view, found.at[0], found.what),
            (View::Top, 10.0, Deviation::Missing)
        );
    }

    /// A slanted solid with a slanted shaft: in each view sloping lines change from visible to hidden.
    fn slanted() -> Polyhedron {
        let mut low = rectangle([8.0, 9.0], [20.0, 21.0]);
        let mut high = rectangle([13.0, 12.0], [24.0, 19.0]);
        low.reverse();
        high.reverse();
        let outer = [
            rectangle([0.0, 0.0], [40.0, 30.0]),
            rectangle([6.0, 3.0], [28.0, 25.0]),
        ];
        // The shaft stands in a frustum whose four sides and whose own four sides slope differently.
        loft([0.0, 25.0], &[outer, [low, high]])
    }

    #[test]
    fn lines_moved_by_less_than_the_tolerance_are_the_same() {
        let tolerance = 0.05;
        let mut dice = Dice(9);
        for solid in [slanted(), upright(&slanted())] {
            for _ in 0..100 {
                let mut lines = lines_of(&solid);
                let mut noise = || (dice.roll(2001) as f64 / 1000.0 - 1.0) * 0.6 * tolerance;
                for (from, to, _) in lines.iter_mut().flatten() {
                    if (0..2).all(|a| from[a] != to[a]) {
                        for x in from.iter_mut().chain(to) {
                            *x += noise();
                        }
                    }
                }
                assert_eq!(
                    gives_back(&solid, &sheet_of(&lines, tolerance), HiddenLines::Required),
                    Ok(())
                );
            }
        }
    }

    /// The slanted solid turned at random, so that all its lines slope, and the same with its corners moved by up to a
    /// part of the tolerance: some faces are then not quite flat.
    fn turned(dice: &mut Dice, moved: f64) -> [Polyhedron; 2] {
        let mut angle = || dice.roll(6283) as f64 / 1000.0;
        let turn = nalgebra::Rotation3::from_euler_angles(angle(), angle(), angle());
        let solid = slanted();
        let faces: Vec<_> = solid.faces.iter().map(|f| f.loops.clone()).collect();
        let exact: Vec<[f64; 3]> = solid.vertices.iter().map(|p| (turn * p).into()).collect();
        let mut noise = || (dice.roll(2001) as f64 / 1000.0 - 1.0) * moved;
        let moved: Vec<[f64; 3]> = exact.iter().map(|p| p.map(|x| x + noise())).collect();
        [exact, moved].map(|corners| from_faces(&corners, &faces))
    }

    #[test]
    fn corners_moved_by_less_than_the_tolerance_are_the_same() {
        let mut dice = Dice(13);
        for _ in 0..300 {
            let [exact, moved] = turned(&mut dice, 0.02);
            assert_eq!(
                gives_back(
                    &moved,
                    &sheet_of(&lines_of(&exact), 0.05),
                    HiddenLines::Required
                ),
                Ok(())
            );
        }
    }

    #[test]
    fn corners_moved_by_much_more_are_not() {
        let mut dice = Dice(14);
        for _ in 0..100 {
            let [exact, moved] = turned(&mut dice, 1.0);
            assert!(
                gives_back(
                    &moved,
                    &sheet_of(&lines_of(&exact), 0.05),
                    HiddenLines::Required
                )
                .is_err()
            );
        }
    }

    #[test]
    fn a_missing_sloping_line_is_noticed() {
        let solid = slanted();
        for view in 0..3 {
            for k in 0..lines_of(&solid)[view].len() {
                let mut lines = lines_of(&solid);
                let (from, to, _) = lines[view].remove(k);
                // Where the drawing has the line twice (one behind the other), dropping one changes nothing.
                let twice = lines[view]
                    .iter()
                    .any(|(a, b, _)| [*a, *b] == [from, to] || [*b, *a] == [from, to]);
                let long = (0..2).map(|a| (from[a] - to[a]).powi(2)).sum::<f64>() > 1.0;
                if !twice && long {
                    let sheet = sheet_of(&lines, 0.02);
                    assert!(
                        gives_back(&solid, &sheet, HiddenLines::Required).is_err(),
                        "{view} {from:?} {to:?}"
                    );
                }
            }
        }
    }

    #[test]
    fn two_lines_a_tolerance_apart_are_not_taken_for_each_other() {
        let groove = vec![
            [0.0, 0.0],
            [40.0, 0.0],
            [40.0, 10.0],
            [20.0, 10.0],
            [20.0, 9.0],
            [19.94, 9.0],
            [19.94, 10.0],
            [0.0, 10.0],
        ];
        let solid = upright(&prism([0.0, 20.0], &[groove]));
        let mut lines = lines_of(&solid);
        assert_eq!(
            gives_back(&solid, &sheet_of(&lines, 0.05), HiddenLines::Required),
            Ok(())
        );
        lines[1].retain(|(from, to, _)| from[0] != 19.94 || to[0] != 19.94);
        assert_eq!(
            gives_back(&solid, &sheet_of(&lines, 0.05), HiddenLines::Required)
                .unwrap_err()
                .what,
            Deviation::Extra
        );
    }
}

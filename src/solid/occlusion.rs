//! What covers what in one view: edges of faces that look at the viewer, laid out so that those near a place are found
//! quickly.
//!
//! Two questions are answered: where nearer borders cross a line, and which faces lie strictly over a point. A face lies
//! over a point if a ray from the point crosses its border an odd number of times. Few lines are simply gone through;
//! many are kept in an R-tree, and the ray goes the way on which the fewest lines lie.

use crate::geom::V2;
use itertools::iproduct;
use rstar::{AABB, RTree, RTreeObject};

/// From how many lines on a tree is faster than going through all of them.
const MANY: usize = 96;

/// An edge as it is drawn in the view.
#[derive(Clone, Copy, Debug)]
pub(super) struct Outline {
    /// Its ends, right and up.
    ends: [V2; 2],
    /// How near its ends are to the viewer.
    nearness: [f64; 2],
    /// Unit vector from the first end to the second.
    along: V2,
    /// Its length in the view.
    pub(super) length: f64,
    /// The edge, a place in the solid's edges.
    pub(super) edge: u32,
    /// Those of its two faces that look at the viewer.
    pub(super) faces: [Option<u32>; 2],
    /// The veil that it lies behind, if any.
    pub(super) veil: Option<usize>,
}

impl Outline {
    /// The line between two points, or nothing if they are one to within `rounding`.
    pub(super) fn between(ends: [V2; 2], nearness: [f64; 2], rounding: f64) -> Option<Self> {
        let step = ends[1] - ends[0];
        let length = step.norm();
        (length > rounding).then(|| Outline {
            ends,
            nearness,
            along: step / length,
            length,
            edge: 0,
            faces: [None; 2],
            veil: None,
        })
    }

    /// The point at `distance` from the first end; exactly the second end at its full length.
    pub(super) fn at(&self, distance: f64) -> V2 {
        if distance == self.length {
            self.ends[1]
        } else {
            self.ends[0] + self.along * distance
        }
    }

    fn nearness_at(&self, distance: f64) -> f64 {
        let share = (distance / self.length).clamp(0.0, 1.0);
        self.nearness[0] + (self.nearness[1] - self.nearness[0]) * share
    }

    /// How far along the line and how far to the left of it a point lies.
    fn place_of(&self, point: V2) -> [f64; 2] {
        let step = point - self.ends[0];
        [self.along.dot(&step), self.along.perp(&step)]
    }

    fn lo(&self) -> V2 {
        self.ends[0].inf(&self.ends[1])
    }

    fn hi(&self) -> V2 {
        self.ends[0].sup(&self.ends[1])
    }
}

impl RTreeObject for Outline {
    type Envelope = AABB<[f64; 2]>;

    fn envelope(&self) -> Self::Envelope {
        AABB::from_corners(self.lo().into(), self.hi().into())
    }
}

/// The lines of a view that border faces looking at the viewer.
pub(super) struct Occluders {
    lines: Lines,
    /// Below this length in millimetres two places are one.
    pub(super) rounding: f64,
    /// For each face what the ray in hand has met.
    marks: Vec<Mark>,
    /// The faces marked by it.
    met: Vec<u32>,
}

/// What a ray has met of one face.
#[derive(Clone, Copy, Default)]
struct Mark {
    met: bool,
    /// The ray crossed its border an odd number of times.
    inside: bool,
    /// The ray starts on its border.
    on_border: bool,
}

enum Lines {
    Few(Vec<Outline>),
    Many(Box<RTree<Outline>>, Box<Traffic>),
}

/// A way along one axis of the view.
#[derive(Clone, Copy)]
struct Way {
    /// 0 right or left, 1 up or down.
    axis: usize,
    /// Towards larger coordinates.
    rising: bool,
}

impl Occluders {
    /// Those among `lines` that border a face looking at the viewer; `faces` is the number of all faces.
    pub(super) fn new(lines: &[Outline], faces: usize, rounding: f64) -> Self {
        let borders = |line: &&Outline| line.faces.iter().any(Option::is_some);
        let lines: Vec<Outline> = lines.iter().filter(borders).copied().collect();
        Occluders {
            lines: if lines.len() < MANY {
                Lines::Few(lines)
            } else {
                let traffic = Box::new(Traffic::of(&lines));
                Lines::Many(Box::new(RTree::bulk_load(lines)), traffic)
            },
            rounding,
            marks: vec![Mark::default(); faces],
            met: Vec::new(),
        }
    }

    /// Adds the distances along `line` at which the border of a nearer face crosses it, begins or ends on it.
    pub(super) fn cuts_of(&self, line: &Outline, cuts: &mut Vec<f64>) {
        let margin = V2::repeat(self.rounding);
        let (lo, hi) = (line.lo() - margin, line.hi() + margin);
        let mut cut = |other: &Outline| {
            if other.edge != line.edge {
                self.cut(line, other, cuts);
            }
        };
        match &self.lines {
            Lines::Few(lines) => lines.iter().for_each(cut),
            Lines::Many(tree, _) => {
                let envelope = AABB::from_corners(lo.into(), hi.into());
                tree.locate_in_envelope_intersecting(envelope)
                    .for_each(&mut cut);
            }
        }
    }

    fn cut(&self, line: &Outline, border: &Outline, cuts: &mut Vec<f64>) {
        let [a, b] = border.ends.map(|end| line.place_of(end));
        let eps = self.rounding;
        if a[1].min(b[1]) > eps || a[1].max(b[1]) < -eps {
            return;
        }
        let mut add = |distance: f64, nearness: f64| {
            let inner = distance > eps && distance < line.length - eps;
            if inner && nearness > line.nearness_at(distance) - eps {
                cuts.push(distance);
            }
        };
        if a[1].abs() <= eps && b[1].abs() <= eps {
            add(a[0], border.nearness[0]);
            add(b[0], border.nearness[1]);
        } else {
            let share = (a[1] / (a[1] - b[1])).clamp(0.0, 1.0);
            let nearness = border.nearness_at(share * border.length);
            add(a[0] + (b[0] - a[0]) * share, nearness);
        }
    }

    /// The faces looking at the viewer that have `point` strictly inside their border.
    pub(super) fn over(&mut self, point: V2) -> &[u32] {
        for face in self.met.drain(..) {
            self.marks[face as usize] = Mark::default();
        }
        let (marks, met) = (&mut self.marks, &mut self.met);
        let eps = self.rounding;
        let mut meet = |way: Way, line: &Outline| {
            let (crossed, touched) = meets(way, point, line, eps);
            if crossed || touched {
                for face in line.faces.into_iter().flatten() {
                    let mark = &mut marks[face as usize];
                    if !std::mem::replace(&mut mark.met, true) {
                        met.push(face);
                    }
                    mark.inside ^= crossed;
                    mark.on_border |= touched;
                }
            }
        };
        match &self.lines {
            Lines::Few(lines) => {
                let way = Way {
                    axis: 0,
                    rising: true,
                };
                lines.iter().for_each(|line| meet(way, line));
            }
            Lines::Many(tree, traffic) => {
                let way = traffic.emptiest(point);
                let ray = traffic.ray(way, point, eps);
                tree.locate_in_envelope_intersecting(ray)
                    .for_each(|line| meet(way, line));
            }
        }
        met.retain(|face| {
            let mark = &mut marks[*face as usize];
            let over = mark.inside && !mark.on_border;
            if !over {
                *mark = Mark::default();
            }
            over
        });
        met
    }
}

/// Whether the ray from `point` crosses a line, and whether the point lies on the line.
///
/// A line counts as crossed if its ends lie on different sides of the ray, the ray itself counting as the lower side;
/// then the crossings of a closed border are even or odd whatever corners the ray hits.
fn meets(way: Way, point: V2, line: &Outline, eps: f64) -> (bool, bool) {
    let across = 1 - way.axis;
    let [a, b] = line.ends;
    let above = [a, b].map(|end| end[across] > point[across]);
    let [along, left] = line.place_of(point);
    let touched = left.abs() <= eps && along >= -eps && along <= line.length + eps;
    // Seen along +x, a line that rises has the point to its left if the ray to the right meets it; along +y mirrored.
    let beyond = (left > 0.0) == (above[1] == (way.axis == 0));
    (above[0] != above[1] && beyond == way.rising, touched)
}

/// How many lines lie on the way from any part of a view to each of its four sides, in a coarse grid.
struct Traffic {
    lo: V2,
    hi: V2,
    /// Per axis, strip across it and cell along it: lines of that strip up to that cell.
    upto: [Vec<u32>; 2],
}

/// Cells of the grid along each axis.
const CELLS: usize = 64;

impl Traffic {
    fn of(lines: &[Outline]) -> Self {
        let mut traffic = Traffic {
            lo: lines
                .iter()
                .fold(V2::repeat(f64::MAX), |lo, l| lo.inf(&l.lo())),
            hi: lines
                .iter()
                .fold(V2::repeat(f64::MIN), |hi, l| hi.sup(&l.hi())),
            upto: [vec![0; CELLS * CELLS], vec![0; CELLS * CELLS]],
        };
        for (line, axis) in iproduct!(lines, 0..2) {
            let cell = traffic.cell(axis, (line.ends[0][axis] + line.ends[1][axis]) / 2.0);
            let across = 1 - axis;
            let first = traffic.cell(across, line.lo()[across]);
            for strip in first..=traffic.cell(across, line.hi()[across]) {
                traffic.upto[axis][strip * CELLS + cell] += 1;
            }
        }
        for strip in traffic
            .upto
            .iter_mut()
            .flat_map(|counts| counts.chunks_mut(CELLS))
        {
            for k in 1..CELLS {
                strip[k] += strip[k - 1];
            }
        }
        traffic
    }

    #[allow(
        clippy::cast_possible_truncation,
        clippy::cast_sign_loss,
        clippy::cast_precision_loss,
        reason = "a small whole number, clamped to the grid"
    )]
    fn cell(&self, axis: usize, at: f64) -> usize {
        let share = (at - self.lo[axis]) / (self.hi[axis] - self.lo[axis]);
        ((share * CELLS as f64) as usize).min(CELLS - 1)
    }

    /// The way to the border of the view that meets the fewest lines, as far as the grid can tell.
    fn emptiest(&self, point: V2) -> Way {
        let load = |way: &Way| {
            let strip = self.cell(1 - way.axis, point[1 - way.axis]) * CELLS;
            let counts = &self.upto[way.axis][strip..strip + CELLS];
            let cell = self.cell(way.axis, point[way.axis]);
            let before = if cell == 0 { 0 } else { counts[cell - 1] };
            if way.rising {
                counts[CELLS - 1] - before
            } else {
                counts[cell]
            }
        };
        let ways = iproduct!(0..2, [true, false]).map(|(axis, rising)| Way { axis, rising });
        ways.min_by_key(load).unwrap_or(Way {
            axis: 0,
            rising: true,
        })
    }

    /// The narrow box around the ray from `point` to the border of the view.
    fn ray(&self, way: Way, point: V2, eps: f64) -> AABB<[f64; 2]> {
        let (mut lo, mut hi) = (point - V2::repeat(eps), point + V2::repeat(eps));
        if way.rising {
            hi[way.axis] = hi[way.axis].max(self.hi[way.axis]);
        } else {
            lo[way.axis] = lo[way.axis].min(self.lo[way.axis]);
        }
        AABB::from_corners(lo.into(), hi.into())
    }
}

//! Points that are one corner: everything within the tolerance of a known one is that one.

use crate::geom::arena::Id;
use crate::geom::{P3, V3};
use crate::wireframe::Vertex;
use rustc_hash::FxHashMap;

/// The corners so far, in a grid of cells.
pub(super) struct Corners {
    pub(super) points: Vec<P3>,
    cells: FxHashMap<[i64; 3], Vec<u32>>,
    reach: f64,
}

/// How large a cell is, in reaches: so large that what is near a point mostly lies in its own cell.
const CELL: f64 = 16.0;

impl Corners {
    pub(super) fn new(reach: f64) -> Self {
        Corners {
            points: Vec::new(),
            cells: FxHashMap::default(),
            reach,
        }
    }

    #[allow(
        clippy::cast_possible_truncation,
        reason = "coordinates are bounded by the readers"
    )]
    fn cell(&self, point: &P3) -> [i64; 3] {
        [0, 1, 2].map(|k| (point[k] / (CELL * self.reach)).floor() as i64)
    }

    /// The corner at a point, added if there is none within reach.
    pub(super) fn at(&mut self, point: P3) -> Id<Vertex> {
        self.at_where(point, |_| true)
    }

    /// The corner at a point, added if there is none within reach that fits.
    pub(super) fn at_where(&mut self, point: P3, fits: impl Fn(&P3) -> bool) -> Id<Vertex> {
        let wide = V3::repeat(self.reach);
        let ([a, b, c], [x, y, z]) = (self.cell(&(point - wide)), self.cell(&(point + wide)));
        let mut best: Option<(f64, u32)> = None;
        for i in a..=x {
            for j in b..=y {
                for k in c..=z {
                    for &known in self.cells.get(&[i, j, k]).map_or(&[][..], |list| list) {
                        let at = &self.points[known as usize];
                        let off = (at - point).norm();
                        let nearer = best.is_none_or(|(least, _)| off < least);
                        if off <= self.reach && nearer && fits(at) {
                            best = Some((off, known));
                        }
                    }
                }
            }
        }
        let number = best.map_or_else(
            || {
                let number = u32::try_from(self.points.len()).expect("fewer than 2^32 corners");
                let cell = self.cell(&point);
                self.cells.entry(cell).or_default().push(number);
                self.points.push(point);
                number
            },
            |(_, known)| known,
        );
        Id::new(number as usize)
    }
}

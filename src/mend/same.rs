//! Whether two sheets show the same, however their lines are split or drawn over one another.

use crate::arrange::split::arrange;
use crate::export::stretch::on_sheet;
use crate::outcome::Stretch;
use crate::sheet::views::drawing;
use crate::{Options, Shape, Sheet};

/// What a sheet shows: its drawn lines, each as long as it looks.
pub(super) struct Shown {
    stretches: Vec<Stretch>,
    /// Coordinates that differ by no more are the same, in the sheet's unit.
    near: f64,
}

/// What a sheet shows; none if its views cannot be told apart.
pub(super) fn shown(sheet: &Sheet, options: &Options) -> Option<Shown> {
    let drawing = drawing(sheet, options).ok()?;
    let (views, _) = arrange(&drawing).ok()?;
    let stretches = views.iter().flat_map(|view| {
        let pieces: Vec<_> = view.pieces.ids().collect();
        on_sheet(view, drawing.placement(), &pieces)
    });
    Some(Shown {
        stretches: stretches.collect(),
        near: drawing.tolerance.mm() / drawing.unit.millimetres(),
    })
}

impl Shown {
    /// Whether every line is the same.
    pub(super) fn same_as(&self, other: &Shown) -> bool {
        let has = |all: &[Stretch], one: &Stretch| all.iter().any(|s| self.same(s, one));
        self.stretches.len() == other.stretches.len()
            && self.stretches.iter().all(|s| has(&other.stretches, s))
            && other.stretches.iter().all(|s| has(&self.stretches, s))
    }

    fn same(&self, a: &Stretch, b: &Stretch) -> bool {
        let near = |a: &[f64; 2], b: &[f64; 2]| (0..2).all(|k| (a[k] - b[k]).abs() <= self.near);
        (a.view, a.line_type) == (b.view, b.line_type)
            && match (&a.shape, &b.shape) {
                (Shape::Line { from, to }, Shape::Line { from: f, to: t }) => {
                    near(from, f) && near(to, t) || near(from, t) && near(to, f)
                }
                (a, b) => a == b,
            }
    }
}

//! Settings and limits of a run, and the one way to watch and stop it.

/// Settings of [`reconstruct`](crate::reconstruct()).
#[derive(Clone, Debug, PartialEq)]
pub struct Options {
    /// How far two things on the sheet may lie apart and still be the same, in millimetres. Default: a two-thousandth of
    /// the largest view.
    pub tolerance_mm: Option<f64>,
    /// The search stops after this many readings. Default: 32.
    pub reading_limit: usize,
    /// How the sheet treats tangent edges. Default: they are not drawn.
    pub tangent_edges: TangentEdges,
    /// Whether every hidden line must be drawn. Default: yes.
    pub hidden_lines: HiddenLines,
    /// Whether to find out more than the verdict: where the readings of an ambiguous sheet differ and what settles it, and why
    /// a sheet is contradictory. Default: yes.
    pub explain: bool,
}

impl Default for Options {
    fn default() -> Self {
        Options {
            tolerance_mm: None,
            reading_limit: 32,
            tangent_edges: TangentEdges::default(),
            hidden_lines: HiddenLines::default(),
            explain: true,
        }
    }
}

/// How a sheet treats tangent edges: edges where two different faces run into each other without a bend, such as a fillet
/// into a plane.
///
/// Where a view looks along the common tangent plane, such an edge is a contour and drawn whatever is chosen. Pieces of one
/// plane or of one curved surface have no tangent edges between them.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash)]
pub enum TangentEdges {
    /// Never drawn.
    #[default]
    Omitted,
    /// Drawn in every view, like sharp edges.
    Drawn,
    /// Each may be drawn in a view or not, from corner to corner, whatever the others and the other views do.
    Either,
}

/// Whether a sheet must show every hidden line.
///
/// Standards allow leaving hidden lines out for clarity (ISO 128-3, from memory), so on many sheets in use a blank says only
/// that nothing visible is there.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash)]
pub enum HiddenLines {
    /// Each must be drawn: where nothing is drawn there is no edge.
    #[default]
    Required,
    /// Any may be left out. Edges are looked for where at least one view shows them, between the heights, widths and depths
    /// that occur on the sheet.
    Optional,
}

/// A stage of a run, in order.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Stage {
    /// Lining up the views.
    Views,
    /// Finding corners and edges that all views allow.
    Edges,
    /// Finding faces on those edges.
    Faces,
    /// Searching for solids; carries the number found so far.
    Search(usize),
}

/// Watches a run from outside: the engine itself knows no clock and no terminal.
pub trait Watch {
    /// Called when a stage begins.
    fn stage(&self, _stage: Stage) {}

    /// Called often; `false` stops the run at the next safe place.
    fn keep_going(&self) -> bool {
        true
    }
}

/// Watches nothing and never stops.
#[derive(Clone, Copy, Debug, Default)]
pub struct Unwatched;

impl Watch for Unwatched {}

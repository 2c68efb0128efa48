//! The two kinds of candidates, for drawings with straight lines only and for all others: how they are found in a drawing, and
//! how a choice among them becomes a proven reading.

use crate::arrange::split::arrange;
use crate::arrange::{Arrangement, Piece};
use crate::error::InternalError;
use crate::face::Faces;
use crate::face::curved::CurvedFaces;
use crate::geom::arena::Id;
use crate::geom::crowded::CrowdedError;
use crate::geom::tolerance::Tolerance;
use crate::options::{Stage, Watch};
use crate::outcome::Reading;
use crate::sheet::Drawing;
use crate::solid::build::build;
use crate::solid::check;
use crate::solid::curved;
use crate::solid::measure::measure;
use crate::solid::verify::{Difference, gives_back};
use crate::solid::{Body, Solid};
use crate::solve::Model;
use crate::solve::board::Board;
use crate::solve::check::Sound;
use crate::solve::curved::CurvedBoard;
use crate::solve::flat::FlatBoard;
use crate::wireframe::Wireframe;
use crate::wireframe::curved::CurvedWireframe;
use crate::{HiddenLines, Options};

/// A kind of candidates: how to find them in a drawing, and how to make a reading of a choice among them.
pub(crate) trait Candidates: Board + Sized {
    /// Its candidate corners and edges.
    type Edges;

    /// Every vertex and edge that the views allow.
    fn lift(drawing: &Drawing, tolerance: Tolerance) -> Result<Lifted<Self::Edges>, CrowdedError>;

    /// The pieces of each view that no candidate edge lies over: if they stay as they are, no solid has the views.
    fn without_edge(edges: &Self::Edges) -> &[Vec<Id<Piece>>; 3];

    /// The candidates with every face that the edges allow.
    fn on(
        lifted: Lifted<Self::Edges>,
        drawing: &Drawing,
        tolerance: Tolerance,
        options: &Options,
    ) -> Result<Self, CrowdedError>;

    /// Every vertex, edge and face that the views allow.
    fn find(
        drawing: &Drawing,
        tolerance: Tolerance,
        options: &Options,
        watch: &dyn Watch,
    ) -> Result<Self, CrowdedError> {
        watch.stage(Stage::Edges);
        let lifted = Self::lift(drawing, tolerance)?;
        watch.stage(Stage::Faces);
        Self::on(lifted, drawing, tolerance, options)
    }

    /// Builds an answer's solid and proves it: it must be sound and give back the drawing.
    fn reading(
        &self,
        drawing: &Drawing,
        hidden_lines: HiddenLines,
        model: &Model,
        sound: &Sound,
    ) -> Result<Reading, InternalError>;
}

/// Three views and the candidate edges above them.
pub(crate) struct Lifted<E> {
    views: [Arrangement; 3],
    edges: E,
}

impl<E> Lifted<E> {
    /// Whether some piece for which this holds has no candidate edge over it.
    pub(crate) fn lacks_edge<C: Candidates<Edges = E>>(&self, of: impl Fn(&Piece) -> bool) -> bool {
        let views = self
            .views
            .iter()
            .zip(<C as Candidates>::without_edge(&self.edges));
        let mut pieces =
            views.flat_map(|(view, bare)| bare.iter().map(|piece| &view.pieces[*piece]));
        pieces.any(of)
    }
}

impl Candidates for FlatBoard {
    type Edges = Wireframe;

    fn lift(drawing: &Drawing, tolerance: Tolerance) -> Result<Lifted<Wireframe>, CrowdedError> {
        let (mut views, mut axes) = arrange(drawing)?;
        let edges = Wireframe::build(&mut views, &mut axes, tolerance)?;
        Ok(Lifted { views, edges })
    }

    fn without_edge(edges: &Wireframe) -> &[Vec<Id<Piece>>; 3] {
        &edges.without_edge
    }

    fn on(
        lifted: Lifted<Wireframe>,
        drawing: &Drawing,
        tolerance: Tolerance,
        _: &Options,
    ) -> Result<Self, CrowdedError> {
        let faces = Faces::build(&lifted.edges, tolerance)?;
        Ok(FlatBoard::new(
            lifted.views,
            lifted.edges,
            faces,
            drawing.placement(),
            tolerance,
        ))
    }

    fn reading(
        &self,
        drawing: &Drawing,
        hidden_lines: HiddenLines,
        model: &Model,
        sound: &Sound,
    ) -> Result<Reading, InternalError> {
        let solid = build(self, model, sound);
        if let Some(defect) = check::first(&solid, self.tolerance.all_slack()) {
            return Err(InternalError::NotSound {
                defect: defect.to_string(),
            });
        }
        gives_back(&solid, drawing, hidden_lines)
            .map_err(|difference| not_given_back(drawing, &difference))?;
        let measures = measure(&solid);
        Ok(Reading {
            solid: Solid {
                body: Body::Flat(solid),
            },
            measures,
            left_out: Vec::new(),
        })
    }
}

impl Candidates for CurvedBoard {
    type Edges = CurvedWireframe;

    fn lift(
        drawing: &Drawing,
        tolerance: Tolerance,
    ) -> Result<Lifted<CurvedWireframe>, CrowdedError> {
        let (mut views, mut axes) = arrange(drawing)?;
        let edges = CurvedWireframe::build(&mut views, &mut axes, tolerance)?;
        Ok(Lifted { views, edges })
    }

    fn without_edge(edges: &CurvedWireframe) -> &[Vec<Id<Piece>>; 3] {
        &edges.without_edge
    }

    fn on(
        lifted: Lifted<CurvedWireframe>,
        drawing: &Drawing,
        tolerance: Tolerance,
        options: &Options,
    ) -> Result<Self, CrowdedError> {
        let faces = CurvedFaces::build(&lifted.edges, tolerance);
        Ok(CurvedBoard::new(
            lifted.views,
            lifted.edges,
            faces,
            drawing.placement(),
            tolerance,
            options.tangent_edges,
        ))
    }

    fn reading(
        &self,
        drawing: &Drawing,
        hidden_lines: HiddenLines,
        model: &Model,
        sound: &Sound,
    ) -> Result<Reading, InternalError> {
        let solid = curved::build::build(self, model, sound);
        if let Some(defect) = curved::check::first(&solid, self.tolerance.all_slack()) {
            return Err(InternalError::NotSound {
                defect: defect.to_string(),
            });
        }
        curved::verify::gives_back(&solid, drawing, self.tangent_edges(), hidden_lines)
            .map_err(|difference| not_given_back(drawing, &difference))?;
        let measures = curved::measure::measure(&solid);
        Ok(Reading {
            solid: Solid {
                body: Body::Curved(solid),
            },
            measures,
            left_out: Vec::new(),
        })
    }
}

fn not_given_back(drawing: &Drawing, difference: &Difference) -> InternalError {
    let [x, y] = drawing.on_sheet(difference.view, difference.at);
    InternalError::NotGivenBack {
        view: difference.view.title(),
        x,
        y,
        unit: drawing.unit.symbol(),
    }
}

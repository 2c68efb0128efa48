//! The two kinds of candidates, for drawings with straight lines only and for all others: how they are found in a drawing, and
//! how a choice among them becomes a proven reading.

use crate::arrange::split::arrange;
use crate::arrange::{Arrangement, Piece};
use crate::error::InternalError;
use crate::face::Faces;
use crate::face::curved::CurvedFaces;
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
use crate::solve::check::{Fault, Sound};
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

    /// Whether some piece for which this holds has no candidate edge over it: while it stays as it is, no solid has the
    /// views.
    fn is_hopeless(
        lifted: &Lifted<Self::Edges>,
        tolerance: Tolerance,
        of: &dyn Fn(&Piece) -> bool,
    ) -> bool;

    /// Whether these are the candidates on the same edges.
    fn is_on(&self, lifted: &Lifted<Self::Edges>) -> bool;

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
    ) -> Result<Reading, Refusal>;
}

/// Why an answer of the search is no reading.
pub(crate) enum Refusal {
    /// Its faces cross, which the search could not know.
    Crossing(Vec<Fault>),
    /// It does not pass a self-check.
    Defect(InternalError),
}

impl From<InternalError> for Refusal {
    fn from(error: InternalError) -> Self {
        Refusal::Defect(error)
    }
}

/// Readings, proven one by one as the search finds answers.
pub(super) struct Proven {
    readings: Result<Vec<Reading>, InternalError>,
}

impl Proven {
    /// None yet.
    pub(super) fn new() -> Self {
        Proven {
            readings: Ok(Vec::new()),
        }
    }

    /// Takes in the proof of one more answer, or of one that takes the place of one before; gives the faults of one that is no
    /// solid.
    pub(super) fn take(
        &mut self,
        place: usize,
        prove: impl FnOnce() -> Result<Reading, Refusal>,
    ) -> Vec<Fault> {
        // After a failed self-check there is nothing more to prove.
        let Ok(readings) = &mut self.readings else {
            return Vec::new();
        };
        match prove() {
            Ok(reading) => match readings.get_mut(place) {
                Some(known) => *known = reading,
                None => readings.push(reading),
            },
            Err(Refusal::Crossing(faults)) => return faults,
            Err(Refusal::Defect(error)) => self.readings = Err(error),
        }
        Vec::new()
    }

    /// Whether an answer did not pass a self-check.
    pub(super) fn has_failed(&self) -> bool {
        self.readings.is_err()
    }

    /// The first `count` readings.
    ///
    /// # Errors
    /// If one did not pass a self-check.
    pub(super) fn first(self, count: usize) -> Result<Vec<Reading>, InternalError> {
        let mut readings = self.readings?;
        readings.truncate(count);
        Ok(readings)
    }
}

/// Three views and the candidate edges above them.
pub(crate) struct Lifted<E> {
    views: [Arrangement; 3],
    edges: E,
}

impl Candidates for FlatBoard {
    type Edges = Wireframe;

    fn lift(drawing: &Drawing, tolerance: Tolerance) -> Result<Lifted<Wireframe>, CrowdedError> {
        let (mut views, mut axes) = arrange(drawing)?;
        let edges = Wireframe::build(&mut views, &mut axes, tolerance)?;
        Ok(Lifted { views, edges })
    }

    fn is_hopeless(lifted: &Lifted<Wireframe>, _: Tolerance, of: &dyn Fn(&Piece) -> bool) -> bool {
        let views = lifted.views.iter().zip(&lifted.edges.without_edge);
        { views }.any(|(view, bare)| bare.iter().any(|piece| of(&view.pieces[*piece])))
    }

    fn is_on(&self, _: &Lifted<Wireframe>) -> bool {
        true
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
    ) -> Result<Reading, Refusal> {
        let solid = build(self, model, sound);
        if let Some(defect) = check::first(&solid, self.tolerance.all_slack()) {
            return Err(not_sound(&defect).into());
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
        let edges = CurvedWireframe::build(&mut views, &mut axes, drawing.all_curves, tolerance)?;
        Ok(Lifted { views, edges })
    }

    fn is_hopeless(
        lifted: &Lifted<CurvedWireframe>,
        tolerance: Tolerance,
        of: &dyn Fn(&Piece) -> bool,
    ) -> bool {
        CurvedBoard::demands_missing_edge(&lifted.views, &lifted.edges, tolerance, of)
    }

    fn is_on(&self, lifted: &Lifted<CurvedWireframe>) -> bool {
        self.wireframe.is_like(&lifted.edges)
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
    ) -> Result<Reading, Refusal> {
        let solid = curved::build::build(self, model, sound);
        let defects = curved::check::all(&solid, self.tolerance.all_slack());
        let crossing = curved::check::crossing_faces(&solid, &defects);
        if !crossing.is_empty() {
            let regions = curved::build::regions(sound);
            let fault = |pair: [u32; 2]| Fault::Crossing(pair.map(|face| regions[face as usize]));
            return Err(Refusal::Crossing(crossing.into_iter().map(fault).collect()));
        }
        if let Some(defect) = defects.first() {
            return Err(not_sound(defect).into());
        }
        let solid = solid.with_whole_planes();
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

fn not_sound(defect: &dyn ToString) -> InternalError {
    InternalError::NotSound {
        defect: defect.to_string(),
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

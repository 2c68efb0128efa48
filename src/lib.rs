//! Folds three views of a technical drawing back into every solid that has exactly these views.

mod arrange;
mod error;
mod export;
mod face;
mod geom;
mod mend;
mod options;
mod outcome;
mod page;
mod reconstruct;
mod sheet;
mod solid;
mod solve;
mod wireframe;

#[cfg(feature = "cli")]
pub mod cli;

pub use error::Error;
pub use export::picture::{PictureKind, PictureOptions};
pub use export::report::Report;
pub use export::sheet_svg::{Mark, MarkStyle};
pub use mend::mend;
pub use options::{HiddenLines, Options, Stage, TangentEdges, Unwatched, Watch};
pub use outcome::{
    Action, Alternative, Change, FurtherLine, FurtherView, Limit, MaterialChange, Mend, Mending,
    Outcome, Place, Reading, ReadingsTotal, Section, Settling, Stretch, Verdict,
};
pub use page::answer;
pub use reconstruct::{reconstruct, reconstruct_watched};
pub use sheet::read::{MAX_SHEET_BYTES, read_sheet};
pub use sheet::{Line, LineType, Projection, Remark, RemarkKind, Shape, Sheet, Unit, View};
pub use solid::Solid;
pub use solid::measure::Measures;
pub use solid::mesh::Fineness;

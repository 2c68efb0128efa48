//! The one error of the library, over a private kind per stage.

use thiserror::Error;

/// Why a sheet could not be read or answered.
///
/// "No object has these views" is not an error but an [`Outcome`](crate::Outcome).
#[derive(Debug, Error)]
#[error(transparent)]
pub struct Error(#[from] pub(crate) Kind);

impl Error {
    /// Whether the fault lies in this program and not in the sheet.
    pub fn is_internal(&self) -> bool {
        matches!(self.0, Kind::Internal(_))
    }
}

#[derive(Debug, Error)]
pub(crate) enum Kind {
    /// The file is no usable sheet; see [`crate::sheet::read`].
    #[error(transparent)]
    Read(#[from] crate::sheet::read::ReadError),
    /// The lines cannot be told apart into three views.
    #[error(transparent)]
    Views(#[from] crate::sheet::views::ViewsError),
    /// The drawing is larger than what the memory is kept for.
    #[error(transparent)]
    Crowded(#[from] CrowdedError),
    /// A self-check failed.
    #[error(transparent)]
    Internal(#[from] InternalError),
}

/// A drawing with more in it than foldback answers.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Error)]
pub(crate) enum CrowdedError {
    /// Too many lines lie across or near one another.
    #[error(
        "the lines meet or come near one another at more than {most} places, which is more than foldback answers; \
         leave out hatching and texture, or draw the part in several sheets"
    )]
    Meetings { most: usize },
    /// The views allow too many corners.
    #[error(
        "the three views allow more than {most} corners in space, which is more than foldback answers; \
         draw the part in several sheets"
    )]
    Corners { most: usize },
}

/// A self-check of the engine that failed: a defect of this program.
#[derive(Debug, Error)]
pub(crate) enum InternalError {
    /// A reading, drawn again, did not give back the sheet.
    #[error(
        "internal error: a solid was found whose {view} differs from the sheet near ({x:.3}, {y:.3}) {unit}; \
         no reading is shown, please report this sheet"
    )]
    NotGivenBack {
        view: &'static str,
        x: f64,
        y: f64,
        unit: &'static str,
    },
    /// A reading is not a closed two-manifold solid in one piece.
    #[error(
        "internal error: a solid was found that is not sound ({defect}); no reading is shown, please report this sheet"
    )]
    NotSound { defect: String },
}

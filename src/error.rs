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
    Crowded(#[from] crate::geom::crowded::CrowdedError),
    /// A self-check failed.
    #[error(transparent)]
    Internal(#[from] InternalError),
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

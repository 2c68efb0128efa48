//! The limits that keep a hostile drawing from filling the memory.

use thiserror::Error;

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

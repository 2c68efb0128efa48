//! Which line stands in which view, and how the views are arranged.
#[derive(Debug, thiserror::Error)]
#[error("x")]
pub(crate) struct ViewsError;

//! Stand-ins for stages that are written elsewhere; goes away when they are merged.
use crate::{Error, Options, Outcome, Sheet, Solid, Watch};

/// Stand-in.
///
/// # Errors
/// Always.
pub fn reconstruct_watched(_: &Sheet, _: &Options, watch: &dyn Watch) -> Result<Outcome, Error> {
    watch.stage(crate::Stage::Views);
    let _ = watch.keep_going();
    Err(crate::error::Kind::from(crate::sheet::views::ViewsError).into())
}

/// Stand-in.
///
/// # Errors
/// Always.
pub fn reconstruct(sheet: &Sheet, options: &Options) -> Result<Outcome, Error> {
    reconstruct_watched(sheet, options, &crate::Unwatched)
}

impl Solid {
    /// Stand-in.
    pub fn to_stl(&self) -> Vec<u8> {
        vec![]
    }
}

/// Stand-in.
#[derive(Clone, Copy, Debug)]
pub enum PictureKind {
    /// Stand-in.
    Isometric,
    /// Stand-in.
    Cavalier,
    /// Stand-in.
    Cabinet,
}

/// Stand-in.
#[derive(Clone, Debug, Default)]
pub struct PictureOptions {
    /// Stand-in.
    pub shaded: bool,
    /// Stand-in.
    pub other: bool,
}

/// Stand-in.
pub fn picture(_: &Solid, _: PictureKind, _: &PictureOptions) -> String {
    String::new()
}

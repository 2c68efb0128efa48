//! Bytes in, sheet out: tells JSON from SVG and hands over to the right reader.
use super::Sheet;
use crate::{Error, Remark};
/// x
#[derive(Debug, thiserror::Error)]
#[error("x")]
pub(crate) struct ReadError;
/// x
#[derive(Clone, Copy, Debug)]
pub enum Format {
    /// x
    Json,
    /// x
    Svg,
}
/// x
///
/// # Errors
/// x
pub fn read_sheet(_bytes: &[u8]) -> Result<(Sheet, Vec<Remark>), Error> {
    Err(crate::error::Kind::from(ReadError).into())
}

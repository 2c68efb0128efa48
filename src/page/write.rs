//! `stl` and `picture`: a reading as the bytes of a file, the same as the command writes.

use super::request::Request;
use crate::{PictureKind, PictureOptions, Solid, Verdict, Watch, reconstruct_watched};

/// # Errors
/// When there is no such reading, or the sheet cannot be read or answered.
pub(super) fn stl(request: &Request<'_>, watch: &dyn Watch) -> Result<Vec<u8>, String> {
    Ok(chosen(request, watch)?.to_stl())
}

/// # Errors
/// As [`stl`]; also when there is no such kind of picture.
pub(super) fn picture(request: &Request<'_>, watch: &dyn Watch) -> Result<Vec<u8>, String> {
    let kinds = [
        PictureKind::Isometric,
        PictureKind::Cavalier,
        PictureKind::Cabinet,
    ];
    let name = request.kind.as_deref().unwrap_or("isometric");
    let kind = kinds.into_iter().find(|kind| kind.name() == name);
    let kind = kind.ok_or_else(|| {
        format!("there is no picture of the kind {name:?}; choose isometric, cavalier or cabinet")
    })?;
    let options = PictureOptions {
        shaded: request.shaded,
        ..PictureOptions::default()
    };
    let solid = chosen(request, watch)?;
    Ok(solid.to_picture(kind, &options).into_bytes())
}

/// The reading asked for, or the only one.
fn chosen(request: &Request<'_>, watch: &dyn Watch) -> Result<Solid, String> {
    let (sheet, _) = request.sheet()?;
    let outcome = reconstruct_watched(&sheet, &request.options()?, watch)
        .map_err(|error| error.to_string())?;
    let found = outcome.readings.len();
    let place = match (request.reading, outcome.verdict) {
        (_, Verdict::Contradictory) => return Err("no object has these three views".to_owned()),
        (Some(number), _) => number.checked_sub(1),
        (None, Verdict::Unique) => Some(0),
        (None, _) => None,
    };
    let reading = place.and_then(|place| outcome.readings.into_iter().nth(place));
    reading
        .map(|reading| reading.solid)
        .ok_or_else(|| format!("choose one of the readings 1 to {found}"))
}

//! What the drawing board asks of the engine: one request in bytes, one answer in bytes.
//!
//! The page with the engine inside and the page that asks a server both come through [`answer`], so that they cannot differ.
//! A request is a JSON object whose `do` says what is wanted; the answer is a JSON object, which begins with `{`, or the
//! bytes of a file, which never do. Whatever goes wrong is `{"error": "…"}` in words for a person.

mod check;
mod ends;
mod mend;
mod open;
mod request;
mod solids;
mod unfinished;
mod write;

#[cfg(target_family = "wasm")]
mod wasm;

#[cfg(feature = "cli")]
pub(crate) use open::say_views;

use serde::Serialize;

use crate::export::json::one_line;
use crate::{Unwatched, Watch};
use request::Request;

/// Answers one request of the drawing board.
///
/// | `do` | answer |
/// | --- | --- |
/// | `check` | the report on a sheet, its solids to look at, or what is missing before it can be one |
/// | `mend` | the smallest corrections of a sheet |
/// | `open` | a file's text as a JSON sheet |
/// | `stl`, `picture` | a reading as the bytes of a file, the same as the command writes |
/// | `svg`, `json` | the sheet itself as the bytes of a file |
///
/// The same request gives the same bytes on every machine. `steps` in a request bounds the work on it.
///
/// # Examples
///
/// ```
/// let answer = foldback::answer(br#"{"do": "check", "sheet": {"lines": []}}"#);
/// assert!(String::from_utf8_lossy(&answer).contains(r#""missing":["front","top","right"]"#));
///
/// let answer = foldback::answer(b"nonsense");
/// assert!(answer.starts_with(br#"{"error":"#));
/// ```
pub fn answer(request: &[u8]) -> Vec<u8> {
    answer_watched(request, &Unwatched)
}

/// As [`answer`], stopped when the watcher says so; the answer then says that the verdict is open.
pub(crate) fn answer_watched(request: &[u8], watch: &dyn Watch) -> Vec<u8> {
    match Request::read(request).and_then(|request| fulfil(&request, watch)) {
        Ok(bytes) => bytes,
        Err(error) => failure(&error),
    }
}

/// The answer that says what went wrong.
pub(crate) fn failure(error: &str) -> Vec<u8> {
    #[derive(Serialize)]
    struct Failure<'a> {
        error: &'a str,
    }
    one_line(&Failure { error }).into_bytes()
}

fn fulfil(request: &Request<'_>, watch: &dyn Watch) -> Result<Vec<u8>, String> {
    let watch = &request.watched(watch);
    match &*request.action {
        "check" => check::check(request, watch),
        "mend" => mend::mend(request, watch),
        "open" => open::open(request),
        "stl" => write::stl(request, watch),
        "picture" => write::picture(request, watch),
        "svg" => Ok(request.sheet()?.0.to_svg().into_bytes()),
        "json" => Ok(request.sheet()?.0.to_json().into_bytes()),
        other => Err(format!(
            "{other:?} is nothing that can be asked for; `do` is check, mend, open, stl, picture, svg or json"
        )),
    }
}

#[cfg(test)]
mod tests;

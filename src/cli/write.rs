//! `foldback solid` and `foldback picture`: the chosen readings as files.

use std::ffi::OsString;
use std::io::Write;
use std::path::{Path, PathBuf};

use super::answer::{Answer, answer};
use super::args::{PictureArguments, SolidArguments, WriteArguments};
use super::status::Status;
use super::{complain, files};
use crate::{Fineness, Outcome, PictureOptions, Reading, Solid, Verdict};

/// Writes the only reading, the chosen one, or all of them as STL.
pub(super) fn solid(arguments: &SolidArguments, out: &mut impl Write) -> Status {
    let fineness = Fineness {
        chord_mm: arguments.chord,
        ..Fineness::default()
    };
    let form = |solid: &Solid| solid.to_stl_within(&fineness);
    write(&arguments.write, arguments.all, out, form)
}

/// Draws the only reading or the chosen one as SVG, or what there is to see of all of them.
pub(super) fn picture(arguments: &PictureArguments, out: &mut impl Write) -> Status {
    if arguments.side_by_side {
        let all = |answer: &Answer| match answer.outcome.readings.is_empty() {
            true => None,
            false => Some(answer.outcome.to_side_by_side(arguments.kind.into())),
        };
        return write_one(&arguments.write, "there is no object to show", out, all);
    }
    if arguments.settling {
        let place = arguments.write.reading.map_or(0, |number| number - 1);
        let drawn = |answer: &Answer| answer.outcome.to_settling_picture(&answer.sheet, place);
        let none =
            "no single view or section is sure to settle this sheet, or there is no such reading";
        return write_one(&arguments.write, none, out, drawn);
    }
    let options = PictureOptions {
        shaded: arguments.shaded,
        ..PictureOptions::default()
    };
    let draw = |solid: &Solid| {
        solid
            .to_picture(arguments.kind.into(), &options)
            .into_bytes()
    };
    write(&arguments.write, false, out, draw)
}

/// A file to come: where it goes and the reading it shows, counted from 1.
struct Part<'a> {
    path: PathBuf,
    number: usize,
    reading: &'a Reading,
}

fn write(
    arguments: &WriteArguments,
    all: bool,
    out: &mut impl Write,
    form: impl Fn(&Solid) -> Vec<u8>,
) -> Status {
    let answer = match answer(&arguments.sheet, &arguments.search) {
        Ok(answer) => answer,
        Err(error) => return refuse(Status::Failed, &format!("{error:#}")),
    };
    let parts = match chosen(arguments, all, &answer.outcome) {
        Ok(parts) => parts,
        Err((status, reason)) => {
            let sheet = files::shown(&arguments.sheet);
            return refuse(status, &format!("{sheet}: {reason}; nothing was written"));
        }
    };
    if let Some(part) = parts
        .iter()
        .find(|part| files::same(&part.path, &arguments.sheet))
    {
        let path = part.path.display();
        return refuse(
            Status::WrongUsage,
            &format!("{path} is the sheet itself; choose another name for the output"),
        );
    }
    let contents = parts
        .iter()
        .map(|part| (part.path.as_path(), form(&part.reading.solid)));
    if let Err(error) = files::write_all(contents) {
        return refuse(Status::Failed, &format!("{error:#}"));
    }
    tell(&parts, answer.outcome.readings.len(), out);
    if all && !answer.outcome.complete() {
        let sheet = files::shown(&arguments.sheet);
        let more = "a limit stopped the search, there may be more objects than were written";
        return refuse(Status::Undecided, &format!("{sheet}: {more}"));
    }
    Status::Unique
}

/// Writes one picture of a whole answer; `none` says why there may be none.
fn write_one(
    arguments: &WriteArguments,
    none: &str,
    out: &mut impl Write,
    form: impl Fn(&Answer) -> Option<String>,
) -> Status {
    let answer = match answer(&arguments.sheet, &arguments.search) {
        Ok(answer) => answer,
        Err(error) => return refuse(Status::Failed, &format!("{error:#}")),
    };
    let path = arguments.output.as_path();
    if files::same(path, &arguments.sheet) {
        let path = path.display();
        return refuse(
            Status::WrongUsage,
            &format!("{path} is the sheet itself; choose another name for the output"),
        );
    }
    let Some(picture) = form(&answer) else {
        let sheet = files::shown(&arguments.sheet);
        let status = match Status::from(answer.outcome.verdict) {
            Status::Unique => Status::WrongUsage,
            status => status,
        };
        return refuse(status, &format!("{sheet}: {none}; nothing was written"));
    };
    if let Err(error) = files::write_all(std::iter::once((path, picture.into_bytes()))) {
        return refuse(Status::Failed, &format!("{error:#}"));
    }
    // The file is there; a closed standard output changes nothing about that.
    let _ = writeln!(out, "{}", path.display());
    Status::Unique
}

/// The readings to write with their file names; the error says why there are none.
fn chosen<'a>(
    arguments: &WriteArguments,
    all: bool,
    outcome: &'a Outcome,
) -> Result<Vec<Part<'a>>, (Status, String)> {
    let found = outcome.readings.len();
    let output = &arguments.output;
    let part = |number: usize, path: PathBuf| {
        let reading = outcome.readings.get(number.checked_sub(1)?)?;
        Some(Part {
            path,
            number,
            reading,
        })
    };
    match (arguments.reading, outcome.verdict) {
        (_, Verdict::Contradictory) => Err((
            Status::Contradictory,
            "no object has these three views, `foldback check` says why".to_owned(),
        )),
        (Some(number), _) => part(number, output.clone()).map(|part| vec![part]).ok_or_else(|| {
            let status = if outcome.complete() { Status::WrongUsage } else { Status::Undecided };
            (status, no_such_reading(number, outcome))
        }),
        (None, _) if all && found > 0 => {
            let numbers = 1..=found;
            Ok(numbers.filter_map(|n| part(n, numbered(output, n))).collect())
        }
        (None, Verdict::Ambiguous) => Err((Status::Ambiguous, several(found, outcome.complete()))),
        (None, Verdict::Undecided) => Err((
            Status::Undecided,
            "a limit stopped the search before it was certain, a larger --time-limit or --limit may help".to_owned(),
        )),
        (None, Verdict::Unique) => Ok(part(1, output.clone()).into_iter().collect()),
    }
}

fn several(found: usize, complete: bool) -> String {
    let found = if complete {
        found.to_string()
    } else {
        format!("at least {found}")
    };
    format!(
        "this sheet describes {found} different objects, choose one with --reading N; `foldback check` lists them"
    )
}

fn no_such_reading(number: usize, outcome: &Outcome) -> String {
    let found = outcome.readings.len();
    match outcome.complete() {
        true => format!("there is no reading {number}, the readings are numbered 1 to {found}"),
        false => format!(
            "a limit stopped the search after {found}, reading {number} may need a larger --limit"
        ),
    }
}

/// `PART-2.stl` for `PART.stl` and 2.
fn numbered(path: &Path, number: usize) -> PathBuf {
    let mut name = OsString::from(path.file_stem().unwrap_or_default());
    name.push(format!("-{number}"));
    if let Some(extension) = path.extension() {
        name.push(".");
        name.push(extension);
    }
    path.with_file_name(name)
}

fn tell(parts: &[Part<'_>], found: usize, out: &mut impl Write) {
    for Part {
        path,
        number,
        reading,
    } in parts
    {
        let [wide, deep, high] = reading.measures.size_mm;
        // The file is there; a closed standard output changes nothing about that.
        let _ = writeln!(
            out,
            "{}: reading {number} of {found}, {wide:.1} × {deep:.1} × {high:.1} mm",
            path.display()
        );
    }
}

fn refuse(status: Status, message: &str) -> Status {
    complain(message);
    status
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn number_goes_before_the_extension() {
        assert_eq!(
            numbered(Path::new("out/cleat.stl"), 2),
            Path::new("out/cleat-2.stl")
        );
        assert_eq!(numbered(Path::new("cleat"), 1), Path::new("cleat-1"));
        assert_eq!(
            numbered(Path::new("a.b/cleat.v2.stl"), 3),
            Path::new("a.b/cleat.v2-3.stl")
        );
    }
}

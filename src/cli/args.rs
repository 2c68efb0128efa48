//! The flags as typed, with the help that explains them.

use std::ffi::OsString;
use std::net::{IpAddr, Ipv4Addr};
use std::path::PathBuf;

use clap::{Args, Parser, Subcommand, ValueEnum};

use crate::{HiddenLines, PictureKind, TangentEdges};

/// The longest time limit, a hundred years in seconds: more than anyone waits, and no clock overflows.
const LONGEST: f64 = 100.0 * 365.0 * 86_400.0;

/// Checks whether the three views of a drawing describe exactly one object.
///
/// foldback reads a sheet with a front view, a top view and a right-side view of a part (JSON or SVG) and
/// finds every object that has exactly these views, hidden lines included. It says whether there is one, several or
/// none, and writes the object for a 3D printer or as a picture.
#[derive(Debug, Parser)]
#[command(
    version,
    after_help = "Example:\n  foldback check samples/mast-foot/sheet.json"
)]
pub(super) struct Arguments {
    #[command(subcommand)]
    pub(super) command: Command,
}

#[derive(Debug, Subcommand)]
pub(super) enum Command {
    Check(CheckArguments),
    Mend(MendArguments),
    Solid(SolidArguments),
    Picture(PictureArguments),
    Serve(ServeArguments),
    Page(PageArguments),
}

/// The verdict on each sheet, and why
///
/// Says for each sheet whether its three views describe exactly one object, several, or none. With one object it gives
/// the size, volume and surface; with several it lists them; with none it names the lines that do not fit.
///
/// Exit status: 0 every sheet describes exactly one object, 3 some sheet describes several, 4 some sheet describes
/// none, 5 a limit stopped the search; the largest counts. 1 some file could not be read. 2 wrong usage.
#[derive(Args, Debug)]
#[command(after_help = "\
Examples:
  foldback check mast-foot.json
  foldback check homework/*.svg
  foldback check --tangent-edges drawn rounded-case.json
  foldback check vane-block.json --marked marked.svg
  foldback check --json mast-foot.json")]
pub(super) struct CheckArguments {
    /// The sheets to check, JSON or SVG; `-` is standard input
    #[arg(required = true, value_name = "SHEET")]
    pub(super) sheets: Vec<OsString>,

    /// Print one JSON document per sheet, one line each, for programs
    ///
    /// Numbers are millimetres, rounded to ten significant digits. `lines` are places in the sheet's own list of
    /// lines, counted from 0.
    #[arg(long)]
    pub(super) json: bool,

    /// Write the sheet as SVG with the lines in conflict, or the lines behind which choices hide, marked on it
    #[arg(long, value_name = "MARKED")]
    pub(super) marked: Option<PathBuf>,

    #[command(flatten)]
    pub(super) search: SearchArguments,
}

/// The smallest corrections of sheets that describe no object
///
/// Says which lines to add, to take away, to make visible or hidden, to lengthen or to shorten, so that the three views
/// describe an object: all the ways with the fewest changes, up to four. With --output, writes the corrected sheet.
///
/// Exit status: 0 every sheet needs no correction or a way was found, 4 no way was found for some sheet, 5 a limit stopped
/// the search before one was found; the largest counts. 1 some file could not be read or written. 2 wrong usage.
#[derive(Args, Debug)]
#[command(after_help = "\
Examples:
  foldback mend vane-block.json
  foldback mend vane-block.json -o mended.svg
  foldback mend vane-block.json --choice 2 -o mended.json
  foldback mend --json homework/*.svg")]
pub(super) struct MendArguments {
    /// The sheets to mend, JSON or SVG; `-` is standard input
    #[arg(required = true, value_name = "SHEET")]
    pub(super) sheets: Vec<OsString>,

    /// Write the corrected sheet: as JSON if the name ends in .json, else as SVG
    #[arg(short, long, value_name = "MENDED")]
    pub(super) output: Option<PathBuf>,

    /// The way to mend it, counted from 1 as listed
    #[arg(long, value_name = "N", default_value_t = 1, value_parser = positive_count, requires = "output", allow_negative_numbers = true)]
    pub(super) choice: usize,

    /// Print one JSON document per sheet, one line each, for programs
    #[arg(long)]
    pub(super) json: bool,

    #[command(flatten)]
    pub(super) search: SearchArguments,
}

/// The object as an STL file for a 3D printer
///
/// Writes the object as a binary STL file in millimetres. When the sheet describes several objects, choose one with
/// --reading, or write all of them with --all as PART-1.stl, PART-2.stl and so on.
///
/// The file appears only when it is complete; whatever goes wrong, a file that was there before stays as it was.
///
/// Exit status: 0 written; nothing written: 3 the sheet describes several objects and none was chosen, 4 it describes
/// none, 5 a limit stopped the search; 1 a file could not be read or written, 2 wrong usage.
#[derive(Args, Debug)]
#[command(after_help = "\
Examples:
  foldback solid mast-foot.json -o mast-foot.stl
  foldback solid battery-cradle.json --reading 2 -o cradle.stl
  foldback solid battery-cradle.json --all -o cradle.stl
  foldback solid mast-foot.json --chord 0.01 -o mast-foot.stl")]
pub(super) struct SolidArguments {
    #[command(flatten)]
    pub(super) write: WriteArguments,

    /// Write every reading: PART-1.stl, PART-2.stl and so on
    #[arg(long, conflicts_with = "reading")]
    pub(super) all: bool,

    /// How far the triangles of curved faces may be from the true surface, in millimetres
    ///
    /// Smaller is rounder and makes the file larger. Whatever the chord, the surface turns by at most 15 degrees across a
    /// triangle, so that small holes stay round. Plane faces are always exact.
    #[arg(long, value_name = "MM", default_value_t = 0.05, value_parser = positive_length, allow_negative_numbers = true)]
    pub(super) chord: f64,
}

/// A picture of the object as an SVG file
///
/// Draws the object in one picture with its hidden lines left out, to look at or to print: isometric (axes at 30
/// degrees) or oblique (depth at 45 degrees, full length in cavalier, half length in cabinet).
///
/// Exit status: as for `foldback solid`.
#[derive(Args, Debug)]
#[command(after_help = "\
Examples:
  foldback picture mast-foot.json -o mast-foot.svg
  foldback picture mast-foot.json --kind cabinet --shaded -o mast-foot.svg
  foldback picture battery-cradle.json --reading 2 -o cradle-2.svg
  foldback picture battery-cradle.json --side-by-side -o cradle-all.svg
  foldback picture mooring-steps.json --settling -o bottom.svg")]
pub(super) struct PictureArguments {
    #[command(flatten)]
    pub(super) write: WriteArguments,

    /// How the object is laid out in the picture
    #[arg(long, value_enum, default_value_t = Kind::Isometric)]
    pub(super) kind: Kind,

    /// Shade the faces lightly
    #[arg(long)]
    pub(super) shaded: bool,

    /// Show all readings side by side, the faces hatched in which they differ
    ///
    /// If there are too many, examples that between them show every alternative of every place.
    #[arg(long, conflicts_with_all = ["reading", "shaded"])]
    pub(super) side_by_side: bool,

    /// Show the sheet with the further view, or the section line, that settles which of the readings is meant
    ///
    /// The view is drawn as the first reading has it, or the one chosen with --reading.
    #[arg(long, conflicts_with_all = ["side_by_side", "shaded", "kind"])]
    pub(super) settling: bool,
}

/// The drawing board in a browser on this machine
///
/// Prints the address at which a browser shows the board, and serves it until it is ended with Ctrl+C. Only this machine can
/// reach it unless --listen says otherwise.
#[derive(Args, Debug)]
#[command(after_help = "\
Examples:
  foldback serve
  foldback serve --port 8080")]
pub(super) struct ServeArguments {
    /// The port to listen at; 0 takes any that is free
    #[arg(long, value_name = "PORT", default_value_t = 8147)]
    pub(super) port: u16,

    /// The address to listen at; other machines can reach the board if it is not this machine's own
    #[arg(long, value_name = "ADDRESS", default_value_t = IpAddr::V4(Ipv4Addr::LOCALHOST))]
    pub(super) listen: IpAddr,
}

/// The drawing board as one file that needs no server
///
/// Writes one HTML file with everything inside, also the engine. It works in a browser without network, from a memory
/// stick for instance.
#[derive(Args, Debug)]
#[command(after_help = "\
Example:
  foldback page -o foldback.html")]
pub(super) struct PageArguments {
    /// The file to write
    #[arg(short, long, value_name = "FILE")]
    pub(super) output: PathBuf,

    /// The engine as a WebAssembly module [default: where cargo builds it]
    #[arg(long, value_name = "FILE")]
    pub(super) engine: Option<PathBuf>,
}

/// What every command that writes needs.
#[derive(Args, Debug)]
pub(super) struct WriteArguments {
    /// The sheet, JSON or SVG; `-` is standard input
    #[arg(value_name = "SHEET")]
    pub(super) sheet: OsString,

    /// The file to write
    #[arg(short, long, value_name = "PART")]
    pub(super) output: PathBuf,

    /// The reading to write, counted from 1 as `foldback check` lists them
    #[arg(long, value_name = "N", value_parser = positive_count, allow_negative_numbers = true)]
    pub(super) reading: Option<usize>,

    #[command(flatten)]
    pub(super) search: SearchArguments,
}

/// How to search, for every command.
#[derive(Args, Debug)]
pub(super) struct SearchArguments {
    /// How far ends may miss each other and still meet, in millimetres [default: a 2000th of the largest view]
    #[arg(long, value_name = "MM", value_parser = positive_length, allow_negative_numbers = true)]
    pub(super) tolerance: Option<f64>,

    /// Whether the sheet draws tangent edges, such as the lines where a fillet runs into a plane
    #[arg(long, value_name = "HOW", value_enum, default_value_t = Tangents::Omitted)]
    pub(super) tangent_edges: Tangents,

    /// Whether the sheet shows every hidden line, or may leave hidden lines out
    #[arg(long, value_name = "HOW", value_enum, default_value_t = Hidden::Required)]
    pub(super) hidden_lines: Hidden,

    /// Stop after this many readings, or ways to mend a sheet
    #[arg(long, value_name = "N", default_value_t = 32, value_parser = positive_count, allow_negative_numbers = true)]
    pub(super) limit: usize,

    /// Stop after this many seconds for each sheet
    #[arg(long, value_name = "SECONDS", default_value_t = 60.0, value_parser = time, allow_negative_numbers = true)]
    pub(super) time_limit: f64,
}

/// What becomes of tangent edges, by its name on the command line.
#[derive(Clone, Copy, Debug, ValueEnum)]
pub(super) enum Tangents {
    /// None is drawn, apart from outlines
    Omitted,
    /// Each is drawn in every view, like a sharp edge
    Drawn,
    /// Each may be drawn or not, in every view anew, but from corner to corner
    Either,
}

impl From<Tangents> for TangentEdges {
    fn from(tangents: Tangents) -> Self {
        match tangents {
            Tangents::Omitted => TangentEdges::Omitted,
            Tangents::Drawn => TangentEdges::Drawn,
            Tangents::Either => TangentEdges::Either,
        }
    }
}

/// What a sheet does with hidden lines, by its name on the command line.
#[derive(Clone, Copy, Debug, ValueEnum)]
pub(super) enum Hidden {
    /// Each is drawn: where nothing is drawn there is no edge
    Required,
    /// Any may be left out
    Optional,
}

impl From<Hidden> for HiddenLines {
    fn from(hidden: Hidden) -> Self {
        match hidden {
            Hidden::Required => HiddenLines::Required,
            Hidden::Optional => HiddenLines::Optional,
        }
    }
}

/// The kinds of picture by their names on the command line.
#[derive(Clone, Copy, Debug, ValueEnum)]
pub(super) enum Kind {
    /// All three axes at equal length, width and depth at 30 degrees
    Isometric,
    /// The front as drawn, depth at 45 degrees and full length
    Cavalier,
    /// The front as drawn, depth at 45 degrees and half length
    Cabinet,
}

impl From<Kind> for PictureKind {
    fn from(kind: Kind) -> Self {
        match kind {
            Kind::Isometric => PictureKind::Isometric,
            Kind::Cavalier => PictureKind::Cavalier,
            Kind::Cabinet => PictureKind::Cabinet,
        }
    }
}

fn positive_count(text: &str) -> Result<usize, String> {
    match text.parse() {
        Ok(0) | Err(_) => Err("a whole number from 1 is needed".to_owned()),
        Ok(count) => Ok(count),
    }
}

fn positive_length(text: &str) -> Result<f64, String> {
    number_up_to(text, f64::MAX)
        .ok_or_else(|| "a length in millimetres above 0 is needed, such as 0.05".to_owned())
}

fn time(text: &str) -> Result<f64, String> {
    number_up_to(text, LONGEST)
        .ok_or_else(|| "a number of seconds above 0 is needed, such as 60".to_owned())
}

/// The number `text` stands for, if it is above 0 and at most `most`.
fn number_up_to(text: &str, most: f64) -> Option<f64> {
    text.parse()
        .ok()
        .filter(|&value| value > 0.0 && value <= most)
}

#[cfg(test)]
mod tests {
    use super::*;
    use clap::CommandFactory;

    #[test]
    fn flags_are_consistent() {
        Arguments::command().debug_assert();
    }

    #[test]
    fn numbers_must_be_positive_and_finite() {
        for text in ["0", "-1", "nan", "inf", "1e400", ""] {
            assert!(time(text).is_err(), "{text}");
            assert!(positive_length(text).is_err(), "{text}");
        }
        assert_eq!(time("0.5"), Ok(0.5));
    }
}

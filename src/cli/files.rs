//! Files: sheets are read with a bound on their size, outputs appear whole or not at all.

use std::ffi::OsStr;
use std::fs::{self, File};
use std::io::{self, ErrorKind, Read, Write};
use std::path::{Path, PathBuf};

use anyhow::{Context, Result, bail};
use tempfile::NamedTempFile;

/// The largest sheet file, in bytes: 64 MiB, some 600,000 lines, far more than a drawing on paper holds.
const LARGEST: u64 = 64 << 20;

/// The name that stands for standard input.
const STANDARD_INPUT: &str = "-";

/// How alike two names must be to suggest one for the other, from 0 to 1.
const ALIKE: f64 = 0.75;

/// A file name as it is printed; what is not Unicode in it is replaced.
pub(super) fn shown(name: &OsStr) -> String {
    match name == STANDARD_INPUT {
        true => "standard input".to_owned(),
        false => name.to_string_lossy().into_owned(),
    }
}

/// The whole contents of a sheet; the error names the file and says what to do.
pub(super) fn read(name: &OsStr) -> Result<Vec<u8>> {
    if name == STANDARD_INPUT {
        return bounded(io::stdin().lock()).with_context(|| shown(name));
    }
    let path = Path::new(name);
    let kind = match fs::metadata(path) {
        Err(error) if error.kind() == ErrorKind::NotFound => {
            bail!("{}: {}", shown(name), missing(path))
        }
        other => other.with_context(|| format!("{}: cannot be read", shown(name)))?,
    };
    if kind.is_dir() {
        bail!("{}: this is a folder; name the sheets in it", shown(name));
    }
    if kind.len() > LARGEST {
        bail!("{}: {}", shown(name), too_large());
    }
    let file = File::open(path).with_context(|| format!("{}: cannot be opened", shown(name)))?;
    bounded(file).with_context(|| shown(name))
}

/// Reads to the end, but never more than [`LARGEST`]: a pipe does not tell its size beforehand.
fn bounded(source: impl Read) -> Result<Vec<u8>> {
    let mut bytes = Vec::new();
    source.take(LARGEST + 1).read_to_end(&mut bytes)?;
    if bytes.len() as u64 > LARGEST {
        bail!(too_large());
    }
    Ok(bytes)
}

fn too_large() -> String {
    let mebibytes = LARGEST >> 20;
    format!(
        "larger than {mebibytes} MiB, which no sheet needs; leave out pictures and lines that are not part of it"
    )
}

/// What to say about a file that is not there: the name in the same folder that looks most like it.
fn missing(path: &Path) -> String {
    let nearest = path.file_name().and_then(|name| {
        let name = name.to_string_lossy();
        let near = |other: &String| strsim::normalized_damerau_levenshtein(&name, other);
        names_in(folder_of(path))
            .into_iter()
            .filter(|other| near(other) >= ALIKE)
            .max_by(|a, b| near(a).total_cmp(&near(b)).then_with(|| b.cmp(a)))
    });
    match nearest {
        Some(name) => format!(
            "there is no such file; did you mean {}",
            path.with_file_name(name).display()
        ),
        None => "there is no such file; check the name and the folder".to_owned(),
    }
}

fn names_in(folder: &Path) -> Vec<String> {
    let entries = fs::read_dir(folder).into_iter().flatten().flatten();
    entries
        .filter(|entry| entry.file_type().is_ok_and(|kind| !kind.is_dir()))
        .map(|entry| entry.file_name().to_string_lossy().into_owned())
        .collect()
}

/// Whether a path to write to is the sheet that was read.
pub(super) fn same(output: &Path, sheet: &OsStr) -> bool {
    match (fs::canonicalize(output), fs::canonicalize(sheet)) {
        (Ok(output), Ok(sheet)) => output == sheet,
        _ => false,
    }
}

/// Writes all files or none: each under a temporary name beside its place, renamed when every one is complete.
pub(super) fn write_all<'a>(files: impl Iterator<Item = (&'a Path, Vec<u8>)>) -> Result<()> {
    let staged: Vec<_> = files
        .map(|(path, bytes)| {
            stage(path, &bytes).with_context(|| format!("{} was not written", path.display()))
        })
        .collect::<Result<_>>()?;
    for (file, target) in staged {
        file.persist(&target)
            .with_context(|| format!("{} was not written", target.display()))?;
    }
    Ok(())
}

/// The complete contents under a temporary name, and the place they belong to.
fn stage(path: &Path, bytes: &[u8]) -> Result<(NamedTempFile, PathBuf)> {
    let target = place(path)?;
    let folder = folder_of(&target);
    let mut file = temporary(folder)
        .with_context(|| format!("the folder {} cannot be written to", folder.display()))?;
    file.write_all(bytes)?;
    file.as_file().sync_all()?;
    Ok((file, target))
}

/// Where a file goes: through a symbolic link to its target; refuses what is no place for a file.
fn place(path: &Path) -> Result<PathBuf> {
    if path.file_name().is_none() {
        bail!("this is no file name");
    }
    let folder = folder_of(path);
    if !folder.is_dir() {
        bail!("there is no folder {}; create it first", folder.display());
    }
    match fs::metadata(path) {
        Ok(kind) if kind.is_dir() => bail!("this is a folder; add a file name"),
        Ok(kind) if !kind.is_file() => bail!("this is no ordinary file"),
        Ok(_) => Ok(fs::canonicalize(path)?),
        Err(_) => Ok(path.to_owned()),
    }
}

/// The folder a file stands in; a bare name stands in the current one.
fn folder_of(path: &Path) -> &Path {
    match path.parent() {
        Some(folder) if folder != Path::new("") => folder,
        _ => Path::new("."),
    }
}

/// A temporary file with the rights of an ordinary new file: others may read it if the user's settings say so.
#[cfg(unix)]
fn temporary(folder: &Path) -> io::Result<NamedTempFile> {
    use std::os::unix::fs::PermissionsExt;
    tempfile::Builder::new()
        .prefix(".foldback-")
        .permissions(fs::Permissions::from_mode(0o666))
        .tempfile_in(folder)
}

/// A temporary file with the rights of an ordinary new file.
#[cfg(not(unix))]
fn temporary(folder: &Path) -> io::Result<NamedTempFile> {
    tempfile::Builder::new()
        .prefix(".foldback-")
        .tempfile_in(folder)
}

//! `foldback page`: the drawing board as one file, with the engine inside.

use std::env;
use std::fs;
use std::io::Write;
use std::path::PathBuf;

use anyhow::{Context, Result, bail};

use super::args::PageArguments;
use super::board::single::single;
use super::status::Status;
use super::{complain, files};

/// Where cargo puts the engine, from the folder of a build such as `release`.
const BUILT: &str = "../wasm32-unknown-unknown/page/foldback.wasm";

/// What a WebAssembly module begins with.
const MAGIC: &[u8] = b"\0asm";

/// Writes the page.
pub(super) fn run(arguments: &PageArguments, out: &mut impl Write) -> Status {
    match write(arguments) {
        Ok(size) => {
            let path = arguments.output.display();
            // The file is there; a closed standard output changes nothing about that.
            let _ = writeln!(out, "{path}: {size} bytes, open it in a browser");
            Status::Unique
        }
        Err(error) => {
            complain(&format!("{error:#}"));
            Status::Failed
        }
    }
}

fn write(arguments: &PageArguments) -> Result<usize> {
    let engine = engine(arguments)?;
    let page = single(&engine)?.into_bytes();
    let size = page.len();
    files::write_all(std::iter::once((arguments.output.as_path(), page)))?;
    Ok(size)
}

/// The engine as WebAssembly: the file asked for, or where cargo builds it.
fn engine(arguments: &PageArguments) -> Result<Vec<u8>> {
    let path = match &arguments.engine {
        Some(path) => path.clone(),
        None => built().context(NOT_BUILT)?,
    };
    let bytes = fs::read(&path).with_context(|| format!("{}: cannot be read", path.display()))?;
    if !bytes.starts_with(MAGIC) {
        bail!("{}: this is no WebAssembly module", path.display());
    }
    Ok(bytes)
}

const NOT_BUILT: &str = "the engine for the page is not built yet; in the folder of foldback, run\n  \
    rustup target add wasm32-unknown-unknown\n  \
    cargo rustc --profile page --lib --crate-type cdylib --no-default-features --target wasm32-unknown-unknown \
    -- -C llvm-args=-inline-threshold=40\n\
    or, where rustup cannot fetch the target, `.ci/wasm`; or name the module with --engine";

fn built() -> Option<PathBuf> {
    let folder = env::current_exe().ok()?.parent()?.to_owned();
    let path = folder.join(BUILT);
    path.exists().then_some(path)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn arguments(folder: &std::path::Path, engine: &[u8]) -> PageArguments {
        let path = folder.join("engine.wasm");
        fs::write(&path, engine).unwrap();
        PageArguments {
            output: folder.join("page.html"),
            engine: Some(path),
        }
    }

    #[test]
    fn page_is_written_around_the_engine() {
        let folder = tempfile::tempdir().unwrap();
        let arguments = arguments(folder.path(), b"\0asm rest");
        let size = write(&arguments).unwrap();
        assert_eq!(fs::read(&arguments.output).unwrap().len(), size);
    }

    #[test]
    fn what_is_no_engine_is_refused_and_nothing_written() {
        let folder = tempfile::tempdir().unwrap();
        let arguments = arguments(folder.path(), b"<html>");
        let error = format!("{:#}", write(&arguments).unwrap_err());
        assert!(error.contains("no WebAssembly module"), "{error}");
        assert!(!arguments.output.exists());
    }
}

//! Build step: lists the files of the drawing board and the samples, so that the command can carry them inside.
#![allow(
    clippy::print_stdout,
    reason = "cargo listens to what a build step prints"
)]

use std::fmt::Write;
use std::path::{Path, PathBuf};
use std::{env, fs, io};

/// Kinds of file that the board consists of.
const KINDS: [&str; 3] = ["html", "css", "js"];

fn main() -> io::Result<()> {
    let root = PathBuf::from(env::var_os("CARGO_MANIFEST_DIR").unwrap_or_default());
    let (board, samples) = (root.join("src/page/board"), root.join("samples"));
    println!("cargo::rerun-if-changed=src/page/embed.rs");
    // Only the command carries them; the bare engine needs none.
    let wanted = env::var_os("CARGO_FEATURE_CLI").is_some();
    let mut code = String::from("/// Name and text of each file of the board, in order of name.\n");
    code += "pub(super) const FILES: &[(&str, &str)] = &[\n";
    for file in entries(&board, wanted)? {
        let kind = file.extension().and_then(|kind| kind.to_str());
        if kind.is_some_and(|kind| KINDS.contains(&kind)) {
            let _ = writeln!(code, "    ({:?}, include_str!({:?})),", name(&file), file);
        }
    }
    code += "];\n\n/// Name, description and sheet of each sample, in order of name.\n";
    code += "pub(super) const SAMPLES: &[(&str, &str, &str)] = &[\n";
    for folder in entries(&samples, wanted)? {
        let sheets = ["sheet.json", "sheet.svg"].map(|sheet| folder.join(sheet));
        if let Some(sheet) = sheets.iter().find(|sheet| sheet.exists()) {
            let about = folder.join("about.txt");
            let name = name(&folder);
            let _ = writeln!(
                code,
                "    ({name:?}, include_str!({about:?}), include_str!({sheet:?})),"
            );
        }
    }
    code += "];\n";
    let out = PathBuf::from(env::var_os("OUT_DIR").unwrap_or_default());
    fs::write(out.join("board.rs"), code)
}

/// What is in a folder, in order of name.
fn entries(folder: &Path, wanted: bool) -> io::Result<Vec<PathBuf>> {
    if !wanted {
        return Ok(Vec::new());
    }
    println!("cargo::rerun-if-changed={}", folder.display());
    let mut entries = fs::read_dir(folder)?
        .map(|entry| entry.map(|entry| entry.path()))
        .collect::<io::Result<Vec<_>>>()?;
    entries.sort();
    Ok(entries)
}

fn name(path: &Path) -> String {
    path.file_name()
        .unwrap_or_default()
        .to_string_lossy()
        .into_owned()
}

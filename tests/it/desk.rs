//! A desk to run the command on: a folder of its own for each test, with sheets put on it.

#![allow(clippy::unwrap_used, reason = "a test stops at the first surprise")]

use std::fs;
use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};

use tempfile::TempDir;

/// A brick 40 mm wide, 20 mm deep and 30 mm high, its views half an inch apart.
pub(crate) const BRICK: &str = r#"{"unit": "mm", "projection": "third-angle", "lines": [
    {"view": "front", "polyline": [[0, 0], [40, 0], [40, 30], [0, 30], [0, 0]]},
    {"view": "top", "polyline": [[0, 42.7], [40, 42.7], [40, 62.7], [0, 62.7], [0, 42.7]]},
    {"view": "right", "polyline": [[52.7, 0], [72.7, 0], [72.7, 30], [52.7, 30], [52.7, 0]]}
]}"#;

/// The whole JSON document for [`BRICK`]: 40 * 20 * 30 = 24,000 and 2 (40 * 20 + 40 * 30 + 20 * 30) = 5,200.
pub(crate) const BRICK_REPORT: &str = concat!(
    r#"{"sheet":"brick.json","verdict":"unique","projection":"third-angle","complete":true,"#,
    r#""readings":[{"volume_mm3":24000.0,"surface_mm2":5200.0,"centroid_mm":[20.0,10.0,15.0],"#,
    r#""size_mm":[40.0,20.0,30.0],"faces":6,"edges":12,"vertices":8,"shells":1,"genus":0}],"#,
    r#""warnings":[],"problems":[],"conflict":[],"readings_total":"1","readings_total_hollow":"0","#,
    r#""readings_total_exact":true,"places":[],"settled_by":null}"#
);

/// A folder of its own for each test, and the command run in it.
pub(crate) struct Desk(TempDir);

/// What came out of one run.
pub(crate) struct Run {
    pub(crate) status: i32,
    pub(crate) out: String,
    pub(crate) err: String,
}

impl Desk {
    /// An empty desk.
    pub(crate) fn new() -> Self {
        Desk(TempDir::new().unwrap())
    }

    /// A desk with a good sheet `brick.json` on it.
    pub(crate) fn with_brick() -> Self {
        let desk = Desk::new();
        desk.put("brick.json", BRICK);
        desk
    }

    /// A desk with the sheets of these samples on it, as `NAME.json`.
    pub(crate) fn with_samples(names: &[&str]) -> Self {
        let desk = Desk::new();
        for name in names {
            let sheet =
                Path::new(env!("CARGO_MANIFEST_DIR")).join(format!("samples/{name}/sheet.json"));
            desk.put(&format!("{name}.json"), fs::read(sheet).unwrap());
        }
        desk
    }

    pub(crate) fn put(&self, name: &str, contents: impl AsRef<[u8]>) {
        fs::write(self.0.path().join(name), contents).unwrap();
    }

    pub(crate) fn get(&self, name: &str) -> Vec<u8> {
        fs::read(self.0.path().join(name)).unwrap()
    }

    /// Where `name` on the desk is.
    pub(crate) fn path(&self, name: impl AsRef<Path>) -> PathBuf {
        self.0.path().join(name)
    }

    /// The names of everything on the desk, sorted.
    pub(crate) fn names(&self) -> Vec<String> {
        let entries = fs::read_dir(self.0.path()).unwrap();
        let mut names: Vec<_> = entries
            .map(|entry| entry.unwrap().file_name().into_string().unwrap())
            .collect();
        names.sort();
        names
    }

    pub(crate) fn command(&self, arguments: &[&str]) -> Command {
        let mut command = Command::new(env!("CARGO_BIN_EXE_foldback"));
        command.args(arguments).current_dir(self.0.path());
        command
    }

    pub(crate) fn run(&self, arguments: &[&str]) -> Run {
        let output = self
            .command(arguments)
            .stdin(Stdio::null())
            .output()
            .unwrap();
        let run = Run {
            status: output.status.code().expect("ends by itself"),
            out: String::from_utf8(output.stdout).unwrap(),
            err: String::from_utf8(output.stderr).unwrap(),
        };
        assert!(!run.err.contains("panicked"), "{}", run.err);
        run
    }
}

/// One line of JSON as a value.
pub(crate) fn json(line: &str) -> serde_json::Value {
    serde_json::from_str(line).unwrap()
}

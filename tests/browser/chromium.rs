//! A Chromium of its own for a test: without a window, with an empty profile, and ended with the test.

use std::fs;
use std::path::{Path, PathBuf};
use std::process::{Child, Command, Stdio};
use std::thread;
use std::time::{Duration, Instant};

use serde_json::json;
use tempfile::TempDir;

use crate::devtools::DevTools;
use crate::not_run;
use crate::page::Page;

/// What the program may be called.
const NAMES: [&str; 4] = [
    "chromium",
    "chromium-browser",
    "google-chrome",
    "google-chrome-stable",
];

/// Starting takes no longer, even on a busy machine.
const PATIENCE: Duration = Duration::from_secs(60);

/// A running browser.
pub(crate) struct Browser {
    process: Child,
    port: u16,
    control: DevTools,
    /// Where the page's downloads go.
    pub(crate) downloads: PathBuf,
    _profile: TempDir,
}

impl Browser {
    /// Starts one; `None`, and a word about it, where there is none.
    pub(crate) fn start() -> Option<Browser> {
        let Some(program) = program() else {
            not_run("there is no Chromium; install it, or say where it is in FOLDBACK_CHROMIUM");
            return None;
        };
        let profile = tempfile::tempdir().expect("a folder for the profile");
        let process = Command::new(program)
            .args([
                "--headless",
                "--no-sandbox",
                "--disable-gpu",
                "--disable-quic",
                "--no-first-run",
                "--disable-background-networking",
                "--disable-component-update",
                "--disable-sync",
                "--disable-dev-shm-usage",
                "--window-size=1400,1000",
                "--remote-debugging-port=0",
                // Nothing can leave the machine by name, whatever a page tries.
                "--host-resolver-rules=MAP * ~NOTFOUND, EXCLUDE 127.0.0.1, EXCLUDE localhost",
            ])
            .arg(format!("--user-data-dir={}", profile.path().display()))
            .arg("about:blank")
            .stdin(Stdio::null())
            .stdout(Stdio::null())
            .stderr(Stdio::null())
            .spawn()
            .expect("the browser starts");
        let (port, path) = listening(profile.path());
        let mut control = DevTools::connect(port, &path);
        let downloads = profile.path().join("saved");
        control.command(
            "Browser.setDownloadBehavior",
            json!({"behavior": "allow", "downloadPath": downloads}),
        );
        Some(Browser {
            process,
            port,
            control,
            downloads,
            _profile: profile,
        })
    }

    /// Opens a page in a tab of its own and waits until it is loaded.
    pub(crate) fn open(&mut self, url: &str) -> Page {
        let tab = self
            .control
            .command("Target.createTarget", json!({"url": "about:blank"}));
        let id = tab["targetId"].as_str().expect("a tab has a name");
        let tools = DevTools::connect(self.port, &format!("/devtools/page/{id}"));
        Page::open(tools, url)
    }

    /// The one file that a page saves, once it is complete.
    #[allow(dead_code, reason = "for tests that save files")]
    pub(crate) fn saved(&self, ending: &str) -> Vec<u8> {
        let start = Instant::now();
        while start.elapsed() < PATIENCE {
            let files = fs::read_dir(&self.downloads)
                .into_iter()
                .flatten()
                .flatten();
            let found = files
                .map(|file| file.path())
                .find(|path| path.extension().is_some_and(|e| e == ending));
            // The browser keeps the name with an empty file until the whole file takes its place.
            let saved =
                found.map(|path| (fs::read(&path).expect("a saved file can be read"), path));
            if let Some((bytes, path)) = saved.filter(|(bytes, _)| !bytes.is_empty()) {
                fs::remove_file(path).expect("a saved file can be removed");
                return bytes;
            }
            thread::sleep(Duration::from_millis(20));
        }
        panic!("no .{ending} was saved");
    }
}

impl Drop for Browser {
    fn drop(&mut self) {
        // The process may have ended by itself.
        let _ = self.process.kill();
        let _ = self.process.wait();
    }
}

fn program() -> Option<PathBuf> {
    if let Some(path) = std::env::var_os("FOLDBACK_CHROMIUM") {
        return Some(path.into());
    }
    let folders = std::env::var_os("PATH").unwrap_or_default();
    let folders: Vec<PathBuf> = std::env::split_paths(&folders).collect();
    NAMES
        .iter()
        .flat_map(|name| folders.iter().map(move |folder| folder.join(name)))
        .find(|path| path.is_file())
}

/// Where the browser listens: it writes port and path into its profile.
fn listening(profile: &Path) -> (u16, String) {
    let start = Instant::now();
    while start.elapsed() < PATIENCE {
        let text = fs::read_to_string(profile.join("DevToolsActivePort")).unwrap_or_default();
        let mut rows = text.lines();
        if let (Some(port), Some(path)) = (rows.next(), rows.next()) {
            return (port.parse().expect("a port is a number"), path.to_owned());
        }
        thread::sleep(Duration::from_millis(20));
    }
    panic!("the browser did not start within {PATIENCE:?}");
}

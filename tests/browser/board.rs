//! The board, run in both ways: by a server of its own, and as one file.

use std::fs;
use std::io::{BufRead, BufReader};
use std::path::PathBuf;
use std::process::{Child, Command, Output, Stdio};
use std::sync::OnceLock;

use serde_json::{Value, json};
use tempfile::TempDir;

use crate::not_run;
use crate::page::Page;

/// Runs the command.
pub(crate) fn foldback(arguments: &[&str]) -> Output {
    Command::new(env!("CARGO_BIN_EXE_foldback"))
        .args(arguments)
        .output()
        .expect("the command runs")
}

/// A server of the board, ended with the test.
pub(crate) struct Served {
    process: Child,
    /// Such as `http://127.0.0.1:40123/`.
    pub(crate) url: String,
}

impl Served {
    /// Starts one at a free port.
    pub(crate) fn start() -> Served {
        Served::at(0)
    }

    /// Starts one at a port; any free one for 0.
    pub(crate) fn at(port: u16) -> Served {
        let mut process = Command::new(env!("CARGO_BIN_EXE_foldback"))
            .args(["serve", "--port", &port.to_string()])
            .stdout(Stdio::piped())
            .spawn()
            .expect("the server starts");
        let out = process.stdout.take().expect("the server speaks");
        let mut line = String::new();
        BufReader::new(out)
            .read_line(&mut line)
            .expect("the server says where it is");
        let url = line.split(' ').find(|word| word.starts_with("http://"));
        let url = url.expect("an address").to_owned();
        Served { process, url }
    }

    /// The port alone.
    pub(crate) fn port(&self) -> u16 {
        let port = self.host().rsplit(':').next();
        port.and_then(|port| port.parse().ok()).expect("a port")
    }

    /// Host and port.
    pub(crate) fn host(&self) -> &str {
        self.url.trim_start_matches("http://").trim_end_matches('/')
    }
}

impl Drop for Served {
    fn drop(&mut self) {
        // The process may have ended by itself.
        let _ = self.process.kill();
        let _ = self.process.wait();
    }
}

/// The board as one file in a folder of its own.
pub(crate) struct Single {
    folder: TempDir,
}

impl Single {
    /// Writes it; `None`, and a word about it, where the engine for it is not built.
    pub(crate) fn write() -> Option<Single> {
        static PAGE: OnceLock<Option<Vec<u8>>> = OnceLock::new();
        let page = PAGE.get_or_init(Single::made).as_ref()?;
        let single = Single::nowhere();
        fs::write(single.path(), page).expect("room for the page");
        Some(single)
    }

    /// A folder for it.
    fn nowhere() -> Single {
        let folder = tempfile::tempdir().expect("a folder");
        Single { folder }
    }

    /// What the command writes.
    fn made() -> Option<Vec<u8>> {
        let single = Single::nowhere();
        let path = single.path();
        let written = foldback(&["page", "-o", path.to_str().expect("a plain name")]);
        let told = String::from_utf8_lossy(&written.stderr);
        if told.contains("not built") {
            not_run("the engine for the page is not built; see `foldback page -o foldback.html`");
            return None;
        }
        assert!(written.status.success(), "{told}");
        Some(fs::read(path).expect("the page is there"))
    }

    pub(crate) fn path(&self) -> PathBuf {
        self.folder.path().join("foldback.html")
    }

    /// Its address for a browser.
    pub(crate) fn url(&self) -> String {
        format!("file://{}", self.path().display())
    }

    /// How large it is, in bytes.
    pub(crate) fn size(&self) -> u64 {
        fs::metadata(self.path()).expect("the page is there").len()
    }
}

/// What the page's engine answers to a request, in bytes. A bare page must have been made ready by [`ready`].
pub(crate) fn asked(page: &mut Page, request: &Value) -> Vec<u8> {
    let text = json!(request.to_string()).to_string();
    let answer = page.eval(&format!("window.ask({text})"));
    base64_decoded(answer.as_str().expect("base64"))
}

/// Gives the page a function `ask` of the tests' own, which goes to the engine by the page's own means but past its words:
/// to the server, or to a worker made as the page makes it.
pub(crate) fn ready(page: &mut Page) {
    page.eval(
        "(async () => {
            const packed = (bytes) => {
                let text = '';
                for (let k = 0; k < bytes.length; k += 32768)
                    text += String.fromCharCode(...bytes.subarray(k, k + 32768));
                return btoa(text);
            };
            const kind = JSON.parse(document.getElementById('board-engine').textContent).kind;
            if (kind === 'server') {
                window.ask = async (text) => {
                    const headers = { 'Content-Type': 'application/json' };
                    const answer = await fetch('answer', { method: 'POST', headers, body: text });
                    return packed(new Uint8Array(await answer.arrayBuffer()));
                };
                return;
            }
            const source = document.getElementById('board-worker').textContent;
            const worker = new Worker(URL.createObjectURL(new Blob([source], { type: 'text/javascript' })));
            const next = () => new Promise((resolve, reject) => {
                worker.onmessage = ({ data }) => data.failed === undefined ? resolve(data) : reject(data.failed);
            });
            worker.postMessage({ wasm: document.getElementById('board-wasm').textContent });
            await next();
            window.ask = async (text) => {
                worker.postMessage({ id: 1, request: new TextEncoder().encode(text) });
                return packed((await next()).answer);
            };
        })()",
    );
}

fn base64_decoded(text: &str) -> Vec<u8> {
    use base64::Engine;
    let engine = base64::engine::general_purpose::STANDARD;
    engine.decode(text).expect("base64")
}

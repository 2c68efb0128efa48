//! A browser driven from a test: Chromium by way of chromedriver, which speaks the W3C WebDriver protocol over plain HTTP.
//!
//! Only what the tests need: open an address, run a script, move pointer and keys, read the console, take a picture. Nothing
//! here knows what the page is about.

use std::io::{BufRead, BufReader, Read, Write};
use std::net::TcpStream;
use std::path::{Path, PathBuf};
use std::process::{Child, Command, Stdio};
use std::sync::{Mutex, MutexGuard, PoisonError};
use std::time::Duration;

use serde_json::{Value, json};

/// One browser at a time: two share the machine badly when frames and answers are measured.
static ONE: Mutex<()> = Mutex::new(());

/// Chromium's arguments: nothing but the page, and no request of the browser's own.
const ARGUMENTS: [&str; 9] = [
    "--headless",
    "--no-sandbox",
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
    "--disable-dev-shm-usage",
];

/// A running browser with one window; it ends when dropped.
pub(crate) struct Browser {
    driver: Child,
    port: u16,
    session: String,
    folder: tempfile::TempDir,
    _turn: MutexGuard<'static, ()>,
}

/// Whether there is a browser to test with. If not, says so; where one is required (`FOLDBACK_BROWSER=required`) that fails.
pub(crate) fn there_is_a_browser() -> bool {
    let found = |name: &str| {
        let mut probe = Command::new(name);
        probe.arg("--version").stdout(Stdio::null());
        probe
            .stderr(Stdio::null())
            .status()
            .is_ok_and(|s| s.success())
    };
    let there = found("chromedriver")
        && (found("chromium") || found("chromium-browser") || found("google-chrome"));
    let required = std::env::var_os("FOLDBACK_BROWSER").is_some_and(|v| v == "required");
    assert!(
        there || !required,
        "a browser is required, but chromium or chromedriver is missing"
    );
    if !there {
        println!("not run: this test needs chromium and chromedriver");
    }
    there
}

impl Browser {
    /// Starts a browser with a window of `size` pixels.
    pub(crate) fn start(size: [u32; 2]) -> Browser {
        let turn = ONE.lock().unwrap_or_else(PoisonError::into_inner);
        let folder = tempfile::tempdir().expect("a temporary folder can be made");
        let mut driver = Command::new("chromedriver")
            .arg("--port=0")
            .stdout(Stdio::piped())
            .stderr(Stdio::null())
            .spawn()
            .expect("chromedriver starts");
        let output = driver.stdout.take().expect("its output is a pipe");
        let port = port_of(output);
        let mut browser = Browser {
            driver,
            port,
            session: String::new(),
            folder,
            _turn: turn,
        };
        let wishes = browser.wishes(size);
        let answer = browser.request("POST", "/session", &wishes);
        browser.session = answer["sessionId"]
            .as_str()
            .expect("a session has a name")
            .to_owned();
        browser
    }

    /// Where downloads go.
    pub(crate) fn downloads(&self) -> &Path {
        self.folder.path()
    }

    /// Opens an address and waits until it is loaded.
    pub(crate) fn open(&self, address: &str) {
        self.post("/url", &json!({ "url": address }));
    }

    /// Loads the page anew.
    pub(crate) fn reload(&self) {
        self.post("/refresh", &json!({}));
    }

    /// What a script returns; it may return a promise.
    pub(crate) fn run(&self, script: &str) -> Value {
        self.post("/execute/sync", &json!({ "script": script, "args": [] }))
    }

    /// Moves the mouse along `points`, in pixels of the window, the button held down.
    pub(crate) fn drag(&self, points: &[[f64; 2]]) {
        let mut actions = vec![
            move_to(points[0]),
            json!({"type": "pointerDown", "button": 0}),
        ];
        actions.extend(points[1..].iter().map(|p| move_to(*p)));
        actions.push(json!({"type": "pointerUp", "button": 0}));
        self.act(&json!({"type": "pointer", "id": "mouse", "actions": actions}));
    }

    /// Moves the mouse to a place without pressing.
    pub(crate) fn hover(&self, point: [f64; 2]) {
        self.act(&json!({"type": "pointer", "id": "mouse", "actions": [move_to(point)]}));
    }

    /// Presses keys one after the other; see the protocol's list for keys that are no letters.
    pub(crate) fn keys(&self, keys: &str) {
        let press =
            |key: char| ["keyDown", "keyUp"].map(|kind| json!({"type": kind, "value": key}));
        let actions: Vec<Value> = keys.chars().flat_map(press).collect();
        self.act(&json!({"type": "key", "id": "keyboard", "actions": actions}));
    }

    /// Presses a key while another is held down.
    pub(crate) fn chord(&self, held: char, key: char) {
        let actions = json!([
            {"type": "keyDown", "value": held},
            {"type": "keyDown", "value": key},
            {"type": "keyUp", "value": key},
            {"type": "keyUp", "value": held},
        ]);
        self.act(&json!({"type": "key", "id": "keyboard", "actions": actions}));
    }

    /// Warnings and errors that the page wrote to the console since the last call.
    pub(crate) fn complaints(&self) -> Vec<String> {
        let entries = self.log("browser");
        let told = entries
            .iter()
            .filter(|entry| entry["level"] != "INFO" && entry["level"] != "DEBUG");
        told.map(|entry| entry["message"].to_string()).collect()
    }

    /// Addresses the browser asked for since the last call, those inside the page (`blob:`, `data:`) left out.
    pub(crate) fn requests(&self) -> Vec<String> {
        let mut addresses = Vec::new();
        for entry in self.log("performance") {
            let text = entry["message"].as_str().unwrap_or_default();
            let Ok(event) = serde_json::from_str::<Value>(text) else {
                continue;
            };
            if event["message"]["method"] == "Network.requestWillBeSent" {
                let url = event["message"]["params"]["request"]["url"].as_str();
                addresses.push(url.unwrap_or_default().to_owned());
            }
        }
        addresses.retain(|url| !url.starts_with("blob:") && !url.starts_with("data:"));
        addresses
    }

    fn wishes(&self, [wide, high]: [u32; 2]) -> Value {
        let mut arguments: Vec<String> = ARGUMENTS.map(String::from).to_vec();
        arguments.push(format!("--window-size={wide},{high}"));
        json!({"capabilities": {"alwaysMatch": {
            "goog:chromeOptions": {
                "args": arguments,
                "prefs": {"download.default_directory": self.folder.path()},
            },
            "goog:loggingPrefs": {"browser": "ALL", "performance": "ALL"},
        }}})
    }

    fn act(&self, source: &Value) {
        self.post("/actions", &json!({ "actions": [source] }));
    }

    fn log(&self, kind: &str) -> Vec<Value> {
        let entries = self.post("/se/log", &json!({ "type": kind }));
        entries.as_array().cloned().unwrap_or_default()
    }

    fn post(&self, path: &str, body: &Value) -> Value {
        self.request("POST", &format!("/session/{}{path}", self.session), body)
    }

    /// The `value` of the answer; an error of the driver fails the test.
    fn request(&self, method: &str, path: &str, body: &Value) -> Value {
        let answer = exchange(self.port, method, path, &body.to_string())
            .unwrap_or_else(|error| panic!("chromedriver does not answer {path}: {error}"));
        let mut answer: Value = serde_json::from_str(&answer).expect("answers are JSON");
        let value = answer["value"].take();
        assert!(
            value["error"].is_null(),
            "{path} failed: {}",
            value["message"]
        );
        value
    }
}

impl Drop for Browser {
    fn drop(&mut self) {
        let path = format!("/session/{}", self.session);
        // Whether or not the browser still answers, the driver ends, and takes it along.
        let _closed = exchange(self.port, "DELETE", &path, "");
        let _killed = self.driver.kill();
        let _waited = self.driver.wait();
    }
}

fn move_to([x, y]: [f64; 2]) -> Value {
    // At once: while a move takes time, the button may be let go before it has arrived.
    json!({"type": "pointerMove", "duration": 0, "x": x.round(), "y": y.round()})
}

/// The port that chromedriver says it listens on.
fn port_of(output: impl Read) -> u16 {
    for line in BufReader::new(output).lines() {
        let line = line.expect("chromedriver writes text");
        if let Some((_, rest)) = line.split_once("successfully on port ") {
            let digits: String = rest.chars().take_while(char::is_ascii_digit).collect();
            return digits.parse().expect("a port is a small number");
        }
    }
    panic!("chromedriver ended without saying its port")
}

/// One request and the body of its answer.
fn exchange(port: u16, method: &str, path: &str, body: &str) -> std::io::Result<String> {
    let mut stream = TcpStream::connect(("127.0.0.1", port))?;
    stream.set_read_timeout(Some(Duration::from_secs(60)))?;
    write!(
        stream,
        "{method} {path} HTTP/1.1\r\nHost: 127.0.0.1:{port}\r\nContent-Type: application/json\r\nContent-Length: {}\r\n\r\n{body}",
        body.len()
    )?;
    let mut reader = BufReader::new(stream);
    let mut length = 0;
    loop {
        let mut line = String::new();
        reader.read_line(&mut line)?;
        let line = line.trim().to_ascii_lowercase();
        if let Some(value) = line.strip_prefix("content-length:") {
            length = value.trim().parse().unwrap_or(0);
        }
        if line.is_empty() {
            break;
        }
    }
    let mut answer = vec![0; length];
    reader.read_exact(&mut answer)?;
    Ok(String::from_utf8_lossy(&answer).into_owned())
}

/// A file that appears in a folder within ten seconds, whole.
pub(crate) fn wait_for_file(path: &PathBuf) -> Vec<u8> {
    for _ in 0..200 {
        if let Ok(bytes) = std::fs::read(path) {
            if !bytes.is_empty() {
                return bytes;
            }
        }
        std::thread::sleep(Duration::from_millis(50));
    }
    panic!("{} was not saved", path.display())
}

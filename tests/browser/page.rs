//! One page in the browser: looked at, asked, and worked with mouse and keys.

use std::path::Path;
use std::thread;
use std::time::{Duration, Instant};

use base64::Engine;
use base64::engine::general_purpose::STANDARD;
use serde_json::{Value, json};

use crate::devtools::DevTools;

/// How long something awaited may take.
const PATIENCE: Duration = Duration::from_secs(60);

/// An open page.
pub(crate) struct Page {
    tools: DevTools,
    /// What went wrong so far, in the browser's words.
    troubles: Vec<String>,
    /// What the page has asked for so far.
    requests: Vec<String>,
}

#[allow(dead_code, reason = "each test uses some of it")]
impl Page {
    pub(crate) fn open(tools: DevTools, url: &str) -> Page {
        let mut page = Page {
            tools,
            troubles: Vec::new(),
            requests: Vec::new(),
        };
        for domain in ["Page", "Runtime", "Log", "Network"] {
            page.tools.command(&format!("{domain}.enable"), json!({}));
        }
        page.go(url);
        page
    }

    /// Goes to an address and waits until it is loaded.
    pub(crate) fn go(&mut self, url: &str) {
        let gone = self.tools.command("Page.navigate", json!({"url": url}));
        assert!(gone.get("errorText").is_none(), "{url}: {gone}");
        self.wait("document.readyState === 'complete' && location.href !== 'about:blank'");
    }

    /// Loads the page anew.
    pub(crate) fn reload(&mut self) {
        self.eval("window.isOld = true");
        self.tools.command("Page.reload", json!({}));
        self.wait("document.readyState === 'complete' && !window.isOld");
    }

    /// The value of an expression on the page; a promise is waited for.
    ///
    /// # Panics
    /// When it throws.
    pub(crate) fn eval(&mut self, expression: &str) -> Value {
        self.try_eval(expression)
            .unwrap_or_else(|error| panic!("{expression}: {error}"))
    }

    fn try_eval(&mut self, expression: &str) -> Result<Value, String> {
        let mut result = self.tools.command(
            "Runtime.evaluate",
            json!({"expression": expression, "awaitPromise": true, "returnByValue": true}),
        );
        match result.get("exceptionDetails") {
            Some(details) => Err(details.to_string()),
            None => Ok(result["result"]["value"].take()),
        }
    }

    /// Waits until an expression is true.
    ///
    /// # Panics
    /// When it does not become so in time.
    pub(crate) fn wait(&mut self, expression: &str) {
        let start = Instant::now();
        while start.elapsed() < PATIENCE {
            // While a page is being exchanged there may be nothing to ask.
            if self.try_eval(&format!("!!({expression})")) == Ok(Value::Bool(true)) {
                return;
            }
            thread::sleep(Duration::from_millis(10));
        }
        panic!("this did not become true within {PATIENCE:?}: {expression}");
    }

    /// Presses the mouse at the first point, moves it over the others and lets go at the last; in pixels of the window.
    pub(crate) fn drag(&mut self, points: &[[f64; 2]]) {
        let (first, last) = (points[0], points[points.len() - 1]);
        self.mouse("mouseMoved", first, 0);
        self.mouse("mousePressed", first, 1);
        for point in &points[1..] {
            self.mouse("mouseMoved", *point, 1);
        }
        self.mouse("mouseReleased", last, 0);
    }

    /// Moves the mouse without pressing.
    pub(crate) fn hover(&mut self, at: [f64; 2]) {
        self.mouse("mouseMoved", at, 0);
    }

    /// Clicks at a point of the window.
    pub(crate) fn click_at(&mut self, at: [f64; 2]) {
        self.drag(&[at]);
    }

    /// Clicks in the middle of the first element that a selector finds.
    pub(crate) fn click(&mut self, selector: &str) {
        let at = self.middle(selector);
        self.click_at(at);
    }

    /// The middle of the first element that a selector finds, scrolled into sight.
    pub(crate) fn middle(&mut self, selector: &str) -> [f64; 2] {
        let place = self.eval(&format!(
            "(() => {{ const e = document.querySelector({selector:?}); e.scrollIntoView({{block: 'nearest'}}); \
             const r = e.getBoundingClientRect(); return [r.x + r.width / 2, r.y + r.height / 2]; }})()"
        ));
        [0, 1].map(|i| place[i].as_f64().expect("a place on the page"))
    }

    fn mouse(&mut self, kind: &str, [x, y]: [f64; 2], buttons: u8) {
        let button = if kind == "mouseMoved" && buttons == 0 {
            "none"
        } else {
            "left"
        };
        self.tools.command(
            "Input.dispatchMouseEvent",
            json!({"type": kind, "x": x, "y": y, "button": button, "buttons": buttons, "clickCount": 1}),
        );
    }

    /// Touches with one finger at the first point, draws it over the others and lifts it.
    pub(crate) fn touch(&mut self, points: &[[f64; 2]]) {
        for (k, [x, y]) in points.iter().enumerate() {
            let kind = if k == 0 { "touchStart" } else { "touchMove" };
            let touch = json!({"type": kind, "touchPoints": [{"x": x, "y": y}]});
            self.tools.command("Input.dispatchTouchEvent", touch);
        }
        let lift = json!({"type": "touchEnd", "touchPoints": []});
        self.tools.command("Input.dispatchTouchEvent", lift);
    }

    /// Presses and releases a key by its name in the browser, such as `Enter`, `ArrowLeft` or `h`, together with the held
    /// keys named before it: `Control+z`, `Shift+Tab`.
    pub(crate) fn key(&mut self, keys: &str) {
        let mut names: Vec<&str> = keys.split('+').collect();
        let key = names.pop().unwrap_or_default();
        let bit = |name: &&str| match *name {
            "Alt" => 1,
            "Control" => 2,
            "Meta" => 4,
            "Shift" => 8,
            other => panic!("{other} is no key to hold"),
        };
        let modifiers: u8 = names.iter().map(bit).sum();
        let mut event =
            json!({"type": "keyDown", "key": key, "modifiers": modifiers, "code": code(key)});
        event["windowsVirtualKeyCode"] = json!(number(key));
        if modifiers & !8 == 0 {
            let text = match key {
                "Enter" => "\r",
                "Space" => " ",
                key if key.chars().count() == 1 => key,
                _ => "",
            };
            event["text"] = json!(text);
        }
        if key == "Space" {
            event["key"] = json!(" ");
        }
        self.tools.command("Input.dispatchKeyEvent", event.clone());
        event["type"] = json!("keyUp");
        event.as_object_mut().expect("an object").remove("text");
        self.tools.command("Input.dispatchKeyEvent", event);
    }

    /// Types a text into whatever has the focus.
    pub(crate) fn type_text(&mut self, text: &str) {
        self.tools
            .command("Input.insertText", json!({"text": text}));
    }

    /// Makes the window so large, in pixels.
    pub(crate) fn resize(&mut self, [width, height]: [u32; 2]) {
        let size =
            json!({"width": width, "height": height, "deviceScaleFactor": 1, "mobile": false});
        self.tools
            .command("Emulation.setDeviceMetricsOverride", size);
    }

    /// Writes what is seen as a PNG.
    pub(crate) fn screenshot(&mut self, path: &Path) {
        let picture = self
            .tools
            .command("Page.captureScreenshot", json!({"format": "png"}));
        let data = picture["data"].as_str().expect("a picture");
        let bytes = STANDARD.decode(data).expect("base64");
        std::fs::write(path, bytes).expect("a place for the picture");
    }

    /// Any other command of the protocol.
    pub(crate) fn command(&mut self, method: &str, parameters: Value) -> Value {
        self.tools.command(method, parameters)
    }

    /// Errors, warnings about security and uncaught exceptions since the page was opened.
    pub(crate) fn troubles(&mut self) -> &[String] {
        self.listen();
        &self.troubles
    }

    /// The addresses that the page has asked for since it was opened.
    pub(crate) fn requests(&mut self) -> &[String] {
        self.listen();
        &self.requests
    }

    fn listen(&mut self) {
        for event in self.tools.events() {
            let about = &event["params"];
            let trouble = match event["method"].as_str().unwrap_or_default() {
                "Runtime.exceptionThrown" => true,
                "Runtime.consoleAPICalled" => about["type"] == "error" || about["type"] == "assert",
                "Log.entryAdded" => about["entry"]["level"] == "error",
                "Network.requestWillBeSent" => {
                    let url = about["request"]["url"].as_str().unwrap_or_default();
                    self.requests.push(url.to_owned());
                    false
                }
                _ => false,
            };
            if trouble {
                self.troubles.push(about.to_string());
            }
        }
    }
}

/// The key on the keyboard for a key's name.
fn code(key: &str) -> String {
    match key.chars().next() {
        Some(c) if key.len() == 1 && c.is_ascii_alphabetic() => {
            format!("Key{}", c.to_ascii_uppercase())
        }
        Some(c) if key.len() == 1 && c.is_ascii_digit() => format!("Digit{c}"),
        _ => key.to_owned(),
    }
}

/// The number of a key that some defaults of the browser go by.
fn number(key: &str) -> u32 {
    match key {
        "Backspace" => 8,
        "Tab" => 9,
        "Enter" => 13,
        "Escape" => 27,
        "Space" => 32,
        "PageUp" => 33,
        "PageDown" => 34,
        "End" => 35,
        "Home" => 36,
        "ArrowLeft" => 37,
        "ArrowUp" => 38,
        "ArrowRight" => 39,
        "ArrowDown" => 40,
        "Delete" => 46,
        key => key
            .chars()
            .next()
            .map_or(0, |c| u32::from(c.to_ascii_uppercase())),
    }
}

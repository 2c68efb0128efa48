//! The drawing board as a person uses it: strokes on the paper, keys, buttons, and what the page then shows. Places are
//! millimetres on the sheet.

use std::io::{BufRead, BufReader};
use std::process::{Child, Command, Stdio};
use std::time::Duration;

use serde_json::Value;

use crate::driver::Browser;

/// Keys of the WebDriver protocol (W3C WebDriver, section 17.4.2).
pub(crate) const ENTER: char = '\u{E007}';
pub(crate) const LEFT: char = '\u{E012}';
pub(crate) const UP: char = '\u{E013}';
pub(crate) const RIGHT: char = '\u{E014}';
pub(crate) const DOWN: char = '\u{E015}';
pub(crate) const TAB: char = '\u{E004}';
pub(crate) const CONTROL: char = '\u{E009}';

/// `foldback serve` on a free port; it ends when dropped.
pub(crate) struct Server {
    child: Child,
    /// The printed address.
    pub(crate) address: String,
}

impl Server {
    /// Starts it and waits for the printed address.
    pub(crate) fn start() -> Server {
        let mut child = Command::new(env!("CARGO_BIN_EXE_foldback"))
            .args(["serve", "--port", "0"])
            .stdout(Stdio::piped())
            .stderr(Stdio::null())
            .spawn()
            .expect("foldback starts");
        let output = child.stdout.take().expect("its output is a pipe");
        let mut lines = BufReader::new(output).lines();
        let address = lines.find_map(|line| {
            let line = line.expect("the output is text");
            let from = line.find("http://")?;
            line[from..].split_whitespace().next().map(str::to_owned)
        });
        Server {
            child,
            address: address.expect("an address is printed"),
        }
    }
}

impl Drop for Server {
    fn drop(&mut self) {
        let _killed = self.child.kill();
        let _waited = self.child.wait();
    }
}

/// The page in a browser.
pub(crate) struct Board {
    /// The browser it is in.
    pub(crate) browser: Browser,
    /// Where it came from.
    pub(crate) address: String,
}

impl Board {
    /// Opens the page in a new browser.
    pub(crate) fn open(address: &str) -> Board {
        let browser = Browser::start([1280, 800]);
        browser.open(address);
        let board = Board {
            browser,
            address: address.to_owned(),
        };
        board.wait(
            "the page is ready",
            "return document.querySelector('.verdict-word') !== null",
        );
        board
    }

    /// Waits until a script returns true; fails after ten seconds.
    pub(crate) fn wait(&self, what: &str, script: &str) {
        for _ in 0..500 {
            if self.browser.run(script) == Value::Bool(true) {
                return;
            }
            std::thread::sleep(Duration::from_millis(20));
        }
        panic!(
            "waited in vain: {what}; the page says: {}",
            self.text("#verdict")
        );
    }

    /// Waits for a verdict: `unique`, `ambiguous`, `contradictory`, `unfinished` or `empty`.
    pub(crate) fn wait_for(&self, state: &str) {
        let script =
            format!("return document.querySelector('#verdict').dataset.state === '{state}'");
        self.wait(state, &script);
    }

    /// The text of an element.
    pub(crate) fn text(&self, selector: &str) -> String {
        let script = format!("return document.querySelector({selector:?})?.textContent ?? ''");
        self.browser
            .run(&script)
            .as_str()
            .unwrap_or_default()
            .to_owned()
    }

    /// How many elements there are.
    pub(crate) fn count(&self, selector: &str) -> u64 {
        let script = format!("return document.querySelectorAll({selector:?}).length");
        self.browser.run(&script).as_u64().unwrap_or_default()
    }

    /// Clicks amid an element, as the mouse does.
    pub(crate) fn click(&self, selector: &str) {
        let at = self.middle(selector);
        self.browser.drag(&[at]);
    }

    /// Amid an element, in pixels of the window.
    pub(crate) fn middle(&self, selector: &str) -> [f64; 2] {
        let script = format!(
            "const e = document.querySelector({selector:?}); e.scrollIntoView({{block: 'nearest'}});
             const b = e.getBoundingClientRect(); return [b.x + b.width / 2, b.y + b.height / 2]"
        );
        pair(&self.browser.run(&script))
    }

    /// Where a place on the sheet is on the screen.
    pub(crate) fn on_screen(&self, [x, y]: [f64; 2]) -> [f64; 2] {
        let script = format!(
            "const m = document.getElementById('paper').getScreenCTM(); return [m.a * {x} + m.e, m.d * -({y}) + m.f]"
        );
        pair(&self.browser.run(&script))
    }

    /// Chooses a line type or a tool with the mouse.
    pub(crate) fn choose(&self, name: &str) {
        self.click(&format!("label:has(input[value={name}])"));
    }

    /// Chooses from a list of settings.
    pub(crate) fn set(&self, id: &str, value: &str) {
        let script = format!(
            "const s = document.getElementById('{id}'); s.value = '{value}'; s.dispatchEvent(new Event('change'))"
        );
        self.browser.run(&script);
    }

    /// Draws strokes through places, each dragged by itself.
    pub(crate) fn draw(&self, places: &[[f64; 2]]) {
        for ends in places.windows(2) {
            let [from, to] = [ends[0], ends[1]].map(|p| self.on_screen(p));
            let middle = [(from[0] + to[0]) / 2.0, (from[1] + to[1]) / 2.0];
            self.browser.drag(&[from, middle, to]);
        }
    }

    /// Clicks places one after the other.
    pub(crate) fn click_places(&self, places: &[[f64; 2]]) {
        for place in places {
            let at = self.on_screen(*place);
            self.browser.hover(at);
            self.browser.drag(&[at]);
        }
    }

    /// Opens a sample from the menu.
    pub(crate) fn open_sample(&self, name: &str) {
        let title = name.replace('-', " ");
        let script = format!(
            "const button = [...document.querySelectorAll('#samples button')]
               .find((b) => b.querySelector('strong').textContent === '{title}');
             if (!button) return false; button.click(); return true"
        );
        assert_eq!(
            self.browser.run(&script),
            Value::Bool(true),
            "there is no sample {name}"
        );
    }

    /// The sheet as the page keeps it for a reload, in the shared format.
    pub(crate) fn kept(&self) -> Value {
        // Keeping waits for a pause in drawing.
        std::thread::sleep(Duration::from_millis(300));
        let text = self
            .browser
            .run("return localStorage.getItem('foldback.board')");
        serde_json::from_str(text.as_str().unwrap_or("null")).expect("what is kept is JSON")
    }

    /// The lines of the sheet, as the page keeps it.
    pub(crate) fn lines(&self) -> Vec<Value> {
        self.kept()["lines"].as_array().cloned().unwrap_or_default()
    }

    /// Fails if the page complained in the console, or asked for anything but its own server.
    pub(crate) fn ends_quietly(&self) {
        let complaints = self.browser.complaints();
        assert!(complaints.is_empty(), "the console says {complaints:?}");
        let origin = self.address.split('#').next().unwrap_or_default();
        for request in self.browser.requests() {
            assert!(request.starts_with(origin), "{request} was asked for");
        }
    }
}

fn pair(value: &Value) -> [f64; 2] {
    [0, 1].map(|i| value[i].as_f64().expect("a place has two coordinates"))
}

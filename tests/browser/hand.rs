//! A person at the drawing board: strokes on the paper, keys, buttons, and what the page then shows. Places are millimetres
//! on the sheet.

use std::cell::RefCell;
use std::thread;
use std::time::{Duration, Instant};

use serde_json::{Value, json};

use crate::board::{Served, Single};
use crate::chromium::Browser;
use crate::page::Page;

/// Keys without a letter, as one character each so that they can stand in a text of keys.
pub(crate) const ENTER: char = '\n';
pub(crate) const TAB: char = '\t';
pub(crate) const LEFT: char = '←';
pub(crate) const UP: char = '↑';
pub(crate) const RIGHT: char = '→';
pub(crate) const DOWN: char = '↓';

/// How long the page may take for anything.
const PATIENCE: Duration = Duration::from_secs(20);

/// The page in a browser, with someone who uses it.
pub(crate) struct Board {
    browser: Browser,
    pub(crate) page: RefCell<Page>,
    /// Where the page came from.
    pub(crate) address: String,
}

/// Runs a test on the page as `foldback serve` gives it, unless there is no browser.
pub(crate) fn on_the_board(test: impl FnOnce(&Board)) {
    let served = Served::start();
    at(&served.url, test);
}

/// Runs a test on the page as one file, unless there is no browser or the engine for it is not built.
pub(crate) fn on_the_single_file(test: impl FnOnce(&Board)) {
    if let Some(single) = Single::write() {
        at(&single.url(), test);
    }
}

fn at(address: &str, test: impl FnOnce(&Board)) {
    let Some(browser) = Browser::start() else {
        return;
    };
    let board = Board::open_in(browser, address);
    test(&board);
    board.assert_calm();
}

impl Board {
    /// The page at an address.
    pub(crate) fn open_in(mut browser: Browser, address: &str) -> Board {
        let mut page = browser.open(address);
        page.resize([1280, 800]);
        let board = Board {
            browser,
            page: RefCell::new(page),
            address: address.to_owned(),
        };
        board.wait("document.querySelector('.verdict-word') !== null");
        board
    }

    /// Whatever a test did, the page has not complained, nor asked for anything but its own server.
    pub(crate) fn assert_calm(&self) {
        let mut page = self.page.borrow_mut();
        assert!(page.troubles().is_empty(), "{:?}", page.troubles());
        let own = |url: &String| {
            ["blob:", "data:", "about:", &self.address]
                .iter()
                .any(|from| url.starts_with(from))
        };
        let foreign: Vec<&String> = page.requests().iter().filter(|url| !own(url)).collect();
        assert!(foreign.is_empty(), "{foreign:?} was asked for");
    }

    /// What a script returns; it may return a promise.
    pub(crate) fn run(&self, script: &str) -> Value {
        let expression = format!("(() => {{ {script} }})()");
        self.page.borrow_mut().eval(&expression)
    }

    /// Waits until an expression is true.
    pub(crate) fn wait(&self, expression: &str) {
        let start = Instant::now();
        while start.elapsed() < PATIENCE {
            if self.run(&format!("return !!({expression})")) == json!(true) {
                return;
            }
            thread::sleep(Duration::from_millis(10));
        }
        panic!(
            "waited in vain for {expression}; the page says: {} {}",
            self.text("#verdict"),
            self.text("#notice")
        );
    }

    /// Waits for a verdict: `unique`, `ambiguous`, `contradictory`, `unfinished` or `empty`.
    pub(crate) fn wait_for(&self, state: &str) {
        self.wait(&format!(
            "document.querySelector('#verdict').dataset.state === '{state}'"
        ));
    }

    /// Opens an address anew, even if only the part after `#` differs.
    pub(crate) fn open(&self, address: &str) {
        let mut page = self.page.borrow_mut();
        page.eval("window.isOld = true");
        page.command("Page.navigate", json!({"url": "about:blank"}));
        page.wait("location.href === 'about:blank'");
        page.go(address);
    }

    /// Loads the page anew.
    pub(crate) fn reload(&self) {
        self.page.borrow_mut().reload();
    }

    /// The file with an ending that the page saves.
    pub(crate) fn saved(&self, ending: &str) -> Vec<u8> {
        self.browser.saved(ending)
    }

    /// The text of an element.
    pub(crate) fn text(&self, selector: &str) -> String {
        let text = self.run(&format!(
            "return document.querySelector({selector:?})?.textContent ?? ''"
        ));
        text.as_str().unwrap_or_default().to_owned()
    }

    /// How many elements there are.
    pub(crate) fn count(&self, selector: &str) -> u64 {
        let count = self.run(&format!(
            "return document.querySelectorAll({selector:?}).length"
        ));
        count.as_u64().unwrap_or_default()
    }

    /// Clicks amid an element.
    pub(crate) fn click(&self, selector: &str) {
        self.page.borrow_mut().click(selector);
    }

    /// Moves the mouse over an element.
    pub(crate) fn point_at(&self, selector: &str) {
        let mut page = self.page.borrow_mut();
        let at = page.middle(selector);
        page.hover(at);
    }

    /// Moves the mouse over a place on the sheet.
    pub(crate) fn hover(&self, place: [f64; 2]) {
        let at = self.on_screen(place);
        self.page.borrow_mut().hover(at);
    }

    /// Chooses a line type or a tool with the mouse.
    pub(crate) fn choose(&self, name: &str) {
        self.click(&format!("label:has(input[value={name}])"));
    }

    /// Chooses from a list of settings.
    pub(crate) fn set(&self, id: &str, value: &str) {
        self.run(&format!(
            "const s = document.getElementById('{id}'); s.value = '{value}'; s.dispatchEvent(new Event('change'))"
        ));
    }

    /// Draws strokes through places, each dragged by itself.
    pub(crate) fn draw(&self, places: &[[f64; 2]]) {
        for ends in places.windows(2) {
            let [from, to] = [ends[0], ends[1]].map(|p| self.on_screen(p));
            let middle = [(from[0] + to[0]) / 2.0, (from[1] + to[1]) / 2.0];
            self.page.borrow_mut().drag(&[from, middle, to]);
        }
    }

    /// Draws one stroke with a finger.
    pub(crate) fn draw_by_finger(&self, places: [[f64; 2]; 2]) {
        let [from, to] = places.map(|p| self.on_screen(p));
        let middle = [(from[0] + to[0]) / 2.0, (from[1] + to[1]) / 2.0];
        self.page.borrow_mut().touch(&[from, middle, to]);
    }

    /// Clicks places one after the other.
    pub(crate) fn click_places(&self, places: &[[f64; 2]]) {
        for place in places {
            let at = self.on_screen(*place);
            self.page.borrow_mut().click_at(at);
        }
    }

    /// Presses keys one after the other.
    pub(crate) fn keys(&self, keys: &str) {
        for key in keys.chars() {
            let letter = key.to_string();
            let name = match key {
                ENTER => "Enter",
                TAB => "Tab",
                LEFT => "ArrowLeft",
                UP => "ArrowUp",
                RIGHT => "ArrowRight",
                DOWN => "ArrowDown",
                _ => &letter,
            };
            self.page.borrow_mut().key(name);
        }
    }

    /// Presses keys together, such as `Control+z`.
    pub(crate) fn chord(&self, keys: &str) {
        self.page.borrow_mut().key(keys);
    }

    /// Opens a sample from the menu.
    pub(crate) fn open_sample(&self, name: &str) {
        let title = name.replace('-', " ");
        self.wait("document.querySelector('#samples button')");
        let found = self.run(&format!(
            "const button = [...document.querySelectorAll('#samples button')]
               .find((b) => b.querySelector('strong').textContent === '{title}');
             button?.click(); return button !== undefined"
        ));
        assert_eq!(found, json!(true), "there is no sample {name}");
    }

    /// Drops a file on the page.
    pub(crate) fn drop_file(&self, name: &str, text: &str) {
        let [name, text] = [name, text].map(|s| json!(s));
        self.run(&format!(
            "const data = new DataTransfer(); data.items.add(new File([{text}], {name}));
             document.body.dispatchEvent(
               new DragEvent('drop', {{dataTransfer: data, bubbles: true, cancelable: true}}))"
        ));
    }

    /// The sheet as the page keeps it for a reload, in the shared format.
    pub(crate) fn kept(&self) -> Value {
        // Keeping waits for a pause in drawing.
        thread::sleep(Duration::from_millis(300));
        let text = self.run("return localStorage.getItem('foldback.board')");
        serde_json::from_str(text.as_str().unwrap_or("null")).expect("what is kept is JSON")
    }

    /// The lines of the sheet, as the page keeps it.
    pub(crate) fn lines(&self) -> Vec<Value> {
        self.kept()["lines"].as_array().cloned().unwrap_or_default()
    }

    /// Where a place on the sheet is on the screen.
    fn on_screen(&self, [x, y]: [f64; 2]) -> [f64; 2] {
        let at = self.run(&format!(
            "const m = document.getElementById('paper').getScreenCTM(); return [m.a * {x} + m.e, m.d * -({y}) + m.f]"
        ));
        [0, 1].map(|i| at[i].as_f64().expect("a place has two coordinates"))
    }
}

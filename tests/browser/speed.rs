//! How large the page is and how fast it answers; printed with `--nocapture`.

use std::time::Instant;

use serde_json::{Value, json};

use crate::board::{Single, ready};
use crate::chromium::Browser;
use crate::page::Page;

/// The single file must be smaller than this, in bytes.
const LARGEST: u64 = 1_500_000;

#[test]
fn single_file_is_small() {
    let Some(single) = Single::write() else {
        return;
    };
    println!("the single file has {} bytes", single.size());
    assert!(single.size() < LARGEST);
}

/// A block with steps: two lines more in each view for every step.
fn staircase(steps: u32) -> Value {
    let (n, depth) = (f64::from(steps), 20.0);
    let top = 10.0 * n + 12.7;
    let side = 10.0 * n + 12.7;
    let mut lines = Vec::new();
    let mut line = |view: &str, ends: [f64; 4]| {
        lines.push(json!({"view": view, "type": "visible", "line": ends}))
    };
    line("front", [0.0, 0.0, 10.0 * n, 0.0]);
    line("front", [10.0 * n, 0.0, 10.0 * n, 10.0]);
    for k in 0..steps {
        let (low, left) = (10.0 * f64::from(k), 10.0 * (n - f64::from(k) - 1.0));
        line("front", [left, low + 10.0, left + 10.0, low + 10.0]);
        if k + 1 < steps {
            line("front", [left, low + 10.0, left, low + 20.0]);
        }
    }
    line("front", [0.0, 10.0 * n, 0.0, 0.0]);
    for k in 0..=steps {
        let at = 10.0 * f64::from(k);
        line("top", [at, top, at, top + depth]);
        line("right", [side, at, side + depth, at]);
    }
    line("top", [0.0, top, 10.0 * n, top]);
    line("top", [0.0, top + depth, 10.0 * n, top + depth]);
    line("right", [side, 0.0, side, 10.0 * n]);
    line("right", [side + depth, 0.0, side + depth, 10.0 * n]);
    json!({"unit": "mm", "projection": "third-angle", "lines": lines})
}

/// Milliseconds for the answer to a sheet, the median of nine.
fn answer_time(page: &mut Page, sheet: &Value) -> f64 {
    let request = json!({"do": "check", "sheet": sheet, "limit": 8}).to_string();
    let text = json!(request).to_string();
    let mut times: Vec<f64> = (0..9)
        .map(|_| {
            let time = page.eval(&format!(
                "(async () => {{ const start = performance.now(); await window.ask({text}); \
                 return performance.now() - start; }})()"
            ));
            time.as_f64().expect("a time")
        })
        .collect();
    times.sort_by(f64::total_cmp);
    times[4]
}

#[test]
fn answers_come_while_one_draws() {
    let (Some(single), Some(mut browser)) = (Single::write(), Browser::start()) else {
        return;
    };
    let start = Instant::now();
    let mut page = browser.open(&single.url());
    ready(&mut page);
    println!(
        "open and ready to answer after {} ms",
        start.elapsed().as_millis()
    );
    for (steps, goal) in [(13, 50.0), (73, 250.0)] {
        let sheet = staircase(steps);
        let count = sheet["lines"].as_array().expect("lines").len();
        let time = answer_time(&mut page, &sheet);
        println!("{count} lines: answered in {time:.1} ms, the goal is {goal} ms");
    }
}

//! The clock and the terminal: stops a run at its time limit and shows what it is doing when that takes a while.

use std::cell::RefCell;
use std::time::{Duration, Instant};

use indicatif::{ProgressBar, ProgressDrawTarget};

use crate::{Stage, Watch};

/// A run that ends sooner shows nothing.
const PATIENCE: Duration = Duration::from_secs(1);

/// How often the display moves.
const TICK: Duration = Duration::from_millis(120);

/// Watches one run on one sheet; what it shows goes away when it is dropped.
pub(super) struct Progress {
    name: String,
    start: Instant,
    limit: Duration,
    /// The words for the present stage, and the display once it is up.
    shown: RefCell<(String, Option<ProgressBar>)>,
}

impl Progress {
    /// Starts the clock for the sheet called `name`.
    pub(super) fn start(name: &str, limit: Duration) -> Self {
        Progress {
            name: name.to_owned(),
            start: Instant::now(),
            limit,
            shown: RefCell::default(),
        }
    }

    /// Puts the display up or renews its words; on anything but a terminal it stays invisible.
    fn show(&self) {
        let (words, bar) = &mut *self.shown.borrow_mut();
        let bar = bar.get_or_insert_with(|| {
            let bar = ProgressBar::with_draw_target(None, ProgressDrawTarget::stderr());
            bar.enable_steady_tick(TICK);
            bar
        });
        bar.set_message(format!("{}: {words}", self.name));
    }
}

impl Watch for Progress {
    fn stage(&self, stage: Stage) {
        self.shown.borrow_mut().0 = words(stage);
        if self.start.elapsed() > PATIENCE {
            self.show();
        }
    }

    fn keep_going(&self) -> bool {
        let elapsed = self.start.elapsed();
        if elapsed > PATIENCE && self.shown.borrow().1.is_none() {
            self.show();
        }
        elapsed < self.limit
    }
}

impl Drop for Progress {
    fn drop(&mut self) {
        if let Some(bar) = &self.shown.borrow().1 {
            bar.finish_and_clear();
        }
    }
}

fn words(stage: Stage) -> String {
    match stage {
        Stage::Views => "lining up the views".to_owned(),
        Stage::Edges => "finding edges that fit all three views".to_owned(),
        Stage::Faces => "finding faces between the edges".to_owned(),
        Stage::Search(0) => "searching for objects".to_owned(),
        Stage::Search(found) => format!("searching for more objects, {found} found so far"),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn run_is_stopped_when_its_time_is_over() {
        assert!(!Progress::start("cleat.json", Duration::ZERO).keep_going());
        assert!(Progress::start("cleat.json", Duration::from_secs(3600)).keep_going());
    }
}

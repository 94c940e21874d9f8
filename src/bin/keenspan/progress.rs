//! A bar for whoever waits for the sampler, or for a large table.

use crate::terminal;
use indicatif::{ProgressBar, ProgressDrawTarget, ProgressStyle};
use std::sync::OnceLock;

/// A bar on stderr that appears with the first draw, if stderr is a terminal. Colours are left to the
/// terminal's own, so that `NO_COLOR` has nothing to take away.
pub struct Progress {
    what: &'static str,
    total: u64,
    bar: OnceLock<ProgressBar>,
}

impl Progress {
    /// Of so many draws; nothing is shown yet.
    pub fn of(total: usize) -> Self {
        Self::in_doing("sampling", total as u64)
    }

    /// Of so much of some work, in a word; nothing is shown yet.
    pub fn in_doing(what: &'static str, total: u64) -> Self {
        Self {
            what,
            total,
            bar: OnceLock::new(),
        }
    }

    /// So many more draws are made.
    pub fn done(&self, draws: usize) {
        self.more(draws as u64);
    }

    /// So much more is done.
    pub fn more(&self, done: u64) {
        if terminal::somebody_watches() {
            self.bar().inc(done);
        }
    }

    fn bar(&self) -> &ProgressBar {
        self.bar.get_or_init(|| {
            let target = ProgressDrawTarget::stderr();
            let bar = ProgressBar::with_draw_target(Some(self.total), target);
            // The plain style stands in if the template could not be read.
            let style = ProgressStyle::with_template(&format!(
                "{} {{bar:40}} {{percent}} % {{eta}} to go",
                self.what
            ));
            bar.with_style(style.unwrap_or_else(|_| ProgressStyle::default_bar()))
        })
    }
}

impl Drop for Progress {
    fn drop(&mut self) {
        if let Some(bar) = self.bar.get() {
            bar.finish_and_clear();
        }
    }
}

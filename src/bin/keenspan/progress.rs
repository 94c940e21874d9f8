//! A bar for whoever waits for the sampler.

use crate::terminal;
use indicatif::{ProgressBar, ProgressDrawTarget, ProgressStyle};
use std::sync::OnceLock;

/// A bar on stderr that appears with the first draw, if stderr is a terminal. Colours are left to the
/// terminal's own, so that `NO_COLOR` has nothing to take away.
pub struct Progress {
    total: usize,
    bar: OnceLock<ProgressBar>,
}

impl Progress {
    /// Of so many draws; nothing is shown yet.
    pub fn of(total: usize) -> Self {
        Self {
            total,
            bar: OnceLock::new(),
        }
    }

    /// So many more draws are made.
    pub fn done(&self, draws: usize) {
        if terminal::somebody_watches() {
            self.bar().inc(draws as u64);
        }
    }

    fn bar(&self) -> &ProgressBar {
        self.bar.get_or_init(|| {
            let target = ProgressDrawTarget::stderr();
            let bar = ProgressBar::with_draw_target(Some(self.total as u64), target);
            // The plain style stands in if the template could not be read.
            let style = ProgressStyle::with_template("sampling {bar:40} {percent} % {eta} to go");
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

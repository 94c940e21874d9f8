//! Hours of runs added up, with what may have been rounded away when each was written.

use super::sheet::WrittenHours;

/// A sum of hours.
#[derive(Debug, Clone, Copy, Default)]
pub(super) struct Summed {
    pub(super) sum: f64,
    /// What rounding each when written can do together.
    rounding: f64,
    fractions: bool,
}

impl Summed {
    /// One run more.
    #[inline]
    pub(super) fn add(&mut self, run: WrittenHours) {
        self.sum += run.hours.get();
        if run.decimals > 0 {
            self.rounding += half_a_unit(run.decimals);
            self.fractions = true;
        }
    }

    /// Whether hours that are told agree with it. Whole numbers of hours count as exact where all are whole.
    pub(super) fn agrees(&self, told: WrittenHours) -> bool {
        let mut rounding = self.rounding + 1e-9 * (1.0 + self.sum);
        if told.decimals > 0 || self.fractions {
            rounding += half_a_unit(told.decimals);
        }
        (told.hours.get() - self.sum).abs() <= rounding
    }
}

#[inline]
fn half_a_unit(decimals: i32) -> f64 {
    const USUAL: [f64; 7] = [0.5, 0.05, 0.005, 5e-4, 5e-5, 5e-6, 5e-7];
    match USUAL.get(decimals as usize) {
        Some(half) => *half,
        None => 0.5 * 10_f64.powi(-decimals),
    }
}

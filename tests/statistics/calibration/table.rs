//! Studies as markdown tables, and the joint verdict on ranks.

use super::coverage::{LEVELS, held};
use super::fit::Told;
use super::study::{Outcome, Study};
use statrs::distribution::{Binomial, DiscreteCDF};
use std::fmt::Write;

/// Probability with which uniform ranks of one quantity keep within their bands.
pub const KEPT: f64 = 0.95;
/// A verdict that right draws fail with this chance at most, by each of its two tests.
const ALARM: f64 = 0.01;

/// Are the ranks of many quantities uniform together? Some bands are left by chance. Laid down before any
/// study was run: draws pass if so many left bands, or more, have a chance of 1 % or more, and if the least
/// p-value of the chi-squares, times their number (the first step of Holm's method), is 1 % or more.
pub struct Verdict {
    /// Quantities that left their bands.
    pub left: Vec<&'static str>,
    /// How many were looked at.
    pub looked_at: usize,
    /// The chance that so many, or more, of as many uniform quantities leave theirs.
    pub chance: f64,
    /// The quantity of the least p-value, and that value times the number of quantities.
    pub least: (&'static str, f64),
}

impl Verdict {
    pub fn of(outcomes: &[Outcome], among: &[&str]) -> Self {
        let looked = outcomes.iter().filter(|it| among.contains(&it.quantity));
        let looked: Vec<&Outcome> = looked.collect();
        let out = looked.iter().filter(|it| !it.thinned.uniform(KEPT));
        let left: Vec<&'static str> = out.map(|outcome| outcome.quantity).collect();
        let law = Binomial::new(1.0 - KEPT, looked.len() as u64).expect("a law");
        let chance = match left.len() {
            0 => 1.0,
            misses => law.sf(misses as u64 - 1),
        };
        let p_values = looked
            .iter()
            .map(|it| (it.quantity, it.thinned.chi_square()));
        let least = p_values.min_by(|a, b| a.1.total_cmp(&b.1));
        let (name, p) = least.expect("a quantity");
        Self {
            left,
            looked_at: looked.len(),
            chance,
            least: (name, (p * looked.len() as f64).min(1.0)),
        }
    }

    pub fn passes(&self) -> bool {
        self.chance >= ALARM && self.least.1 >= ALARM
    }

    pub fn told(&self) -> String {
        let Self {
            left,
            looked_at,
            chance,
            least: (name, p),
        } = self;
        let passes = if self.passes() { "passes" } else { "FAILS" };
        format!(
            "{passes}: {} of {looked_at} quantities leave their 95 % bands ({}; chance {chance:.2}); least adjusted chi-square p {p:.3} ({name})",
            left.len(),
            left.join(", ")
        )
    }
}

/// One row a quantity: coverage in percent, the widest gap of the ranks' distribution function, whether it
/// keeps within its bands, the chi-square's p-value. Below it the verdict on what is learned, and how the
/// draws were made.
pub fn markdown(title: &str, study: &Study, learned: &[&str]) -> String {
    let crews = study.told.len();
    let mut table = format!("### {title}: {crews} crews\n\n| quantity |");
    for level in LEVELS {
        let percent = 100.0 * level;
        let error = (percent * (100.0 - percent) / crews as f64).sqrt();
        let _ = write!(table, " in {percent:.0} % bounds (+/- {error:.1}) |");
    }
    table.push_str(" widest gap of ranks | in 95 % bands | chi-square p |\n| --- |");
    table.push_str(&" ---: |".repeat(LEVELS.len()));
    table.push_str(" ---: | --- | ---: |\n");
    for outcome in &study.outcomes {
        let _ = write!(table, "| {} |", outcome.quantity);
        for level in LEVELS {
            let _ = write!(table, " {:.1} |", 100.0 * held(&outcome.ranks, level));
        }
        let inside = outcome.thinned.uniform(KEPT);
        let _ = writeln!(
            table,
            " {:+.3} | {} | {:.3} |",
            outcome.thinned.widest_gap(),
            if inside { "yes" } else { "no" },
            outcome.thinned.chi_square(),
        );
    }
    let verdict = Verdict::of(&study.outcomes, learned);
    let _ = writeln!(table, "\nRanks: {}.\n", verdict.told());
    table.push_str(&how_drawn(study));
    table
}

/// How draws were made: switches to chains, shapes of weights, faults.
fn how_drawn(study: &Study) -> String {
    let count = |of: &dyn Fn(&Told) -> bool| study.told.iter().filter(|told| of(told)).count();
    let mut shapes: Vec<f64> = study.told.iter().filter_map(|told| told.k_hat).collect();
    shapes.sort_unstable_by(f64::total_cmp);
    let shape = |share: f64| {
        let place = (share * shapes.len() as f64) as usize;
        let value = shapes.get(place.min(shapes.len().saturating_sub(1)));
        value.map_or("none".to_owned(), |shape| format!("{shape:.2}"))
    };
    let r_hats = study.told.iter().filter_map(|told| told.r_hat);
    let r_hat = r_hats.fold(f64::NAN, f64::max);
    let mut lines = format!(
        "Draws: {} crews by chains after weighted draws could not be trusted (of these {} because the search did not settle); k-hat 5 %, median, 95 %, most: {}, {}, {}, {}; largest R-hat {r_hat:.3}; lost paths in {} crews; {} crews of whose draws the program itself warns; {} failures.\n",
        count(&|told| told.switched),
        count(&|told| told.unsettled),
        shape(0.05),
        shape(0.5),
        shape(0.95),
        shape(1.0),
        count(&|told| told.divergences > 0),
        count(&|told| told.untrustworthy),
        study.failures.len(),
    );
    for failure in study.failures.iter().take(3) {
        let _ = writeln!(lines, "Failure: {failure}.");
    }
    lines
}

//! The textbook problem of age replacement, answered in whatever units it was put.

use super::View;
use super::format::{four_digits, significant, wrapped};
use super::standing::{WIDTH, absent};
use crate::decisions::{Renewals, Replacement};
use crate::quantities::Probability;
use crate::wear::Family;
use serde_json::{Map, Value, json};

/// What `replacement` answers.
///
/// # Examples
///
/// ```
/// use keenspan::decisions::Renewals;
/// use keenspan::quantities::Probability;
/// use keenspan::views::{ReplacementReport, View};
/// use keenspan::wear::{Family, LifeLaw};
///
/// let (shape, life): (f64, f64) = (2.5, 1000.0);
/// let median = life * 2.0_f64.ln().powf(1.0 / shape);
/// let law = LifeLaw { family: Family::Weibull, log_median: median.ln(), sigma: 1.0 / shape };
/// let renewals = Renewals { law, planned: 1.0, failure: 5.0, strikes: 0.0, strike: 0.0 };
/// let best = renewals.best()?;
/// let saving = Probability::new(best.saving)?;
/// let report = ReplacementReport { renewals, shape, life, best, saving };
/// assert!(report.text().starts_with("Change at the age of 493.0"));
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ReplacementReport {
    /// What was asked.
    pub renewals: Renewals,
    /// Shape of a Weibull law, spread of log life of any other, as it was given.
    pub shape: f64,
    /// Characteristic life of a Weibull law, median of any other, as it was given.
    pub life: f64,
    /// The answer.
    pub best: Replacement,
    /// The saving, as a share.
    pub saving: Probability,
}

impl ReplacementReport {
    fn heading(&self) -> String {
        match self.best.age {
            None if self.renewals.failure <= self.renewals.planned => {
                "Run to dull: a planned change is no cheaper than one forced by a dull edge".into()
            }
            None => "Run to dull: no planned age is cheaper".into(),
            Some(0.0) => "Change all the time: a planned change costs nothing".into(),
            Some(age) => format!(
                "Change at the age of {}, in the unit of --life",
                four_digits(age)
            ),
        }
    }

    fn lines(&self) -> Vec<(&'static str, String)> {
        let best = &self.best;
        let mut lines = Vec::new();
        if best.age.is_some() {
            lines.push((
                "cost",
                format!("{} per unit of time", four_digits(best.cost_rate)),
            ));
        }
        lines.push((
            "run to dull",
            format!("{} per unit of time", four_digits(best.run_to_failure_rate)),
        ));
        if best.age.is_some() {
            let saving = 100.0 * self.saving.get();
            lines.push(("saving", format!("{} %", significant(saving, 3))));
        }
        lines.push(("life", self.life_sentence()));
        lines.push(("changes", self.costs_sentence()));
        lines.push((
            "units",
            "time as in --life, money as in --planned; the law is taken as known, so that there are no bounds".into(),
        ));
        lines
    }

    /// Figures as they were given.
    fn life_sentence(&self) -> String {
        let Self { shape, life, .. } = self;
        match self.renewals.law.family {
            Family::Weibull => format!("Weibull, shape {shape}, characteristic life {life}"),
            Family::Lognormal => format!("lognormal, spread of log life {shape}, median {life}"),
            Family::Loglogistic => {
                format!("log-logistic, scale of log life {shape}, median {life}")
            }
        }
    }

    fn costs_sentence(&self) -> String {
        let Renewals {
            planned,
            failure,
            strikes,
            strike,
            ..
        } = self.renewals;
        let changes = format!("{planned} planned, {failure} forced by a dull edge");
        if strikes == 0.0 {
            return changes;
        }
        format!("{changes}, {strike} after a strike; {strikes} strikes per unit of time")
    }
}

impl View for ReplacementReport {
    fn text(&self) -> String {
        let lines = self.lines().into_iter();
        let lines: String = lines
            .map(|(label, sentence)| wrapped(label, &sentence, WIDTH))
            .collect();
        format!("{}\n\n{lines}", self.heading())
    }

    fn json(&self) -> Map<String, Value> {
        let Renewals {
            law,
            planned,
            failure,
            strikes,
            strike,
        } = self.renewals;
        let shape = match law.family {
            Family::Weibull => "shape",
            _ => "sigma",
        };
        let mut fields = absent(&["shape", "sigma"], &[]);
        fields.extend([
            ("decision".to_string(), json!("replacement")),
            ("distribution".to_string(), json!(law.family.word())),
            (shape.to_string(), json!(self.shape)),
            ("life".to_string(), json!(self.life)),
            ("planned".to_string(), json!(planned)),
            ("failure".to_string(), json!(failure)),
            ("strike_rate".to_string(), json!(strikes)),
            (
                "strike".to_string(),
                json!((strikes > 0.0).then_some(strike)),
            ),
        ]);
        if let Value::Object(best) = json!(self.best) {
            fields.extend(best);
        }
        fields
    }

    fn warnings(&self) -> Vec<String> {
        Vec::new()
    }
}

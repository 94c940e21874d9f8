//! Choices as they are typed, shared by commands.

use clap::ValueEnum;
use keenspan::quantities::{Probability, Sensible};
use keenspan::wear::{Family, Method};

/// How a posterior is found.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub enum PosteriorWord {
    /// A normal law at the most probable parameters, its draws weighted
    Laplace,
    /// Sampled by chains
    Nuts,
    /// Laplace where its weights say that it holds, else sampled; lifedata from 10,000 edges on: integrated, with no draws
    Auto,
}

impl From<PosteriorWord> for Method {
    fn from(word: PosteriorWord) -> Method {
        match word {
            PosteriorWord::Laplace => Method::Laplace,
            PosteriorWord::Nuts => Method::Nuts,
            PosteriorWord::Auto => Method::Auto,
        }
    }
}

/// Family of life distributions.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub enum FamilyWord {
    /// Edges fail the faster the older they are; the usual choice
    Weibull,
    /// A longer tail of edges that last
    Lognormal,
    /// Longer tails on either side
    Loglogistic,
}

impl From<FamilyWord> for Family {
    fn from(word: FamilyWord) -> Family {
        match word {
            FamilyWord::Weibull => Family::Weibull,
            FamilyWord::Lognormal => Family::Lognormal,
            FamilyWord::Loglogistic => Family::Loglogistic,
        }
    }
}

/// A number as it is typed, `wanted` being what would be right.
fn number(text: &str, wanted: &str) -> Result<f64, String> {
    let number = typed(text, wanted)?;
    let finite = number.is_finite().then_some(number);
    finite.ok_or_else(|| format!("write {wanted}"))
}

/// A number as people write it, `wanted` being what would be right: a comma may stand for the point. 1,250 may be a
/// thousand and more, or one and a quarter: nobody can know.
pub fn typed(text: &str, wanted: &str) -> Result<f64, String> {
    let text = text.trim();
    let decimals = text.split_once(',').map(|(_, after)| after.len());
    if decimals == Some(3) {
        return Err(format!(
            "write {} or {}, whichever is meant",
            text.replace(',', ""),
            text.replace(',', ".")
        ));
    }
    let number = text.replace(',', ".").parse();
    number.map_err(|_| format!("write {wanted}"))
}

/// Any number.
pub fn any_number(text: &str) -> Result<f64, String> {
    // What is no finite number is told by the command, which knows what it stands for.
    typed(text, "a number, such as 5")
}

/// A number above zero, `wanted` being what would be right.
pub fn above_zero(text: &str, wanted: &str) -> Result<f64, String> {
    match number(text, wanted)? {
        number if number > 0.0 => Ok(number),
        _ => Err(format!("must be above zero: write {wanted}")),
    }
}

/// Meter hours above zero.
pub fn hours(text: &str) -> Result<f64, String> {
    above_zero(text, "hours, such as 50")
}

/// Meter hours from one change to the next.
pub fn hours_between(text: &str) -> Result<f64, String> {
    within(hours(text)?, Sensible::BETWEEN_CHANGES, "hours, such as 50")
}

/// Meter hours of a year.
pub fn hours_of_a_year(text: &str) -> Result<f64, String> {
    const WANTED: &str = "hours of a year, such as 400";
    within(above_zero(text, WANTED)?, Sensible::OF_A_YEAR, WANTED)
}

fn within(number: f64, range: Sensible, wanted: &str) -> Result<f64, String> {
    let outside = || format!("must be {} hours: write {wanted}", range.words);
    range.holds(number).then_some(number).ok_or_else(outside)
}

/// A reading of an hour meter.
pub fn reading(text: &str) -> Result<f64, String> {
    const WANTED: &str = "what the hour meter reads, such as 1263.4";
    match typed(text, WANTED)? {
        below if below < 0.0 => Err(format!("write {WANTED}")),
        // What no meter shows is told by the command.
        reading => Ok(reading),
    }
}

/// Meter hours of a working day at the least. Basis: judged; below six minutes nobody starts the engine.
const LEAST_DAY: f64 = 0.1;

/// Meter hours of one day.
pub fn hours_of_a_day(text: &str) -> Result<f64, String> {
    match above_zero(text, "hours, such as 4")? {
        hours if hours > 24.0 => Err("a day has 24 hours: write at most 24".to_string()),
        hours if hours < LEAST_DAY => Err(format!(
            "too short for a day's work: write hours, at least {LEAST_DAY}, such as 4"
        )),
        hours => Ok(hours),
    }
}

/// A risk that somebody bears, in per cent. A bare number below 1 is taken for a slip: whoever writes 0.05
/// means 5.
pub fn risk(text: &str) -> Result<Probability, String> {
    const WANTED: &str = "per cent between 0.1 and 50, such as 5";
    let written = text.trim();
    let bare = written.trim_end_matches('%').trim_end();
    let per_cent = number(bare, WANTED)?;
    if bare == written && per_cent > 0.0 && per_cent < 1.0 {
        let meant = (per_cent * 1e6).round() / 1e4;
        return Err(format!(
            "give percent: {meant}; a bare number below 1 is taken for a share"
        ));
    }
    let share = Probability::new(per_cent / 100.0).ok();
    share
        .filter(|share| (0.001..=0.5).contains(&share.get()))
        .ok_or_else(|| format!("write {WANTED}"))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_comma_may_stand_for_the_point() {
        assert_eq!(hours("12,5"), Ok(12.5));
        assert_eq!(any_number(" -3 "), Ok(-3.0));
        let either = hours("1,250").unwrap_err();
        assert!(either.contains("1250 or 1.250"), "{either}");
        assert!(hours("1,2,3").is_err());
    }

    #[test]
    fn hours_that_nobody_means_are_refused_with_what_would_be_right() {
        assert_eq!(hours_between("0,5"), Ok(0.5));
        for wrong in ["0.0001", "1e308", "5001"] {
            let refused = hours_between(wrong).unwrap_err();
            assert!(refused.contains("from 0.5 to 5,000 hours"), "{refused}");
        }
        for wrong in ["0.5", "9000"] {
            let refused = hours_of_a_year(wrong).unwrap_err();
            assert!(refused.contains("from 1 to 8,784 hours"), "{refused}");
        }
    }

    #[test]
    fn a_risk_is_in_per_cent() {
        for (text, share) in [("5", 0.05), ("5 %", 0.05), ("0.5%", 0.005), ("50", 0.5)] {
            let risk = risk(text).unwrap().get();
            assert!((risk - share).abs() < 1e-12, "{text}");
        }
        assert!(risk("0.05").unwrap_err().starts_with("give percent: 5;"));
        for wrong in ["0", "80", "-5", "much", "0.01%"] {
            assert!(
                risk(wrong).unwrap_err().contains("between 0.1 and 50"),
                "{wrong}"
            );
        }
    }
}

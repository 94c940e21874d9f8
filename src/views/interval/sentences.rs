//! The sentences of the owner's answer.

use super::MachineInterval;
use crate::decisions::{FlatPart, IntervalAnswer, RuleComparison, ServiceInterval};
use crate::quantities::{Estimate, Probability};
use crate::views::format::{
    capital, hours, percent_range, whole_money, whole_money_range, whole_percent,
};

/// A rule is called dear only where the posterior is nearly sure of it.
pub fn rule_sentence(rule: &RuleComparison, flat: &FlatPart, currency: &str) -> String {
    let extra = &rule.extra_per_100_hours;
    let cost = format!(
        "every {} hours costs {} more per 100 meter hours than the best ({})",
        hours(rule.rule),
        whole_money(extra.point, currency),
        whole_money_range(extra, currency),
    );
    let cost = match &rule.extra_per_year {
        Some(year) => format!(
            "{cost}, {} a year at this machine's pace ({})",
            whole_money(year.point, currency),
            whole_money_range(year, currency)
        ),
        None => cost,
    };
    let dearer = whole_percent(rule.chance_dearer);
    if flat.holds(rule.rule) {
        format!("{cost}: within 2 % of the least")
    } else if rule.is_surely_dearer() {
        format!("{cost}: worth changing, {dearer} sure")
    } else {
        format!("{cost}: perhaps worth changing, {dearer} chance that it is dearer")
    }
}

/// How far the interval may move at next to no cost.
pub fn flat_sentence(flat: &FlatPart) -> String {
    match flat.to {
        Some(to) => format!(
            "any interval from {} to {} hours costs within 2 % of the least",
            hours(flat.from),
            hours(to)
        ),
        None => format!(
            "any interval from {} hours up, and running until the cut calls for a change, costs within 2 % of the least",
            hours(flat.from)
        ),
    }
}

/// Changing at the stops for service.
pub fn service_sentence(service: &ServiceInterval, currency: &str) -> String {
    let stops = match service.every_stops {
        1 => "every stop".to_string(),
        2 => "every second stop".to_string(),
        3 => "every third stop".to_string(),
        many => format!("one stop in {many}"),
    };
    format!(
        "{stops}, {} hours, costs {} more per 100 meter hours ({})",
        hours(service.interval),
        whole_money(service.extra_per_100_hours.point, currency),
        whole_money_range(&service.extra_per_100_hours, currency)
    )
}

/// What an answer stands on, and what would narrow it.
pub fn evidence_sentence(machine: &MachineInterval, answer: &IntervalAnswer) -> String {
    let edges = match machine.edges {
        0 => "No finished edge of this machine is in the log yet".to_string(),
        1 => "One finished edge of this machine".to_string(),
        many => format!("{many} finished edges of this machine"),
    };
    let defaults = format!(
        "{edges}. {} of what is known of edge life is still the default",
        capital(&whole_percent(answer.share_from_defaults))
    );
    let further = match machine.further_changes {
        Some(0) => "its likely range is already narrow".to_string(),
        Some(1) => "one more graded change should narrow its likely range until the upper end is half again the lower".to_string(),
        Some(count) => format!(
            "about {count} more graded changes should narrow its likely range until the upper end is half again the lower"
        ),
        None => "more grades would narrow its likely range only slowly".to_string(),
    };
    format!("{defaults}; {further}.")
}

/// From this share of dull edges on people ask why changing sooner does not pay. Basis: judged.
const MANY_DULL: f64 = 0.25;

/// How many edges are dull by then, and why that pays where they are many.
pub fn dull_sentence(past_dull: &Estimate<Probability>) -> String {
    let share = format!(
        "{} of edges ({})",
        whole_percent(past_dull.point),
        percent_range(past_dull)
    );
    if past_dull.point.get() < MANY_DULL {
        return share;
    }
    format!(
        "{share}. Dull means that chips and fuel suffer, not that it stops cutting: up to here, running dull edges costs less than changing sooner"
    )
}

//! The knife sets: what to do with each now, and how much steel each has left.

pub mod plot;
mod table;

use super::ReportPage;
use super::page::{ended, figure, sentence};
use crate::decisions::RankedAction;
use crate::views::format::{capital, whole_percent};
use crate::views::{KnivesReport, SetKnives};
use maud::{Markup, html};

pub fn part(report: &ReportPage) -> Markup {
    let knives = &report.knives;
    html! {
        section #knives {
            h2 { "Knife sets: what to do now" }
            @if knives.sets.is_empty() {
                p { "The log has no knife sets yet; add one: keenspan add set." }
            } @else {
                p { a href="#hands" { "Before hands go near knives" } ", further down, comes before all of this." }
                p { (CHOICES_MEAN) }
            }
            @for (machine, sets) in by_machine(report) { (of_machine(machine, &sets, knives)) }
        }
    }
}

/// Sets by the machine that they are for, machines in the order of the page.
pub fn by_machine(report: &ReportPage) -> Vec<(&str, Vec<&SetKnives>)> {
    let machines = report.interval.machines.iter();
    let own = |machine: &str| {
        let sets = report.knives.sets.iter();
        sets.filter(|set| set.answered_for == machine).collect()
    };
    machines
        .map(|it| (it.machine.as_str(), own(&it.machine)))
        .filter(|(_, sets): &(&str, Vec<&SetKnives>)| !sets.is_empty())
        .collect()
}

fn of_machine(machine: &str, sets: &[&SetKnives], knives: &KnivesReport) -> Markup {
    html! {
        h3 { "Steel left on the sets for " (machine) }
        @match plot::stock(machine, sets, knives.units) {
            Some(plot) => (figure(
                &plot,
                "To scale. Full: steel that the next grind leaves; open frame: what that grind takes; grey: below \
                 the discard width, never to be used. Grinds left include the next one.",
            )),
            None => p { "No widths to draw: measure the knives and write their widths into sets.csv, and the \
                         discard width of the manual into machines.csv." },
        }
        (table::stock(machine, sets, knives.units))
        @for set in sets { (one(set, knives)) }
    }
}

fn one(set: &SetKnives, knives: &KnivesReport) -> Markup {
    let figures = set.figures(knives.units);
    html! {
        div.set {
            h4 { bdi { (set.set) } ": " (set.advice_words()) }
            @for words in set.must_not_words(knives.units) { p.alarm { (sentence(&words)) } }
            @for caveat in set.caveats() { p.alarm { (sentence(&caveat)) } }
            @if set.answer.is_some() {
                p {
                    (sentence(&set.place())) " "
                    @for (label, said) in &figures { b { (capital(label)) ":" } " " (ended(said)) " " }
                    b { "Fresh edges beside it:" } " " (set.fresh_edges) "."
                }
            }
            @if let Some(choices) = choices(set, &knives.standing.currency) {
                p { b { "Choices (chance of being best):" } " " (choices) }
            }
        }
    }
}

/// What the costs beside the choices are.
const CHOICES_MEAN: &str = "Of the choices for a set, the advised one stands first, with what knives and dull running cost in \
     the long run, for as much work as wears an edge like 100 hours in clean, green hardwood; each other one with what it costs more than the best, once, over the knives' life.";

/// Every action that is allowed, what it costs, its chance of being the cheapest, and which are as good.
fn choices(set: &SetKnives, currency: &str) -> Option<String> {
    let answer = set.answer.as_ref()?;
    let of_action = |(ranked, cost): (&RankedAction, String)| {
        let words = set.action_words(ranked.action);
        format!("{words}: {cost}, {}", whole_percent(ranked.chance_best))
    };
    let actions = answer.actions.iter().zip(set.costs(currency));
    let each: Vec<String> = actions.map(of_action).collect();
    if each.is_empty() {
        return None;
    }
    let as_good: Vec<String> = answer.as_good().map(|it| set.action_words(it)).collect();
    let also = match as_good.as_slice() {
        [] => String::new(),
        words => format!(
            " As good, within 2 % of the least cost: {}.",
            words.join(", ")
        ),
    };
    Some(format!("{}.{also}", each.join("; ")))
}

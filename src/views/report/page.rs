//! The page itself.

use super::{MachineDull, MachineLine, ReportPage};
use super::{drift, knives, plots, tables};
use crate::decisions::IntervalAnswer;
use crate::quantities::Estimate;
use crate::views::due::{DueMark, MachineDue};
use crate::views::fit::quantity_name;
use crate::views::format::{capital, significant};
use crate::views::interval::{MachineInterval, Recommended, year};
use crate::views::svg::Plot;
use crate::wear::{Learned, QuantityUnit, StrikeRate};
use maud::{DOCTYPE, Markup, PreEscaped, html};
use rayon::prelude::*;

const STYLE: &str = include_str!("style.css");

pub(super) fn page(report: &ReportPage) -> Markup {
    html! {
        (DOCTYPE)
        html lang="en" {
            head {
                meta charset="utf-8";
                meta name="viewport" content="width=device-width, initial-scale=1";
                meta name="generator" content="keenspan report";
                title { "Knife report" @if !report.shop.is_empty() { ", " (report.shop) } }
                style { (PreEscaped(STYLE)) }
            }
            body {
                main {
                    (opening(report))
                    @for part in machine_parts(report) { (part) }
                    (knives::part(report))
                    (drift::part(&report.drift.charts))
                    (taught(report))
                    (closing(report))
                }
            }
        }
    }
}

fn machine_parts(report: &ReportPage) -> Vec<Markup> {
    let machines = report.interval.machines.par_iter().enumerate();
    let part = |(place, machine)| machine_part(report, machine, place);
    machines.map(part).collect()
}

fn opening(report: &ReportPage) -> Markup {
    html! {
        h1 {
            @if report.shop.is_empty() { "Knife report" } @else { (report.shop) ": knife report" }
            @if !report.last_day.is_empty() { ", log up to " (report.last_day) }
        }
        @for alarm in report.interval.standing.alarms() { p.alarm { (alarm) } }
        @for chart in report.drift.charts.iter().filter(|chart| chart.runs()) {
            p.alarm { a href="#drift" { (sentence(&chart.headline())) } }
        }
        @if report.interval.machines.len() > 1 { (tables::at_a_glance(report)) }
        nav {
            "Also here: " a href="#knives" { "knife sets" } ", " a href="#drift" { "whether edges last" } ", "
            a href="#taught" { "what the log has taught" } ", " a href="#hands" { "before hands go near knives" } "."
        }
    }
}

fn machine_part(report: &ReportPage, machine: &MachineInterval, place: usize) -> Markup {
    let name = &machine.machine;
    let due = report.due.machines.iter().find(|due| due.machine == *name);
    let dull = report.dull.iter().find(|dull| dull.machine == *name);
    let line = report.lines.iter().find(|line| line.machine == *name);
    html! {
        section id=(tables::place_of(place)) {
            h2 { (machine.headline()) }
            p.answer { (sentence(&machine.range_sentence(&report.interval.standing.currency))) }
            @for caveat in machine.answer.caveats() { p.alarm { (sentence(&caveat.to_string())) } }
            @if let Some(due) = due { p.answer { (sentence(&due.headline())) } }
            @for caveat in due.into_iter().flat_map(MachineDue::seen) { p.alarm { (sentence(&caveat.to_string())) } }
            @if let Some(words) = due.and_then(|due| unlike(due, machine)) { p { (words) } }
            @if let Recommended::At(answer) = &machine.answer {
                (lines_part(machine, answer, report))
            }
            (year_part(machine, report))
            @if let Recommended::At(answer) = &machine.answer {
                (cost_part(machine, answer, report))
            }
            h3 { "By wood and dirt" }
            (tables::by_wood(name, &machine.by_wood))
            @if let Some(dull) = dull { (dull_part(dull)) }
            @if let Some(line) = line { (line_part(report, line)) }
        }
    }
}

fn lines_part(machine: &MachineInterval, answer: &IntervalAnswer, report: &ReportPage) -> Markup {
    html! {
        @for (label, said) in machine.lines(answer, &report.interval) {
            p { b { (capital(label)) ": " } (ended(&said)) }
        }
    }
}

/// What the mark is for, where that is not what the interval above it is for: an owner would take one of them for wrong.
fn unlike(due: &MachineDue, machine: &MachineInterval) -> Option<String> {
    let DueMark::Known(edge) = &due.mark else {
        return None;
    };
    let (mark, interval) = (&edge.ahead.first()?.conditions, &machine.conditions);
    (mark != interval).then(|| format!("The mark is for work {mark}."))
}

/// The year's budget: what it comes to, and its parts behind a fold.
fn year_part(machine: &MachineInterval, report: &ReportPage) -> Markup {
    let currency = &report.interval.standing.currency;
    let Some(years) = &machine.year else {
        return html! { p { b { "A year: " } (sentence(&year::unknown("report --out FILE.html"))) } };
    };
    html! {
        p { b { "A year: " } (ended(&year::in_all(years, currency))) }
        (tables::year(years, currency))
    }
}

fn cost_part(machine: &MachineInterval, answer: &IntervalAnswer, report: &ReportPage) -> Markup {
    let (name, currency) = (&machine.machine, &report.interval.standing.currency);
    html! {
        h3 { "What an hour costs" }
        (figure(
            &plots::cost(name, answer, currency),
            "Left of the best interval, changing costs more than it saves; right of it, dull edges do. The \
             shaded stretch costs within 2 % of the least. The band holds the true cost with 90 % chance.",
        ))
        (tables::cost(name, answer, currency))
    }
}

fn dull_part(dull: &MachineDull) -> Markup {
    html! {
        h3 { "How soon edges go dull" }
        (figure(
            &plots::dull(dull),
            "Each line rises from no edge dull to all, steeply where edges are alike. Bands are 90 % \
             bounds.",
        ))
        (tables::dull(dull))
    }
}

fn line_part(report: &ReportPage, line: &MachineLine) -> Markup {
    html! {
        @if let Some(plot) = plots::time_line(line) {
            h3 { "Every edge so far" }
            (wide_figure(
                &plot,
                "One row a set, its edges one above the other, from the reading at which an edge went in to that at \
                 which it came out. Open circle: keen or working; triangle: dull; square: overrun; cross: struck; \
                 grey dot: nobody said. Upright tick: where it would have been due, in the wood that it met.",
            ))
            (tables::time_line(line, tables::reads_tenths(report, &line.machine)))
        }
    }
}

fn taught(report: &ReportPage) -> Markup {
    let all: Vec<&Learned> = report.learned.iter().collect();
    html! {
        section #taught {
            h2 { "What your log has taught" }
            @if let Some(plot) = learned_plot(&report.learned) {
                (figure(
                    &plot,
                    "Upper bars, open circles: what was held before your log, from common practice. Lower bars, \
                     full circles: with your log. The shorter the lower bar, the more is known. For dirt, frost \
                     and wood: how many times as fast edges wear as in clean, green hardwood. For machines, sets \
                     and grinders: how many times as long edges last as on the average one.",
                ))
            }
            (tables::learned(&all))
            (strikes(&report.strikes))
        }
    }
}

pub fn learned_plot(learned: &[Learned]) -> Option<Plot> {
    let is_ratio = |it: &&Learned| it.quantity.unit() == QuantityUnit::Times;
    let times: Vec<&Learned> = learned.iter().filter(is_ratio).collect();
    let names: Vec<String> = times.iter().map(|it| quantity_name(&it.quantity)).collect();
    plots::learned(&times, &names)
}

fn strikes(strikes: &[StrikeRate]) -> Markup {
    let per_hundred = |it: &Estimate<f64>| {
        let [point, lower, upper] = [it.point, it.lower, it.upper].map(|x| significant(x, 2));
        format!("{point} ({lower} to {upper})")
    };
    let row = |rate: &StrikeRate| {
        vec![
            rate.dirt.to_string(),
            per_hundred(&rate.before),
            per_hundred(&rate.after),
        ]
    };
    html! {
        h3 { "Metal and stone" }
        (tables::table(
            "Strikes per 100 meter hours, with 90 % bounds",
            &["wood", "before your log", "with it"],
            strikes.iter().map(row).collect(),
        ))
    }
}

fn closing(report: &ReportPage) -> Markup {
    let standing = &report.interval.standing;
    html! {
        section.keep #hands {
            h2 { "Before hands go near knives" }
            ul { @for caution in standing.cautions { li { (caution) } } }
        }
        section {
            h2 { "What this stands on" }
            p { (sentence(&standing.costs_sentence())) }
            p { (sentence(&standing.log_sentence())) }
            p { "Seed of the random numbers: " (standing.seed) "." }
        }
    }
}

pub fn figure(plot: &Plot, reading: &str) -> Markup {
    html! {
        figure {
            (PreEscaped(plot.svg()))
            figcaption { (reading) }
        }
    }
}

/// A picture too wide for a phone, which keeps its width there and is drawn sideways.
fn wide_figure(plot: &Plot, reading: &str) -> Markup {
    html! {
        figure {
            div.sideways tabindex="0" role="region" aria-label=(plot.description) { (PreEscaped(plot.svg())) }
            figcaption { span.only-phone { "Swipe the picture sideways for the rest. " } (reading) }
        }
    }
}

/// A sentence begins with a large letter and ends with a full stop.
pub fn sentence(words: &str) -> String {
    ended(&capital(words))
}

pub fn ended(words: &str) -> String {
    if words.ends_with('.') {
        words.to_string()
    } else {
        format!("{words}.")
    }
}

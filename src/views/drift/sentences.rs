//! The sentences of the answer.

use super::{DriftChart, EdgeLabel};
use crate::decisions::{Carrier, DriftAnswer, DriftVerdict, Factor, SchemeFigures, Shift, Side};
use crate::quantities::Estimate;
use crate::views::format::{per_cent, whole_percent};

/// From this chance on one thing is named as what carries a shift. Basis: likelier than not.
const NAMED: f64 = 0.5;
/// Below this chance nothing is said of a suspect.
const WORTH_NAMING: f64 = 0.05;
/// Most suspects named.
const MOST_NAMED: usize = 3;

/// How lives run, in the words of a heading.
pub fn verdict_words(chart: &DriftChart) -> String {
    match (chart.answer.verdict, chart.shown()) {
        (DriftVerdict::NoSign, _) | (_, None) if chart.is_short() => {
            "too few edges yet to tell whether they last as long as they should".to_string()
        }
        (DriftVerdict::NoSign, _) | (_, None) => {
            "no sign that edges last shorter or longer than they should".to_string()
        }
        (_, Some(shift)) => shift_words(chart, shift),
    }
}

/// Whose edges run short or long and since when; or that they did for a time.
pub fn shift_words(chart: &DriftChart, shift: &Shift) -> String {
    let (whose, word) = (whose(shift), word(shift.side));
    if shift.last.is_some() {
        return format!("{whose} ran {word} for a time, and no longer do");
    }
    match chart.label(shift.first.point).map(when) {
        Some(day) => format!("{whose} run {word} since about {day}"),
        None => format!("{whose} run {word}"),
    }
}

/// Whose edges.
fn whose(shift: &Shift) -> String {
    match &shift.group {
        None => "edges".to_string(),
        Some(group) if group.factor == Factor::Grinder => {
            format!("edges ground by {}", group.level)
        }
        Some(group) => format!("edges of {}", group.level),
    }
}

fn word(side: Side) -> &'static str {
    match side {
        Side::Longer => "long",
        Side::Shorter => "short",
    }
}

/// The day on which an edge came out, and the meter then.
fn when(label: &EdgeLabel) -> String {
    let meter = label.meter.map(|meter| format!("meter {:.0}", meter.get()));
    match (&label.came_out, meter) {
        (Some(day), Some(meter)) => format!("{day} ({meter})"),
        (Some(day), None) => day.clone(),
        (None, Some(meter)) => meter,
        (None, None) => "a day that is not known".to_string(),
    }
}

/// When it began, with bounds, when it was noticed, and when it ended.
pub fn since_sentence(chart: &DriftChart, shift: &Shift) -> String {
    let day = |place: usize| {
        let label = chart.label(place);
        label.map_or_else(|| format!("edge {}", place + 1), when)
    };
    let of = chart.label(shift.first.point);
    let which = of.map_or(String::new(), |label| {
        format!(", {}'s {}, edge {}", label.machine, label.set, label.edge)
    });
    let mut sentence = format!(
        "the edge that came out on {}{which}; likely between {} and {} ({} bounds); noticed with that of {}",
        day(shift.first.point),
        day(shift.first.lower),
        day(shift.first.upper),
        per_cent(shift.first.level.get()),
        day(shift.noticed),
    );
    if let Some(last) = shift.last {
        sentence.push_str(&format!("; over with that of {}", day(last)));
    }
    sentence
}

/// By how much.
pub fn how_much_sentence(shift: &Shift) -> String {
    let edges = match shift.edges {
        1 => "this edge lasts".to_string(),
        many => format!("these {many} edges last"),
    };
    format!(
        "{edges} {} times as long as the others would, in like wood ({} bounds)",
        ratio(&shift.ratio),
        per_cent(shift.ratio.level.get()),
    )
}

fn ratio(ratio: &Estimate<f64>) -> String {
    format!(
        "{:.2} ({:.2} to {:.2})",
        ratio.point, ratio.lower, ratio.upper
    )
}

fn named(carrier: &Carrier) -> String {
    match carrier.factor {
        Factor::Dirt => format!("edges that mostly chipped {} wood", carrier.level),
        factor => format!("{factor} {}", carrier.level),
    }
}

fn edges(count: usize) -> String {
    match count {
        1 => "1 edge".to_string(),
        many => format!("{many} edges"),
    }
}

/// What carries it.
pub fn carried_sentence(shift: &Shift) -> String {
    let leading = shift.carriers.first();
    let leading = leading.filter(|carrier| carrier.chance.get() >= NAMED);
    if let Some(carrier) = leading {
        return format!(
            "{}, with a chance of {}: its {} edges since then last {} times as long as all others; chance that it is spread evenly {}",
            named(carrier),
            whole_percent(carrier.chance),
            carrier.edges,
            ratio(&carrier.ratio),
            whole_percent(shift.spread_evenly),
        );
    }
    let evenly = whole_percent(shift.spread_evenly);
    if shift.spread_evenly.get() >= NAMED {
        format!(
            "nothing alone: it is spread evenly over sets, grinders, machines and dirt, with a chance of {evenly}"
        )
    } else {
        format!("not clear yet; chance that it is spread evenly {evenly}")
    }
}

/// Other things that may carry it, or that came with it.
pub fn suspects_sentence(shift: &Shift) -> Option<String> {
    let first = shift.carriers.first();
    let said = first.filter(|carrier| carrier.chance.get() >= NAMED);
    let others = shift.carriers.iter().skip(usize::from(said.is_some()));
    let others =
        others.filter(|carrier| carrier.chance.get() >= WORTH_NAMING || carrier.came_with_it);
    let words: Vec<String> = others
        .take(MOST_NAMED)
        .map(|carrier| {
            let came = if carrier.came_with_it {
                ", which came with the change: lives cannot tell the two apart"
            } else {
                ""
            };
            format!(
                "{} ({} since then, lasting {} times as long as all others; chance {}{came})",
                named(carrier),
                edges(carrier.edges),
                ratio(&carrier.ratio),
                whole_percent(carrier.chance),
            )
        })
        .collect();
    (!words.is_empty()).then(|| words.join("; "))
}

/// What the answer stands on.
pub fn stands_on_sentence(answer: &DriftAnswer) -> String {
    match answer.edges {
        0 => "no finished edge yet".to_string(),
        1 => "one finished edge".to_string(),
        many if answer.worth.round() >= many as f64 => {
            format!("{many} finished edges, of whose ends enough was seen to tell their lives well")
        }
        many => format!(
            "{many} finished edges; of some nobody saw when they went dull, so that all of them tell as much as about {:.0} of which somebody did",
            answer.worth
        ),
    }
}

/// What would be noticed, and how often nothing would be there.
pub fn notice_sentence(scheme: &SchemeFigures) -> String {
    format!(
        "lives that fall to {:.2} times what they should be, after about {:.0} such edges; a false sign comes about once in {:.0} edges",
        scheme.clear_ratio, scheme.edges_to_notice, scheme.edges_between_false_signs,
    )
}

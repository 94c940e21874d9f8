//! The sentences of a crew lead's answer.

use crate::decisions::{Caveat, JobPlan, Leaving, OrderFound, PlannedJob, Sets};
use crate::quantities::{Estimate, MeterHours, Money, Probability};
use crate::views::UnfitSet;
use crate::views::format::{
    capital, hours, hours_with_range, percent_range, whole_money, whole_money_range, whole_percent,
};

/// Said of an edge that was struck, its set found sound since.
pub const STRUCK: &str = "The edge at work was struck and has not been ground since: how far it is worn nobody can say. The plan takes it off.";

/// Said where no edge is known to be on.
pub const MISSING: &str = "No edge is known to be on: no row of the log says which edge is at work. Look, and write down what is in (keenspan add event fitted), or fit a set before leaving; the plan fits one.";

/// The label of how many sets to take.
pub const CARRY: &str = "carry";

/// Said of a set that must not be run.
pub fn unfit(unfit: &UnfitSet) -> String {
    let sentence = format!(
        "The set at work is {}. The plan takes it off.",
        unfit.sentence()
    );
    format!("{sentence} {}", capital(&unfit.to_do()))
}

/// Above this chance something is said without an if. Basis: the level of the bounds.
const SURE: f64 = 0.9;
/// Below this chance a change before a job is not worth a line.
const HARDLY: f64 = 0.05;

fn sets(count: u32) -> String {
    match count {
        0 => "no set".to_string(),
        1 => "1 set".to_string(),
        many => format!("{many} sets"),
    }
}

pub fn take(carried: &Sets) -> String {
    match (carried.take, carried.fit_first) {
        (0, 0) => "No spare set is needed.".to_string(),
        (0, _) => "No set to take beyond the one to fit.".to_string(),
        (many, _) => format!("Take {}.", sets(many)),
    }
}

pub fn leave(plan: &JobPlan) -> &'static str {
    let taken_for_fresh = plan.caveats.contains(&Caveat::PresentEdgeUnknown);
    match plan.leave {
        Leaving::Fresh if taken_for_fresh => "The edge that is on is taken for fresh.",
        Leaving::Fresh => "A fresh edge is on.",
        Leaving::Keep { .. } => "Leave with the edge that is on.",
        Leaving::Change { .. } | Leaving::MustChange => "Change before you leave.",
        Leaving::FitFirst => "No edge is known to be on: fit one first.",
    }
}

pub fn asked(plan: &JobPlan) -> String {
    let risk = whole_percent(plan.sets.risk);
    match plan.jobs.len() {
        1 => format!("for one job, at {risk} risk of running out of fresh edges"),
        many => format!(
            "for {many} jobs in the order below, at {risk} risk of running out of fresh edges"
        ),
    }
}

/// Where the knives are changed on the way.
pub fn change_before(job: &PlannedJob) -> Option<String> {
    let chance = job.change_before.point.get();
    let from = job.change_from.map(|from| {
        format!(
            "if the edge then on has worn as in {} hours of the usual wood, or more",
            hours(from)
        )
    });
    if chance < HARDLY {
        return None;
    }
    let chance_told = whole_percent(job.change_before.point);
    Some(match from {
        Some(from) if chance < SURE => {
            format!("-> Change at the yard here {from} ({chance_told} chance that it has).")
        }
        _ => format!("-> Change at the yard here ({chance_told} of the time)."),
    })
}

fn chance_with_range(estimate: &Estimate<Probability>) -> String {
    let point = whole_percent(estimate.point);
    format!("{point} ({})", percent_range(estimate))
}

fn number_with_range(estimate: &Estimate<f64>) -> String {
    let Estimate {
        point,
        lower,
        upper,
        ..
    } = estimate;
    format!("{point:.1} ({lower:.1} to {upper:.1})")
}

fn expected(changes: &Estimate<f64>) -> String {
    if changes.upper < 0.05 {
        "under 0.1 expected on the job".to_string()
    } else {
        format!("{} expected on the job", number_with_range(changes))
    }
}

fn money_with_range(estimate: &Estimate<Money>, currency: &str) -> String {
    format!(
        "{} ({})",
        whole_money(estimate.point, currency),
        whole_money_range(estimate, currency)
    )
}

pub fn of_job(job: &PlannedJob, currency: &str) -> Vec<(&'static str, String)> {
    vec![
        (
            "wears like",
            format!(
                "{} hours of the usual wood",
                hours_with_range(&job.wears_like)
            ),
        ),
        (
            "lasts it",
            format!(
                "{} chance that the edge that begins it is still cutting at its end",
                chance_with_range(&job.lasts)
            ),
        ),
        ("changes", expected(&job.changes)),
        (
            "strike",
            format!(
                "{} chance of metal or stone",
                chance_with_range(&job.strike)
            ),
        ),
        (
            "to bid",
            format!("{} for knives", money_with_range(&job.cost, currency)),
        ),
    ]
}

pub fn of_plan(plan: &JobPlan, day: MeterHours, currency: &str) -> Vec<(&'static str, String)> {
    let mut lines = Vec::new();
    if let Some(lasts) = &plan.present_lasts {
        let what = if plan.jobs.len() > 1 {
            "first job"
        } else {
            "job"
        };
        lines.push((
            "edge on now",
            format!(
                "{} chance that it outlasts the {what} if left on: still cutting at the end, neither called nor struck",
                chance_with_range(lasts)
            ),
        ));
    }
    if let Some(sentence) = leaving(&plan.leave, currency) {
        lines.push(("leaving", sentence));
    }
    lines.push((CARRY, carry(&plan.sets)));
    if plan.jobs.len() > 1 {
        lines.push(("order", order(&plan.order, currency)));
        lines.push((
            "in all",
            format!(
                "{} changes expected, {} of them forced stops; {} chance of at least one strike",
                number_with_range(&plan.changes),
                number_with_range(&plan.forced_stops),
                chance_with_range(&plan.strike)
            ),
        ));
        lines.push((
            "bid in all",
            format!("{} for knives", money_with_range(&plan.cost, currency)),
        ));
    }
    lines.push((
        "in the bid",
        "changes, grinding, knives, forced stops, strikes, extra fuel and waiting, and the wear that the edge left over has more than the one you leave with (less, if fresher)".to_string(),
    ));
    lines.push(("rule", policy(plan, day)));
    lines
}

fn leaving(leave: &Leaving, currency: &str) -> Option<String> {
    let (what, against, saves, chance) = match leave {
        Leaving::Fresh | Leaving::MustChange | Leaving::FitFirst => return None,
        Leaving::Keep {
            saves,
            chance_cheaper,
        } => ("leaving as it is", "changing first", saves, chance_cheaper),
        Leaving::Change {
            saves,
            chance_cheaper,
        } => ("changing first", "leaving as it is", saves, chance_cheaper),
    };
    Some(format!(
        "{what} saves {} against {against}, {} sure",
        money_with_range(saves, currency),
        whole_percent(*chance)
    ))
}

fn carry(carried: &Sets) -> String {
    let short = whole_percent(carried.chance_short);
    let with = match carried.take {
        0 => "beyond what is on the machine when it leaves, none".to_string(),
        count => format!(
            "{} beyond what is on the machine when it leaves",
            sets(count)
        ),
    };
    let with = match carried.fit_first {
        0 => with,
        count => format!("{} to fit before leaving; {with}", sets(count)),
    };
    match carried.chance_short_with_one_less {
        Some(less) => format!(
            "{with}: {short} chance of running out of fresh edges, {} with one set less. A strike is taken to cost the whole set",
            whole_percent(less)
        ),
        None => format!(
            "{with}: {short} chance of running out of fresh edges. A strike is taken to cost the whole set"
        ),
    }
}

fn order(found: &OrderFound, currency: &str) -> String {
    let how = if found.exact {
        "every order considered"
    } else {
        "a good order found by trying, not surely the best (0.07 % dearer on average over forty invented lists, 0.4 % at worst)"
    };
    if found.changed {
        format!(
            "{how}: this one saves {} against the order written, {} sure",
            money_with_range(&found.saves, currency),
            whole_percent(found.chance_cheaper)
        )
    } else {
        format!("{how}: none is cheaper than the order written")
    }
}

/// What the plan takes the crew to do.
fn policy(plan: &JobPlan, day: MeterHours) -> String {
    let forced = "on the job knives are changed when the cut calls for it or after a strike";
    if plan.changed_on_plan {
        format!(
            "{forced}; on plan at the yard, and in the evening of a day of {} meter hours once an edge has worn as in {} hours of the usual wood",
            hours(day),
            hours(plan.interval)
        )
    } else {
        format!("{forced}; at these costs no planned change pays, but at the yard it may")
    }
}

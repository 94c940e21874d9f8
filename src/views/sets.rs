//! Sets in rotation: how many to own.

use super::format::{
    capital, count_with_range, hours, percent_range, set_in, whole_money, whole_money_range,
    whole_percent, wrapped,
};
use super::standing::WIDTH;
use super::{Standing, UnfitSet, View};
use crate::decisions::{MustNot, Rotation, RotationQuestion};
use crate::lives::SetsOfMachine;
use serde_json::{Map, Value, json};

/// The answer for one machine.
#[derive(Debug, Clone, PartialEq)]
pub struct MachineSets {
    /// Machine, by name.
    pub machine: String,
    /// Knives in a set.
    pub knives: u32,
    /// What wood the answer is for, in words.
    pub conditions: String,
    /// What was asked.
    pub question: RotationQuestion,
    /// The answer.
    pub rotation: Rotation,
    /// What the log has.
    pub owned: SetsOfMachine,
    /// What it has of sets that must never be run in it again.
    pub unfit: Vec<UnfitSet>,
    /// Of the sets that it can count on, those that must not be run before they are looked over or ground.
    pub waiting: Vec<UnfitSet>,
}

/// What `sets` answers.
#[derive(Debug, Clone, PartialEq)]
pub struct SetsReport {
    /// One answer a machine, in the order of the log.
    pub machines: Vec<MachineSets>,
    /// Sets that all of them need.
    pub needed: u32,
    /// Sets missing over all of them.
    pub short: u32,
    /// What the answers stand on.
    pub standing: Standing,
}

impl MachineSets {
    /// Sets missing.
    pub fn short_of(&self) -> u32 {
        self.rotation.short_of(self.owned.in_use.len())
    }

    fn text(&self, currency: &str) -> String {
        let rotation = &self.rotation;
        let when = match self.question.interval {
            Some(interval) => format!("edges changed every {} hours", hours(interval)),
            None => "edges changed when the cut calls".to_string(),
        };
        let asked = format!(
            "for {} days at the sharpener, {when}, {}",
            self.question.turnaround_days, self.conditions
        );
        let mut text = format!(
            "{}: own {} matched {} of {} knives\n{}",
            self.machine,
            rotation.sets.point,
            plural(rotation.sets.point, "set"),
            self.knives,
            set_in(&asked, WIDTH)
        );
        for caveat in &rotation.caveats {
            text.push_str(&wrapped("!", &format!("{caveat}."), WIDTH));
        }
        text.push('\n');
        for (label, sentence) in self.lines(currency) {
            text.push_str(&wrapped(label, &sentence, WIDTH));
        }
        text
    }

    fn lines(&self, currency: &str) -> Vec<(&'static str, String)> {
        let rotation = &self.rotation;
        let year = &rotation.year;
        vec![
            ("in the log", self.owned_sentence(currency)),
            ("risk", self.risk_sentence()),
            (
                "a year",
                format!(
                    "{} changes of an edge and {} sets sent away in {} meter hours; {} edges of single knives ground, {} knives bought",
                    count_with_range(&year.changes),
                    count_with_range(&rotation.sets_away_a_year),
                    hours(year.hours),
                    count_with_range(&year.edges_ground),
                    count_with_range(&year.knives_bought),
                ),
            ),
            (
                "cost",
                format!(
                    "{} a year ({}) for changing, grinding and new knives; with stops, strikes and worn edges {} ({})",
                    whole_money(rotation.upkeep_a_year.point, currency),
                    whole_money_range(&rotation.upkeep_a_year, currency),
                    whole_money(year.total.point, currency),
                    whole_money_range(&year.total, currency),
                ),
            ),
            (
                "stands on",
                format!(
                    "{} finished {} of this machine. {} of what is known of edge life is still the default",
                    self.question.evidence.edges_finished,
                    if self.question.evidence.edges_finished == 1 {
                        "edge"
                    } else {
                        "edges"
                    },
                    capital(&whole_percent(rotation.share_from_defaults))
                ),
            ),
        ]
    }

    /// What there is, and whether it is enough.
    fn owned_sentence(&self, currency: &str) -> String {
        let have = self.owned.in_use.len();
        let listed = match have {
            0 => "no set that has worked in it".to_string(),
            _ => format!(
                "{have} {} that worked in it ({})",
                if have == 1 { "set" } else { "sets" },
                self.owned.in_use.join(", ")
            ),
        };
        let verdict = match self.short_of() {
            0 => "enough".to_string(),
            short => format!(
                "{} short; a new set costs about {}",
                in_words(short),
                whole_money(self.rotation.another_set, currency)
            ),
        };
        let mut sentence = format!("{listed}{}: {verdict}", self.waiting_clause());
        if !self.owned.never_fitted.is_empty() {
            let names = self.owned.never_fitted.join(", ");
            sentence.push_str(&format!(". Not counted, never fitted: {names}"));
        }
        if !self.unfit.is_empty() {
            let why: Vec<String> = self.unfit.iter().map(UnfitSet::why).collect();
            sentence.push_str(&format!(". Not counted, not to be run: {}", why.join("; ")));
        }
        sentence + ". Count only matched knives that a qualified person has found sound"
    }

    /// How many of those in use must not be run yet, and what for.
    fn waiting_clause(&self) -> String {
        let in_use = |set: &&UnfitSet| self.owned.in_use.contains(&set.set);
        let looked_at = |set: &UnfitSet| set.must_not.iter().any(MustNot::waits_for_a_look);
        let waiting = self.waiting.iter().filter(in_use);
        let (look, grind): (Vec<_>, Vec<_>) = waiting.partition(|set| looked_at(set));
        let clause = |count: usize, what: &str| match count {
            0 => String::new(),
            1 => format!(", but 1 of them waits for {what}"),
            many => format!(", but {many} of them wait for {what}"),
        };
        clause(look.len(), "an inspection")
            + &clause(grind.len(), "a grind that matches its knives")
    }

    /// The chance of standing still, for two sets up to those needed.
    fn risk_sentence(&self) -> String {
        let rows = self.rotation.by_sets.iter();
        let rows = rows.filter(|row| row.sets > 1 && row.sets <= self.rotation.sets.point);
        let rows: Vec<String> = rows
            .map(|row| {
                format!(
                    "{} with {} sets ({})",
                    whole_percent(row.chance_none_ready.point),
                    row.sets,
                    percent_range(&row.chance_none_ready)
                )
            })
            .collect();
        format!(
            "that a used-up set finds none ready: {}; at most {} is borne",
            if rows.is_empty() {
                "none, as knives are ground while the machine stands anyway".to_string()
            } else {
                rows.join(", ")
            },
            whole_percent(self.question.risk)
        )
    }

    fn too_narrow(&self) -> Vec<&str> {
        let narrow = |unfit: &&UnfitSet| {
            let mut reasons = unfit.must_not.iter();
            reasons.any(|why| matches!(why, MustNot::RunUnderWidth { .. }))
        };
        let names = self.unfit.iter().filter(narrow);
        names.map(|unfit| unfit.set.as_str()).collect()
    }

    fn must_not_run(sets: &[UnfitSet]) -> Value {
        let sets = sets.iter();
        sets.map(|unfit| {
            json!({
                "set": unfit.set,
                "must_not_run": unfit.must_not,
                "must_not_run_in_words": unfit.reasons(),
            })
        })
        .collect()
    }

    fn json(&self) -> Value {
        let mut fields = json!(self.rotation);
        if let Value::Object(fields) = &mut fields {
            fields.extend([
                ("machine".to_string(), json!(self.machine)),
                ("knives".to_string(), json!(self.knives)),
                ("conditions".to_string(), json!(self.conditions)),
                ("interval".to_string(), json!(self.question.interval)),
                (
                    "turnaround_days".to_string(),
                    json!(self.question.turnaround_days),
                ),
                ("risk".to_string(), json!(self.question.risk)),
                (
                    "edges_finished".to_string(),
                    json!(self.question.evidence.edges_finished),
                ),
                ("in_use".to_string(), json!(self.owned.in_use)),
                ("never_fitted".to_string(), json!(self.owned.never_fitted)),
                ("too_narrow".to_string(), json!(self.too_narrow())),
                ("must_not_run".to_string(), Self::must_not_run(&self.unfit)),
                (
                    "must_not_run_yet".to_string(),
                    Self::must_not_run(&self.waiting),
                ),
                ("short".to_string(), json!(self.short_of())),
            ]);
        }
        fields
    }
}

impl View for SetsReport {
    fn text(&self) -> String {
        let currency = &self.standing.currency;
        let machines = self.machines.iter();
        let machines: String = machines
            .map(|machine| machine.text(currency) + "\n")
            .collect();
        let all = if self.machines.len() > 1 {
            let verdict = match self.short {
                0 => "enough in the log for each machine".to_string(),
                short => format!("{} short", in_words(short)),
            };
            format!("All machines: {} sets; {verdict}\n\n", self.needed)
        } else {
            String::new()
        };
        self.standing.head() + &machines + &all + &self.standing.foot()
    }

    fn json(&self) -> Map<String, Value> {
        let machines = self.machines.iter().map(MachineSets::json);
        let mut fields = self.standing.fields("sets", machines.collect());
        fields.insert("sets_in_all".to_string(), json!(self.needed));
        fields.insert("short_in_all".to_string(), json!(self.short));
        fields
    }

    fn warnings(&self) -> Vec<String> {
        let caveats = self.machines.iter().flat_map(|machine| {
            let said = |caveat| format!("{}: {caveat}", machine.machine);
            machine.rotation.caveats.iter().map(said)
        });
        self.standing.alarms().into_iter().chain(caveats).collect()
    }
}

fn in_words(count: u32) -> String {
    match count {
        1 => "one".to_string(),
        2 => "two".to_string(),
        3 => "three".to_string(),
        many => many.to_string(),
    }
}

fn plural(count: u32, word: &str) -> String {
    if count == 1 {
        word.to_string()
    } else {
        format!("{word}s")
    }
}

//! What a crew's log has taught, how far to trust it, and what would teach more.

mod habits;
mod health;
mod sentences;
mod table;
#[cfg(test)]
mod tests;

pub(super) use sentences::name as quantity_name;
pub(super) use table::unit_word;

use super::View;
use super::adequacy::AdequacyReport;
use super::format::{rows_set_aside, set_in, wrapped};
use crate::lives::Tally;
use crate::quantities::MeterHours;
use crate::wear::{Family, HabitRanges, Health, Learned, Quantity, StrikeRate};
use serde_json::{Map, Value, json};

/// Widest line of the answer.
const WIDTH: usize = 78;

/// What each habit of looking is expected to bring on one machine.
#[derive(Debug, Clone, PartialEq)]
pub struct MachineHabits {
    /// Machine, by name.
    pub machine: String,
    /// In what wood, in words.
    pub conditions: String,
    /// Changed at this many meter hours.
    pub interval: MeterHours,
    /// What is expected; `None` where the fit has no top to start from.
    pub ranges: Option<HabitRanges>,
}

/// What `fit` answers.
#[derive(Debug, Clone, PartialEq)]
pub struct FitReport {
    /// Every quantity that the log could teach.
    pub learned: Vec<Learned>,
    /// Strikes by class of dirt.
    pub strikes: Vec<StrikeRate>,
    /// Law of life.
    pub family: Family,
    /// How the answer was found, and how far it can be trusted.
    pub health: Health,
    /// Chains that are run where it comes to that.
    pub chains: usize,
    /// What would teach most, machine by machine.
    pub habits: Vec<MachineHabits>,
    /// How well the model fits; absent without edges.
    pub adequacy: Option<AdequacyReport>,
    /// What became of the edges in the log.
    pub tally: Tally,
    /// Rows that could not be read, by file.
    pub rows_set_aside: Vec<(String, usize)>,
    /// Start of the random numbers.
    pub seed: u64,
    /// What is said wherever knives are handled.
    pub cautions: &'static [&'static str],
}

impl FitReport {
    /// What must be seen before the answer.
    fn alarms(&self) -> Vec<String> {
        let own = self.tally.alarms().into_iter();
        let mut alarms: Vec<String> = own.map(|alarm| alarm.words).collect();
        alarms.extend(rows_set_aside(&self.rows_set_aside));
        alarms
    }

    fn taught(&self) -> String {
        let (defaults, learned): (Vec<&Learned>, Vec<&Learned>) = self
            .learned
            .iter()
            .partition(|it| it.is_still_the_default());
        let mut text = String::new();
        if learned.is_empty() {
            let nothing = "Your log has taught next to nothing yet: what follows is common practice, or your prior pack.";
            text.push_str(&set_in(nothing, WIDTH));
        }
        for together in learned.chunk_by(|a, b| grouping(a).is_some() && grouping(a) == grouping(b))
        {
            let said = match together {
                [it] if grouping(it).is_none() => Some(sentences::taught(it)),
                levels => sentences::levels(levels),
            };
            text.extend(said.map(|said| wrapped("-", &said, WIDTH)));
        }
        if !defaults.is_empty() {
            let names: Vec<String> = defaults
                .iter()
                .map(|it| sentences::name(&it.quantity))
                .collect();
            let line = format!("still the default: {}", names.join(", "));
            text.push_str(&wrapped("-", &line, WIDTH));
        }
        text
    }

    fn edges(&self) -> String {
        let tally = &self.tally;
        let mut text = set_in(
            &format!(
                "Edges: {} in the log, {} used",
                tally.edges_found, tally.edges_used
            ),
            WIDTH,
        );
        for aside in &tally.set_aside {
            text.push_str(&wrapped("-", &format!("set aside: {aside}."), WIDTH));
        }
        text
    }
}

/// The grouping that a level belongs to.
fn grouping(it: &Learned) -> Option<&str> {
    match &it.quantity {
        Quantity::GroupEffect { grouping, .. } => Some(grouping),
        _ => None,
    }
}

impl View for FitReport {
    fn text(&self) -> String {
        let mut text = String::new();
        for alarm in self.alarms() {
            text.push_str(&wrapped("!", &alarm, WIDTH));
        }
        if !text.is_empty() {
            text.push('\n');
        }
        text.push_str("What your log has taught (in brackets 90 % bounds: they should hold the truth\n9 times in 10)\n");
        text.push_str(&self.taught());
        text.push_str("\nIn figures\n");
        text.push_str(&table::quantities(&self.learned));
        text.push_str("\nMetal and stone, apart from wear: strikes expected in 100 meter hours\n");
        text.push_str(&table::strikes(&self.strikes));
        text.push_str("\nHow far to trust this\n");
        text.push_str(&health::text(&self.health, self.chains));
        text.push_str(&self.edges());
        text.push_str(&set_in(&format!("Seed: {}", self.seed), WIDTH));
        if let Some(adequacy) = &self.adequacy {
            text.push_str("\nHow well the fitted curve of edge lives holds\n");
            text.push_str(&adequacy.text());
        }
        if !self.habits.is_empty() {
            text.push_str("\nWhat would teach most\n");
            for machine in &self.habits {
                text.push_str(&habits::text(machine));
            }
            text.push_str("\nWhen you look at knives or change them:\n");
            for caution in self.cautions {
                text.push_str(&wrapped("-", caution, WIDTH));
            }
        }
        text
    }

    fn json(&self) -> Map<String, Value> {
        let is_group = |it: &&Learned| matches!(it.quantity, Quantity::GroupEffect { .. });
        let learned = self.learned.iter().filter(|it| !is_group(it));
        let groups = self.learned.iter().filter(is_group);
        let tally = &self.tally;
        let aside = tally.set_aside.iter().map(
            |aside| json!({ "edge": aside.edge.to_string(), "reason": aside.reason.to_string() }),
        );
        let mut fields = Map::from_iter([
            (
                "learned".to_string(),
                learned.map(table::learned_json).collect(),
            ),
            (
                "groups".to_string(),
                groups.map(table::group_json).collect(),
            ),
            (
                "strikes".to_string(),
                self.strikes.iter().map(table::strike_json).collect(),
            ),
            ("family".to_string(), json!(self.family)),
            ("health".to_string(), json!(self.health)),
            (
                "habits".to_string(),
                self.habits.iter().map(habits::json).collect(),
            ),
            (
                "edges".to_string(),
                json!({
                    "found": tally.edges_found,
                    "used": tally.edges_used,
                    "set_aside": aside.collect::<Vec<Value>>(),
                }),
            ),
            ("seed".to_string(), json!(self.seed)),
            ("cautions".to_string(), json!(self.cautions)),
        ]);
        fields.extend(self.adequacy.iter().flat_map(View::json));
        fields
    }

    fn warnings(&self) -> Vec<String> {
        let doubts = self.health.doubts.iter().map(ToString::to_string);
        let adequacy = self.adequacy.iter().flat_map(View::warnings);
        self.alarms()
            .into_iter()
            .chain(doubts)
            .chain(adequacy)
            .collect()
    }
}

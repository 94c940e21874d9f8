//! How each knife set stands when the log ends.

use super::damage::Doubt;
use super::fleet::Fleet;
use super::note::Record;
use super::open_life::OpenLife;
use super::shop::{Seat, SetHistory, Shop};
use super::{SAME_PLACE, hours};
use crate::logbook::{KnifeSet, Logbook, Machine};
use crate::quantities::{Grade, MeterHours, Width};
use jiff::civil::Date;
use std::collections::BTreeMap;

/// One knife set when the log ends.
#[derive(Debug, Clone, PartialEq)]
pub struct SetState {
    /// Knife set, by name.
    pub set: String,
    /// Where it is.
    pub place: SetPlace,
    /// The machine that it works in: the one it is in or was in last, else the first by name that carries
    /// such knives; `None` where none does.
    pub machine: Option<String>,
    /// Its edges, from the first.
    pub edges: Vec<EdgeState>,
    /// Its grinds in the log, oldest first; those of knives that were replaced are left out.
    pub grinds: Vec<Grind>,
    /// Width as listed: when the log was started, or when bought. `None` where it is not, or where the knives
    /// are new ones under an old name.
    pub width_listed: Option<Width>,
    /// How often its knives have been ground: before the log and in it.
    pub regrinds: u32,
    /// Width now: as listed, less the stock that each logged grind removed. `None` where it is not listed,
    /// where a grind does not say what it removed, or where the knives are new ones under an old name.
    pub width: Option<Width>,
    /// The widest that it can be by the log, where some grinds do not say what they removed.
    pub width_at_most: Option<Width>,
    /// The deepest nick noted and not ground out since.
    pub nick: Option<Width>,
    /// A grind since took some of that nick off: how much of it is left is reckoned.
    pub nick_was_ground: bool,
    /// Stock that a grind typically takes: the mean of this set's logged grinds, else of the crew's;
    /// `None` where no grind says what it removed.
    pub stock_per_grind: Option<Width>,
    /// Width below which the manual of its machine discards knives.
    pub discard_width: Option<Width>,
    /// The first row whose note speaks of a crack in it; grinding mends none.
    pub crack: Option<Record>,
    /// Struck, and no row since says that somebody qualified found it sound. A grind does not end that.
    pub waits_after_strike: bool,
    /// The last row that speaks of damage that may be a crack, where nobody qualified has looked since.
    pub doubt: Option<Doubt>,
    /// The row that says that its knives do not match, where none says otherwise since.
    pub unmatched: Option<Record>,
    /// A note on a look at it is not understood, and nobody has found it sound since.
    pub has_open_note: bool,
    /// It has another number of knives than its machine carries.
    pub incomplete: bool,
    /// Cutting edges on each of its knives, as listed, else as its machine takes.
    pub edges_per_knife: u32,
    /// A row since it was last struck says that somebody qualified looked it over and found it sound.
    pub inspected: bool,
    /// Thrown away.
    pub discarded: bool,
}

/// One grind of a set.
#[derive(Debug, Clone, PartialEq)]
pub struct Grind {
    /// The day.
    pub on: Date,
    /// Who ground it, as written.
    pub by: String,
    /// Stock ground off, where the row says.
    pub removed: Option<Width>,
}

/// Where a set is.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum SetPlace {
    /// In a machine.
    In {
        /// Machine, by name.
        machine: String,
        /// The edge at work, from 1.
        edge: u32,
    },
    /// Out of any machine.
    Bench,
}

/// One edge of a set.
#[derive(Debug, Clone, PartialEq)]
pub struct EdgeState {
    /// Which, from 1.
    pub edge: u32,
    /// What it has been through since its last grind.
    pub condition: EdgeCondition,
    /// The last grade given to it since then.
    pub grade: Option<Grade>,
    /// Meter hours that it has worked since then, as far as the log tells.
    pub hours: MeterHours,
}

/// What an edge has been through since its last grind.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum EdgeCondition {
    /// It has not worked.
    Fresh,
    /// It has worked.
    Worked {
        /// Its place in [`Lives::lives`](super::Lives::lives); `None` where it was set aside.
        life: Option<usize>,
    },
    /// It has been struck.
    Struck,
}

impl SetState {
    /// Where an edge stands; `None` where the set has no such edge.
    pub fn edge(&self, edge: u32) -> Option<&EdgeState> {
        self.edges.iter().find(|state| state.edge == edge)
    }

    /// The edge that a decision is about: the one at work; on the bench the one that has worked least since
    /// the last grind, and was not struck, of those that have worked; else the first fresh one, else the first.
    pub fn edge_at_hand(&self) -> Option<&EdgeState> {
        if let SetPlace::In { edge, .. } = self.place {
            return self.edge(edge);
        }
        let is = |condition: fn(&EdgeCondition) -> bool| {
            let edges = self.edges.iter();
            edges.filter(move |edge| condition(&edge.condition))
        };
        let worked = is(|it| matches!(it, EdgeCondition::Worked { .. }));
        worked
            .min_by(|a, b| a.hours.get().total_cmp(&b.hours.get()))
            .or_else(|| is(|it| *it == EdgeCondition::Fresh).next())
            .or_else(|| self.edges.first())
    }

    /// Fresh edges beside this one.
    pub fn fresh_beside(&self, edge: u32) -> usize {
        let others = self.edges.iter().filter(|other| other.edge != edge);
        others
            .filter(|other| other.condition == EdgeCondition::Fresh)
            .count()
    }

    /// Whether it was struck and not found sound since, or any of its edges was since the last grind.
    pub fn is_struck(&self) -> bool {
        self.waits_after_strike || self.has_struck_edge()
    }

    /// Whether a note or a nick asks for a look at it before it runs.
    pub fn wants_a_look(&self) -> bool {
        self.has_open_note || self.is_nicked()
    }

    /// Whether it has a nick, ground or not.
    pub fn is_nicked(&self) -> bool {
        self.nick.is_some_and(|nick| nick > Width::ZERO)
    }

    /// Whether any of its edges was struck since the last grind.
    pub fn has_struck_edge(&self) -> bool {
        let mut conditions = self.edges.iter().map(|edge| edge.condition);
        conditions.any(|condition| condition == EdgeCondition::Struck)
    }

    pub(super) fn mark(&mut self, life: &OpenLife, index: Option<usize>) {
        let edge = self.edges.iter_mut().find(|it| it.edge == life.name.edge);
        if let Some(edge) = edge {
            edge.hours = hours(life.total());
            edge.condition = if life.struck.is_some() {
                EdgeCondition::Struck
            } else if life.total() <= SAME_PLACE && life.aside.is_none() {
                EdgeCondition::Fresh
            } else {
                EdgeCondition::Worked { life: index }
            };
        }
    }
}

/// All sets that the log knows, in order of name, their edges still to be marked.
pub(super) fn set_states(log: &Logbook, shop: &Shop<'_>) -> BTreeMap<String, SetState> {
    let crew = mean(shop.sets.values().flat_map(|history| &history.removed));
    let seats: BTreeMap<&str, (&str, &Seat)> = shop
        .seats
        .iter()
        .map(|(machine, seat)| (seat.set.as_str(), (machine, seat)))
        .collect();
    let known = |name: &str, history: &SetHistory| !history.unnamed || seats.contains_key(name);
    let sets = shop.sets.iter().filter(|(name, it)| known(name, it));
    let fleet = Fleet::of(log);
    let carriers = carriers(&fleet);
    sets.map(|(name, history)| {
        let listed = fleet.set(name);
        let seat = seats.get(name.as_str()).copied();
        let state = Standing {
            name,
            history,
            listed,
            seat,
        };
        (name.clone(), state.state((&fleet, &carriers), crew))
    })
    .collect()
}

/// By how many knives of how many edges it carries, the first machine by name.
type Carriers<'l> = BTreeMap<(u32, u32), &'l Machine>;

/// All machines, and what each carries.
type Machines<'l> = (&'l Fleet<'l>, &'l Carriers<'l>);

fn carriers<'l>(fleet: &Fleet<'l>) -> Carriers<'l> {
    let mut carriers = Carriers::new();
    for machine in fleet.machines() {
        let carried = (machine.knives, machine.edges_per_knife);
        carriers.entry(carried).or_insert(machine);
    }
    carriers
}

/// What is known of one set.
struct Standing<'s> {
    name: &'s str,
    history: &'s SetHistory,
    listed: Option<&'s KnifeSet>,
    seat: Option<(&'s str, &'s Seat)>,
}

impl Standing<'_> {
    fn state(&self, machines: Machines<'_>, crew: Option<f64>) -> SetState {
        let history = self.history;
        let machine = self.machine(machines);
        let removed: f64 = history.removed.iter().sum();
        let bought = self.listed.and_then(|set| set.width);
        let left = bought
            .filter(|_| !history.renewed)
            .and_then(|width| Width::new((width.millimetres() - removed).max(0.0)).ok());
        let edge = |edge| EdgeState {
            edge,
            condition: EdgeCondition::Fresh,
            grade: history.grades.get(&edge).copied(),
            hours: MeterHours::ZERO,
        };
        let stock = mean(&history.removed).or(crew);
        let nick = history.damage.nick();
        SetState {
            set: self.name.to_owned(),
            place: match self.seat {
                Some((machine, seat)) => SetPlace::In {
                    machine: machine.to_owned(),
                    edge: seat.edge,
                },
                None => SetPlace::Bench,
            },
            machine: machine.map(|machine| machine.name.clone()),
            edges: (1..=self.edges(machine)).map(edge).collect(),
            grinds: history.grinds.clone(),
            width_listed: bought.filter(|_| !history.renewed),
            regrinds: history.regrinds,
            width: left.filter(|_| !history.ungauged),
            width_at_most: left,
            nick: nick.map(|(deepest, _)| deepest),
            nick_was_ground: nick.is_some_and(|(_, was_ground)| was_ground),
            stock_per_grind: stock.and_then(|stock| Width::new(stock).ok()),
            discard_width: machine.and_then(|machine| machine.discard_width),
            crack: history.damage.crack,
            waits_after_strike: history.damage.is_struck(),
            doubt: history.damage.to_be_looked_at(),
            unmatched: history.damage.unmatched(),
            has_open_note: history.damage.open_notes().next().is_some(),
            incomplete: self
                .listed
                .zip(machine)
                .is_some_and(|(set, machine)| set.knives != machine.knives),
            edges_per_knife: self.edges_per_knife(machine),
            inspected: history.damage.inspected(),
            discarded: history.discarded,
        }
    }

    fn machine<'l>(&self, (fleet, carriers): Machines<'l>) -> Option<&'l Machine> {
        let worked_in = self.history.machine.as_deref();
        let carries = || {
            let set = self.listed?;
            carriers.get(&(set.knives, set.edges_per_knife)).copied()
        };
        let seated = self.seat.map(|(machine, _)| machine);
        let named = seated.or(worked_in).and_then(|name| fleet.machine(name));
        named.or_else(carries)
    }

    /// As listed, else as its machine takes.
    fn edges_per_knife(&self, machine: Option<&Machine>) -> u32 {
        let listed = self.listed.map(|set| set.edges_per_knife);
        let count = listed.or(machine.map(|machine| machine.edges_per_knife));
        count.unwrap_or(1)
    }

    /// Never fewer than rows speak of.
    fn edges(&self, machine: Option<&Machine>) -> u32 {
        let seated = self.seat.map_or(1, |(_, seat)| seat.edge);
        let spoken_of = seated.max(self.history.most_edges);
        self.edges_per_knife(machine).max(spoken_of)
    }
}

fn mean<'a>(widths: impl IntoIterator<Item = &'a f64>) -> Option<f64> {
    let (count, sum) = widths
        .into_iter()
        .fold((0, 0.0), |(count, sum), width| (count + 1, sum + width));
    (count > 0).then(|| sum / f64::from(count))
}

//! Edges through a job, as chances: renewal sums along the wear of the job.
//!
//! A stint (a day's work) is cut into cells of wear. An edge that begins at a node leaves each cell alive,
//! called or struck; a fresh edge is born then, half of it at either end of the cell, which keeps its mean
//! place. Births are followed up node by node, so that any number of changes in one stint is counted.

use super::edge_table::EdgeTable;
use crate::decisions::strike_factors::StrikeFactors;

/// Cells in one interval of wear.
const CELLS: f64 = 24.0;
/// Fewest and most cells of a stint.
const FEWEST: f64 = 4.0;
const MOST: f64 = 400.0;
/// Births less likely than this join those at the next node.
const RARE: f64 = 1e-6;
/// Edges no likelier than this are taken together where their wear is within a cell: one of each chance, at
/// their mean wear.
const UNLIKELY: f64 = 0.02;
/// An edge as unlikely as this to be alive counts as called.
const GONE: f64 = 1e-9;

/// Which edge.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Kind {
    /// The one that was on the machine at first.
    Present,
    /// Fresh at some time since.
    Fresh,
}

/// The edges that there can be.
#[derive(Debug, Clone)]
pub struct Tables {
    pub fresh: EdgeTable,
    pub present: Option<EdgeTable>,
}

impl Tables {
    pub fn of(&self, kind: Kind) -> &EdgeTable {
        match kind {
            Kind::Present => self.present.as_ref().unwrap_or(&self.fresh),
            Kind::Fresh => &self.fresh,
        }
    }
}

/// One job under one draw.
#[derive(Debug, Clone, Copy)]
pub struct Stretch {
    /// Wear of all of it, in intervals.
    pub wear: f64,
    /// Meter hours.
    pub hours: f64,
    /// Strikes expected in all of it.
    pub strikes: f64,
    /// Days of work, with an evening between each two.
    pub days: usize,
}

/// What things cost.
#[derive(Debug, Clone, Copy)]
pub struct Prices {
    pub planned: f64,
    pub called: f64,
    pub struck: f64,
    /// An hour on an edge that is just dull.
    pub running: f64,
}

/// An edge that may be at work, `mass` being the chance that it is, by how many fresh edges were put in
/// before it: entry `i` stands for the `i`-th place of the sets, in the order in which they are used up.
#[derive(Debug, Clone)]
pub struct Live {
    pub kind: Kind,
    /// Wear since it was put in (for the present edge since the crew left), in intervals.
    pub age: f64,
    pub mass: Vec<f64>,
}

impl Live {
    pub fn chance(&self) -> f64 {
        self.mass.iter().sum()
    }
}

/// What is expected of a job.
#[derive(Debug, Clone, Copy, Default)]
pub struct Sums {
    pub called: f64,
    pub struck: f64,
    /// Changed on plan in an evening.
    pub planned: f64,
    pub cost: f64,
}

/// How edges go through jobs.
#[derive(Debug, Clone, Copy)]
pub struct Play<'a> {
    pub tables: &'a Tables,
    pub prices: Prices,
    /// Edges on a set.
    pub per_set: usize,
    /// Whether edges are changed on plan in evenings.
    pub on_plan: bool,
}

/// Moves `mass x share` on to the next edge; after a strike the whole set is left. There are as many places to
/// go to; at the last there is none to go on to.
fn pass_on(mass: &[f64], share: f64, struck: bool, per_set: usize, to: &mut [f64]) {
    let Some(last) = to.len().checked_sub(1) else {
        return;
    };
    if struck {
        for (set, mass) in mass.chunks(per_set).enumerate() {
            let next = (set + 1) * per_set;
            to[next.min(last)] += share * mass.iter().sum::<f64>();
        }
    } else {
        let next = to.iter_mut().skip(1).zip(mass);
        next.for_each(|(to, mass)| *to += share * mass);
        to[last] += share * mass.get(last).copied().unwrap_or(0.0);
    }
}

impl Play<'_> {
    /// The edges alive after a job, and what is expected of it.
    pub fn job(&self, mut live: Vec<Live>, job: &Stretch) -> (Vec<Live>, Sums) {
        let mut sums = Sums::default();
        let part = 1.0 / job.days as f64;
        for day in 0..job.days {
            if day > 0 && self.on_plan {
                let due = |edge: &Live| edge.age >= self.tables.of(edge.kind).due;
                sums.planned += self.change(&mut live, due);
            }
            live = self.stint(live, job, part, &mut sums);
        }
        sums.cost += self.prices.planned * sums.planned;
        (live, sums)
    }

    /// Changes the edges that `wanted` says while the machine stands; the chance that this was done.
    pub fn change(&self, live: &mut Vec<Live>, wanted: impl Fn(&Live) -> bool) -> f64 {
        let places = live.first().map_or(1, |edge| edge.mass.len());
        let mut fresh = Live {
            kind: Kind::Fresh,
            age: 0.0,
            mass: vec![0.0; places],
        };
        live.retain(|edge| {
            let off = wanted(edge);
            if off {
                pass_on(&edge.mass, 1.0, false, self.per_set, &mut fresh.mass);
            }
            !off
        });
        let changed = fresh.chance();
        if changed > 0.0 {
            live.push(fresh);
        }
        changed
    }

    /// Work without a chance to change on plan: `part` of the job.
    fn stint(&self, live: Vec<Live>, job: &Stretch, part: f64, sums: &mut Sums) -> Vec<Live> {
        let places = live.first().map_or(1, |edge| edge.mass.len());
        let cells = (part * job.wear * CELLS).ceil().clamp(FEWEST, MOST);
        let strikes = StrikeFactors::at(part * job.strikes / cells);
        let stint = Stint {
            play: self,
            cells: cells as usize,
            wear: part * job.wear / cells,
            hours: part * job.hours / cells,
            unstruck: strikes.survived,
            in_cell: strikes.hours,
        };
        let mut births = vec![vec![0.0; places]; stint.cells + 1];
        let mut after = Vec::with_capacity(live.len() + births.len());
        for edge in live {
            after.extend(stint.follow(edge, 0, false, &mut births, sums));
        }
        for node in 0..=stint.cells {
            let born = std::mem::take(&mut births[node]);
            if born.iter().sum::<f64>() < RARE && node < stint.cells {
                let next = births[node + 1].iter_mut();
                next.zip(born).for_each(|(next, born)| *next += born);
                continue;
            }
            let edge = Live {
                kind: Kind::Fresh,
                age: 0.0,
                mass: born,
            };
            after.extend(stint.follow(edge, node, true, &mut births, sums));
        }
        taken_together(after)
    }
}

/// Unlikely edges that are next to alike, as one: the number of edges in play stays small however long the
/// list of jobs.
fn taken_together(mut live: Vec<Live>) -> Vec<Live> {
    live.sort_by(|a, b| a.age.total_cmp(&b.age));
    let mut kept: Vec<Live> = Vec::with_capacity(live.len());
    for edge in live {
        let chance = edge.chance();
        let alike = |last: &&mut Live| {
            last.kind == edge.kind
                && edge.age - last.age < 1.0 / CELLS
                && chance.min(last.chance()) < UNLIKELY
                && edge.age.min(last.age) > 0.0
        };
        match kept.last_mut().filter(alike) {
            Some(last) => {
                let all = last.chance() + chance;
                last.age += (edge.age - last.age) * chance / all;
                let pairs = last.mass.iter_mut().zip(&edge.mass);
                pairs.for_each(|(last, more)| *last += more);
            }
            None => kept.push(edge),
        }
    }
    kept
}

/// A stint being worked.
struct Stint<'a> {
    play: &'a Play<'a>,
    cells: usize,
    /// Of each cell: wear, meter hours.
    wear: f64,
    hours: f64,
    /// Chance that no strike comes in it, and its mean from the cell's start to a moment in it.
    unstruck: f64,
    in_cell: f64,
}

impl Stint<'_> {
    /// Follows an edge from a node to the end: adds what is expected of it, hands on what ends it, and gives
    /// it back as far as it is alive then.
    fn follow(
        &self,
        mut edge: Live,
        from: usize,
        born_here: bool,
        births: &mut [Vec<f64>],
        sums: &mut Sums,
    ) -> Option<Live> {
        let chance = edge.chance();
        if chance <= 0.0 {
            return None;
        }
        let mut now = self.begins(&edge);
        if now.began < GONE {
            // Called at once.
            self.count(chance, &Ends::CALLED, sums);
            self.pass_on(&edge.mass, (1.0, 0.0), &mut births[from]);
            return None;
        }
        let table = self.play.tables.of(edge.kind);
        // Called and struck in the cell before, half of which belongs to this node.
        let mut before = (0.0, 0.0);
        for (cell, births) in births.iter_mut().enumerate().take(self.cells).skip(from) {
            let age = edge.age + self.wear * (cell + 1 - from) as f64;
            let ends = self.cell(&mut now, table.look(age));
            self.count(chance, &ends, sums);
            // A birth in its own first cell is followed up at the cell's end: it has been here already.
            let here = if born_here && cell == from { 0.0 } else { 0.5 };
            let of_cell = (before.0 + here * ends.called, before.1 + here * ends.struck);
            self.pass_on(&edge.mass, of_cell, births);
            before = ((1.0 - here) * ends.called, (1.0 - here) * ends.struck);
        }
        self.pass_on(&edge.mass, before, &mut births[self.cells]);
        let alive = now.survival / now.began * now.spared;
        edge.age += self.wear * (self.cells - from) as f64;
        edge.mass.iter_mut().for_each(|mass| *mass *= alive);
        (alive > GONE).then_some(edge)
    }

    /// An edge as it begins. At first nobody has called the present one, even where some of its lives say
    /// that somebody should have.
    fn begins(&self, edge: &Live) -> Now {
        let (survival, worn) = self.play.tables.of(edge.kind).look(edge.age);
        let began = if edge.age > 0.0 { survival } else { 1.0 };
        Now {
            began,
            survival: began,
            worn,
            spared: 1.0,
        }
    }

    /// One cell on: what ends in it, as shares of the edges that began.
    fn cell(&self, now: &mut Now, (next, next_worn): (f64, f64)) -> Ends {
        let alive = now.survival / now.began * now.spared;
        let called = (now.survival - next) / now.began * now.spared * self.in_cell;
        let left = next / now.began * now.spared * self.unstruck;
        let worn = now.worn + next_worn * self.unstruck;
        let ends = Ends {
            called,
            struck: (alive - left - called).max(0.0),
            worn_hours: 0.5 * self.hours * now.spared * worn / now.began,
        };
        now.survival = next;
        now.worn = next_worn;
        now.spared *= self.unstruck;
        ends
    }

    /// Hands on what was called and what was struck.
    fn pass_on(&self, mass: &[f64], (called, struck): (f64, f64), to: &mut [f64]) {
        if let ([mass], [to]) = (mass, &mut *to) {
            *to += (called + struck) * mass;
            return;
        }
        if called > 0.0 {
            pass_on(mass, called, false, self.play.per_set, to);
        }
        if struck > 0.0 {
            pass_on(mass, struck, true, self.play.per_set, to);
        }
    }

    fn count(&self, chance: f64, ends: &Ends, sums: &mut Sums) {
        let prices = &self.play.prices;
        sums.called += chance * ends.called;
        sums.struck += chance * ends.struck;
        sums.cost += chance
            * (ends.called * prices.called
                + ends.struck * prices.struck
                + ends.worn_hours * prices.running);
    }
}

/// An edge on its way through a stint.
struct Now {
    /// `P(not called)` when it began, and now.
    began: f64,
    survival: f64,
    /// `E[wear fraction; not called]` now.
    worn: f64,
    /// `P(not struck)` since it began.
    spared: f64,
}

/// What comes to an end in one cell.
struct Ends {
    called: f64,
    struck: f64,
    /// Meter hours by wear fraction.
    worn_hours: f64,
}

impl Ends {
    const CALLED: Self = Self {
        called: 1.0,
        struck: 0.0,
        worn_hours: 0.0,
    };
}

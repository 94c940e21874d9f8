//! Edges through a job, as chances: renewal sums along the wear of the job.
//!
//! A stint (a day's work) is cut into cells of wear. An edge that begins at a node leaves each cell alive,
//! called or struck; a fresh edge is born then, half of it at either end of the cell, which keeps its mean
//! place. Births are followed up node by node, so that any number of changes in one stint is counted.

use super::edge_table::EdgeTable;

/// Cells in one interval of wear.
const CELLS: f64 = 24.0;
/// Fewest and most cells of a stint.
const FEWEST: f64 = 4.0;
const MOST: f64 = 400.0;
/// Births less likely than this join those at the next node.
const RARE: f64 = 1e-6;
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

/// Moves `mass x share` on to the next edge; after a strike the whole set is left.
fn pass_on(mass: &[f64], share: f64, struck: bool, per_set: usize, to: &mut [f64]) {
    let last = to.len() - 1;
    for (place, mass) in mass.iter().enumerate().filter(|(_, mass)| **mass > 0.0) {
        let next = if struck {
            (place / per_set + 1) * per_set
        } else {
            place + 1
        };
        to[next.min(last)] += share * mass;
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
        let stint = Stint {
            play: self,
            cells: cells as usize,
            wear: part * job.wear / cells,
            hours: part * job.hours / cells,
            strikes: part * job.strikes / cells,
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
        after
    }
}

/// A stint being worked.
struct Stint<'a> {
    play: &'a Play<'a>,
    cells: usize,
    /// Of each cell: wear, meter hours, strikes expected.
    wear: f64,
    hours: f64,
    strikes: f64,
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
        let table = self.play.tables.of(edge.kind);
        let chance = edge.chance();
        let began = if edge.age > 0.0 {
            table.look(edge.age).0
        } else {
            1.0
        };
        let per_set = self.play.per_set;
        if chance <= 0.0 {
            return None;
        }
        if began < GONE {
            // Called at once.
            self.count(chance, 0.0, 0.0, sums);
            pass_on(&edge.mass, 1.0, false, per_set, &mut births[from]);
            return None;
        }
        let (mut survival, mut worn) = (began, table.look(edge.age).1);
        let mut spared = 1.0;
        let left_unstruck = (-self.strikes).exp();
        let in_cell = if self.strikes > 1e-8 {
            -(-self.strikes).exp_m1() / self.strikes
        } else {
            1.0
        };
        for cell in from..self.cells {
            let age = edge.age + self.wear * (cell + 1 - from) as f64;
            let (next, next_worn) = table.look(age);
            let called = (survival - next) / began * spared * in_cell;
            let alive = next / began * spared * left_unstruck;
            let struck = (survival / began * spared - alive - called).max(0.0);
            let worn_hours = 0.5 * self.hours * spared * (worn + next_worn * left_unstruck) / began;
            self.count(chance * called, chance * struck, chance * worn_hours, sums);
            // A birth in its own first cell is followed up at the cell's end: it has been here already.
            let first = if born_here && cell == from {
                cell + 1
            } else {
                cell
            };
            for node in [first, cell + 1] {
                pass_on(&edge.mass, 0.5 * called, false, per_set, &mut births[node]);
                if struck > 0.0 {
                    pass_on(&edge.mass, 0.5 * struck, true, per_set, &mut births[node]);
                }
            }
            (survival, worn) = (next, next_worn);
            spared *= left_unstruck;
        }
        let alive = survival / began * spared;
        edge.age += self.wear * (self.cells - from) as f64;
        edge.mass.iter_mut().for_each(|mass| *mass *= alive);
        (alive > GONE).then_some(edge)
    }

    fn count(&self, called: f64, struck: f64, worn_hours: f64, sums: &mut Sums) {
        let prices = &self.play.prices;
        sums.called += called;
        sums.struck += struck;
        sums.cost += called * prices.called + struck * prices.struck + worn_hours * prices.running;
    }
}

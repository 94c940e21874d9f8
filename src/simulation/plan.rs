//! How an invented crew works, and what it writes down.

use super::groups::GroupNames;
use super::truth::Truth;
use crate::logbook::Rotor;
use crate::quantities::MeterHours;

/// How an invented crew works and what it writes down.
///
/// With `noticing` zero and `called_at` infinite in its truth, and every pull graded, an edge's end
/// does not depend on its life: then the likelihood of graded looks is exactly the law that made the
/// data, which is what a test of calibration needs. With the demo's truth, edges that came through to
/// the schedule were also not noticed before, which a likelihood of looks alone does not use.
#[derive(Debug, Clone, PartialEq)]
pub struct CrewPlan {
    /// How many edges.
    pub edges: usize,
    /// The machines; edges go to them in turn.
    pub machines: Vec<Rotor>,
    /// Knife sets of each machine; they go in by turns, and come back reground. At least one.
    pub sets_per_machine: usize,
    /// Who grinds: each regrind goes to one of them at random. Without names nobody is written down.
    pub grinders: Vec<String>,
    /// What is true.
    pub truth: Truth,
    /// Edges are pulled after this many meter hours; halved on a disc.
    pub schedule: MeterHours,
    /// Share of pulls on schedule at which somebody writes down a grade.
    pub grading: f64,
    /// Share of edges graded once more on the way.
    pub checking: f64,
    /// Of the looks that `grading`, `checking` and `graded_before_touch_up` ask for, the share that are
    /// measured flats, not grades.
    pub measuring: f64,
    /// Share of edges touched up once, at a random hour of their schedule.
    pub touching_up: f64,
    /// Share of touch-ups before which somebody writes down a grade, at the same hour.
    pub graded_before_touch_up: f64,
    /// How dirt is written down cleaner than it was.
    pub dirt_slips: DirtSlips,
    /// Yes/no conditions of the crew's own, written beside every run.
    pub own_conditions: Vec<OwnCondition>,
    /// What goes wrong on the way, and stays wrong.
    pub faults: Vec<Fault>,
}

/// Something that goes wrong from some edge on: lives of all edges that share a name, or of all edges.
#[derive(Debug, Clone, PartialEq)]
pub struct Fault {
    /// The first edge that it may befall, counted from zero.
    pub from: usize,
    /// The machine, knife set or grinder whose edges it befalls, by name; `None` befalls all.
    pub at: Option<String>,
    /// How long lives last then, as a share of what they would.
    pub times: f64,
}

impl Fault {
    /// What it adds to the log of an edge's life; the names are those that the edge shares.
    pub(super) fn on(&self, edge: usize, names: [&str; 3]) -> f64 {
        let befalls = self.at.as_deref().is_none_or(|at| names.contains(&at));
        if edge >= self.from && befalls {
            self.times.ln()
        } else {
            0.0
        }
    }
}

/// A yes/no condition of the crew's own, and what is true of it.
#[derive(Debug, Clone, PartialEq)]
pub struct OwnCondition {
    /// What the crew calls it.
    pub name: String,
    /// Share of runs in which it holds.
    pub share: f64,
    /// Coefficient of the wear rate: above zero wears faster.
    pub coefficient: f64,
}

/// Shares of runs whose dirt is written down cleaner than it was; the others are written as they were.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct DirtSlips {
    /// Written one class cleaner.
    pub one_cleaner: f64,
    /// Written clean.
    pub as_clean: f64,
}

impl DirtSlips {
    /// Every run is written as it was.
    pub const NONE: Self = Self {
        one_cleaner: 0.0,
        as_clean: 0.0,
    };
}

impl Default for CrewPlan {
    /// A drum crew of 24 edges, with one set, that changes at 50 hours and grades every edge it pulls.
    fn default() -> Self {
        Self {
            edges: 24,
            machines: vec![Rotor::Drum],
            sets_per_machine: 1,
            grinders: Vec::new(),
            truth: Truth::stated(),
            schedule: MeterHours::new(50.0).unwrap_or(MeterHours::ZERO),
            grading: 1.0,
            checking: 0.0,
            measuring: 0.0,
            touching_up: 0.0,
            graded_before_touch_up: 0.0,
            dirt_slips: DirtSlips::NONE,
            own_conditions: Vec::new(),
            faults: Vec::new(),
        }
    }
}

/// Where an edge stands in the crew's turns; all counted from zero.
#[derive(Debug, Clone, Copy)]
pub(super) struct Turn {
    pub(super) machine: usize,
    pub(super) set: usize,
    pub(super) regrinds: u32,
}

impl CrewPlan {
    /// The turn of an edge; `None` where there is no machine.
    pub(super) fn turn(&self, edge: usize) -> Option<Turn> {
        let machine = edge.checked_rem(self.machines.len())?;
        let before = edge / self.machines.len();
        let sets = self.sets_per_machine.max(1);
        Some(Turn {
            machine,
            set: before % sets,
            regrinds: u32::try_from(before / sets).unwrap_or(u32::MAX),
        })
    }

    /// The hours at which edges of a rotor are pulled.
    pub(super) fn schedule_of(&self, rotor: Rotor) -> f64 {
        match rotor {
            Rotor::Drum => self.schedule.get(),
            Rotor::Disc => 0.5 * self.schedule.get(),
        }
    }

    /// How much faster wear goes where the crew's own conditions have these answers.
    pub(super) fn own_rate(&self, answers: &[bool]) -> f64 {
        let holding = self.own_conditions.iter().zip(answers);
        let holding = holding.filter(|(_, holds)| **holds);
        holding.map(|(own, _)| own.coefficient).sum::<f64>().exp()
    }

    /// Everything that may have an effect of its own, whether or not an edge comes to it.
    pub(super) fn names(&self) -> GroupNames {
        let machines = 0..self.machines.len();
        let sets =
            |machine| (0..self.sets_per_machine.max(1)).map(move |set| set_name(machine, set));
        GroupNames {
            machines: machines.clone().map(machine_name).collect(),
            sets: machines.flat_map(sets).collect(),
            grinders: self.grinders.clone(),
        }
    }
}

pub(super) fn machine_name(machine: usize) -> String {
    format!("machine {}", machine + 1)
}

pub(super) fn set_name(machine: usize, set: usize) -> String {
    format!("set {}.{}", machine + 1, set + 1)
}

//! What the log promises its crew, rule by rule, on small logs built by hand.

mod damage;
mod events;
mod looks;
mod meter;
mod own_conditions;
mod set_states;
mod sets;
mod tallies;
mod unfit;

use super::{EdgeLife, Ending, Lives, Look, Matter, Observation, Sight, edge_lives};
use crate::logbook::{
    CostEntries, EdgeEvent, EventKind, KnifeSet, Line, LogFile, Logbook, Machine, MeterSpan, Rotor,
    RowKey, Run,
};
use crate::quantities::{Grade, MeterHours, Width};
use crate::wood::{Contamination, WoodMix, WoodState};
use jiff::civil::Date;

/// A log in the making. Days are days of March 2025.
#[derive(Default)]
struct Book(Logbook);

fn hours(value: f64) -> MeterHours {
    MeterHours::new(value).expect("test hours")
}

fn day(day: i8) -> Date {
    Date::constant(2025, 3, day)
}

impl Book {
    /// One drum called Otter with sets A and B of two-edged knives.
    fn otter() -> Self {
        Self::default()
            .machine("Otter", Rotor::Drum)
            .set("A")
            .set("B")
    }

    fn machine(mut self, name: &str, rotor: Rotor) -> Self {
        self.0.machines.push(Machine {
            line: Line(self.0.machines.len() as u64 + 2),
            ..Machine::named(name, rotor, 2)
        });
        self
    }

    fn set(mut self, name: &str) -> Self {
        self.0.sets.push(KnifeSet {
            line: Line(self.0.sets.len() as u64 + 2),
            ..KnifeSet::named(name, 2)
        });
        self
    }

    fn span(mut self, machine: &str, date: Date, span: MeterSpan) -> Self {
        self.0.runs.push(Run {
            line: Line(self.0.runs.len() as u64 + 2),
            wood: WoodMix::parse("oak").ok(),
            contamination: Some(Contamination::Clean),
            ..Run::on(date, machine, span)
        });
        self
    }

    fn run_on(self, machine: &str, date: i8, from: f64, to: f64) -> Self {
        let (start, end) = (hours(from), hours(to));
        self.span(machine, day(date), MeterSpan::Readings { start, end })
    }

    fn run(self, date: i8, from: f64, to: f64) -> Self {
        self.run_on("Otter", date, from, to)
    }

    fn hours_only(self, date: i8, length: f64) -> Self {
        self.span("Otter", day(date), MeterSpan::Hours(hours(length)))
    }

    /// Changes the run added last.
    fn but(mut self, change: impl FnOnce(&mut Run)) -> Self {
        change(self.0.runs.last_mut().expect("a run"));
        self
    }

    /// Adds an own column of runs.csv, one cell a run so far.
    fn column(mut self, name: &str, cells: &[&str]) -> Self {
        let columns = self.0.extras.entry(LogFile::Runs).or_default();
        columns.names.push(name.to_owned());
        for (run, cell) in self.0.runs.iter().zip(cells) {
            let row = columns.cells.entry(RowKey::Line(run.line)).or_default();
            row.push((*cell).to_owned());
        }
        self
    }

    fn event_on(mut self, machine: &str, date: i8, kind: EventKind, meter: f64, set: &str) -> Self {
        self.0.events.push(EdgeEvent {
            line: Line(self.0.events.len() as u64 + 2),
            machine: Some(machine.to_owned()),
            meter: Some(hours(meter)),
            set: Some(set.to_owned()).filter(|set| !set.is_empty()),
            ..EdgeEvent::on(day(date), kind)
        });
        self
    }

    fn event(self, date: i8, kind: EventKind, meter: f64, set: &str) -> Self {
        self.event_on("Otter", date, kind, meter, set)
    }

    fn bench(self, date: i8, kind: EventKind, set: &str) -> Self {
        self.event(date, kind, 0.0, set).with(|event| {
            event.machine = None;
            event.meter = None;
        })
    }

    /// Changes the event added last.
    fn with(mut self, change: impl FnOnce(&mut EdgeEvent)) -> Self {
        change(self.0.events.last_mut().expect("an event"));
        self
    }

    fn graded(self, grade: Grade) -> Self {
        self.with(|event| event.grade = Some(grade))
    }

    fn undated_meter(self) -> Self {
        self.with(|event| event.meter = None)
    }

    fn flat_when_dull(mut self, millimetres: f64) -> Self {
        self.0.costs = CostEntries {
            flat_when_dull: Width::from_millimetres(millimetres).ok(),
            ..self.0.costs
        };
        self
    }

    fn lives(&self) -> Lives {
        let lives = edge_lives(&self.0);
        assert_eq!(
            lives.tally.edges_found,
            lives.tally.edges_used + lives.tally.set_aside.len()
        );
        lives
    }

    /// The only life in the log.
    fn only(&self) -> EdgeLife {
        let lives = self.lives();
        assert_eq!(lives.lives.len(), 1, "{:#?}", lives.tally);
        lives.lives[0].clone()
    }
}

/// Hour and sight of each look, and when it was noticed dull.
fn seen(life: &EdgeLife) -> (Vec<(f64, Sight)>, Option<f64>) {
    match &life.observation {
        Observation::Graded { looks, noticed } => {
            let plain = |look: &Look| (look.at.get(), look.sight);
            (
                looks.iter().map(plain).collect(),
                noticed.map(|noticed| noticed.at.get()),
            )
        }
        other => panic!("a crew's log gives graded observations, not {other:?}"),
    }
}

fn total(life: &EdgeLife) -> f64 {
    life.exposure.total().get()
}

fn notes(lives: &Lives) -> Vec<&Matter> {
    lives.tally.notes.iter().map(|note| &note.matter).collect()
}

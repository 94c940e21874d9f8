//! A season under a policy: what was spent, and the log that came of it.

use super::crew::{Crew, Day, Luck};
use keenspan::decisions::CycleCosts;
use keenspan::lives::{
    EdgeFeatures, EdgeLife, Ending, Exposure, Look, Noticed, Observation, Rotor, Segment, Sight,
};
use keenspan::quantities::{Grade, MeterHours};
use keenspan::wear::StrikeRecord;

/// How a crew decides at the start of a day whether to change first.
pub trait Policy {
    /// Before this day, with everything that is in the log so far.
    fn change_first(&mut self, log: &Log, day: &Day) -> bool;
}

/// What the crew has written down.
#[derive(Debug, Clone, Default)]
pub struct Log {
    pub finished: Vec<EdgeLife>,
    /// The edge at work, which nobody has called.
    pub at_work: Option<EdgeLife>,
    pub strikes: StrikeRecord,
    /// Wood and hours of every day so far.
    pub days: Vec<(f64, std::sync::Arc<keenspan::wood::Blend>)>,
}

/// Where the edge at work stands.
struct Edge {
    luck: Luck,
    number: usize,
    wear: f64,
    hazard: f64,
    segments: Vec<Segment>,
    hours: f64,
}

/// How an edge's work ended.
#[derive(Clone, Copy, PartialEq)]
enum End {
    Planned,
    /// Felt dull in the cut, or called when far past it.
    Called,
    Struck,
}

/// The season's cost under a policy, per meter hour.
pub fn cost_per_hour(crew: &Crew, costs: &CycleCosts, policy: &mut impl Policy) -> f64 {
    let mut season = Season::new(crew, costs);
    for day in &crew.days {
        if season.edge.hours > 0.0 && policy.change_first(&season.log, day) {
            season.finish(End::Planned);
        }
        season.work(day);
    }
    season.settle()
}

struct Season<'a> {
    crew: &'a Crew,
    costs: &'a CycleCosts,
    edge: Edge,
    log: Log,
    spent: f64,
    hours: f64,
}

fn hours(value: f64) -> MeterHours {
    MeterHours::new(value).expect("hours")
}

impl Edge {
    fn fresh(crew: &Crew, number: usize) -> Self {
        Self {
            luck: crew.edges[number],
            number,
            wear: 0.0,
            hazard: 0.0,
            segments: Vec::new(),
            hours: 0.0,
        }
    }

    fn life(&self, ending: Ending, observation: Observation) -> EdgeLife {
        let regrinds = u32::from(self.number >= 2);
        EdgeLife {
            machine: "Alder".to_string(),
            set: ["red", "blue"][self.number / 2 % 2].to_string(),
            edge: self.number as u32 % 2 + 1,
            features: EdgeFeatures {
                rotor: Rotor::Drum,
                regrinds,
                ground_by: if regrinds > 0 { "bench" } else { "" }.to_string(),
            },
            exposure: Exposure {
                segments: self.segments.clone(),
                ..Exposure::default()
            },
            observation,
            entry: None,
            ending,
            came_out: None,
        }
    }
}

impl<'a> Season<'a> {
    fn new(crew: &'a Crew, costs: &'a CycleCosts) -> Self {
        Self {
            crew,
            costs,
            edge: Edge::fresh(crew, 0),
            log: Log::default(),
            spent: 0.0,
            hours: 0.0,
        }
    }

    /// A day's work, with the changes that the cut or a strike forces in it.
    fn work(&mut self, day: &Day) {
        let mut left = day.hours;
        while left > 1e-9 {
            let edge = &self.edge;
            let call_at = self.costs.call_at.expect("a wear fraction").get();
            // Crews stop for an edge that they feel dull, and for any that is far past it.
            let called = edge.luck.felt.min(call_at * edge.luck.life);
            let until_called = (called - edge.wear).max(0.0) / day.rate;
            let until_struck = (edge.luck.strike - edge.hazard) / day.strikes.max(1e-12);
            let worked = left.min(until_called).min(until_struck);
            self.run(worked, day);
            left -= worked;
            if left > 1e-9 {
                let end = if until_struck < until_called {
                    End::Struck
                } else {
                    End::Called
                };
                self.finish(end);
            }
        }
        self.log.days.push((day.hours, day.blend.clone()));
        let class = day.contamination as usize;
        self.log.strikes.hours[class] += day.hours;
        self.log.at_work = (self.edge.hours > 0.0).then(|| {
            let look = Look {
                at: hours(self.edge.hours),
                sight: Sight::NotCalled,
            };
            let seen = Observation::Graded {
                looks: vec![look],
                noticed: None,
            };
            self.edge.life(Ending::Running, seen)
        });
    }

    /// So many hours, and what they cost: running cost rises in a straight line with the wear fraction.
    fn run(&mut self, worked: f64, day: &Day) {
        if worked <= 0.0 {
            return;
        }
        let edge = &mut self.edge;
        let middle = edge.wear + 0.5 * day.rate * worked;
        self.spent += self.costs.running_at_dull.get() * worked * middle / edge.luck.life;
        let (start, stop) = (hours(edge.hours), hours(edge.hours + worked));
        match edge
            .segments
            .last_mut()
            .filter(|last| last.blend == day.blend)
        {
            Some(last) => last.stop = stop,
            None => edge.segments.push(Segment {
                start,
                stop,
                blend: day.blend.clone(),
            }),
        }
        edge.hours += worked;
        edge.wear += day.rate * worked;
        edge.hazard += day.strikes * worked;
        self.hours += worked;
        // Which class a strike came in, should it come.
        if edge.hazard >= edge.luck.strike - 1e-12 {
            self.log.strikes.strikes[day.contamination as usize] += 1.0;
        }
    }

    fn finish(&mut self, end: End) {
        let extra = match end {
            End::Planned => 0.0,
            End::Called => self.costs.forced_extra.get(),
            End::Struck => self.costs.strike_extra.get(),
        };
        self.spent += self.costs.planned.get() + extra;
        let life = self.written(end);
        self.log.finished.extend(life);
        self.log.at_work = None;
        self.edge = Edge::fresh(self.crew, self.edge.number + 1);
    }

    /// What the log holds of an edge that came out: a grade, or that it was felt, or that it was struck.
    fn written(&self, end: End) -> Option<EdgeLife> {
        let edge = &self.edge;
        if edge.hours <= 1e-4 {
            return None;
        }
        let fraction = edge.wear / edge.luck.life;
        let seen = fraction * (self.crew.eye_error * edge.luck.eye).exp();
        let grade = Grade::ALL[Grade::CUTS.iter().filter(|cut| seen >= **cut).count()];
        let at = hours(edge.hours);
        let look = |sight| Look { at, sight };
        let late = fraction > self.costs.call_at.expect("a wear fraction").get() - 1e-9;
        let (ending, looks, noticed) = match end {
            End::Planned => (
                Ending::PulledOnSchedule,
                vec![look(Sight::Graded(grade))],
                None,
            ),
            End::Called => (Ending::NoticedDull, vec![], Some(Noticed { at, late })),
            End::Struck => (Ending::Struck, vec![look(Sight::NotCalled)], None),
        };
        Some(edge.life(ending, Observation::Graded { looks, noticed }))
    }

    /// The season ends with an edge half used: it is charged the share of a planned change that its wear is
    /// of its life, under every policy alike.
    fn settle(mut self) -> f64 {
        let used = (self.edge.wear / self.edge.luck.life).min(1.0);
        self.spent += self.costs.planned.get() * used;
        self.spent / self.hours
    }
}

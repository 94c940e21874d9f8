//! Many edges at once, straight to edge lives, for calibration of the fit.

use super::conditions::{Work, work_in};
use super::dice::Dice;
use super::edge::{Happening, WearingEdge};
use super::truth::Truth;
use crate::lives::{
    EdgeFeatures, EdgeLife, Ending, Exposure, Look, Noticed, Observation, Segment, Sight,
};
use crate::logbook::Rotor;
use crate::quantities::{Grade, MeterHours};
use std::sync::Arc;

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
    /// What is true.
    pub truth: Truth,
    /// Edges are pulled after this many meter hours; halved on a disc.
    pub schedule: MeterHours,
    /// Share of pulls on schedule at which somebody writes down a grade.
    pub grading: f64,
    /// Share of edges graded once more on the way.
    pub checking: f64,
}

impl Default for CrewPlan {
    /// A drum crew of 24 edges that changes at 50 hours and grades every edge it pulls.
    fn default() -> Self {
        Self {
            edges: 24,
            machines: vec![Rotor::Drum],
            truth: Truth::stated(),
            schedule: hours(50.0),
            grading: 1.0,
            checking: 0.0,
        }
    }
}

/// The edge lives of one invented crew. The same seed gives the same lives.
pub fn crew(seed: u64, plan: &CrewPlan) -> Vec<EdgeLife> {
    let mut dice = Dice::new(seed);
    if plan.machines.is_empty() {
        return Vec::new();
    }
    (0..plan.edges)
        .map(|index| {
            let machine = index % plan.machines.len();
            Bench {
                plan,
                dice: &mut dice,
            }
            .life(index, machine)
        })
        .collect()
}

struct Bench<'c> {
    plan: &'c CrewPlan,
    dice: &'c mut Dice,
}

/// What was written of an edge so far, in hours of its life.
struct Written {
    exposure: Exposure,
    looks: Vec<Look>,
    noticed: Option<Noticed>,
}

impl Bench<'_> {
    fn life(mut self, index: usize, machine: usize) -> EdgeLife {
        let rotor = self.plan.machines[machine];
        // The first edge of each machine is new steel.
        let regrinds = u32::from(index >= self.plan.machines.len());
        let edge = WearingEdge::fresh(&self.plan.truth, rotor, regrinds, self.dice);
        let (written, ending) = self.wear_out(edge, rotor);
        EdgeLife {
            machine: format!("machine {}", machine + 1),
            set: format!("set {}", index + 1),
            edge: 1,
            features: EdgeFeatures {
                rotor,
                regrinds,
                ground_by: String::new(),
            },
            exposure: written.exposure,
            observation: Observation::Graded {
                looks: written.looks,
                noticed: written.noticed,
            },
            entry: None,
            ending,
        }
    }

    fn wear_out(&mut self, mut edge: WearingEdge, rotor: Rotor) -> (Written, Ending) {
        let schedule = match rotor {
            Rotor::Drum => self.plan.schedule.get(),
            Rotor::Disc => 0.5 * self.plan.schedule.get(),
        };
        let check = self.dice.chance(self.plan.checking);
        let mut check_at = check.then(|| schedule * self.dice.between(0.3, 0.8));
        let mut written = Written {
            exposure: Exposure::default(),
            looks: Vec::new(),
            noticed: None,
        };
        let mut worked = 0.0;
        while worked < schedule {
            let month = 1 + (12.0 * self.dice.uniform()) as i8;
            let work = work_in(month, self.dice);
            let stop = (worked + self.dice.between(1.0, 6.0)).min(schedule);
            let stop = check_at
                .filter(|at| *at > worked)
                .map_or(stop, |at| stop.min(at));
            let rates = work.rates(&self.plan.truth);
            let (ran, happening) = edge.work(stop - worked, rates, self.dice);
            worked = if happening.is_none() {
                stop
            } else {
                worked + ran
            };
            written.lengthen(worked, &work);
            if let Some(happening) = happening {
                return self.ended(written, &edge, happening);
            }
            if check_at.is_some_and(|at| at <= worked) && worked < schedule {
                written.look(Sight::Graded(edge.grade(&self.plan.truth, self.dice)));
                check_at = None;
            }
        }
        self.pulled(written, &edge)
    }

    fn pulled(&mut self, mut written: Written, edge: &WearingEdge) -> (Written, Ending) {
        let graded = self.dice.chance(self.plan.grading);
        let grade = edge.grade(&self.plan.truth, self.dice);
        written.look(if graded {
            Sight::Graded(grade)
        } else {
            Sight::NotCalled
        });
        (written, Ending::PulledOnSchedule)
    }

    fn ended(
        &mut self,
        mut written: Written,
        edge: &WearingEdge,
        happening: Happening,
    ) -> (Written, Ending) {
        match happening {
            Happening::Struck => {
                written.look(Sight::NotCalled);
                (written, Ending::Struck)
            }
            Happening::Noticed => {
                written.noticed = Some(Noticed {
                    at: written.exposure.total(),
                    late: false,
                });
                (written, Ending::NoticedDull)
            }
            // Whoever stops for an edge so far gone says so, and grades it.
            Happening::Called => {
                let late = edge.grade(&self.plan.truth, self.dice) == Grade::Overrun;
                written.noticed = Some(Noticed {
                    at: written.exposure.total(),
                    late,
                });
                (written, Ending::NoticedDull)
            }
        }
    }
}

impl Written {
    fn lengthen(&mut self, stop: f64, work: &Work) {
        let start = self.exposure.total();
        if hours(stop) > start {
            self.exposure.segments.push(Segment {
                start,
                stop: hours(stop),
                blend: Arc::new(work.blend()),
            });
        }
    }

    fn look(&mut self, sight: Sight) {
        let at = self.exposure.total();
        self.looks.push(Look { at, sight });
    }
}

fn hours(value: f64) -> MeterHours {
    MeterHours::new(value).unwrap_or(MeterHours::ZERO)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::quantities::Grade;

    #[test]
    fn the_same_seed_gives_the_same_crew() {
        let plan = CrewPlan::default();
        assert_eq!(crew(7, &plan), crew(7, &plan));
        assert_ne!(crew(7, &plan), crew(8, &plan));
    }

    #[test]
    fn a_crew_that_never_notices_pulls_every_edge_on_schedule_with_a_grade() {
        let mut plan = CrewPlan {
            machines: vec![Rotor::Drum, Rotor::Disc],
            ..CrewPlan::default()
        };
        plan.truth.noticing = 0.0;
        plan.truth.called_at = f64::INFINITY;
        plan.truth.strikes.clean = 0.0;
        plan.truth.strikes.dusty = 0.0;
        plan.truth.strikes.dirty = 0.0;
        plan.truth.strikes.gritty = 0.0;
        for (index, life) in crew(3, &plan).iter().enumerate() {
            let schedule = if index % 2 == 0 { 50.0 } else { 25.0 };
            assert_eq!(life.exposure.total().get(), schedule);
            let Observation::Graded { looks, noticed } = &life.observation else {
                panic!("graded");
            };
            assert_eq!((looks.len(), *noticed), (1, None));
            assert!(matches!(looks[0].sight, Sight::Graded(_)));
        }
    }

    #[test]
    fn grades_fall_into_the_bands_of_the_wear_fraction_as_the_law_says() {
        // An eye that is never off, wood of rate one: the share of edges graded overrun after
        // `tau` hours is P(T < tau / 1.15) of the Weibull, computed here by its own formula.
        let mut plan = CrewPlan {
            edges: 4000,
            ..CrewPlan::default()
        };
        plan.truth.grader_error = 0.0;
        plan.truth.noticing = 0.0;
        plan.truth.called_at = f64::INFINITY;
        plan.truth.effects = super::super::Effects {
            hardness_exponent: 0.0,
            dusty: 1.0,
            dirty: 1.0,
            gritty: 1.0,
            dry: 1.0,
            frozen: 1.0,
            palm: 1.0,
        };
        plan.truth.reground_share = 1.0;
        plan.truth.strikes.clean = 0.0;
        plan.truth.strikes.dusty = 0.0;
        plan.truth.strikes.dirty = 0.0;
        plan.truth.strikes.gritty = 0.0;
        let overrun = crew(11, &plan)
            .iter()
            .filter(|life| match &life.observation {
                Observation::Graded { looks, .. } => {
                    looks[0].sight == Sight::Graded(Grade::Overrun)
                }
                _ => false,
            })
            .count() as f64;
        let ratio: f64 = 50.0 / 1.15 / 44.0;
        let expected = 1.0 - (-std::f64::consts::LN_2 * ratio.powf(1.0 / 0.30)).exp();
        // Four binomial standard errors of 0.008.
        approx::assert_abs_diff_eq!(overrun / 4000.0, expected, epsilon = 0.032);
    }
}

//! Many edges at once, straight to edge lives, for calibration of the fit.

use super::conditions::work_in;
use super::dice::Dice;
use super::edge::{Happening, WearingEdge};
use super::groups::GroupEffects;
use super::plan::{CrewPlan, Turn, machine_name, set_name};
use super::written::Written;
use crate::lives::{EdgeFeatures, EdgeLife, Ending, Observation, Sight};
use crate::quantities::{Grade, WearHours};

/// Streams of a crew's seed. Work and wear have the first; the others have their own, so that a crew
/// that slips when it writes, or has effects of groups, is the same crew otherwise.
const EFFECTS: u64 = 1;
const WORKSHOP: u64 = 2;
const WRITING: u64 = 3;
const OWN_CONDITIONS: u64 = 4;

/// The edge lives of an invented crew, and what the crew cannot know of them.
#[derive(Debug, Clone, PartialEq)]
pub struct InventedCrew {
    /// What the crew knows.
    pub lives: Vec<EdgeLife>,
    /// When each of those edges is dull: the life that is hidden from the crew.
    pub hidden: Vec<WearHours>,
    /// What machines, knife sets and grinders do to log life.
    pub effects: GroupEffects,
}

/// The edge lives of one invented crew. The same seed gives the same lives.
pub fn crew(seed: u64, plan: &CrewPlan) -> Vec<EdgeLife> {
    invented_crew(seed, plan).lives
}

/// The same lives as [`crew`] gives, with what is hidden from the crew.
pub fn invented_crew(seed: u64, plan: &CrewPlan) -> InventedCrew {
    let effects = GroupEffects::draw(
        plan.names(),
        plan.truth.spreads,
        &mut Dice::stream(seed, EFFECTS),
    );
    let mut bench = Bench {
        plan,
        effects: &effects,
        dice: Dice::new(seed),
        workshop: Dice::stream(seed, WORKSHOP),
        writing: Dice::stream(seed, WRITING),
        own_conditions: Dice::stream(seed, OWN_CONDITIONS),
    };
    let turns = (0..plan.edges).map_while(|edge| Some((edge, plan.turn(edge)?)));
    let (lives, hidden) = turns.map(|(edge, turn)| bench.life(edge, turn)).unzip();
    InventedCrew {
        lives,
        hidden,
        effects,
    }
}

struct Bench<'c> {
    plan: &'c CrewPlan,
    effects: &'c GroupEffects,
    dice: Dice,
    workshop: Dice,
    writing: Dice,
    own_conditions: Dice,
}

/// What is to be done to an edge on the way, at which hour of its life.
#[derive(Default)]
struct Stops {
    check: Option<f64>,
    touch_up: Option<f64>,
}

impl Stops {
    /// The end of a run that would go from `from` to `to`.
    fn before(&self, from: f64, to: f64) -> f64 {
        let stops = [self.check, self.touch_up].into_iter().flatten();
        stops.filter(|stop| *stop > from).fold(to, f64::min)
    }
}

impl Bench<'_> {
    fn life(&mut self, number: usize, turn: Turn) -> (EdgeLife, WearHours) {
        let rotor = self.plan.machines[turn.machine];
        let (machine, set) = (machine_name(turn.machine), set_name(turn.machine, turn.set));
        let ground_by = if turn.regrinds > 0 {
            self.grinder()
        } else {
            String::new()
        };
        let faults = self.plan.faults.iter();
        let faults = faults.map(|fault| fault.on(number, [&machine, &set, &ground_by]));
        let shift = self.effects.on(&machine, &set, &ground_by) + faults.sum::<f64>();
        let edge = WearingEdge::fresh(&self.plan.truth, rotor, turn.regrinds, &mut self.dice)
            .longer_by(shift);
        let hidden = WearHours::new(edge.life()).unwrap_or(WearHours::ZERO);
        let (written, ending) = self.wear_out(edge, self.plan.schedule_of(rotor));
        let life = EdgeLife {
            machine,
            set,
            edge: 1,
            features: EdgeFeatures {
                rotor,
                regrinds: turn.regrinds,
                ground_by,
            },
            exposure: written.exposure,
            observation: Observation::Graded {
                looks: written.looks,
                noticed: written.noticed,
            },
            entry: None,
            ending,
            came_out: None,
        };
        (life, hidden)
    }

    fn grinder(&mut self) -> String {
        let equally: Vec<_> = self.plan.grinders.iter().map(|name| (1.0, name)).collect();
        self.workshop.pick(&equally).cloned().unwrap_or_default()
    }

    fn stops(&mut self, schedule: f64) -> Stops {
        let check = self.dice.chance(self.plan.checking);
        let touch_up = self.workshop.chance(self.plan.touching_up);
        Stops {
            check: check.then(|| schedule * self.dice.between(0.3, 0.8)),
            touch_up: touch_up.then(|| schedule * self.workshop.uniform()),
        }
    }

    fn wear_out(&mut self, mut edge: WearingEdge, schedule: f64) -> (Written, Ending) {
        let mut stops = self.stops(schedule);
        let mut written = Written::default();
        let mut worked = 0.0;
        while worked < schedule {
            let month = 1 + (12.0 * self.dice.uniform()) as i8;
            let work = work_in(month, &mut self.dice);
            let stop = (worked + self.dice.between(1.0, 6.0)).min(schedule);
            let stop = stops.before(worked, stop);
            let own = self.own_answers();
            let mut rates = work.rates(&self.plan.truth);
            rates.wear *= self.plan.own_rate(&own);
            let (ran, happening) = edge.work(stop - worked, rates, &mut self.dice);
            worked = if happening.is_none() {
                stop
            } else {
                worked + ran
            };
            let as_written = work.as_written(self.plan.dirt_slips, &mut self.writing);
            written.lengthen(worked, as_written.blend().with_own_conditions(&own));
            if let Some(happening) = happening {
                return self.ended(written, &edge, happening);
            }
            if worked < schedule {
                self.stand_still(&mut written, &mut edge, &mut stops, worked);
            }
        }
        self.pulled(written, &edge)
    }

    fn own_answers(&mut self) -> Vec<bool> {
        let conditions = self.plan.own_conditions.iter();
        let dice = &mut self.own_conditions;
        conditions.map(|own| dice.chance(own.share)).collect()
    }

    /// Looks and touch-ups that fall due at this hour; a look comes first.
    fn stand_still(
        &mut self,
        written: &mut Written,
        edge: &mut WearingEdge,
        stops: &mut Stops,
        worked: f64,
    ) {
        if stops.check.take_if(|at| *at <= worked).is_some() {
            written.look(self.sight(edge));
        }
        if stops.touch_up.take_if(|at| *at <= worked).is_some() {
            if self.workshop.chance(self.plan.graded_before_touch_up) {
                written.look(self.sight(edge));
            }
            written.touch_up();
            edge.touch_up(&self.plan.truth);
        }
    }

    fn sight(&mut self, edge: &WearingEdge) -> Sight {
        if self.writing.chance(self.plan.measuring) {
            Sight::Measured(edge.flat(&self.plan.truth, &mut self.dice))
        } else {
            Sight::Graded(edge.grade(&self.plan.truth, &mut self.dice))
        }
    }

    fn pulled(&mut self, mut written: Written, edge: &WearingEdge) -> (Written, Ending) {
        let seen = self.dice.chance(self.plan.grading);
        let sight = self.sight(edge);
        written.look(if seen { sight } else { Sight::NotCalled });
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
                written.notice(false);
                (written, Ending::NoticedDull)
            }
            // Whoever stops for an edge so far gone says so, and grades it.
            Happening::Called => {
                let grade = edge.grade(&self.plan.truth, &mut self.dice);
                written.notice(grade == Grade::Overrun);
                (written, Ending::NoticedDull)
            }
        }
    }
}

//! Crews that do the jobs of a plan, played out one by one.

use super::*;

pub struct Draw<'a> {
    pub question: &'a JobQuestion,
    pub draw: usize,
    pub interval: f64,
    /// Wear on the present edge and its lives, in intervals.
    pub present: Option<(f64, Vec<(f64, f64)>)>,
    pub worth_of_fresh: Vec<f64>,
    pub worth_of_present: Option<Vec<f64>>,
}

/// An edge in play. Wear in intervals.
#[derive(Clone, Copy)]
pub struct Edge {
    pub present: bool,
    /// Wear since the crew left, or since it was put in.
    pub further: f64,
    /// Wear on it at first.
    pub worn: f64,
    pub life: f64,
}

/// What a crew met: by job (changed before, lasted, changes, cost), strikes met, place of the last edge.
struct Met {
    jobs: Vec<[f64; 4]>,
    struck: bool,
    place: usize,
}

impl Draw<'_> {
    fn fresh(&self, random: &mut ChaCha8Rng) -> Edge {
        Edge {
            present: false,
            further: 0.0,
            worn: 0.0,
            life: life(
                &self.question.fresh[self.draw],
                random.random_range(1e-12..1.0),
            ) / self.interval,
        }
    }

    fn first(&self, random: &mut ChaCha8Rng) -> Edge {
        let Some((worn, lives)) = &self.present else {
            return self.fresh(random);
        };
        let pick = random.random_range(0..lives.len());
        Edge {
            present: true,
            further: 0.0,
            worn: *worn,
            life: lives[pick].0,
        }
    }

    pub fn worth(&self, edge: &Edge) -> f64 {
        let table = match (&self.worth_of_present, edge.present) {
            (Some(table), true) => table,
            _ => &self.worth_of_fresh,
        };
        if edge.worn + edge.further >= 1.0 {
            return PLANNED;
        }
        let place = (edge.further * 400.0).clamp(0.0, 399.999);
        let below = place as usize;
        // The last step before it is due ends at a planned change.
        let high = if edge.worn + (below + 1) as f64 / 400.0 >= 1.0 {
            PLANNED
        } else {
            table[below + 1]
        };
        table[below] + (place - below as f64) * (high - table[below])
    }

    /// A crew that does the jobs as the plan says.
    fn play(&self, plan: &JobPlan, random: &mut ChaCha8Rng) -> Met {
        let per_set = self.question.edges.per_set as usize;
        let mut edge = self.first(random);
        let mut met = Met {
            jobs: Vec::new(),
            struck: false,
            place: per_set - 1 - self.question.edges.left_on_machine as usize,
        };
        for (at, planned) in plan.jobs.iter().enumerate() {
            let begins = self.worth(&edge);
            let from = planned.change_from.map(|from| from.get() / INTERVAL);
            let change = match at {
                0 => plan.leave.changes(),
                _ => {
                    !edge.present
                        && edge.further > 0.0
                        && from.is_some_and(|from| edge.further > from)
                }
            };
            if change {
                edge = self.fresh(random);
                met.place += 1;
            }
            let mut told = [f64::from(u8::from(change)), 1.0, 0.0, 0.0];
            self.work(planned.written, &mut edge, &mut told, &mut met, random);
            told[3] += PLANNED * told[0] + self.worth(&edge) - begins;
            met.jobs.push(told);
        }
        met
    }

    fn work(
        &self,
        job: usize,
        edge: &mut Edge,
        told: &mut [f64; 4],
        met: &mut Met,
        random: &mut ChaCha8Rng,
    ) {
        let asked = &self.question.jobs[job];
        let per_set = self.question.edges.per_set as usize;
        let length = asked.hours.get();
        let days = (length / self.question.usual.day.get()).ceil();
        let rate = asked.wear_rates[self.draw] / self.interval;
        for day in 0..days as usize {
            if day > 0 && edge.worn + edge.further >= 1.0 {
                // In the evening, on plan: it lasted as far as anybody asked.
                if told[2] == 0.0 {
                    told[1] = self.rest(edge, job, (days - day as f64) * length / days);
                }
                *edge = self.fresh(random);
                told[2] += 1.0;
                told[3] += PLANNED;
                met.place += 1;
            }
            let mut left = length / days;
            while left > 0.0 {
                let wait: f64 = random.random_range(1e-300..1.0);
                let struck = -wait.ln() / asked.strike_rates[self.draw];
                let called = (CALL_AT * edge.life - edge.worn - edge.further).max(0.0) / rate;
                let worked = left.min(struck).min(called);
                let age = edge.worn + edge.further;
                told[3] += RUNNING * worked * (age + 0.5 * worked * rate) / edge.life;
                edge.further += worked * rate;
                if worked < left {
                    let by_strike = struck < called;
                    // The first change tells whether the edge that began the job lasted it.
                    if told[2] == 0.0 {
                        told[1] = 0.0;
                    }
                    told[2] += 1.0;
                    told[3] += if by_strike { STRUCK } else { CALLED };
                    met.struck |= by_strike;
                    met.place = if by_strike {
                        (met.place / per_set + 1) * per_set
                    } else {
                        met.place + 1
                    };
                    *edge = self.fresh(random);
                }
                left -= worked;
            }
        }
    }

    /// Whether an edge taken off in an evening would have lasted the rest: its call tells, strikes by chance.
    fn rest(&self, edge: &Edge, job: usize, length: f64) -> f64 {
        let asked = &self.question.jobs[job];
        let wear = length * asked.wear_rates[self.draw] / self.interval;
        if CALL_AT * edge.life > edge.worn + edge.further + wear {
            (-asked.strike_rates[self.draw] * length).exp()
        } else {
            0.0
        }
    }
}

/// Mean and its Monte-Carlo standard error over all crews of all draws.
fn mean(values: &[f64]) -> (f64, f64) {
    let n = values.len() as f64;
    let mean = values.iter().sum::<f64>() / n;
    let squares: f64 = values.iter().map(|value| (value - mean).powi(2)).sum();
    (mean, (squares / n / n).sqrt())
}

/// What the plan says and what crews met.
struct Compared {
    what: String,
    planned: f64,
    played: (f64, f64),
}

impl Compared {
    /// Within four standard errors and what a grid of 24 cells in an interval may be off: two parts in a
    /// thousand.
    fn agrees(&self) -> bool {
        let (mean, error) = self.played;
        (self.planned - mean).abs() <= 4.0 * error + 2e-3 * mean.abs()
    }

    fn told(&self) -> String {
        let (mean, error) = self.played;
        format!(
            "{}: {} planned, {mean} +- {error} played",
            self.what, self.planned
        )
    }
}

pub fn held_against_crews(question: &JobQuestion, seed: u64) -> JobPlan {
    let plan = plan_jobs(question).unwrap();
    let mut random = ChaCha8Rng::seed_from_u64(seed);
    let mut met = Vec::new();
    for draw in 0..3 {
        let draw = of_draw(question, draw);
        met.extend((0..CREWS).map(|_| draw.play(&plan, &mut random)));
    }
    let compared = |what: String, planned: f64, of: &dyn Fn(&Met) -> f64| Compared {
        what,
        planned,
        played: mean(&met.iter().map(of).collect::<Vec<f64>>()),
    };
    let flag = |yes: bool| f64::from(u8::from(yes));
    let mut all = Vec::new();
    for (at, job) in plan.jobs.iter().enumerate() {
        for (figure, (what, planned)) in [
            ("changed before", job.change_before.point.get()),
            ("lasts", job.lasts.point.get()),
            ("changes", job.changes.point),
            ("cost", job.cost.point.get()),
        ]
        .into_iter()
        .enumerate()
        {
            let told = |met: &Met| met.jobs[at][figure];
            all.push(compared(format!("job {at} {what}"), planned, &told));
        }
    }
    let changed_first = usize::from(plan.leave.changes());
    let beyond = (changed_first / 2 + 1 + plan.sets.take as usize) * 2;
    let short = |met: &Met| flag(met.place >= beyond);
    all.push(compared(
        "short".into(),
        plan.sets.chance_short.get(),
        &short,
    ));
    let struck = |met: &Met| flag(met.struck);
    all.push(compared("struck".into(), plan.strike.point.get(), &struck));
    let (right, wrong): (Vec<_>, Vec<_>) = all.iter().partition(|one| one.agrees());
    let told = |all: &[&Compared]| -> String { all.iter().map(|one| one.told() + "\n").collect() };
    assert!(wrong.is_empty(), "{}right:\n{}", told(&wrong), told(&right));
    plan
}

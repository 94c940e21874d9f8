//! The operator's question: at what meter reading is the next change due?

mod readings;

use crate::answer::{Answer, NO_ANSWER};
use crate::asked_wood::AskedWood;
use crate::failure::Failure;
use crate::fitting::{Conditions, Drawn, Fitted, Fitting, machines, which_machine};
use crate::settings::Settings;
use crate::unfit;
use crate::words::reading;
use clap::Args;
use keenspan::decisions::{AtWorkIn, DecisionError, DueAnswer, Evidence, WornNow, due_as_worn};
use keenspan::lives::{AtWork, MachineState};
use keenspan::logbook::Machine;
use keenspan::logbook::read::Reading;
use keenspan::quantities::{Level, MeterHours, Units};
use keenspan::views::{DueAhead, DueMark, DueReport, EdgeDue, MachineDue, View};
use keenspan::wear::{AgedDraw, Asked, Draws};
use keenspan::wood::{Blend, Contamination};
use rayon::prelude::*;
use readings::{beyond, typed_reading, was_due_at};
use std::path::PathBuf;

/// The hour-meter reading at which each machine's knives are due
///
/// The mark to write on the machine, its earliest and latest, how worn the edge is, and what is left in the
/// wood of the last four weeks; ask for the wood that is planned with --wood, --dirt and --state.
#[derive(Debug, Default, Args)]
pub struct Due {
    /// Only this machine
    #[arg(long, value_name = "NAME")]
    machine: Option<String>,
    /// What its hour meter reads now, where that is beyond the log
    #[arg(long, value_name = "READING", value_parser = reading, allow_negative_numbers = true)]
    meter: Option<f64>,
    #[command(flatten)]
    wood: AskedWood,
    /// A prior pack of your own, as models/common-practice.toml
    #[arg(long, value_name = "FILE")]
    priors: Option<PathBuf>,
    /// A saved fit; used where neither the log nor the priors have changed since
    #[arg(long, value_name = "FILE")]
    model: Option<PathBuf>,
}

/// How the marks are to be told.
#[derive(Debug, Clone, Copy)]
pub struct Telling {
    pub units: Units,
    pub seed: u64,
    /// Whether the mark of each class of dirt is wanted as well; the page of all machines has no room for them.
    pub by_dirt: bool,
}

/// The marks as the answer to a command; none where no machine's edge is known, else with the status of the fit.
pub fn answer(command: &'static str, report: &DueReport, units: Units, fit: u8) -> Answer {
    let known = |machine: &MachineDue| machine.mark != DueMark::UnknownEdge;
    Answer {
        command,
        words: report.text(),
        fields: report.json(),
        warnings: report.warnings(),
        units,
        status: if report.machines.iter().any(known) {
            fit
        } else {
            NO_ANSWER
        },
    }
}

/// One machine's edge at work, in draws.
struct Present<'a> {
    fitted: &'a Fitted,
    machine: &'a Machine,
    state: &'a MachineState,
    at_work: &'a AtWork,
    /// Meter hours beyond the log, where a reading was typed.
    beyond: Option<MeterHours>,
}

impl Due {
    /// As asked for a card: one machine or all, in the wood of the last weeks.
    pub fn of_card(machine: Option<String>) -> Self {
        Self {
            machine,
            ..Self::default()
        }
    }

    pub fn execute(&self, settings: &Settings) -> Result<Answer, Failure> {
        let reading = settings.read_log_for_answer()?;
        let fitting =
            Fitting::of_decision(self.priors.as_deref(), self.model.as_deref(), settings.seed);
        let fitted = fitting.fit(&reading.logbook, &|_| {})?;
        let status = fitted.status();
        let drawn = fitted.drawn(settings.seed);
        let units = settings.units_for(&reading);
        let telling = Telling {
            units,
            seed: settings.seed,
            by_dirt: true,
        };
        let report = self.report(&reading, &drawn, telling)?;
        let answer = answer("due", &report, units, status);
        // The answer is only to be printed yet; to give back a log piece by piece would keep people waiting.
        std::mem::forget((reading, drawn));
        Ok(answer)
    }

    /// The answers, as they were asked for.
    pub fn report(
        &self,
        reading: &Reading,
        drawn: &Drawn,
        telling: Telling,
    ) -> Result<DueReport, Failure> {
        let typed = self.meter.map(typed_reading).transpose()?;
        let asked = machines(&reading.logbook, self.machine.as_deref())?;
        if typed.is_some() && asked.len() > 1 {
            return Err(which_machine(asked));
        }
        let marks = asked
            .par_iter()
            .map(|machine| self.answer(drawn, machine, typed, telling))
            .collect::<Vec<_>>();
        Ok(DueReport {
            machines: marks.into_iter().collect::<Result<_, _>>()?,
            standing: drawn.fitted.standing(reading, telling.seed),
        })
    }

    fn answer(
        &self,
        drawn: &Drawn,
        machine: &Machine,
        typed: Option<MeterHours>,
        telling: Telling,
    ) -> Result<MachineDue, Failure> {
        let fitted = &drawn.fitted;
        let state = fitted.lives.machine(&machine.name);
        let logged = state.and_then(|state| state.meter);
        let beyond = logged
            .zip(typed)
            .map(|(last, now)| beyond(last, now))
            .transpose()?;
        let meter = typed.or(logged);
        let at_work = state.and_then(|state| Some((state, state.at_work.as_ref()?)));
        let mark = match at_work {
            Some((state, at_work)) => {
                let present = Present {
                    fitted,
                    machine,
                    state,
                    at_work,
                    beyond,
                };
                match unfit::at_work(fitted, machine, telling.units)? {
                    Some(unfit) => DueMark::MustNotRun(Box::new(present.unmarked()), unfit),
                    None if at_work.struck => DueMark::Struck(Box::new(present.unmarked())),
                    None => self.mark(&present, drawn, meter, telling)?,
                }
            }
            None => DueMark::UnknownEdge,
        };
        let in_tenths = typed.is_some_and(|now| now.get().fract() != 0.0);
        Ok(MachineDue {
            machine: machine.name.clone(),
            meter,
            meter_only_typed: logged.is_none() && typed.is_some(),
            reads_tenths: in_tenths || state.is_some_and(|state| state.reads_tenths),
            mark,
        })
    }

    fn mark(
        &self,
        present: &Present<'_>,
        drawn: &Drawn,
        meter: Option<MeterHours>,
        telling: Telling,
    ) -> Result<DueMark, Failure> {
        let draws = &drawn.draws;
        let recent = present.recent();
        let Some(edge) = present.edge(draws, &recent.blend)? else {
            return Ok(DueMark::UnknownEdge);
        };
        // The mark to write is that of the wood asked about; without any, of the wood of the last weeks.
        let mut ahead = vec![self.wood.conditions(recent.clone())?];
        if self.wood.is_asked() {
            ahead.push(recent);
        }
        let worn = present.worn(&edge)?;
        let mut answers = Vec::new();
        for conditions in ahead {
            match present.due(draws, (&edge, &worn), &conditions.blend, meter)? {
                Some(mut answer) => {
                    answer
                        .caveats
                        .extend(unfit::nicked(present.fitted, present.machine));
                    answers.push(DueAhead {
                        conditions: conditions.words,
                        was_due_at: was_due_at(&answer, meter, present.hours_since()),
                        answer,
                    });
                }
                None if answers.is_empty() => return Ok(DueMark::WhenCalled),
                None => {}
            }
        }
        let by_dirt = if telling.by_dirt {
            present.by_dirt(&drawn.few, (&drawn.few_of(&edge), &worn), meter)?
        } else {
            Vec::new()
        };
        Ok(DueMark::Known(Box::new(EdgeDue {
            ahead: answers,
            by_dirt,
            ..present.unmarked()
        })))
    }
}

impl Present<'_> {
    /// The wood of the last weeks; what it usually chips where they do not tell.
    fn recent(&self) -> Conditions {
        match &self.state.recent {
            Some(blend) => Conditions {
                words: "in wood as in its last four weeks".to_string(),
                blend: blend.as_ref().clone(),
            },
            None => self.fitted.usual(self.machine),
        }
    }

    fn asked(&self, blend: &Blend) -> Asked {
        self.fitted.asked(self.machine, blend.clone())
    }

    /// The edge in every draw; `None` where its past is not known.
    fn edge(&self, draws: &Draws, ahead: &Blend) -> Result<Option<Vec<AgedDraw>>, Failure> {
        let edge = match self.at_work.life {
            Some(life) => draws.aged(&self.fitted.aged(life)?),
            None if self.at_work.hours_since == MeterHours::ZERO => {
                let laws = draws.under(&self.asked(&Blend::reference()));
                laws.iter().map(|draw| AgedDraw::fresh(&draw.law)).collect()
            }
            None => return Ok(None),
        };
        let Some(beyond) = self.beyond else {
            return Ok(Some(edge));
        };
        let rates = draws.wear_rates(ahead);
        let worked = edge.into_iter().zip(rates);
        Ok(Some(
            worked
                .map(|(edge, rate)| edge.after(beyond, rate))
                .collect(),
        ))
    }

    fn worn(&self, edge: &[AgedDraw]) -> Result<WornNow, Failure> {
        let is_called = |life| self.fitted.is_called_dull(life);
        Ok(WornNow {
            called_dull: self.at_work.life.is_some_and(is_called),
            ..WornNow::of(edge, Level::NINETY)?
        })
    }

    /// The answer for each class of dirt in which a planned change pays.
    fn by_dirt(
        &self,
        draws: &Draws,
        edge: (&[AgedDraw], &WornNow),
        meter: Option<MeterHours>,
    ) -> Result<Vec<(&'static str, DueAnswer)>, Failure> {
        let recent = self.recent().blend;
        let answers = Contamination::ALL
            .par_iter()
            .map(|class| {
                let blend = recent.with(Some(*class), None);
                let answer = self.due(draws, edge, &blend, meter)?;
                Ok(answer.map(|answer| (class.word(), answer)))
            })
            .collect::<Vec<_>>();
        let answers: Vec<Option<_>> = answers.into_iter().collect::<Result<_, Failure>>()?;
        Ok(answers.into_iter().flatten().collect())
    }

    /// `None` where no planned change pays.
    fn due(
        &self,
        draws: &Draws,
        (edge, worn): (&[AgedDraw], &WornNow),
        blend: &Blend,
        meter: Option<MeterHours>,
    ) -> Result<Option<DueAnswer>, Failure> {
        let asked = self.asked(blend);
        let rates = draws.wear_rates(blend);
        let at_work = AtWorkIn {
            edge,
            laws: &draws.under_at(&asked, &rates),
            rates: &rates,
            meter,
            lately: &draws.wear_rates(&self.recent().blend),
        };
        let costs = self.fitted.cycle_costs(self.machine)?;
        let evidence: Evidence = self.fitted.evidence(self.machine, &asked);
        match due_as_worn(at_work, worn, &costs, &evidence) {
            Ok(answer) => Ok(Some(answer)),
            Err(DecisionError::RunUntilCalled { .. }) => Ok(None),
            Err(error) => Err(error.into()),
        }
    }

    /// Meter hours that the edge at work has worked, up to now.
    fn hours_since(&self) -> MeterHours {
        let since = self.at_work.hours_since;
        let beyond = self.beyond.map_or(0.0, MeterHours::get);
        MeterHours::new(since.get() + beyond).unwrap_or(since)
    }

    /// The edge at work, without its mark.
    fn unmarked(&self) -> EdgeDue {
        let at_work = self.at_work;
        EdgeDue {
            set: at_work.set.clone(),
            edge: at_work.edge,
            reversible: self.machine.edges_per_knife > 1,
            since: at_work.since.to_string(),
            meter_then: at_work.meter_then,
            hours_since: self.hours_since(),
            hours_guessed: at_work.hours_guessed,
            hours_beyond_log: self.beyond,
            struck: at_work.struck,
            // A strike ends what can be known of it.
            last_look: (at_work.life.filter(|_| !at_work.struck))
                .and_then(|life| self.fitted.last_look(life)),
            ahead: Vec::new(),
            by_dirt: Vec::new(),
        }
    }
}

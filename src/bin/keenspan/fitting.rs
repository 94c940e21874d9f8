//! From a log to the fitted wear model: what every answer that rests on the fit has in common.

use crate::answer::{ANSWERED, NO_ANSWER};
use crate::clock::today_at_latest;
use crate::failure::Failure;
use crate::models::{self, Loaded};
use crate::own_edges::OwnEdges;
use keenspan::decisions::{
    CycleCosts, DecisionError, Evidence, KnifeLayout, ShopCosts, handling_knives,
};
use keenspan::lives::{
    Alarm, EdgeLife, LastLook, Lives, MixOrigin, Observation, Sight, edge_lives,
};
use keenspan::logbook::read::Reading;
use keenspan::logbook::{CostItem, Logbook, Machine};
use keenspan::quantities::WearFraction;
use keenspan::views::{AdequacyReport, Standing};
use keenspan::wear::seeded;
use keenspan::wear::{
    AgedEdge, Among, Asked, Draws, EdgeRecords, Family, LifeScore, Method, PriorPack,
    StrikePosterior, StrikeRecord, WearError, WearModel, WearPosterior,
};
use keenspan::wood::Blend;
use linfa::{DatasetBase, ParamGuard};
use std::collections::HashMap;
use std::path::Path;

/// How the wear model is to be fitted.
#[derive(Debug, Clone, Copy)]
pub struct Fitting<'a> {
    /// A prior pack of the shop's own.
    pub priors: Option<&'a Path>,
    /// Law of life.
    pub family: Family,
    /// How the posterior is drawn.
    pub method: Method,
    /// Weighted draws.
    pub draws: usize,
    /// Start of the random numbers.
    pub seed: u64,
    /// A saved fit, to be used where it is of the log, costs and priors as they are now.
    pub saved: Option<&'a Path>,
}

/// A log, and what was fitted to it.
pub struct Fitted {
    pub lives: Lives,
    pub costs: ShopCosts,
    pub posterior: WearPosterior,
    pub strikes: StrikePosterior,
    /// Each machine's own edges, by its name.
    own: HashMap<String, OwnEdges>,
    /// The model that was fitted, and what it was fitted to.
    model: WearModel,
    dataset: DatasetBase<EdgeRecords, Vec<Observation>>,
    /// The prior pack, as written.
    pub pack_text: String,
    /// What must be said of the saved fit, where one was named and could not be used.
    pub stale: Option<String>,
}

/// A fit with draws from it, which every decision is made of.
pub struct Drawn {
    pub fitted: Fitted,
    pub draws: Draws,
    /// Fewer, for what is shown many times over.
    pub few: Draws,
}

impl Drawn {
    /// Of what was made of every draw, what was made of the few.
    pub fn few_of<T: Clone>(&self, all: &[T]) -> Vec<T> {
        self.draws.thinned_of(all, FEW)
    }
}

/// Weighted draws that a decision's fit is made of.
const DRAWS: usize = 384;
/// Draws behind every decision. On the demo upper bounds move by 5 % of their width from seed to seed, lower ones by 2.3.
const ANSWERED_FROM: usize = 256;
/// Draws behind each cell of a table, whose bounds move by half as much again.
const FEW: usize = 128;

/// The defaults that a fit begins with.
struct Defaults {
    pack: PriorPack,
    pack_text: String,
    costs: ShopCosts,
}

/// Conditions, and how they are called.
#[derive(Debug, Clone)]
pub struct Conditions {
    pub words: String,
    pub blend: Blend,
}

impl<'a> Fitting<'a> {
    /// As decisions need it: the usual law, drawn as well as it can be.
    pub fn of_decision(priors: Option<&'a Path>, saved: Option<&'a Path>, seed: u64) -> Self {
        Self {
            priors,
            family: Family::Weibull,
            method: Method::Auto,
            draws: DRAWS,
            seed,
            saved,
        }
    }

    /// Fits the log's edges, telling `done` of the sampler's draws as they are made, if it comes to that.
    pub fn fit(&self, log: &Logbook, done: &(dyn Fn(usize) + Sync)) -> Result<Fitted, Failure> {
        let defaults = || {
            // Alone, or with a saved fit, who needs them lays them out.
            if rayon::current_num_threads() > 1 && self.saved.is_none() {
                WearModel::lay_out_tables(self.family);
            }
            self.defaults()
        };
        let (mut lives, defaults) = rayon::join(|| edge_lives(log), defaults);
        lives.tally.note_days(log, today_at_latest());
        let Defaults {
            pack,
            pack_text,
            mut costs,
        } = defaults?;
        for (item, value) in &log.costs.items {
            costs = costs.with(item.key(), *value)?;
        }
        let (records, observations) = EdgeRecords::from_lives(&lives);
        let dataset = DatasetBase::new(records, observations);
        let model = WearModel::params(&pack, called_at(&costs)?)
            .family(self.family)
            .method(self.method)
            .draws(self.draws)
            .seed(self.seed)
            .check()?;
        let (posterior, stale) = self.posterior(&model, &dataset, done)?;
        let record = StrikeRecord::new(&lives.strikes, &lives.usual_mix.crew);
        Ok(Fitted {
            strikes: StrikePosterior::new(&pack, &record),
            own: OwnEdges::by_machine(&log.machines, &lives.lives),
            model,
            dataset,
            lives,
            costs,
            posterior,
            pack_text,
            stale,
        })
    }

    /// The saved fit where one was named and is of these very edges and priors, a fresh one otherwise. The search for
    /// that begins from what was saved, which moves an answer by rounding alone and makes a fleet's quicker.
    fn posterior(
        &self,
        model: &WearModel,
        dataset: &DatasetBase<EdgeRecords, Vec<Observation>>,
        done: &(dyn Fn(usize) + Sync),
    ) -> Result<(WearPosterior, Option<String>), Failure> {
        let fresh = |earlier: Option<&WearPosterior>| match earlier {
            Some(earlier) => model.fit_from_telling(dataset, earlier, done),
            None => model.fit_telling(dataset, done),
        };
        let Some(file) = self.saved else {
            return Ok((fresh(None)?, None));
        };
        let fingerprint = model.fingerprint(dataset.records(), dataset.targets())?;
        match models::load(file, &fingerprint) {
            Loaded::Fits(posterior) => Ok((*posterior, None)),
            Loaded::Stale(stale) => Ok((fresh(stale.earlier())?, Some(stale.to_string()))),
            Loaded::Unreadable(unreadable) => Err(Failure::Usage(unreadable.to_string())),
        }
    }

    fn defaults(&self) -> Result<Defaults, Failure> {
        let Some(file) = self.priors else {
            return Ok(Defaults {
                pack: PriorPack::common_practice().map_err(WearError::from)?,
                pack_text: PriorPack::common_practice_text().to_string(),
                costs: ShopCosts::common_practice()?,
            });
        };
        let unusable = |reason: String| Failure::Usage(format!("{}: {reason}", file.display()));
        let pack_text =
            std::fs::read_to_string(file).map_err(|error| unusable(error.to_string()))?;
        Ok(Defaults {
            pack: PriorPack::parse(&pack_text).map_err(|error| unusable(error.to_string()))?,
            costs: ShopCosts::from_pack(&pack_text).map_err(|error| unusable(error.to_string()))?,
            pack_text,
        })
    }
}

impl Fitted {
    /// Of the edges, priors and settings.
    pub fn fingerprint(&self) -> Result<String, Failure> {
        let (records, seen) = (self.dataset.records(), self.dataset.targets());
        Ok(self.model.fingerprint(records, seen)?)
    }

    /// With its draws.
    pub fn drawn(self, seed: u64) -> Drawn {
        let draws = self.draws(seed);
        Drawn {
            few: draws.thinned(FEW),
            draws,
            fitted: self,
        }
    }

    /// The draws behind every decision.
    pub fn draws(&self, seed: u64) -> Draws {
        self.posterior
            .draws(&self.strikes, ANSWERED_FROM, &mut seeded(seed))
    }

    /// The draws behind what is done with knives: fewer of a fleet, whose sets are hundreds. On 20 machines (650 edges)
    /// their costs moved by 5 to 7.5 % of the width of their bounds with half of the draws (root mean square); another
    /// seed moves them by 4 to 15 %.
    pub fn draws_for_knives(&self, seed: u64) -> Draws {
        let draws = self.draws(seed);
        if self.posterior.is_of_fleet() {
            draws.thinned(FEW)
        } else {
            draws
        }
    }

    /// How well the model fits; `None` without edges.
    pub fn adequacy(&self, seed: u64) -> Result<Option<AdequacyReport>, Failure> {
        if self.lives.lives.is_empty() {
            return Ok(None);
        }
        let adequacy = self.model.adequacy(&self.dataset, &self.posterior, seed)?;
        let lives = self.lives.lives.iter();
        let name = |life: &EdgeLife| {
            let hours = life.exposure.total().get();
            format!(
                "{}'s {}, edge {}, {hours:.1} hours",
                life.machine, life.set, life.edge
            )
        };
        Ok(Some(AdequacyReport {
            adequacy,
            names: lives.map(name).collect(),
        }))
    }

    /// The life of each edge as a normal score under what the others foretell for it.
    pub fn life_scores(&self, seed: u64) -> Result<Vec<LifeScore>, Failure> {
        Ok(self
            .model
            .life_scores(&self.dataset, &self.posterior, seed)?)
    }

    /// What a machine usually chips.
    pub fn usual(&self, machine: &Machine) -> Conditions {
        let words = match self.lives.usual_mix.origin(&machine.name) {
            MixOrigin::Own => "in the wood it usually chips",
            MixOrigin::Crew => "in the wood the crew usually chips",
            MixOrigin::Reference => "in clean, green hardwood",
        };
        Conditions {
            words: words.to_string(),
            blend: self.lives.usual_mix.machine(&machine.name).as_ref().clone(),
        }
    }

    /// Edges of this machine count as reground where most that it has run were.
    pub fn asked(&self, machine: &Machine, blend: Blend) -> Asked {
        let reground = self.own(machine).is_some_and(|own| own.reground);
        self.asked_of(machine, blend, reground)
    }

    /// New or reground edges of this machine.
    pub fn asked_of(&self, machine: &Machine, blend: Blend, reground: bool) -> Asked {
        let none = || Among::of_own(&[], &machine.name, reground);
        Asked {
            blend,
            rotor: machine.rotor,
            reground,
            among: self
                .own(machine)
                .map_or_else(none, |own| own.among(reground)),
        }
    }

    fn own(&self, machine: &Machine) -> Option<&OwnEdges> {
        self.own.get(&machine.name)
    }
}

impl Fitted {
    /// What a cycle of an edge costs on this machine.
    pub fn cycle_costs(&self, machine: &Machine) -> Result<CycleCosts, Failure> {
        Ok(self.costs.cycle(layout(machine))?)
    }

    /// What an answer for this machine stands on.
    pub fn evidence(&self, machine: &Machine, asked: &Asked) -> Evidence {
        let own = self.own(machine);
        let variances = self.posterior.log_life_variances(asked);
        Evidence {
            edges_finished: own.map_or(0, |own| own.finished),
            edges_graded: own.map_or(0, |own| own.graded),
            prior_variance: variances.before,
            posterior_variance: variances.after,
        }
    }

    /// What somebody last saw of one of the log's edges.
    pub fn last_look(&self, life: usize) -> Option<LastLook> {
        self.lives.lives[life].last_look()
    }

    /// Whether that was that it is dull.
    pub fn is_called_dull(&self, life: usize) -> bool {
        self.last_look(life)
            .is_some_and(|look| look.calls_it_dull())
    }

    /// One of the log's lives, ready to be looked at under draws.
    pub fn aged(&self, life: usize) -> Result<AgedEdge, Failure> {
        let record = &self.dataset.records().edges[life];
        Ok(self.posterior.aged(record, &self.dataset.targets()[life])?)
    }

    /// The same, as somebody sees it now.
    pub fn aged_as_seen(&self, life: usize, sight: Sight) -> Result<AgedEdge, Failure> {
        let record = &self.dataset.records().edges[life];
        let now = self.lives.lives[life].exposure.total();
        let seen = self.dataset.targets()[life].with_last_look(now, sight);
        Ok(self.posterior.aged(record, &seen)?)
    }

    /// What every answer from this fit stands on.
    pub fn standing(&self, reading: &Reading, seed: u64) -> Standing {
        let tally = &self.lives.tally;
        let mut alarms = tally.alarms();
        alarms.extend(self.stale.clone().map(Alarm::from));
        let doubts = self.posterior.health().doubts.iter();
        let rely = |doubt| Alarm::from(format!("Do not rely on this: {doubt}."));
        alarms.extend(doubts.map(rely));
        Standing {
            currency: reading.logbook.costs.currency.clone(),
            edges_found: tally.edges_found,
            edges_used: tally.edges_used,
            rows_set_aside: set_aside(reading),
            alarms,
            default_costs: asked_of_shops(&self.costs),
            notes: tally.notes.len(),
            seed,
            cautions: handling_knives(),
        }
    }

    /// The exit status of every answer from this fit.
    pub fn status(&self) -> u8 {
        if self.posterior.health().is_trustworthy() {
            ANSWERED
        } else {
            NO_ANSWER
        }
    }
}

/// The knives that one change puts to work on this machine.
pub fn layout(machine: &Machine) -> KnifeLayout {
    KnifeLayout {
        knives: machine.knives,
        edges_per_knife: machine.edges_per_knife,
    }
}

/// The machines asked about: one by name, or all.
pub fn machines<'a>(log: &'a Logbook, name: Option<&str>) -> Result<Vec<&'a Machine>, Failure> {
    let Some(name) = name else {
        return Ok(log.machines.iter().collect());
    };
    let named = |machine: &&Machine| machine.name.eq_ignore_ascii_case(name);
    let found: Vec<&Machine> = log.machines.iter().filter(named).collect();
    if found.is_empty() {
        let known: Vec<&str> = log.machines.iter().map(|it| it.name.as_str()).collect();
        return Err(Failure::Usage(format!(
            "machines.csv has no machine \"{name}\"; it has {}",
            known.join(", ")
        )));
    }
    Ok(found)
}

/// Where one machine is meant and the log has several.
pub fn which_machine<'a>(machines: impl IntoIterator<Item = &'a Machine>) -> Failure {
    let names: Vec<&str> = machines.into_iter().map(|it| it.name.as_str()).collect();
    Failure::Usage(format!(
        "say which machine, with --machine NAME; machines.csv has {}",
        names.join(", ")
    ))
}

/// Items that costs.csv asks for and the shop has not given.
fn asked_of_shops(costs: &ShopCosts) -> Vec<&'static str> {
    let asked = |name: &&'static str| CostItem::ALL.iter().any(|item| item.key() == *name);
    costs.still_defaults().into_iter().filter(asked).collect()
}

/// Rows set aside, for each file that has any.
pub fn set_aside(reading: &Reading) -> Vec<(String, usize)> {
    let files = reading.files.iter().filter(|count| count.set_aside > 0);
    files
        .map(|count| (count.file.name().to_string(), count.set_aside))
        .collect()
}

fn called_at(costs: &ShopCosts) -> Result<WearFraction, Failure> {
    WearFraction::new(costs.call_at.value)
        .map_err(|error| Failure::Usage(format!("call_at: {error}")))
}

impl From<WearError> for Failure {
    fn from(error: WearError) -> Self {
        Self::NoTrustworthyAnswer(error.to_string())
    }
}

impl From<DecisionError> for Failure {
    fn from(error: DecisionError) -> Self {
        match error {
            DecisionError::UnknownCostItem { .. } | DecisionError::CostOutOfRange { .. } => {
                Self::Log(format!(
                    "{error}. Look into costs.csv, and into the prior pack if you gave one"
                ))
            }
            other => Self::NoTrustworthyAnswer(other.to_string()),
        }
    }
}

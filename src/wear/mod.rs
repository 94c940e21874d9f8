//! What wear looks like: life distributions, the likelihood of what was seen, priors, the posterior.
//!
//! This is the only room that draws random numbers, from a generator handed in. It knows no dates, no
//! files, no costs.
//!
//! # Examples
//!
//! The model of edges: settings ([`WearModel`]) and a prior pack ([`PriorPack`]) in, a fitted model
//! ([`WearPosterior`]) out, which gives draws under the conditions asked about, can be kept as text and taken up
//! again, and makes priors for another machine. (From the lives of a log: the front page of this crate.)
//!
//! ```
//! use keenspan::lives::Rotor;
//! use keenspan::quantities::WearFraction;
//! use keenspan::simulation::{CrewPlan, crew};
//! use keenspan::wear::{
//!     Asked, EdgeRecords, PriorPack, SavedModel, StrikePosterior, StrikeRecord, WearModel, seeded,
//! };
//! use keenspan::wood::Blend;
//! use linfa::traits::Fit;
//! use linfa::{DatasetBase, ParamGuard};
//!
//! // Twelve edges of an invented crew.
//! let lives = crew(1, &CrewPlan { edges: 12, ..CrewPlan::default() });
//! let (records, seen) = EdgeRecords::from_edges(&lives, &[]);
//! let edges = DatasetBase::new(records, seen);
//! let pack = PriorPack::common_practice()?;
//! let model = WearModel::params(&pack, WearFraction::new(1.3)?).draws(500).check()?;
//! let posterior = model.fit(&edges)?;
//!
//! // How long reground edges last on a drum in clean, green hardwood: half of them, draw by draw.
//! let asked =
//!     Asked { blend: Blend::reference(), rotor: Rotor::Drum, reground: true, among: vec![] };
//! let strikes = StrikePosterior::new(&pack, &StrikeRecord::default());
//! let laws = posterior.draws(&strikes, 200, &mut seeded(1)).under(&asked);
//! assert_eq!(laws.len(), 200);
//! let known = posterior.log_life_variances(&asked);
//! assert!(known.after < known.before);
//!
//! // Kept and taken up again it answers the same to the last bit.
//! let fingerprint = model.fingerprint(edges.records(), edges.targets())?;
//! let text = serde_json::to_string(&posterior.save(&fingerprint))?;
//! let again = serde_json::from_str::<SavedModel>(&text)?.restore()?;
//! assert_eq!(again.draws(&strikes, 200, &mut seeded(1)).under(&asked), laws);
//!
//! // Half of what these edges have taught, as priors for the next machine.
//! let learned =
//!     PriorPack::from_posterior(PriorPack::common_practice_text(), &posterior, &strikes, 0.5)?;
//! assert_ne!(PriorPack::parse(&learned)?, pack);
//! # Ok::<(), Box<dyn std::error::Error>>(())
//! ```
//!
//! Life tables by maximum likelihood ([`LifeTableFit`]), and the estimate that knows no law ([`NonParametric`]),
//! for anybody who wants to hold the numerics against other software:
//!
//! ```
//! use keenspan::quantities::Level;
//! use keenspan::wear::{
//!     Bounds, Distribution, Family, LifeTable, LifeTableFit, Lifetime, NonParametric,
//! };
//!
//! // Three lives that ended, one that was still going at 90.
//! let life = |lower, upper| Lifetime { lower, upper, weight: 1.0, entry: 0.0 };
//! let lives = vec![life(35.0, 35.0), life(52.0, 52.0), life(70.0, 70.0), life(90.0, f64::INFINITY)];
//! let table = LifeTable {
//!     covariate_names: vec![],
//!     covariates: vec![vec![]; lives.len()],
//!     lives: lives.clone(),
//! };
//! let weibull = Distribution { family: Family::Weibull, fixed_sigma: None };
//! let fit = LifeTableFit::new(&table, weibull)?;
//! let half = fit.quantile(0.5, &[], Level::NINETY, Bounds::LikelihoodRatio);
//! assert!(half.lower < half.point && half.point < half.upper);
//!
//! // Without a law: three of four outlast 40.
//! let (lowest, highest) = NonParametric::new(&lives)?.survival(40.0);
//! assert!((lowest - 0.75).abs() < 1e-9 && (highest - 0.75).abs() < 1e-9);
//! # Ok::<(), Box<dyn std::error::Error>>(())
//! ```

mod adequacy;
mod among;
mod covariate_rows;
mod density;
pub mod diagnostics;
mod draw_columns;
mod draws;
mod earlier;
mod effects;
mod error;
mod estimator;
mod existence;
mod eye;
mod fingerprint;
mod fleet;
mod further_changes;
mod generator;
mod group_priors;
mod importance;
mod laplace;
mod learned;
mod learned_pack;
mod life_columns;
mod life_distribution;
mod life_law;
mod life_nodes;
mod life_table;
mod likelihood;
mod loglogistic;
mod lognormal;
mod maximum_likelihood;
mod nested;
mod nuts;
mod parameters;
mod posterior;
mod prior;
mod prior_pack;
mod records;
mod sample;
mod saved;
mod section;
mod seen_edge;
mod standardise;
mod strike_law;
mod strikes;
mod wear_sum;
mod weibull;
mod whole_fit;

pub use adequacy::{
    Adequacy, AdequacyError, Count, Counts, Coverage, CurvePoint, EdgeScore, FamilyFit,
    FittedCurve, Gap, GradeCount, LeaveOneOut, LeftOut, LifeScore, NonParametric, PlottedLine,
    PlottedPoint, ProbabilityPlot, ScoreBounds, ScoreTest, ScoresTest, Step, SurvivalSpan, Verdict,
    combined_p_value, equal_precision_value, normal_scores, test_scores,
};
pub use among::Among;
pub use density::{Anchor, DensitySettings, LogPosterior, Parameters, Quadratic, WearDensity};
pub use draws::Draws;
pub use error::WearError;
pub use estimator::{WearModel, WearModelParams};
pub use existence::{Flat, FlatDirection};
pub use fleet::{FLEET_FROM, FLEET_PASSES, FleetFit, FleetRow, GroupLife};
pub use further_changes::{FutureChange, Habit, HabitRange, HabitRanges};
pub use generator::{seeded, seeded_stream};
pub use group_priors::{WholePriors, WholePriorsError};
pub use laplace::Laplace;
pub use learned::{Learned, Quantity, QuantityUnit};
pub use learned_pack::LearnedPackError;
pub use life_columns::{LifeBlock, LifeColumns, LifeRows};
pub use life_distribution::{Curve, Family, Gathered, LifeDistribution};
pub use life_law::{DrawUnderConditions, LifeLaw, chances_dull_by};
pub use life_table::{Censoring, Distribution, LifeTable, Lifetime};
pub use likelihood::{AgedDraw, AgedEdge, LastSeen};
pub use loglogistic::Loglogistic;
pub use lognormal::Lognormal;
pub use maximum_likelihood::{Bounds, LifeTableError, LifeTableFit};
pub use nuts::ChainLengths;
pub use parameters::Layout;
pub use posterior::{Asked, Variances, WearPosterior};
pub use prior::{HalfNormal, NormalPrior, Prior, Priors};
pub use prior_pack::{PriorEntry, PriorPack, PriorPackError};
pub use records::{EdgeRecord, EdgeRecords, Grouping, Stretch, features_of};
pub use sample::{Doubt, Draw, Health, Method, Sample, SampleSettings, Summary};
pub use saved::{SavedModel, SavedModelError};
pub use strikes::{StrikePosterior, StrikePrior, StrikeRate, StrikeRecord, strikes_per_hour};
pub use weibull::Weibull;
pub use whole_fit::{StrikesMet, WholeFit};

/// Names of the covariates of life that a crew's log gives: 1 on a disc rotor, 1 once reground.
pub const FEATURES: [&str; 2] = ["disc", "reground"];

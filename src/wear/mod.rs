//! What wear looks like: life distributions, the likelihood of what was seen, priors, the posterior.
//!
//! This is the only room that draws random numbers, from a generator handed in. It knows no dates, no
//! files, no costs.

mod adequacy;
mod among;
mod density;
pub mod diagnostics;
mod draws;
mod error;
mod estimator;
mod existence;
mod eye;
mod fingerprint;
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
pub use further_changes::{FutureChange, Habit, HabitRange, HabitRanges};
pub use generator::{seeded, seeded_stream};
pub use group_priors::{WholePriors, WholePriorsError};
pub use laplace::Laplace;
pub use learned::{Learned, Quantity, QuantityUnit};
pub use learned_pack::LearnedPackError;
pub use life_columns::{LifeBlock, LifeColumns, LifeRows};
pub use life_distribution::{Curve, Family, Gathered, LifeDistribution};
pub use life_law::{DrawUnderConditions, LifeLaw};
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

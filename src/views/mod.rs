//! How an answer is shown. A view computes nothing beyond rounding: every number it prints stands in the
//! answer that it is given.
//!
//! Each decision has its report ([`IntervalReport`], [`DueReport`], [`KnivesReport`], [`JobReport`],
//! [`SetsReport`], [`DriftReport`], [`FitReport`], [`ReplacementReport`]), which holds the answers and what they
//! stand on ([`Standing`]) and shows them as a [`View`]: text for people, JSON for programs by [`JSON_SCHEMA`].
//! [`ReportPage`] puts all of it on one page, or into pictures; [`MachineCards`] prints what hangs in the shop.
//! [`svg`] draws plots.
//!
//! # Examples
//!
//! ```
//! use keenspan::decisions::{
//!     Evidence, KnifeLayout, Question, ShopCosts, handling_knives, recommend,
//! };
//! use keenspan::quantities::Level;
//! use keenspan::views::{IntervalReport, MachineInterval, Recommended, Standing, View};
//! use keenspan::wear::{DrawUnderConditions, Family, LifeLaw};
//!
//! let draws = [50.0_f64, 55.0, 62.0].map(|median| DrawUnderConditions {
//!     law: LifeLaw { family: Family::Weibull, log_median: median.ln(), sigma: 0.33 },
//!     strikes_per_hour: 0.002,
//! });
//! let shop = ShopCosts::common_practice()?;
//! let evidence = Evidence {
//!     edges_finished: 12,
//!     edges_graded: 10,
//!     prior_variance: 0.16,
//!     posterior_variance: 0.02,
//! };
//! let question =
//!     Question { rule: None, service_every: None, hours_per_year: None, level: Level::NINETY, evidence };
//! let costs = shop.cycle(KnifeLayout { knives: 4, edges_per_knife: 2 })?;
//! let report = IntervalReport {
//!     machines: vec![MachineInterval {
//!         machine: "big drum".to_string(),
//!         rotor: "drum",
//!         conditions: "in the wood it usually chips".to_string(),
//!         edges: evidence.edges_finished,
//!         answer: Recommended::At(Box::new(recommend(&draws, &costs, &question)?)),
//!         further_changes: None,
//!         by_wood: vec![],
//!         year: None,
//!         tried: None,
//!     }],
//!     standing: Standing {
//!         default_costs: shop.still_defaults(),
//!         cautions: handling_knives(),
//!         ..Standing::default()
//!     },
//!     rule_was_typed: false,
//! };
//! assert!(report.text().starts_with("big drum: change the knives every "));
//! assert!(report.text().contains("Before hands go near knives:"));
//! let interval = &report.json()["answers"][0]["interval"];
//! assert_eq!(interval["level"], 0.9);
//! # Ok::<(), Box<dyn std::error::Error>>(())
//! ```

mod adequacy;
mod card;
mod drift;
mod due;
mod fit;
mod format;
mod group_table;
mod interval;
mod job;
mod knives;
mod last_look;
mod life_table;
mod posterior_table;
mod reading;
mod replacement;
mod report;
mod sets;
mod standing;
pub mod svg;
mod unfit;

pub use adequacy::AdequacyReport;
pub use card::{
    CardError, MachineCard, MachineCards, Paper, PrintedPages, SetSheet, SheetLife, Steel, Tools,
};
pub use drift::{DriftChart, DriftReport, EdgeLabel};
pub use due::{DueAhead, DueMark, DueReport, EdgeDue, MachineDue};
pub use fit::{FitReport, MachineHabits};
pub use group_table::{GroupColumn, GroupTable};
pub use interval::{IntervalReport, MachineInterval, Recommended, TriedInterval, WoodInterval};
pub use job::{JobReport, NamedJob, SetPartlyFresh, SetsReady};
pub use knives::{KnivesReport, LookAgainstLog, SetKnives};
pub use life_table::{LifeTableAnswer, LifeTableQuestion, QuantileRow};
pub use posterior_table::{FittedEdges, PosteriorRow, PosteriorSummary, PosteriorTable};
pub use reading::ReadingReport;
pub use replacement::ReplacementReport;
pub use report::{LineEnd, LineStay, MachineDull, MachineLine, Picture, ReportPage};
pub use sets::{MachineSets, SetsReport};
pub use standing::Standing;
pub use unfit::UnfitSet;

use serde_json::{Map, Value};

/// The JSON Schema (draft 2020-12) of everything that the program prints with `--json`, kept by hand beside the
/// views. `tests/cli/schema` holds every output against it.
pub const JSON_SCHEMA: &str = include_str!("schema.json");

/// An answer that can be shown.
pub trait View {
    /// For people, ending with a line feed.
    fn text(&self) -> String;
    /// For programs: the fields of the answer.
    fn json(&self) -> Map<String, Value>;
    /// What weakens the answer; `text` says it too.
    fn warnings(&self) -> Vec<String>;
}

//! How an answer is shown. A view computes nothing beyond rounding: every number it prints stands in the
//! answer that it is given.

mod adequacy;
mod card;
mod drift;
mod due;
mod fit;
mod format;
mod interval;
mod job;
mod knives;
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
pub use interval::{IntervalReport, MachineInterval, Recommended, TriedInterval, WoodInterval};
pub use job::{JobReport, NamedJob};
pub use knives::{KnivesReport, SetKnives};
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

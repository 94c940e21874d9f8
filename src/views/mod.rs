//! How an answer is shown. A view computes nothing beyond rounding: every number it prints stands in the
//! answer that it is given.

mod adequacy;
mod drift;
mod fit;
mod format;
mod interval;
mod life_table;
mod posterior_table;
mod reading;
mod standing;

pub use adequacy::AdequacyReport;
pub use drift::{DriftChart, DriftReport, EdgeLabel};
pub use fit::{FitReport, MachineHabits};
pub use interval::{IntervalReport, MachineInterval, Recommended, WoodInterval};
pub use life_table::{LifeTableAnswer, LifeTableQuestion, QuantileRow};
pub use posterior_table::{FittedEdges, PosteriorRow, PosteriorSummary, PosteriorTable};
pub use reading::ReadingReport;
pub use standing::Standing;

use serde_json::{Map, Value};

/// An answer that can be shown.
pub trait View {
    /// For people, ending with a line feed.
    fn text(&self) -> String;
    /// For programs: the fields of the answer.
    fn json(&self) -> Map<String, Value>;
    /// What weakens the answer; `text` says it too.
    fn warnings(&self) -> Vec<String>;
}

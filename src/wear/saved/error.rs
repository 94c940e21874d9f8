//! Why a saved model cannot be used.

use crate::wear::WearError;

/// Why a saved model cannot be written or used.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum SavedModelError {
    /// Something else than a saved model.
    #[error("this is no saved model: {reason}")]
    NotAModel {
        /// What speaks against it.
        reason: String,
    },
    /// The text stops before its end.
    #[error("the saved model is cut off: it stops at line {line}. Save the fit anew")]
    CutOff {
        /// Last line there is.
        line: usize,
    },
    /// A later keenspan wrote it, in a way that this one does not know.
    #[error(
        "the saved model has format {found} (written by keenspan {made_by}), and this keenspan reads format \
         {known}: install a keenspan at least as new, or save the fit anew with this one"
    )]
    LaterFormat {
        /// Its format.
        found: u64,
        /// The format known here.
        known: u64,
        /// Which keenspan wrote it, as far as it says.
        made_by: String,
    },
    /// An earlier version wrote it, in a format that is no longer read.
    #[error(
        "the saved model was made by keenspan {made_by}, in a format that this version no longer reads. Save the fit anew"
    )]
    EarlierFormat {
        /// Which keenspan wrote it, as far as it says.
        made_by: String,
    },
    /// A field is not there.
    #[error("the saved model has no \"{field}\". Save the fit anew")]
    Missing {
        /// Which field.
        field: &'static str,
    },
    /// A field is there and holds something else than it should.
    #[error("the saved model cannot be read: {reason}. Save the fit anew")]
    Malformed {
        /// What was found and what would be right.
        reason: String,
    },
    /// A number that is infinite or none at all.
    #[error(
        "the saved model's \"{field}\" holds something that is not a finite number. Save the fit anew"
    )]
    NotFinite {
        /// Which field.
        field: &'static str,
    },
    /// Numbers are too many or too few for the rest.
    #[error(
        "the saved model's \"{field}\" holds {found} numbers where the rest of it asks for {wanted}. Save the fit anew"
    )]
    Misfit {
        /// Which field.
        field: &'static str,
        /// How many would be right.
        wanted: usize,
        /// How many there are.
        found: usize,
    },
    /// A number outside its range.
    #[error("the saved model's \"{field}\" must be {wanted}; found {found}. Save the fit anew")]
    OutOfRange {
        /// Which field.
        field: &'static str,
        /// What would be right.
        wanted: &'static str,
        /// What is there.
        found: f64,
    },
    /// The model that it describes cannot be put together.
    #[error("the saved model cannot be used: {0}. Save the fit anew")]
    Unusable(#[from] WearError),
}

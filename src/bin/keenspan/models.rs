//! Saved fits: kept where somebody says, used as long as they are of the log as it stands.

use crate::failure::Failure;
use keenspan::logbook::read::{LogbookError, read_file, read_text_file};
use keenspan::logbook::write::write_text_file;
use keenspan::wear::{FEATURES, SavedModel, SavedModelError, WearPosterior};
use keenspan::wood::Covariates;
use std::fmt;
use std::path::{Path, PathBuf};

/// Keeps a fit of the data with this fingerprint, whole or not at all.
///
/// # Errors
///
/// [`Failure::Usage`] where another file stands there, [`Failure::Log`] where it cannot be written.
pub fn save(path: &Path, posterior: &WearPosterior, fingerprint: &str) -> Result<(), Failure> {
    let text = posterior.save(fingerprint).to_text();
    let text = text.map_err(|error| Failure::NoTrustworthyAnswer(error.to_string()))?;
    Ok(write_text_file(path, &text)?)
}

/// Refuses to write over anything but what this program wrote there before.
pub fn check_target(path: &Path, written_before: impl Fn(&str) -> bool) -> Result<(), Failure> {
    check_target_bytes(path, |bytes| {
        std::str::from_utf8(bytes).is_ok_and(&written_before)
    })
}

/// The same for files that need be no text.
pub fn check_target_bytes(
    path: &Path,
    written_before: impl Fn(&[u8]) -> bool,
) -> Result<(), Failure> {
    if !path.exists() || read_file(path).is_ok_and(|bytes| written_before(&bytes)) {
        return Ok(());
    }
    Err(Failure::Usage(format!(
        "{} stands there already and is nothing that keenspan wrote: name another file",
        path.display()
    )))
}

/// What came of looking for a saved fit.
#[derive(Debug)]
pub enum Loaded {
    /// It is of the log, costs and priors as they are now.
    Fits(Box<WearPosterior>),
    /// It is of others.
    Stale(Stale),
    /// It cannot be used at all.
    Unreadable(Unreadable),
}

/// A saved fit of something else than the log as it is now; shown, it is a sentence.
#[derive(Debug)]
pub struct Stale {
    path: PathBuf,
    edges: usize,
    earlier: Option<Box<WearPosterior>>,
}

impl Stale {
    /// What it was a fit of, for a search to begin from, as far as it can be taken up.
    pub fn earlier(&self) -> Option<&WearPosterior> {
        self.earlier.as_deref()
    }
}

/// A saved fit that cannot be used; shown, it is a sentence.
#[derive(Debug)]
pub struct Unreadable {
    path: PathBuf,
    reason: String,
}

impl fmt::Display for Stale {
    fn fmt(&self, to: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(
            to,
            "The log, the priors, call_at in costs.csv or the law of life are not those that {} was saved with (from {} {}), or another keenspan saved it: this answer stands on a fresh fit and is as good. If {} is meant for this log, save the fresh fit there: keenspan fit --save {}.",
            self.path.display(),
            self.edges,
            if self.edges == 1 { "edge" } else { "edges" },
            self.path.display(),
            self.path.display()
        )
    }
}

impl fmt::Display for Unreadable {
    fn fmt(&self, to: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(to, "{}: {}", self.path.display(), self.reason)
    }
}

/// Takes up a saved fit, if it is of the data with this fingerprint.
pub fn load(path: &Path, fingerprint: &str) -> Loaded {
    let unreadable = |reason: String| {
        Loaded::Unreadable(Unreadable {
            path: path.to_owned(),
            reason,
        })
    };
    let text = match read_text_file(path) {
        Ok(text) => text,
        // Its name comes first.
        Err(LogbookError::Unreadable { source, .. }) => {
            let file = path.display();
            return unreadable(format!(
                "it cannot be read ({source}). keenspan fit --save {file} makes one"
            ));
        }
        Err(error) => return unreadable(error.to_string()),
    };
    match taken_up(path, &text, fingerprint) {
        Ok(loaded) => loaded,
        Err(error) => unreadable(error.to_string()),
    }
}

fn taken_up(path: &Path, text: &str, fingerprint: &str) -> Result<Loaded, SavedModelError> {
    let saved = SavedModel::from_text(text)?;
    if saved.fingerprint() != fingerprint {
        return Ok(Loaded::Stale(Stale {
            path: path.to_owned(),
            edges: saved.edges(),
            earlier: saved.restore().ok().map(Box::new),
        }));
    }
    let posterior = saved.restore()?;
    let layout = posterior.layout();
    if layout.features().len() != FEATURES.len() || layout.rates().len() < Covariates::COUNT {
        return Err(SavedModelError::NotAModel {
            reason: "it is no model of a crew's log".to_string(),
        });
    }
    Ok(Loaded::Fits(Box::new(posterior)))
}

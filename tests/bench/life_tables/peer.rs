//! Other programs that fit the same law.

use super::measure::{said, timed};
use serde_json::Value;
use std::path::{Path, PathBuf};

/// One run of one program.
#[derive(Debug, Clone)]
pub struct Run {
    pub version: String,
    /// Seconds of the fit alone.
    pub fit: f64,
    /// Seconds of the whole process.
    pub whole: f64,
    pub peak_megabytes: Option<f64>,
    /// Intercept, five coefficients, log sigma.
    pub estimates: Vec<f64>,
}

/// Another program.
pub struct Peer {
    pub name: &'static str,
    /// What would install it.
    pub install: &'static str,
    program: PathBuf,
    script: &'static str,
}

impl Peer {
    /// All of them.
    pub fn all() -> Vec<Self> {
        let root = Path::new(env!("CARGO_MANIFEST_DIR"));
        let python = |name, script| Self {
            name,
            install: "python3 -m venv .target/peers/venv && .target/peers/venv/bin/pip install lifelines surpyval",
            program: root.join(".target/peers/venv/bin/python"),
            script,
        };
        vec![
            Self {
                name: "R survival",
                install: "apt-get install r-cran-survival",
                program: PathBuf::from("Rscript"),
                script: "survreg.R",
            },
            python("lifelines", "lifelines_aft.py"),
            python("surpyval", "surpyval_aft.py"),
            python("numpy, Newton", "numpy_newton.py"),
        ]
    }

    /// One run; `None` where it is not installed.
    pub fn run(&self, file: &Path, folder: &Path) -> Option<Run> {
        if self.program.is_absolute() && !self.program.exists() {
            return None;
        }
        let script = Path::new(env!("CARGO_MANIFEST_DIR"))
            .join("tests/bench/peers")
            .join(self.script);
        let (script, file) = (script.display().to_string(), file.display().to_string());
        let (output, whole, peak_megabytes) = timed(&self.program, &[&script, &file, "1"], folder)?;
        let said = said(self.name, &output)?;
        let numbers = |key: &str| {
            let list = said[key].as_array().into_iter().flatten();
            list.filter_map(Value::as_f64).collect::<Vec<f64>>()
        };
        Some(Run {
            version: said["version"].as_str().unwrap_or(self.name).to_string(),
            fit: *numbers("fits").first()?,
            whole,
            peak_megabytes,
            estimates: numbers("estimates"),
        })
    }
}

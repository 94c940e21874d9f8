//! What benches share: medians, ranges, and programs run with a look at the clock and at their memory.

use std::path::Path;
use std::process::{Command, Output};

pub fn median(values: impl Iterator<Item = f64>) -> f64 {
    let mut values: Vec<f64> = values.collect();
    values.sort_unstable_by(f64::total_cmp);
    values[values.len() / 2]
}

/// Median and range, times `unit`.
pub fn spread(values: impl Iterator<Item = f64> + Clone, unit: f64) -> String {
    let least = values.clone().fold(f64::INFINITY, f64::min);
    let most = values.clone().fold(0.0, f64::max);
    let [middle, least, most] =
        [median(values), least, most].map(|value| three_digits(value * unit));
    format!("{middle} ({least} to {most})")
}

fn three_digits(value: f64) -> String {
    let places = (2.0 - value.abs().max(1e-9).log10().floor()).clamp(0.0, 3.0);
    format!("{value:.0$}", places as usize)
}

/// Runs a program under GNU time where there is one: its standard output, whole seconds, and peak memory in MB. `None`
/// where it cannot be started.
pub fn timed(
    program: &Path,
    arguments: &[&str],
    folder: &Path,
) -> Option<(Output, f64, Option<f64>)> {
    let gnu_time = Path::new("/usr/bin/time");
    let peak = folder.join("peak");
    let mut command = if gnu_time.exists() {
        let mut command = Command::new(gnu_time);
        command.args(["-f", "%M", "-o"]).arg(&peak).arg(program);
        command
    } else {
        Command::new(program)
    };
    // What is ours runs on two threads, as the peers do that run on more than one.
    command.env("RAYON_NUM_THREADS", "2");
    let start = std::time::Instant::now();
    let output = command.args(arguments).output().ok()?;
    let whole = start.elapsed().as_secs_f64();
    let kilobytes = std::fs::read_to_string(&peak).ok();
    let megabytes = kilobytes.and_then(|text| text.lines().last()?.trim().parse::<f64>().ok());
    Some((output, whole, megabytes.map(|kilobytes| kilobytes / 1e3)))
}

/// What a peer printed last, as JSON; `None` where it, or what it stands on, is not installed.
///
/// # Panics
///
/// Where it broke off: then there is nothing to compare.
pub fn said(name: &str, output: &Output) -> Option<serde_json::Value> {
    const NOT_INSTALLED: i32 = 77;
    // GNU time says 127 for a program that is not there.
    if matches!(output.status.code(), Some(NOT_INSTALLED | 127)) {
        return None;
    }
    let text = String::from_utf8_lossy(&output.stdout);
    let last = text.lines().last();
    let said = last.and_then(|line| serde_json::from_str(line).ok());
    match said.filter(|_| output.status.success()) {
        Some(said) => Some(said),
        None => panic!(
            "{name} broke off: {}",
            String::from_utf8_lossy(&output.stderr)
        ),
    }
}

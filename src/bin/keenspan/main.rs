//! The command line: what was typed, what it means, the command, the answer, the exit status.

mod answer;
mod arguments;
mod asked_wood;
mod commands;
mod failure;
mod fitting;
mod models;
mod own_edges;
mod page_width;
mod progress;
mod settings;
mod terminal;
mod typed_next;
mod unfit;
mod words;

use answer::ANSWERED;
use clap::Parser;
use keenspan::views::JSON_SCHEMA;
use std::process::ExitCode;

fn main() -> ExitCode {
    work_along();
    let arguments = arguments::Arguments::parse();
    let settings = settings::Settings::of(&arguments.shared);
    let status = match arguments.checked_command() {
        None => answer::print_text(JSON_SCHEMA, ANSWERED),
        Some(command) => match command.execute(&settings) {
            Ok(answer) => answer.print(&settings),
            Err(failure) => failure.print(&settings.log),
        },
    };
    ExitCode::from(status)
}

/// The first thread works with the others instead of waiting for them: a short answer is there sooner. Where it may not,
/// it waits.
fn work_along() {
    let _ = rayon::ThreadPoolBuilder::new()
        .use_current_thread()
        .build_global();
}

//! The command line: what was typed, what it means, the command, the answer, the exit status.

mod answer;
mod arguments;
mod asked_wood;
mod clock;
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
use keenspan::decisions::ShopCosts;
use keenspan::views::JSON_SCHEMA;
use keenspan::wear::PriorPack;
use keenspan::wood::SpeciesTable;
use std::hint::black_box;
use std::process::ExitCode;

fn main() -> ExitCode {
    make_room(KEPT);
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
    make_room(AT_HAND);
    let _ = rayon::ThreadPoolBuilder::new()
        .use_current_thread()
        .start_handler(|thread| {
            make_room(AT_HAND);
            if thread == SECOND {
                lay_out_tables();
            }
        })
        .build_global();
}

/// The thread beside the first.
const SECOND: usize = 1;

/// What is compiled in and most answers ask for: laid out while the first thread still reads what was asked.
fn lay_out_tables() {
    SpeciesTable::compiled_in();
    // A fault in either is told by the answer that needs it.
    let _ = (PriorPack::common_practice(), ShopCosts::common_practice());
}

/// Bytes that a thread has at hand from the start, and that an answer gives back in one piece at most.
const AT_HAND: usize = 4 << 20;
const KEPT: usize = 16 << 20;

/// Takes so much memory, none of which is touched, and gives it back. The allocator of GNU's C library then keeps what it is
/// given back, up to twice the largest piece so far, instead of asking the system for the same memory over and over: some two
/// hundred times in an answer on a crew's log, a twentieth of the time it takes. Others do what they do anyway.
fn make_room(bytes: usize) {
    drop(black_box(Vec::<u8>::with_capacity(bytes)));
}

//! Asking and telling the person at the keyboard.

use std::io::{self, BufRead, IsTerminal, Write};

/// Whether somebody is there to answer.
pub fn somebody_there() -> bool {
    io::stdin().is_terminal() && io::stderr().is_terminal()
}

/// Whether somebody sees what is told beside the answer while it is worked out.
pub fn somebody_watches() -> bool {
    io::stderr().is_terminal()
}

/// Tells something beside the answer. Nobody may be listening, which is no fault.
pub fn say(line: &str) {
    let _ = writeln!(io::stderr().lock(), "{line}");
}

/// Asks until the answer is understood; `None` where there is nobody, or no answer any more.
pub fn ask<T>(question: &str, understand: impl Fn(&str) -> Result<T, String>) -> Option<T> {
    if !somebody_there() {
        return None;
    }
    loop {
        let _ = write!(io::stderr().lock(), "{question} ");
        let mut line = String::new();
        if io::stdin().lock().read_line(&mut line).ok()? == 0 {
            return None;
        }
        match understand(line.trim()) {
            Ok(value) => return Some(value),
            Err(wanted) => say(&format!("Please answer {wanted}.")),
        }
    }
}

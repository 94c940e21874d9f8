//! Commands that answers tell people to type next: each names the log that this one was asked about, and stands
//! on one line, so that it can be copied as it is.

use std::path::Path;

/// Between the words of a command until lines are broken: what is parted by it stays together.
const TIE: char = '\u{a0}';
const PROGRAM: &str = "keenspan";

/// Commands that read the log.
const OF_A_LOG: [&str; 11] = [
    "add", "verify", "fit", "interval", "due", "report", "knives", "card", "job", "sets", "drift",
];

/// The text with its commands whole; `None` where it has none.
pub fn whole(text: &str, log: &Path) -> Option<String> {
    let option = option(log);
    let mut whole = String::new();
    let mut rest = text;
    let mut found = false;
    while let Some((before, after)) = split(rest) {
        let mut words = Words::of(after);
        found = true;
        whole += before;
        whole += PROGRAM;
        if let Some(option) = &option {
            whole += &format!("{TIE}{option}");
        }
        for word in words.command() {
            whole += &format!("{TIE}{}", word.replace(' ', &TIE.to_string()));
        }
        rest = words.rest;
    }
    found.then(|| whole + rest)
}

/// The same where nothing breaks lines.
pub fn in_a_line(text: &str, log: &Path) -> String {
    whole(text, log).map_or_else(|| text.to_string(), |whole| untied(&whole))
}

/// With plain blanks again.
pub fn untied(text: &str) -> String {
    text.replace(TIE, " ")
}

/// Whether a command goes on in the next line.
pub fn ends_within(line: &str) -> bool {
    line.ends_with(PROGRAM)
}

/// `--log FOLDER`, as it has to be typed; `None` for the folder that commands look into anyway.
fn option(log: &Path) -> Option<String> {
    let written = log.display().to_string();
    let plain = |letter: char| {
        letter.is_alphanumeric() || "/._-+,:".contains(letter) || (cfg!(windows) && letter == '\\')
    };
    match written.as_str() {
        "." => None,
        bare if bare.chars().all(plain) => Some(format!("--log{TIE}{bare}")),
        _ => {
            let mut quoted = String::new();
            for letter in written.chars() {
                if !cfg!(windows) && "\"\\$`".contains(letter) {
                    quoted.push('\\');
                }
                quoted.push(letter);
            }
            let quoted = quoted.replace(' ', &TIE.to_string());
            Some(format!("--log{TIE}\"{quoted}\""))
        }
    }
}

/// What stands before the next command that reads the log, and what after the program's name.
fn split(text: &str) -> Option<(&str, &str)> {
    let mut from = 0;
    loop {
        let at = from + text.get(from..)?.find(PROGRAM)?;
        let after = at + PROGRAM.len();
        let rest = text.get(after..)?;
        let verb = rest.strip_prefix(' ').map(first_word).unwrap_or_default();
        let verb = verb.trim_end_matches(|letter: char| !letter.is_alphanumeric());
        if OF_A_LOG.contains(&verb) {
            return Some((text.get(..at)?, rest));
        }
        from = after;
    }
}

fn first_word(text: &str) -> &str {
    text.split(' ').next().unwrap_or_default()
}

/// What follows the program's name, word by word; what stands in quotes or brackets is one word.
struct Words<'t> {
    rest: &'t str,
}

impl<'t> Words<'t> {
    fn of(rest: &'t str) -> Self {
        Self { rest }
    }

    /// The words of the command, from its name to its last option.
    fn command(&mut self) -> Vec<&'t str> {
        let mut command: Vec<&str> = self.next().into_iter().collect();
        let further = match command.first() {
            Some(&"add") => 2,
            Some(&"knives") => 1,
            _ => 0,
        };
        for _ in 0..further {
            if !ended(&command) && !self.peek().starts_with("--") {
                command.extend(self.next());
            }
        }
        while !ended(&command) && self.peek().starts_with("(or ") {
            command.extend(self.next());
        }
        while !ended(&command) && self.peek().starts_with("--") {
            command.extend(self.next());
            if !ended(&command) && !self.peek().starts_with("--") {
                command.extend(self.next());
            }
        }
        command
    }

    fn peek(&self) -> &'t str {
        Self { rest: self.rest }.next().unwrap_or_default()
    }

    fn next(&mut self) -> Option<&'t str> {
        let text = self.rest.strip_prefix(' ')?;
        let closing = match text.chars().next()? {
            '"' => Some('"'),
            '(' => Some(')'),
            _ => None,
        };
        let closed = closing
            .and_then(|closing| text.get(1..)?.find(closing))
            .map_or(0, |at| at + 1);
        let end = text.get(closed..)?.find(' ');
        let (word, rest) = text.split_at_checked(end.map_or(text.len(), |end| closed + end))?;
        self.rest = rest;
        Some(word)
    }
}

/// Whether a sentence ends with the last word, or a clause.
fn ended(command: &[&str]) -> bool {
    let last = command.last().copied().unwrap_or_default();
    last.ends_with([',', ';', '.', ':'])
}

#[cfg(test)]
mod tests {
    use super::*;

    fn told(text: &str, log: &str) -> String {
        in_a_line(text, Path::new(log))
    }

    #[test]
    fn commands_name_the_log_that_was_asked_about() {
        let log = |text| told(text, "logs/our");
        assert_eq!(
            log("2 rows. keenspan verify shows them."),
            "2 rows. keenspan --log logs/our verify shows them."
        );
        assert_eq!(
            log("see keenspan knives \"old red\"; then keenspan drift."),
            "see keenspan --log logs/our knives \"old red\"; then keenspan --log logs/our drift."
        );
        // The log that it looks into anyway, and commands that read none.
        assert_eq!(told("keenspan verify", "."), "keenspan verify");
        for other in [
            "keenspan --help lists them",
            "keenspan: no",
            "keenspan new FOLDER",
            "keenspan --log x add set",
        ] {
            assert_eq!(log(other), other);
        }
    }

    #[test]
    fn a_folder_is_written_as_a_shell_reads_it() {
        assert_eq!(
            told("keenspan due", "our log"),
            "keenspan --log \"our log\" due"
        );
        if !cfg!(windows) {
            assert_eq!(
                told("keenspan due", "a $b"),
                "keenspan --log \"a \\$b\" due"
            );
        }
    }

    #[test]
    fn a_command_stays_on_one_line_with_its_options() {
        let text = "write: keenspan add event flipped (or pulled) --machine \"big drum\" --meter READING --grade \
                    keen|dull and go on";
        let whole = whole(text, Path::new("x")).expect("a command");
        let command: Vec<&str> = whole.split(' ').collect();
        assert_eq!(command[0], "write:");
        assert!(command[1].ends_with("keen|dull"), "{whole}");
        assert_eq!(command[2..], ["and", "go", "on"]);
        // A sentence that ends ends the command.
        let text = "see keenspan knives Red. The plan takes it off";
        let whole = super::whole(text, Path::new(".")).expect("a command");
        assert_eq!(
            whole.split(' ').nth(1),
            Some("keenspan\u{a0}knives\u{a0}Red.")
        );
    }
}

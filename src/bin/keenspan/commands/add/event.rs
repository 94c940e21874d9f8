//! Something done to an edge, or seen of it.

use super::{NewRow, day, machine, or_blank};
use crate::failure::Failure;
use crate::terminal::ask;
use clap::Args;
use keenspan::decisions::handling_knives;
use keenspan::logbook::read::Reading;
use keenspan::logbook::{EventKind, LogFile};
use keenspan::quantities::Grade;

/// Add what was done to an edge, or seen of it
///
/// Events: fitted, checked, noticed dull, touched up, flipped, pulled, reground, struck, discarded,
/// bed knife turned, bed knife reset, meter replaced.
#[derive(Debug, Args)]
pub struct Event {
    /// What happened, such as fitted or noticed dull
    #[arg(required = true, value_name = "EVENT")]
    event: Vec<String>,
    /// The day; today where not given
    #[arg(long)]
    date: Option<String>,
    /// The machine, by name; may be left out where the log has only one
    #[arg(long)]
    machine: Option<String>,
    /// Hour-meter reading at the time
    #[arg(long, value_name = "READING", allow_hyphen_values = true)]
    meter: Option<String>,
    /// The knife set, by name; the one in the machine where not given
    #[arg(long)]
    set: Option<String>,
    /// Which edge of a reversible knife, from 1
    #[arg(long)]
    edge: Option<String>,
    /// What the edge looked like: keen, working, dull or overrun
    #[arg(long)]
    grade: Option<String>,
    /// Nobody looked at the edge that was pulled or flipped
    #[arg(long, conflicts_with = "grade")]
    no_grade: bool,
    /// Width of the bright flat along the edge, such as "0.4 mm"
    #[arg(long, allow_hyphen_values = true)]
    flat: Option<String>,
    /// Stock ground off, such as "0.5 mm"
    #[arg(long, value_name = "WIDTH", allow_hyphen_values = true)]
    stock_removed: Option<String>,
    /// Depth of the deepest nick
    #[arg(long, value_name = "DEPTH", allow_hyphen_values = true)]
    nick: Option<String>,
    /// What a new hour meter reads
    #[arg(long, value_name = "READING", allow_hyphen_values = true)]
    new_meter: Option<String>,
    /// By whom: operator or grinder
    #[arg(long, allow_hyphen_values = true)]
    by: Option<String>,
    /// Whatever else
    #[arg(long, allow_hyphen_values = true)]
    note: Option<String>,
}

impl Event {
    pub fn row(&self, reading: &Reading) -> Result<NewRow, Failure> {
        let words = self.event.join(" ");
        let kind = EventKind::from_words(&words);
        let grade = self.grade(kind)?;
        let cells = vec![
            ("date", day(&self.date)),
            ("event", words),
            ("machine", self.machine(kind, reading)),
            ("meter", or_blank(&self.meter)),
            ("set", or_blank(&self.set)),
            ("edge", or_blank(&self.edge)),
            ("grade", grade),
            ("flat", or_blank(&self.flat)),
            ("stock removed", or_blank(&self.stock_removed)),
            ("nick", or_blank(&self.nick)),
            ("new meter", or_blank(&self.new_meter)),
            ("by", or_blank(&self.by)),
            ("note", or_blank(&self.note)),
        ];
        let handled = kind.is_some_and(EventKind::handles_knives);
        Ok(NewRow {
            file: LogFile::Events,
            cells,
            cautions: if handled { handling_knives() } else { &[] },
        })
    }

    /// Bench work happens on no machine.
    fn machine(&self, kind: Option<EventKind>, reading: &Reading) -> String {
        match kind {
            Some(EventKind::Reground | EventKind::Discarded) => or_blank(&self.machine),
            _ => machine(&self.machine, reading),
        }
    }

    /// An edge that leaves the machine is in somebody's hand: the moment to look at it.
    fn grade(&self, kind: Option<EventKind>) -> Result<String, Failure> {
        let wanted = kind.filter(|kind| kind.ends_in_hand() && !self.no_grade);
        match (&self.grade, wanted) {
            (Some(grade), _) => Ok(grade.clone()),
            (None, None) => Ok(String::new()),
            (None, Some(kind)) => ask(&question(kind), understood).ok_or_else(|| missing(kind)),
        }
    }
}

fn question(kind: EventKind) -> String {
    format!(
        "How did the edge look that was {}: keen, working, dull or overrun (or nobody looked)?",
        kind.words()
    )
}

/// The grade's word; blank where nobody looked.
fn understood(answer: &str) -> Result<String, String> {
    let answer = answer.to_lowercase();
    let grade = Grade::ALL.into_iter().find(|grade| grade.word() == answer);
    match (grade, answer.as_str()) {
        (Some(grade), _) => Ok(grade.word().to_owned()),
        (None, "nobody looked" | "nobody" | "no") => Ok(String::new()),
        _ => Err("keen, working, dull, overrun or nobody looked".into()),
    }
}

fn missing(kind: EventKind) -> Failure {
    Failure::Usage(format!(
        "nothing was written: what grade had the edge that was {}?\n\
         A grade teaches more about these knives than anything else in the log.\n\
         Give it with --grade keen, working, dull or overrun; or say that nobody looked: --no-grade",
        kind.words()
    ))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn an_answer_is_a_grade_or_that_nobody_looked() {
        assert_eq!(understood("Dull"), Ok("dull".into()));
        assert_eq!(understood("nobody looked"), Ok(String::new()));
        assert!(understood("").is_err());
    }
}

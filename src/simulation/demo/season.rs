//! The invented crew's work, day by day.

use super::yard::{self, hours, width};
use crate::logbook::{EdgeEvent, EventKind, Line, Logbook, MeterSpan, Rotor, Run};
use crate::quantities::Grade;
use crate::simulation::conditions::{Work, work_in};
use crate::simulation::dice::Dice;
use crate::simulation::edge::{Happening, WearingEdge};
use crate::simulation::truth::Truth;
use jiff::civil::{Date, Weekday, date};

const FIRST_DAY: Date = date(2024, 3, 4);
const LAST_DAY: Date = date(2026, 10, 30);
/// The day on which the edge at work when the log starts was fitted.
const FITTED_DAY: Date = date(2024, 2, 26);
const METER_REPLACED: Date = date(2025, 6, 16);
const CREW: [&str; 3] = ["Ida", "Tam", "Ruben"];

/// One machine at work.
struct Stand {
    name: &'static str,
    rotor: Rotor,
    rule: f64,
    /// Chance that it works on a weekday.
    busy: f64,
    meter: f64,
    changed_at: f64,
    /// Which of its sets is in, and which edge.
    set: usize,
    edge_number: u32,
    edge: WearingEdge,
    sets: Vec<Set>,
    touched_up: bool,
    meter_replaced: bool,
}

struct Set {
    name: &'static str,
    regrinds: u32,
    /// Back from the sharpener on this day.
    back: Date,
    /// Ground since it last came out.
    sharp: bool,
    /// Struck since it was last ground.
    struck: bool,
    discarded: bool,
}

/// Why an edge comes out.
#[derive(Clone, Copy, PartialEq)]
enum Why {
    Rule,
    Noticed,
    Called,
    Struck,
}

pub(super) struct Season<'t> {
    truth: &'t Truth,
    dice: Dice,
    log: Logbook,
}

impl<'t> Season<'t> {
    pub(super) fn new(seed: u64, truth: &'t Truth) -> Self {
        Self {
            truth,
            dice: Dice::new(seed),
            log: yard::opening(),
        }
    }

    pub(super) fn play(mut self) -> Logbook {
        let mut heron = self.heron();
        let mut nettle = self.nettle();
        for day in FIRST_DAY
            .series(jiff::Span::new().days(1))
            .take_while(|day| *day <= LAST_DAY)
        {
            if !matches!(day.weekday(), Weekday::Saturday | Weekday::Sunday) {
                self.day(&mut heron, day);
                self.day(&mut nettle, day);
            }
        }
        self.numbered()
    }

    /// The edge in Heron has worked since before the log, and is not dull yet.
    fn heron(&mut self) -> Stand {
        let sets = sets(&yard::HERON_SETS);
        let edge = loop {
            let mut edge =
                WearingEdge::fresh(self.truth, Rotor::Drum, sets[0].regrinds, &mut self.dice);
            let work = work_in(FITTED_DAY.month(), &mut self.dice);
            let before = yard::HERON_METER - yard::FITTED_BEFORE;
            let (_, happening) = edge.work(before, work.rates(self.truth), &mut self.dice);
            if happening.is_none() && !edge.is_dull() {
                break edge;
            }
        };
        let stand = Stand {
            name: "Heron",
            rotor: Rotor::Drum,
            rule: 50.0,
            busy: 0.48,
            meter: yard::HERON_METER,
            changed_at: yard::FITTED_BEFORE,
            set: 0,
            edge_number: 1,
            edge,
            sets,
            touched_up: false,
            meter_replaced: false,
        };
        let fitted = self.event(&stand, FITTED_DAY, EventKind::Fitted);
        self.log.events.push(EdgeEvent {
            meter: hours(yard::FITTED_BEFORE),
            edge: Some(1),
            note: "before this log".to_owned(),
            ..fitted
        });
        stand
    }

    fn nettle(&mut self) -> Stand {
        let sets = sets(&yard::NETTLE_SETS);
        let edge = WearingEdge::fresh(self.truth, Rotor::Disc, sets[0].regrinds, &mut self.dice);
        let stand = Stand {
            name: "Nettle",
            rotor: Rotor::Disc,
            rule: 30.0,
            busy: 0.26,
            meter: yard::NETTLE_METER,
            changed_at: yard::NETTLE_METER,
            set: 0,
            edge_number: 1,
            edge,
            sets,
            touched_up: false,
            meter_replaced: true,
        };
        let fitted = self.event(&stand, FIRST_DAY, EventKind::Fitted);
        self.log.events.push(fitted);
        Stand {
            meter_replaced: false,
            ..stand
        }
    }

    fn day(&mut self, stand: &mut Stand, day: Date) {
        if stand.name == "Nettle" && day >= METER_REPLACED && !stand.meter_replaced {
            self.replace_meter(stand, day);
        }
        if !self.dice.chance(stand.busy) {
            return;
        }
        if stand.meter - stand.changed_at > stand.rule - 1.0 {
            self.change(stand, day, Why::Rule);
        }
        let mut late = false;
        for _ in 0..if self.dice.chance(0.3) { 2 } else { 1 } {
            late |= self.run(stand, day);
        }
        if late {
            self.change(stand, day, Why::Noticed);
        } else {
            self.look_after(stand, day);
        }
    }

    fn replace_meter(&mut self, stand: &mut Stand, day: Date) {
        let replaced = self.event(stand, day, EventKind::MeterReplaced);
        self.log.events.push(EdgeEvent {
            set: None,
            new_meter: hours(0.0),
            ..replaced
        });
        stand.changed_at -= stand.meter;
        stand.meter = 0.0;
        stand.meter_replaced = true;
    }

    /// One run; true where an edge felt dull is left in to finish the day.
    fn run(&mut self, stand: &mut Stand, day: Date) -> bool {
        let start = stand.meter;
        let end = tenths(start + self.dice.between(0.8, 4.4));
        let work = work_in(day.month(), &mut self.dice);
        let mut late = false;
        while stand.meter < end {
            let rates = work.rates(self.truth);
            let (worked, happening) = stand.edge.work(end - stand.meter, rates, &mut self.dice);
            let Some(happening) = happening else {
                break;
            };
            stand.meter += worked;
            late = self.happened(stand, day, happening, late);
        }
        stand.meter = end;
        self.write_run(stand, day, start, &work);
        late
    }

    fn happened(&mut self, stand: &mut Stand, day: Date, happening: Happening, late: bool) -> bool {
        match happening {
            Happening::Noticed => {
                let noticed = self.event(stand, day, EventKind::NoticedDull);
                self.log.events.push(noticed);
                if self.dice.chance(0.3) {
                    return true;
                }
                self.change(stand, day, Why::Noticed);
            }
            // Whoever stops for an edge so far gone says so.
            Happening::Called => {
                let noticed = self.event(stand, day, EventKind::NoticedDull);
                self.log.events.push(noticed);
                self.change(stand, day, Why::Called);
            }
            Happening::Struck => {
                let struck = self.event(stand, day, EventKind::Struck);
                // No deeper than what the least grind takes off.
                let nick = width(tenths(self.dice.between(0.1, 0.4)));
                self.log.events.push(EdgeEvent { nick, ..struck });
                stand.sets[stand.set].struck = true;
                self.change(stand, day, Why::Struck);
            }
        }
        late && happening == Happening::Noticed
    }

    fn write_run(&mut self, stand: &Stand, day: Date, start: f64, work: &Work) {
        let (Some(start), Some(end)) = (hours(start), hours(stand.meter)) else {
            return;
        };
        let who = self.somebody();
        self.log.runs.push(Run {
            line: Line(0),
            date: day,
            machine: stand.name.to_owned(),
            span: MeterSpan::Readings { start, end },
            wood: work.wood.clone(),
            contamination: Some(work.contamination),
            state: work.state,
            loads: None,
            who,
            note: String::new(),
        });
    }

    /// Now and then somebody looks at an edge halfway, or hones it on the rotor.
    fn look_after(&mut self, stand: &mut Stand, day: Date) {
        let worked = stand.meter - stand.changed_at;
        let grade = stand.edge.grade(self.truth, &mut self.dice);
        if self.dice.chance(0.010) && worked > 3.0 {
            let checked = self.event(stand, day, EventKind::Checked);
            let grade = Some(grade);
            self.log.events.push(EdgeEvent { grade, ..checked });
        }
        let season = day >= date(2025, 4, 1);
        if season && !stand.touched_up && worked > 10.0 && grade == Grade::Working {
            let honed = self.event(stand, day, EventKind::TouchedUp);
            self.log.events.push(honed);
            stand.edge.touch_up(self.truth);
            stand.touched_up = true;
        }
    }

    fn change(&mut self, stand: &mut Stand, day: Date, why: Why) {
        let written = match why {
            Why::Rule => self.dice.chance(0.8),
            Why::Noticed => self.dice.chance(0.5),
            Why::Called => true,
            Why::Struck => false,
        };
        let grade = stand.edge.grade(self.truth, &mut self.dice);
        let grade = Some(grade).filter(|_| written);
        if stand.edge_number == 1 && why != Why::Struck {
            let flipped = self.event(stand, day, EventKind::Flipped);
            self.log.events.push(EdgeEvent { grade, ..flipped });
            stand.edge_number = 2;
        } else {
            let pulled = self.event(stand, day, EventKind::Pulled);
            self.log.events.push(EdgeEvent { grade, ..pulled });
            self.swap_sets(stand, day);
        }
        let regrinds = stand.sets[stand.set].regrinds;
        stand.edge = WearingEdge::fresh(self.truth, stand.rotor, regrinds, &mut self.dice);
        stand.changed_at = stand.meter;
    }

    fn swap_sets(&mut self, stand: &mut Stand, day: Date) {
        let away = 4 + (9.0 * self.dice.uniform()) as i64;
        let out = &mut stand.sets[stand.set];
        out.back = working_day(day.saturating_add(jiff::Span::new().days(away)));
        out.sharp = false;
        if out.regrinds >= yard::MOST_REGRINDS {
            out.discarded = true;
            let discarded = self.on_the_bench(stand, stand.set, day, EventKind::Discarded);
            self.log.events.push(discarded);
        }
        let ready = (0..stand.sets.len())
            .filter(|set| *set != stand.set && !stand.sets[*set].discarded)
            .min_by_key(|set| (stand.sets[*set].back, *set));
        stand.set = ready.unwrap_or(stand.set);
        stand.edge_number = 1;
        self.grind_if_blunt(stand, day);
        let fitted = self.event(stand, day, EventKind::Fitted);
        self.log.events.push(fitted);
    }

    fn grind_if_blunt(&mut self, stand: &mut Stand, day: Date) {
        if stand.sets[stand.set].sharp {
            return;
        }
        let back = stand.sets[stand.set].back;
        let ground = self.on_the_bench(stand, stand.set, back.min(day), EventKind::Reground);
        let by = if back <= day {
            "sharpening van"
        } else {
            "own wheel"
        };
        let stock_removed = width(tenths(self.dice.between(0.4, 0.9)));
        let set = &mut stand.sets[stand.set];
        // Whoever grinds a set that was struck looks it over first, and writes that down.
        let note = if set.struck { "inspected, sound" } else { "" };
        self.log.events.push(EdgeEvent {
            by: by.to_owned(),
            note: note.to_owned(),
            stock_removed,
            ..ground
        });
        set.struck = false;
        set.regrinds += 1;
        set.sharp = true;
    }

    fn event(&mut self, stand: &Stand, day: Date, kind: EventKind) -> EdgeEvent {
        EdgeEvent {
            machine: Some(stand.name.to_owned()),
            meter: hours(tenths(stand.meter)),
            set: Some(stand.sets[stand.set].name.to_owned()),
            by: self.somebody(),
            ..EdgeEvent::on(day, kind)
        }
    }

    fn on_the_bench(&mut self, stand: &Stand, set: usize, day: Date, kind: EventKind) -> EdgeEvent {
        EdgeEvent {
            machine: None,
            meter: None,
            set: Some(stand.sets[set].name.to_owned()),
            ..self.event(stand, day, kind)
        }
    }

    fn somebody(&mut self) -> String {
        let who = self.dice.pick(&CREW.map(|name| (1.0, name)));
        who.unwrap_or_default().to_owned()
    }

    /// Rows in order of their day, each with its line.
    fn numbered(mut self) -> Logbook {
        self.log.runs.sort_by_key(|run| run.date);
        self.log.events.sort_by_key(|event| event.date);
        for (line, run) in (2..).zip(&mut self.log.runs) {
            run.line = Line(line);
        }
        for (line, event) in (2..).zip(&mut self.log.events) {
            event.line = Line(line);
        }
        for (line, set) in (2..).zip(&mut self.log.sets) {
            set.line = Line(line);
        }
        self.log
    }
}

fn sets(names: &[&'static str]) -> Vec<Set> {
    let set = |name: &&'static str| Set {
        name,
        regrinds: yard::regrinds_before(name),
        back: FIRST_DAY,
        sharp: true,
        struck: false,
        discarded: false,
    };
    names.iter().map(set).collect()
}

/// The day itself, or the Monday after a weekend.
fn working_day(day: Date) -> Date {
    let wait = match day.weekday() {
        Weekday::Saturday => 2,
        Weekday::Sunday => 1,
        _ => 0,
    };
    day.saturating_add(jiff::Span::new().days(wait))
}

/// As an hour meter shows it.
fn tenths(value: f64) -> f64 {
    (value * 10.0).round() / 10.0
}

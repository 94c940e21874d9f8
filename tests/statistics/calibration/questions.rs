//! What an owner asks of a crew's log.

use keenspan::lives::{EdgeLife, Rotor};
use keenspan::wear::{Among, Asked};
use keenspan::wood::{Blend, Contamination, WoodMix, WoodState};

/// Something that an owner asks.
pub struct Question {
    /// Name of the log of median life in meter hours.
    pub life: &'static str,
    /// Name of the log of the interval that costs least, where it is asked for.
    pub interval: Option<&'static str>,
    pub asked: Asked,
}

/// What crews ask: life, interval.
const ASKED: [(&str, Option<&str>); 6] = [
    (
        "life, drum, reground, clean",
        Some("interval, drum, reground, clean"),
    ),
    (
        "life, drum, reground, dirty",
        Some("interval, drum, reground, dirty"),
    ),
    (
        "life, drum, reground, usual wood",
        Some("interval, drum, reground, usual wood"),
    ),
    ("life, drum, new, clean", None),
    ("life, disc, reground, clean", None),
    (
        "life, disc, reground, usual wood",
        Some("interval, disc, reground, usual wood"),
    ),
];
/// Names of what an owner asks.
pub fn asked() -> Vec<&'static str> {
    let each = ASKED.into_iter();
    each.flat_map(|(life, interval)| [Some(life), interval])
        .flatten()
        .collect()
}

/// The wood that one machine usually chips, as its log has it.
fn usual_wood(lives: &[EdgeLife], machine: &str) -> Blend {
    let own = lives.iter().filter(|life| life.machine == machine);
    let segments = own.flat_map(|life| &life.exposure.segments);
    let weighted = segments.map(|it| (it.stop.get() - it.start.get(), it.blend.as_ref()));
    Blend::average(weighted).expect("hours")
}

/// The questions of [`ASKED`], in their order: of the first machine where they say drum, of the second
/// where they say disc.
pub fn questions(lives: &[EdgeLife]) -> Vec<Question> {
    let hardwood = WoodMix::parse("hardwood").expect("a wood");
    let plain = |dirt| Blend::of(&hardwood, dirt, WoodState::Green);
    let question = |(life, interval): (&'static str, Option<&'static str>)| {
        let rotor = if life.contains("drum") {
            Rotor::Drum
        } else {
            Rotor::Disc
        };
        let mut with_rotor = lives.iter().filter(|edge| edge.features.rotor == rotor);
        let machine = with_rotor.next().expect("a machine").machine.as_str();
        let blend = if life.contains("usual") {
            usual_wood(lives, machine)
        } else if life.contains("dirty") {
            plain(Contamination::Dirty)
        } else {
            plain(Contamination::Clean)
        };
        let reground = life.contains("reground");
        Question {
            life,
            interval,
            asked: Asked {
                blend,
                rotor,
                reground,
                among: known(Among::of_machine(lives, machine, reground), lives),
            },
        }
    };
    ASKED.into_iter().map(question).collect()
}

/// Without groupings of which no edge told a level yet: of a new one nothing is true that could be ranked.
fn known(among: Vec<Among>, lives: &[EdgeLife]) -> Vec<Among> {
    let reground = lives.iter().any(|life| life.features.regrinds > 0);
    let mut among = among;
    among.retain(|among| among.grouping != "grinder" || (reground && !among.shares.is_empty()));
    among
}

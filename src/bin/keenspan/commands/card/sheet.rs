//! What a set's sheet says, gathered from the log's lives.

use crate::failure::Failure;
use keenspan::lives::{EdgeLife, Lives, SetState};
use keenspan::logbook::Logbook;
use keenspan::quantities::Width;
use keenspan::views::{KnivesReport, SetSheet, SheetLife, Steel};

/// The sheet of the set that `advice` is about.
///
/// A width measured on the bench stands before the log's.
pub fn of(
    log: &Logbook,
    lives: &Lives,
    advice: KnivesReport,
    measured: Option<Width>,
) -> Result<SetSheet, Failure> {
    let asked = advice.sets.first().map(|set| set.set.as_str());
    let state = lives
        .sets
        .iter()
        .find(|state| Some(state.set.as_str()) == asked)
        .ok_or_else(|| Failure::Usage("the log has no such set".to_string()))?;
    let listed = log.sets.iter().find(|set| set.name == state.set);
    let aside = lives.tally.set_aside.iter();
    Ok(SetSheet {
        shop: log.shop.name.clone(),
        knives: listed.map(|set| set.knives),
        edges_per_knife: listed.map_or(state.edges.len() as u32, |set| set.edges_per_knife),
        kind_of_steel: listed.map_or(String::new(), |set| set.steel.clone()),
        lives: lives_of(lives, state),
        set_aside: aside.filter(|it| it.edge.set == state.set).count(),
        grinds: state.grinds.clone(),
        steel: Steel {
            listed: state.width_listed,
            now: measured.or(state.width),
            at_most: measured.or(state.width_at_most),
            measured: measured.is_some(),
            discard: state.discard_width,
        },
        advice,
    })
}

fn lives_of(lives: &Lives, state: &SetState) -> Vec<SheetLife> {
    let all = lives.lives.iter().enumerate();
    let own = all.filter(|(_, life)| life.set == state.set);
    own.map(|(place, life)| sheet_life(lives, place, life))
        .collect()
}

fn sheet_life(lives: &Lives, place: usize, life: &EdgeLife) -> SheetLife {
    let from = lives.went_in.get(place).copied().flatten();
    let to = life.came_out.map(|out| out.date);
    SheetLife {
        edge: life.edge,
        machine: life.machine.clone(),
        from: from.map(|day| day.to_string()),
        to: to.map(|day| day.to_string()),
        hours: life.exposure.total(),
        grade: life.observation.last_grade(),
        ending: life.ending,
        ground_by: life.features.ground_by.clone(),
        regrinds: life.features.regrinds,
    }
}

//! Notes on sets that keenspan does not understand: nobody may take its silence for a word that all is well.

use super::note::{Matter, Note};
use super::shop::Shop;

/// Those that nothing has answered since, of sets that are not thrown away.
pub(super) fn open_notes(shop: &Shop<'_>) -> Vec<Note> {
    let kept = shop.sets.iter().filter(|(_, history)| !history.discarded);
    kept.filter_map(|(set, history)| {
        let open = history.damage.open_note()?;
        Some(Note {
            record: open.record,
            matter: Matter::NotUnderstood {
                set: set.clone(),
                words: open.words,
                of_part: open.of_part,
            },
        })
    })
    .collect()
}

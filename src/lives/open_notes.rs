//! Notes on sets that keenspan does not understand: nobody may take its silence for a word that all is well.

use super::note::{Matter, Note};
use super::shop::Shop;

/// Those that nothing has answered since, of sets that are not thrown away.
pub(super) fn open_notes(shop: &Shop<'_>) -> Vec<Note> {
    let kept = shop.sets.iter().filter(|(_, history)| !history.discarded);
    kept.flat_map(|(set, history)| {
        history.damage.open_notes().map(|(record, words)| Note {
            record,
            matter: Matter::NotUnderstood {
                set: set.clone(),
                words: words.to_owned(),
            },
        })
    })
    .collect()
}

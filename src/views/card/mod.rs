//! Cards and sheets for the shop: the machine card that hangs at the chipper, and the sheet that goes with a
//! set of knives to the bench. Laid out once, in millimetres; drawn as PDF or as HTML.

mod blocks;
mod fonts;
mod history;
mod html;
mod machine;
mod mark;
mod page;
mod pdf;
mod set;
mod steel;
mod wear_guide;

pub use machine::{MachineCard, MachineCards, Tools};
pub use page::Paper;
pub use set::{SetSheet, SheetLife};
pub use steel::Steel;

use page::Page;

/// What every file of cards says of itself: the generator of an HTML page, the producer of a PDF.
pub(crate) const MARK: &str = "keenspan card";

/// Cards that cannot be drawn.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum CardError {
    /// The letters that come with the program are damaged.
    #[error(
        "the font {name} that comes with keenspan cannot be read; write the card as .html instead"
    )]
    Font {
        /// Which.
        name: &'static str,
    },
}

/// Pages laid out on paper, ready to be drawn.
#[derive(Debug, Clone, PartialEq)]
pub struct PrintedPages {
    title: String,
    paper: Paper,
    pages: Vec<Page>,
}

impl PrintedPages {
    /// As a PDF.
    ///
    /// # Errors
    ///
    /// [`CardError::Font`] where the letters cannot be taken from their font.
    pub fn pdf(&self) -> Result<Vec<u8>, CardError> {
        pdf::pdf(&self.title, self.paper, &self.pages)
    }

    /// As one HTML file that needs nothing beside it.
    pub fn html(&self) -> String {
        html::page(&self.title, self.paper, &self.pages)
    }

    /// How many pages.
    pub fn count(&self) -> usize {
        self.pages.len()
    }

    /// On which paper.
    pub fn paper(&self) -> Paper {
        self.paper
    }

    /// Letters that the PDF shows as boxes: its font has none for them. HTML takes them from the reader's own.
    pub fn missing_letters(&self) -> Vec<char> {
        let texts = self.pages.iter().flat_map(Page::texts);
        let missing = texts.flat_map(|text| {
            let lines = text.lines.iter();
            lines.flat_map(|line| text.style.weight.missing(line))
        });
        let mut missing: Vec<char> = missing.collect();
        missing.sort_unstable();
        missing.dedup();
        missing
    }

    /// Whether a file is one that an earlier call wrote, PDF or HTML.
    pub fn wrote(bytes: &[u8]) -> bool {
        let holds = |part: &str| {
            bytes
                .windows(part.len())
                .any(|window| window == part.as_bytes())
        };
        let pdf = bytes.starts_with(b"%PDF-") && holds(&format!("/Producer ({MARK})"));
        pdf || holds(&format!("<meta name=\"generator\" content=\"{MARK}\">"))
    }
}

#[cfg(test)]
mod tests;

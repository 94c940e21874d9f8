use super::page::{Item, Page, Paper, Style};
use super::*;

fn pages() -> PrintedPages {
    let mut page = Page::new("Łódź");
    page.text(Style::bold(8.0), (20.0, 30.0), "Łódź 1466.3");
    page.paragraph(
        Style::plain(3.0),
        (20.0, 40.0),
        60.0,
        "木 is not in the font, and <b> is no tag",
    );
    PrintedPages {
        title: "A card".to_string(),
        paper: Paper::A4,
        pages: vec![page],
    }
}

#[test]
fn a_file_knows_that_it_is_ours_and_others_do_not() {
    let pages = pages();
    assert!(PrintedPages::wrote(&pages.pdf().unwrap()));
    assert!(PrintedPages::wrote(pages.html().as_bytes()));
    assert!(!PrintedPages::wrote(b"%PDF-1.7 keenspan card"));
    assert!(!PrintedPages::wrote(b"date,machine\n"));
}

#[test]
fn strange_letters_are_named_and_kept() {
    let pages = pages();
    assert_eq!(pages.missing_letters(), vec!['木']);
    let html = pages.html();
    assert!(html.contains("木") && html.contains("&lt;b&gt;") && !html.contains("<b>"));
}

#[test]
fn the_same_pages_make_the_same_bytes() {
    assert_eq!(pages().pdf().unwrap(), pages().pdf().unwrap());
    assert!(
        pages()
            .pages
            .iter()
            .all(|page| { page.items.iter().all(|item| matches!(item, Item::Text(_))) })
    );
}

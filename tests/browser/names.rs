//! Names out of a log are shown as they are written, whatever stands in them, and nothing of them runs.

use crate::numbers::texts;
use crate::page::{Report, fleet};
use crate::screen::Screen;
use serde_json::json;

const STRANGE: [(&str, &str); 3] = [
    ("Blue 1", "<script>name = 'ran'</script>"),
    ("Red 1", "the \"long\" one & 'half' 🔪"),
    ("Plum 1", "סט ישן"),
];

#[test]
fn names_with_marks_of_html_quotes_emoji_and_other_scripts_are_text() {
    let log = fleet(1);
    for file in ["sets.csv", "events.csv"] {
        let path = log.path().join(file);
        let text = std::fs::read_to_string(&path).expect("a file");
        let text = STRANGE.iter().fold(text, |text, (plain, strange)| {
            let cell = format!("\"{}\"", strange.replace('"', "\"\""));
            text.replace(plain, &cell)
        });
        std::fs::write(&path, text).expect("a file");
    }
    let report = Report::of(log.path());
    let screen = Screen::of(&report.file());
    let headings = texts(&screen, "#knives h4 bdi");
    let in_pictures = texts(&screen, "svg text").join("\n");
    for (_, strange) in STRANGE {
        assert!(headings.iter().any(|it| it == strange), "{headings:?}");
        // A picture shows the first letters of a long name.
        let first: String = strange.chars().take(18).collect();
        assert!(in_pictures.contains(&first), "{first}: {in_pictures}");
    }
    assert_eq!(screen.ask("document.scripts.length"), json!(0));
    assert_eq!(screen.ask("name"), json!(""));
}

//! What somebody saw of knives reaches every answer and every page that is about them.

use crate::support::{Shop, answer, json, said, status};
use crate::unfit::{add, one_line, worked};

/// Set A at work, and B, ground and sharp, on the bench.
fn two_sets() -> Shop {
    let shop = worked("120 mm", "4");
    let sets = "name,knives,edges,width\nA,4,2,120 mm\nB,4,2,120 mm\n";
    shop.write("sets.csv", sets);
    add(
        &shop,
        &[
            "event pulled --no-grade --set A --meter 1256 --date 2026-03-02",
            "event fitted --set B --meter 1256 --date 2026-03-02",
            "run --start 1256 --end 1262 --wood oak --dirt clean --date 2026-03-03",
            "event pulled --no-grade --set B --meter 1262 --date 2026-03-03",
            "event fitted --set A --meter 1262 --date 2026-03-03",
            "event reground --set B --stock-removed 0.6mm --date 2026-03-04",
        ],
    );
    shop
}

fn ready(shop: &Shop) -> serde_json::Value {
    json(&shop.run(&["--json", "job", "--hours", "1"]))["plan"]["ready"].clone()
}

#[test]
fn a_set_with_a_note_or_a_nick_is_looked_at_before_it_counts_as_ready() {
    let shop = two_sets();
    assert_eq!(ready(&shop)["sets"], serde_json::json!(["B"]));
    for row in [
        "event checked --set B --note holder_rattles --date 2026-03-05",
        "event checked --set B --nick 1.5mm --date 2026-03-05",
    ] {
        let shop = two_sets();
        add(&shop, &[row]);
        let ready = ready(&shop);
        assert_eq!(ready["to_look_at"], serde_json::json!(["B"]), "{ready}");
        assert_eq!(ready["sets"], serde_json::json!([]), "{ready}");
        let words = one_line(&answer(&shop.run(&["job", "--hours", "1"])));
        assert!(words.contains("To be looked at before it runs"), "{words}");
    }
}

#[test]
fn a_nick_seen_after_the_grind_of_the_day_is_as_deep_as_it_was_typed() {
    let shop = two_sets();
    add(
        &shop,
        &["event checked --set B --nick 5mm --date 2026-03-04"],
    );
    let words = one_line(&answer(&shop.run(&["--units", "metric", "knives", "B"])));
    assert!(words.contains("not to be run"), "{words}");
    assert!(words.contains("nick of 5.0 mm"), "{words}");
}

#[test]
fn a_nick_in_the_knives_at_work_stands_beside_their_hours() {
    let shop = two_sets();
    let told = "a nick: look for cracks before it runs";
    let due = || one_line(&answer(&shop.run(&["due"])));
    assert!(!due().contains(told));
    add(
        &shop,
        &["event checked --set A --nick 1.5mm --date 2026-03-05"],
    );
    assert!(due().contains(told), "{}", due());
    let page = shop.log().join("page.html").display().to_string();
    assert_eq!(status(&shop.run(&["report", "--out", &page])), 0);
    let page = std::fs::read_to_string(&page).expect("a page");
    assert!(page.to_lowercase().contains(told));
    let job = one_line(&answer(&shop.run(&["job", "--hours", "1"])));
    assert!(job.contains(told), "{job}");
}

#[test]
fn a_card_has_the_notes_on_its_own_set_before_those_on_others() {
    let shop = two_sets();
    let others: Vec<String> = (0..6)
        .map(|at| format!("event checked --set B --note rattle_{at} --date 2026-03-05"))
        .collect();
    add(
        &shop,
        &others.iter().map(String::as_str).collect::<Vec<_>>(),
    );
    add(
        &shop,
        &["event checked --set A --note Messer_locker --date 2026-03-06"],
    );
    let out = shop.log().join("card.html").display().to_string();
    for of in [&["card"][..], &["card", "--set", "A"]] {
        let written = shop.run(&[of, &["--out", &out]].concat());
        assert_eq!(status(&written), 0, "{}", said(&written));
        let page = std::fs::read_to_string(&out).expect("a card");
        assert!(page.contains("Messer locker"), "{of:?}");
    }
}

#[test]
fn a_day_with_too_many_hours_is_told_when_it_is_typed_and_before_the_mark() {
    let shop = worked("120 mm", "4");
    let row = "add run --hours 60 --wood maple --dirt clean --date 2026-03-03";
    let added = shop.run(&row.split(' ').collect::<Vec<_>>());
    for words in [answer(&added), answer(&shop.run(&["due"]))] {
        assert!(one_line(&words).contains("a day has 24"), "{words}");
    }
}

#[test]
fn a_reading_needs_no_name_where_there_is_one_machine() {
    let shop = worked("120 mm", "4");
    let due = answer(&shop.run(&["due", "--meter", "1260"]));
    assert!(due.contains("1260"), "{due}");
    let machines = shop.text("machines.csv") + "small,disc,2,1,10,50,100 mm\n";
    shop.write("machines.csv", machines);
    let asked = shop.run(&["due", "--meter", "1260"]);
    assert_ne!(status(&asked), 0);
    let words = one_line(&said(&asked));
    assert!(
        words.contains("say which machine") && words.contains("small"),
        "{words}"
    );
}

#[test]
fn without_a_machine_that_can_be_read_there_is_an_error_and_no_answer() {
    let shop = worked("120 mm", "4");
    let unread = shop.text("machines.csv").replace(",drum,", ",cube,");
    let none = "name,rotor,knives\n".to_owned();
    for (machines, found) in [(unread, "cube"), (none, "keenspan: Every answer")] {
        shop.write("machines.csv", machines);
        for command in ["due", "interval", "knives"] {
            let asked = shop.run(&[command]);
            assert_ne!(status(&asked), 0, "{command}");
            let words = one_line(&said(&asked));
            assert!(
                words.contains("machines.csv has none that can be read") && words.contains(found),
                "{words}"
            );
        }
    }
}

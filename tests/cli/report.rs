//! The report as a file.

use crate::support::{Shop, said, status};

/// The page, its marks of HTML taken out.
fn page(shop: &Shop, arguments: &[&str]) -> String {
    let file = shop.log().join("report.html");
    let out = file.display().to_string();
    let output = shop.run(&[&["report", "--out", &out], arguments].concat());
    assert_eq!(status(&output), 0, "{}", said(&output));
    let html = std::fs::read_to_string(file).expect("the page");
    let parts = html.split('<').skip(1);
    let texts = parts.filter_map(|part| Some(part.split_once('>')?.1.trim()));
    let texts: Vec<&str> = texts.filter(|text| !text.is_empty()).collect();
    texts.join(" ").replace('\u{a0}', " ")
}

fn between<'p>(page: &'p str, from: &str, to: &str) -> &'p str {
    let start = page.find(from).unwrap_or_else(|| panic!("{from}: {page}"));
    let rest = &page[start..];
    &rest[..rest.find(to).unwrap_or(rest.len())]
}

#[test]
fn every_chance_by_wood_has_its_bounds() {
    let page = page(&Shop::at_work(), &[]);
    let table = between(&page, "dull by then hardwood, clean", "How soon");
    let rows = table.split("wood, ").skip(1);
    let mut count = 0;
    for row in rows {
        // Hours with bounds, then the chance with bounds.
        assert_eq!(row.matches('(').count(), 2, "{row}");
        assert!(row.contains('%') && !row.contains(" 0 %"), "{row}");
        count += 1;
    }
    assert_eq!(count, 8, "{table}");
}

#[test]
fn a_young_log_has_the_budget_of_a_year_once_its_hours_are_told() {
    let shop = Shop::at_work();
    let without = page(&shop, &[]);
    assert!(without.contains("spans less than half a year"), "{without}");
    assert!(without.contains("--hours-per-year"), "{without}");
    let with = page(&shop, &["--hours-per-year", "400"]);
    assert!(!with.contains("--hours-per-year"), "{with}");
    let said = between(&with, "A year:", "In numbers");
    assert!(
        said.contains("400 meter hours as recommended") && said.contains("by today's rule"),
        "{said}"
    );
    let table = between(
        &with,
        "In numbers, in your own currency",
        "What an hour costs",
    );
    for part in ["changing", "grinding", "new knives", "in all"] {
        assert!(table.contains(part), "{part}: {table}");
    }
}

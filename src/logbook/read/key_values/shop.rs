//! shop.csv.

use super::key;
use crate::logbook::read::cells::{Ways, one_of, width};
use crate::logbook::read::row::RowReader;
use crate::logbook::read::table::{TableReading, read_rows};
use crate::logbook::{DateOrder, LogFile, RowKey, ShopSettings};
use crate::quantities::{Units, Width};
use std::collections::BTreeSet;

/// What shop.csv holds.
#[derive(Debug, Default)]
pub(in crate::logbook::read) struct Shop {
    pub(in crate::logbook::read) settings: ShopSettings,
    pub(in crate::logbook::read) currency: String,
    pub(in crate::logbook::read) flat_when_dull: Option<Width>,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
enum Setting {
    Name,
    Units,
    Dates,
    Currency,
    FlatWhenDull,
}

const SETTINGS: [(&str, Setting); 5] = [
    ("name", Setting::Name),
    ("units", Setting::Units),
    ("dates", Setting::Dates),
    ("currency", Setting::Currency),
    ("flat_when_dull", Setting::FlatWhenDull),
];

/// Read twice: a bare flat is in the shop's units, which may stand in a later row.
pub(in crate::logbook::read) fn shop(bytes: &[u8]) -> (Shop, TableReading) {
    let (first, _) = shop_in(bytes, Units::default());
    shop_in(bytes, first.settings.units)
}

fn shop_in(bytes: &[u8], units: Units) -> (Shop, TableReading) {
    let mut shop = Shop::default();
    let mut seen = BTreeSet::new();
    let ways = Ways {
        units,
        ..Ways::default()
    };
    let (notes, mut reading) = read_rows(LogFile::Shop, bytes, ways, |row| {
        let setting = key(row, &SETTINGS, &mut seen)?;
        take(row, setting, &mut shop);
        let (name, _) = SETTINGS.iter().find(|(_, known)| *known == setting)?;
        let note = ((*name).to_owned(), row.text("note").to_owned());
        Some((RowKey::Key((*name).to_owned()), note))
    });
    reading.extras.notes = notes.into_iter().collect();
    (shop, reading)
}

fn take(row: &mut RowReader<'_>, setting: Setting, shop: &mut Shop) {
    let ways = row.ways;
    match setting {
        Setting::Name => shop.settings.name = row.text("value").to_owned(),
        Setting::Currency => shop.currency = row.text("value").to_owned(),
        Setting::Units => {
            let units = row.optional("value", |text| one_of(text, &units()));
            shop.settings.units = units.unwrap_or_default();
        }
        Setting::Dates => {
            shop.settings.dates = row.optional("value", |text| one_of(text, &orders()));
        }
        Setting::FlatWhenDull => {
            let unit = row.text("unit");
            shop.flat_when_dull = row.optional("value", |text| width(&with_unit(text, unit), ways));
        }
    }
}

/// The unit stands in its own column or behind the number.
fn with_unit(value: &str, unit: &str) -> String {
    if value.ends_with(|it: char| it.is_ascii_digit()) {
        format!("{value} {unit}")
    } else {
        value.to_owned()
    }
}

fn units() -> [(&'static str, Units); 4] {
    [
        (Units::Us.word(), Units::Us),
        (Units::Metric.word(), Units::Metric),
        ("inches", Units::Us),
        ("mm", Units::Metric),
    ]
}

fn orders() -> [(&'static str, DateOrder); 3] {
    DateOrder::ALL.map(|order| (order.words(), order))
}

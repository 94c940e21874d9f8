//! The best age under changes that must, or must not, move it.

use keenspan::decisions::{AgeReplacement, Cheapest, CycleCosts};
use keenspan::quantities::{Money, WearFraction};
use keenspan::wear::{Family, LifeLaw};
use proptest::prelude::*;

#[derive(Debug, Clone, Copy)]
struct Shop {
    law: LifeLaw,
    strikes: f64,
    planned: f64,
    forced: f64,
    struck: f64,
    running: f64,
}

impl Shop {
    /// Best age, or `None` for run until called, with its cost rate.
    fn best(self) -> (Option<f64>, f64) {
        let money = |amount| Money::new(amount).unwrap();
        let costs = CycleCosts {
            planned: money(self.planned),
            forced_extra: money(self.forced),
            strike_extra: money(self.struck),
            running_at_dull: money(self.running),
            call_at: Some(WearFraction::new(1.3).unwrap()),
        };
        let cheapest = AgeReplacement::new(&self.law, self.strikes, &costs)
            .unwrap()
            .cheapest();
        match cheapest.unwrap() {
            Cheapest::ChangeAt {
                interval,
                cost_per_hour,
            } => (Some(interval.get()), cost_per_hour.get()),
            Cheapest::RunUntilCalled { cost_per_hour } => (None, cost_per_hour.get()),
        }
    }

    fn best_age(self) -> f64 {
        self.best().0.unwrap_or(f64::INFINITY)
    }
}

fn family() -> impl Strategy<Value = Family> {
    prop_oneof![
        Just(Family::Weibull),
        Just(Family::Lognormal),
        Just(Family::Loglogistic)
    ]
}

fn shop() -> impl Strategy<Value = Shop> {
    let law = (family(), 2.0..6.0f64, 0.02..0.95f64);
    let money = (10.0..300.0f64, 0.0..600.0f64, 0.0..900.0f64, 0.0..20.0f64);
    (law, 0.0..0.02f64, money).prop_map(|((family, log_median, sigma), strikes, money)| Shop {
        law: LifeLaw {
            family,
            log_median,
            sigma,
        },
        strikes,
        planned: money.0,
        forced: money.1,
        struck: money.2,
        running: money.3,
    })
}

/// Ages sit on a flat minimum: equal to 1e-7 counts as equal, and a best that saves next to nothing
/// may be told from "run until called" either way.
fn same_age(left: (Option<f64>, f64), right: (Option<f64>, f64)) -> bool {
    match (left.0, right.0) {
        (Some(left), Some(right)) => (left / right - 1.0).abs() < 1e-7,
        (None, None) => true,
        _ => (left.1 / right.1 - 1.0).abs() < 1e-8,
    }
}

proptest! {
    // By hand: the rise of cost, N' L - (K + N) L', grows with P by f L - L' times the chance of a
    // call; with a rising hazard f/S that is never below zero.
    #[test]
    fn a_dearer_forced_change_never_lengthens_the_interval(shop in shop(), more in 1.0..5.0f64) {
        let shop = Shop { law: LifeLaw { family: Family::Weibull, ..shop.law }, ..shop };
        let dearer = Shop { forced: shop.forced * more + 1.0, ..shop };
        prop_assert!(dearer.best_age() <= shop.best_age() * (1.0 + 1e-7));
    }

    // By hand: the rise of cost falls with K by L'.
    #[test]
    fn a_dearer_planned_change_never_shortens_the_interval(shop in shop(), more in 1.0..5.0f64) {
        let dearer = Shop { planned: shop.planned * more, ..shop };
        prop_assert!(dearer.best_age() >= shop.best_age() * (1.0 - 1e-7));
    }

    // As K goes to zero so does the best age. By hand: it lies below the square-root rule
    // sqrt(2 K / (c_d E[1/T])), forced changes only shortening it, and half of all lives are below the
    // median, so that E[1/T] is at least 1 / (2 median). The hundredth is for strikes.
    #[test]
    fn a_nearly_free_planned_change_is_made_nearly_all_the_time(shop in shop()) {
        let shop = Shop { planned: 1e-9, running: 1.0 + shop.running, ..shop };
        let bound = (4.0 * 1e-9 * shop.law.log_median.exp() / shop.running).sqrt();
        prop_assert!(shop.best_age() <= 1.01 * bound);
    }

    #[test]
    fn counting_in_minutes_changes_nothing_but_the_unit(shop in shop()) {
        let (age, rate) = shop.best();
        let minutes = Shop {
            law: LifeLaw { log_median: shop.law.log_median + 60f64.ln(), ..shop.law },
            strikes: shop.strikes / 60.0,
            running: shop.running / 60.0,
            ..shop
        };
        let (age_in_minutes, rate_in_minutes) = minutes.best();
        prop_assert!(same_age((age, rate), (age_in_minutes.map(|age| age / 60.0), 60.0 * rate_in_minutes)));
        prop_assert!((60.0 * rate_in_minutes / rate - 1.0).abs() < 1e-9);
    }

    #[test]
    fn another_currency_changes_nothing_but_the_money(shop in shop(), exchange in 0.01..100.0f64) {
        let (age, rate) = shop.best();
        let abroad = Shop {
            planned: shop.planned * exchange,
            forced: shop.forced * exchange,
            struck: shop.struck * exchange,
            running: shop.running * exchange,
            ..shop
        };
        let (age_abroad, rate_abroad) = abroad.best();
        prop_assert!(same_age((age, rate), (age_abroad, rate_abroad / exchange)));
        prop_assert!((rate_abroad / exchange / rate - 1.0).abs() < 1e-9);
    }
}

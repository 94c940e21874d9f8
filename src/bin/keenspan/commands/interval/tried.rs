//! What if: the alternative that --try describes.

use super::Interval;
use crate::asked_wood::AskedWood;
use crate::failure::Failure;
use crate::fitting::{Drawn, layout};
use crate::words::typed;
use keenspan::decisions::{DecisionError, Question, ShopCosts, TriedQuestion, Way, compare_ways};
use keenspan::logbook::{CostItem, Machine};
use keenspan::quantities::MeterHours;
use keenspan::views::TriedInterval;
use keenspan::wood::{Contamination, WoodMix, WoodState};

/// One alternative: everything tried together.
#[derive(Debug, Clone, Default)]
pub struct Alternative {
    /// As typed.
    pub changes: Vec<(String, String)>,
    pub interval: Option<MeterHours>,
    pub wood: Option<String>,
    pub dirt: Option<String>,
    pub state: Option<String>,
    /// Items of cost with their values.
    costs: Vec<(&'static str, f64)>,
}

impl Alternative {
    /// From what was typed; `None` where nothing was.
    pub fn of(typed: &[(String, String)]) -> Result<Option<Self>, Failure> {
        if typed.is_empty() {
            return Ok(None);
        }
        let mut alternative = Self::default();
        for (key, value) in typed {
            if alternative.changes.iter().any(|(known, _)| known == key) {
                return Err(Failure::Usage(format!("--try gives {key} twice")));
            }
            alternative.add(key, value)?;
            alternative.changes.push((key.clone(), value.clone()));
        }
        Ok(Some(alternative))
    }

    fn add(&mut self, key: &str, value: &str) -> Result<(), Failure> {
        match key {
            "interval" => {
                let hours = super::hours_between(value).map_err(|wanted| {
                    Failure::Usage(format!("--try interval: {wanted}; found \"{value}\""))
                })?;
                self.interval = Some(MeterHours::new(hours).map_err(DecisionError::from)?);
            }
            "wood" => {
                WoodMix::parse(value)?;
                self.wood = Some(value.to_string());
            }
            "dirt" => {
                Contamination::parse(value)?;
                self.dirt = Some(value.to_string());
            }
            "state" => {
                WoodState::parse(value)?;
                self.state = Some(value.to_string());
            }
            item => self.costs.push(cost(item, value)?),
        }
        Ok(())
    }

    /// The shop's costs with those tried in their place.
    pub fn costs(&self, shop: &ShopCosts) -> Result<ShopCosts, Failure> {
        self.costs
            .iter()
            .try_fold(shop.clone(), |costs, (item, value)| {
                let refused = |error: DecisionError| Failure::Usage(format!("--try: {error}"));
                costs.with(item, *value).map_err(refused)
            })
    }
}

fn cost(key: &str, value: &str) -> Result<(&'static str, f64), Failure> {
    let Some(item) = CostItem::ALL.into_iter().find(|item| item.key() == key) else {
        let items: Vec<&str> = CostItem::ALL.iter().map(|item| item.key()).collect();
        return Err(Failure::Usage(format!(
            "--try knows no \"{key}\"; it knows interval, wood, dirt, state, {}",
            items.join(", ")
        )));
    };
    let wanted = format!("a number ({}); found \"{value}\"", item.unit());
    let value = typed(value, &wanted)
        .map_err(|instead| Failure::Usage(format!("--try {key}: {instead}")))?;
    Ok((item.key(), value))
}

impl Interval {
    /// The alternative beside things as they are, under the same draws of the posterior.
    pub(super) fn tried(
        &self,
        drawn: &Drawn,
        machine: &Machine,
        alternative: &Alternative,
        as_it_is: &Way<'_>,
        question: &Question,
    ) -> Result<TriedInterval, Failure> {
        let fitted = &drawn.fitted;
        let or_as_asked = |tried: &Option<String>, asked: &Option<String>| {
            tried.as_ref().or(asked.as_ref()).cloned()
        };
        let wood = AskedWood {
            wood: or_as_asked(&alternative.wood, &self.wood.wood),
            dirt: or_as_asked(&alternative.dirt, &self.wood.dirt),
            state: or_as_asked(&alternative.state, &self.wood.state),
        };
        let conditions = wood.conditions(fitted.usual(machine))?;
        let costs = alternative.costs(&fitted.costs)?.cycle(layout(machine));
        let costs = costs.map_err(|error| Failure::Usage(format!("--try: {error}")))?;
        let draws = drawn.draws.under(&fitted.asked(machine, conditions.blend));
        let as_tried = Way {
            draws: &draws,
            costs: &costs,
        };
        let question = TriedQuestion {
            rule: question.rule,
            interval: alternative.interval,
            level: question.level,
        };
        Ok(TriedInterval {
            changes: alternative.changes.clone(),
            conditions: conditions.words,
            tried: compare_ways(as_it_is, &as_tried, &question)?,
        })
    }
}

/// `KEY=VALUE`.
pub fn assignment(text: &str) -> Result<(String, String), String> {
    let parts = text.split_once('=');
    let parts = parts.map(|(key, value)| (key.trim().to_string(), value.trim().to_string()));
    parts
        .filter(|(key, value)| !key.is_empty() && !value.is_empty())
        .ok_or_else(|| "write key=value, such as waiting_share=0.5 or interval=60".to_string())
}

//! The names of what edges share, numbered.

use super::super::label::natural_order;
use std::collections::HashMap;

/// Names in the order in which they came.
#[derive(Debug, Clone, Default)]
pub(super) struct Levels {
    names: Vec<String>,
    numbers: HashMap<String, u32>,
    /// The name that came last: edges of one machine often stand together.
    last: u32,
}

impl Levels {
    /// The number of a name, a new one where it has not come before.
    pub(super) fn number(&mut self, name: &str) -> u32 {
        if self
            .names
            .get(self.last as usize)
            .is_some_and(|last| last == name)
        {
            return self.last;
        }
        self.last = match self.numbers.get(name) {
            Some(number) => *number,
            None => {
                let number = self.names.len() as u32;
                self.names.push(name.to_string());
                self.numbers.insert(name.to_string(), number);
                number
            }
        };
        self.last
    }

    pub(super) fn names(&self) -> &[String] {
        &self.names
    }

    /// The names, numbers by size, then words by letters; `levels` are numbered anew.
    pub(super) fn in_order(&self, levels: &mut [u32]) -> Vec<String> {
        let mut order: Vec<usize> = (0..self.names.len()).collect();
        let name = |place: usize| self.names.get(place).map_or("", String::as_str);
        order.sort_by(|one, other| natural_order(name(*one), name(*other)));
        let mut places = vec![0; order.len()];
        for (place, old) in order.iter().enumerate() {
            if let Some(to) = places.get_mut(*old) {
                *to = place as u32;
            }
        }
        for level in levels {
            *level = places.get(*level as usize).copied().unwrap_or(*level);
        }
        order.into_iter().map(|old| name(old).to_string()).collect()
    }
}

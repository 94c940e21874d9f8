//! What the next hours of an edge that has worked cost, under one draw.

use crate::decisions::cycle_costs::CheckedCosts;
use crate::numerics::lanes::exp;

/// The edge at the first of the hours looked at, and what comes then.
pub(super) struct Present<'a> {
    /// Wear hours on it; below zero where it comes to work only later.
    pub wear: f64,
    /// Lives that it may have, wear hours, each with its chance; lives rise.
    pub lives: &'a [(f64, f64)],
    /// Wear hours per meter hour.
    pub rate: f64,
    /// Hours of what comes next that wear as much as one of those looked at: all that is paid or gained by the hour goes
    /// by them.
    pub worth: f64,
    /// Strikes per meter hour of what comes next.
    pub strikes: f64,
}

/// A log of a chance that is none.
const LEAST_LOG: f64 = -700.0;
/// Steps from hour to hour. Beside four times as many, and lives twice as close, the demo's bounds of hours left move by
/// 0.8 % of their width (root mean square over six seeds; twice as many steps move them by 1.1 %: they tell lives apart);
/// another seed moves them by 2 to 5.
pub(super) const STEPS: usize = 48;
/// A number for each hour looked at.
pub(super) type Hours = [f64; STEPS + 1];
const NOTHING: Hours = [0.0; STEPS + 1];

/// Expected cost and hours by each hour looked at.
pub(super) struct Spent {
    pub cost: Hours,
    pub hours: Hours,
}

/// The chance that the edge has not been called, and `E[1/T; not called]`, at each hour.
struct Going {
    chance: Hours,
    inverse_life: Hours,
}

/// The lives that an edge may have, by the wear from now on at which each is called.
#[derive(Default)]
struct Calls {
    /// Rising; the first is where chances begin to fall.
    wear: Vec<f64>,
    /// The chance that is left there, half of the life called there among it; and likewise `E[1/T]`.
    chance: Vec<f64>,
    inverse_life: Vec<f64>,
}

/// Hours from now on, with room for what a draw costs by each: a fleet asks for a million of them.
pub(super) struct Course<'g> {
    /// From zero on, rising.
    grid: &'g Hours,
    calls: Calls,
    going: Going,
    spent: Spent,
}

impl<'g> Course<'g> {
    pub fn new(grid: &'g Hours) -> Self {
        Self {
            grid,
            calls: Calls::default(),
            going: Going {
                chance: NOTHING,
                inverse_life: NOTHING,
            },
            spent: Spent {
                cost: NOTHING,
                hours: NOTHING,
            },
        }
    }

    /// Expected cost and hours worked by each hour of the grid.
    ///
    /// Between two of its points chances run in straight lines: a step at the best age is 7 % of it, a fourth or so of
    /// the spread of lives, and hundreds of draws smooth what is left.
    pub fn spend(&mut self, present: &Present<'_>, costs: &CheckedCosts) -> &Spent {
        self.calls.set(present, costs.call_at);
        self.going.set(&self.calls, self.grid, present.rate);
        self.spent = pulp::Arch::new().dispatch(Steps {
            present,
            costs,
            grid: self.grid,
            going: &self.going,
        });
        self.spent.add_up();
        &self.spent
    }

    /// The chance that an edge as the last one spent on has not been called before the first hour.
    pub fn uncalled(&self) -> f64 {
        self.going.chance[0]
    }
}

impl Calls {
    /// Lives that would have been called by now are passed from the start: nobody has called it yet, so that there are
    /// none. A life's chance is gone half at its own call and half on the way to it from the one before.
    fn set(&mut self, present: &Present<'_>, call_at: f64) {
        let called = |life: f64| call_at * life - present.wear;
        let passed = present
            .lives
            .partition_point(|(life, _)| called(*life) <= 0.0);
        let (before, ahead) = present.lives.split_at(passed);
        let (mut chance, mut inverse_life) = (0.0, 0.0);
        for (life, own) in ahead {
            chance += own;
            inverse_life += own / life;
        }
        let (start, half) = match before.last() {
            Some((life, own)) => (called(*life), (0.5 * own, 0.5 * own / life)),
            None => (-present.wear, (0.0, 0.0)),
        };
        for (column, first) in [
            (&mut self.wear, start),
            (&mut self.chance, chance + half.0),
            (&mut self.inverse_life, inverse_life + half.1),
        ] {
            column.resize(ahead.len() + 1, 0.0);
            column[0] = first;
        }
        let wears = self.wear[1..].iter_mut();
        let left = self.chance[1..].iter_mut().zip(&mut self.inverse_life[1..]);
        for ((wear, left), (life, own)) in wears.zip(left).zip(ahead) {
            let own_inverse = own / life;
            *wear = called(*life);
            (*left.0, *left.1) = (chance - 0.5 * own, inverse_life - 0.5 * own_inverse);
            chance -= own;
            inverse_life -= own_inverse;
        }
    }
}

impl Going {
    /// At hours that wear at `rate`, in straight lines from call to call; nothing after the last.
    fn set(&mut self, calls: &Calls, grid: &Hours, rate: f64) {
        let count = calls.wear.len();
        let (wears, chances) = (&calls.wear[..count], &calls.chance[..count]);
        let inverse_lives = &calls.inverse_life[..count];
        let mut next = 1;
        for (place, hour) in grid.iter().enumerate() {
            let wear = hour * rate;
            while next < count && wears[next] <= wear {
                next += 1;
            }
            (self.chance[place], self.inverse_life[place]) = if next < count {
                let before = wears[next - 1];
                let part = ((wear - before) / (wears[next] - before)).clamp(0.0, 1.0);
                let between = |of: &[f64]| {
                    let left = (1.0 - part) * of[next - 1] + part * of[next];
                    left.max(0.0)
                };
                (between(chances), between(inverse_lives))
            } else {
                (0.0, 0.0)
            };
        }
    }
}

/// What each step from hour to hour brings.
struct Steps<'a> {
    present: &'a Present<'a>,
    costs: &'a CheckedCosts,
    grid: &'a Hours,
    going: &'a Going,
}

impl Steps<'_> {
    /// Nothing by the first hour.
    #[inline(always)]
    fn each<const FUSED: bool>(&self) -> Spent {
        let Self {
            present,
            costs,
            grid,
            going,
        } = *self;
        let (mut cost, mut hours) = (NOTHING, NOTHING);
        let strikes = present.strikes * present.worth;
        let by_strikes = present.strikes * costs.strike_extra;
        for from in 0..STEPS {
            let to = from + 1;
            let middle = 0.5 * (grid[from] + grid[to]);
            let width = (grid[to] - grid[from]) * present.worth;
            // No strike has ended the work half-way there.
            let not_struck = exp::<FUSED>((-strikes * middle).max(LEAST_LOG));
            let working = not_struck * 0.5 * (going.chance[from] + going.chance[to]) * width;
            let called = not_struck * (going.chance[from] - going.chance[to]);
            let wear = (present.wear + present.rate * middle).max(0.0);
            let dulled = 0.5 * (going.inverse_life[from] + going.inverse_life[to]) * wear;
            hours[to] = working;
            cost[to] = costs.forced_extra * called
                + by_strikes * working
                + costs.running_at_dull * not_struck * dulled * width;
        }
        Spent { cost, hours }
    }
}

impl pulp::WithSimd for Steps<'_> {
    type Output = Spent;

    #[inline(always)]
    fn with_simd<S: pulp::Simd>(self, _: S) -> Spent {
        if S::IS_SCALAR {
            self.each::<false>()
        } else {
            self.each::<true>()
        }
    }
}

impl Spent {
    fn add_up(&mut self) {
        let (mut cost, mut hours) = (0.0, 0.0);
        for (own_cost, own_hours) in self.cost.iter_mut().zip(&mut self.hours) {
            cost += *own_cost;
            hours += *own_hours;
            (*own_cost, *own_hours) = (cost, hours);
        }
    }
}

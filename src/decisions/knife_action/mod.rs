//! What to do with a knife set now: keep running, touch up, flip, regrind or replace.
//!
//! ```text
//! set_at_hand   what is known of the set
//! stock         steel left, and what the next grind takes
//! fitness       what must not be done, whatever it would save
//! age_steps     one edge, step by step of its age          edge_worth   the best that can be made of it
//! process       edges, grinds and new sets: least cost     solved       what each action costs by it
//! machine       every draw's process                       answer       actions ranked over the draws
//! ```

mod age_steps;
mod answer;
mod edge_worth;
mod fitness;
mod knife_costs;
mod machine;
mod process;
mod set_at_hand;
mod solved;
mod stock;

pub use answer::{KnifeAnswer, RankedAction};
pub use fitness::{MustNot, must_not_do, must_not_run};
pub use knife_costs::KnifeCosts;
pub use machine::{KnifeDraws, KnifeQuestion, MachineKnives};
pub use process::KnifeProcess;
pub use set_at_hand::{EdgeAtHand, KnifeAction, SetAtHand};
pub use solved::{ActionCosts, EdgeNow, SetNow, SolvedProcess};
pub use stock::StockLeft;

//! What knives a job, or a list of jobs, will want: whether the edge on the machine lasts, how many sets to
//! take, where to change, in which order to do the jobs, and what to put into the bid.
//!
//! How the crew is taken to work:
//! - on the job an edge is changed when the cut calls for it (wear fraction `w_call`) or when it is struck,
//!   and the crew stands meanwhile: `K + P` and `K + S`;
//! - on plan it is changed only while the machine stands anyway, at `K`: at the yard before a job, where the
//!   plan says so, and in the evenings of a job of several days once it is due (its wear has reached the
//!   recommended interval).
//!
//! Wear is counted in intervals: 1 is the wear of the recommended interval in the wood that the machine
//! usually chips. Everything is reckoned for each posterior draw by renewal sums along the wear of the jobs;
//! nothing is played by chance.
//!
//! ```text
//! scaled      posterior draws in units of the interval, and the middle of them
//! edge_table  survival and wear of an edge against further wear
//! play        an edge through a job: calls, strikes, changes, cost (renewal sums)
//! worth       what the wear on an edge is worth: the relative value of its age
//! operators   a job as a linear map of what comes after it
//! order       the order of least expected cost: exact, or a heuristic beyond nine jobs
//! evaluate    the plan under every draw; figures: what comes of it
//! ```

mod answer;
mod edge_table;
mod evaluate;
mod figures;
mod operators;
mod order;
mod play;
mod question;
mod rule;
mod scaled;
mod worth;

pub use answer::{JobPlan, Leaving, OrderFound, PlannedJob, Sets};
pub use evaluate::plan_jobs;
pub use question::{EdgesAtHand, Job, JobQuestion, PresentEdge, UsualWork};
pub use rule::ChangeRule;

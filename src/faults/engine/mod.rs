//! The one engine of every verdict: it tries all stories that could turn what was meant into what was read, and ranks
//! them by what they cost.

mod apply;
mod banks;
mod cells;
mod edits;
mod explain;
mod ledger;
mod lengths;
mod lines;
mod pairs;
mod predict;
mod rank;
mod reversed;
mod search;
mod singles;
#[cfg(test)]
mod testing;

pub(super) use apply::Known;
pub(super) use explain::Question;
pub(super) use ledger::Told;

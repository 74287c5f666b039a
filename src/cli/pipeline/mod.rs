//! From words to steps: one grammar for the command line and for recipes, what answers slips, and the plain commands.

mod adapter;
mod board;
mod check;
mod commands;
mod complete;
mod content;
mod glossary;
mod grammar;
mod help;
mod man;
mod named;
mod new;
mod new_board;
mod parsed;
mod picture;
mod plan;
mod recipe;
mod recognise;
mod refusal;
mod run;
mod run_options;
mod say;
mod slips;
mod tables;
mod words;
mod written;

pub use commands::{COMMANDS, full_grammar, parse_recipe};
pub use complete::{ASK, offer};
pub use grammar::{Grammar, Request, segments};
pub use plan::{Plan, PlannedStep};
pub use refusal::{Refusal, shown_answer, shown_slip};
pub use slips::Around;
pub use run::run;
pub use run_options::RunOptions;
pub use say::complain;
pub use written::Wording;

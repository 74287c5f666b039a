//! Adapters: a chip in a socket that is wired for another part.

mod ask;
mod deciding;
mod feeds;
mod fitting;
mod package;
mod plan;
mod refusal;
mod selects;

pub use ask::{AdapterOptions, SelectLevel, UpperLines};
pub use deciding::Deciding;
pub use feeds::{AdapterPin, Feed};
pub use fitting::{Condition, Fitting};
pub use plan::{Adapter, Question};
pub use refusal::NoAdapter;

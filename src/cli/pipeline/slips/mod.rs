//! Well-known slips, each answered with what to type. A suggestion is only made where it works.

mod afterthought;
mod answer;
mod around;
mod bench;
mod copied;
mod doubtful;
mod line;
mod names;
mod option_names;
mod options;
mod other_words;
mod plus;
mod refused;
mod slip;
mod spots;
mod surplus;
mod values;
mod vocabulary;

pub use afterthought::afterthought;
pub use answer::answer;
pub use around::Around;
pub use doubtful::doubtful;
pub use line::{LineAnswer, answer_line, may_be_wrong};
pub use other_words::step_meant;
pub use slip::Slip;

#[cfg(test)]
mod tests;

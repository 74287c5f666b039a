//! Well-known slips, each answered with what to type. A suggestion is only made where it works.

mod afterthought;
mod answer;
mod doubtful;
mod names;
mod options;
mod refused;
mod slip;
mod surplus;
mod values;
mod vocabulary;

pub use afterthought::afterthought;
pub use answer::answer;
pub use doubtful::doubtful;
pub use slip::Slip;

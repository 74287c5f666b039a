//! Pages for the bench: the burn sheet, which says which file goes into which chip and which sum the programmer must show,
//! and the page of a verdict.

mod bar;
mod bus_part;
mod canvas;
mod card;
mod cautions;
mod chip;
mod count;
mod css;
mod difference_map;
mod frame;
mod key;
mod labels;
mod lines;
mod map;
mod notes;
mod overview;
mod page;
mod pins;
mod print;
mod same_sums;
mod socket;
mod verdict_page;
mod words;

pub use canvas::TEXTURES;
pub use chip::{HeldFile, SheetChip};
pub use css::{COLOURS, RULES};
pub use difference_map::DifferenceMap;
pub use key::hatching;
pub use page::BurnSheet;
pub use verdict_page::VerdictPage;
pub use words::{said, short};

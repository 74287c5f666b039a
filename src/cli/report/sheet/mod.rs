//! Pages to print: the burn sheet, which says which file goes into which chip and which sum the programmer must show, and
//! the page of a diagnosis.

mod bar;
mod canvas;
mod card;
mod cautions;
mod chip;
mod css;
mod diagnosis;
mod key;
mod map;
mod page;
mod socket;
mod stretch;
mod words;

pub use chip::SheetChip;
pub use diagnosis::diagnosis_sheet;
pub use page::BurnSheet;

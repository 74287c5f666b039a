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

pub(super) use canvas::TEXTURES;
pub use chip::SheetChip;
pub(super) use css::{COLOURS, RULES};
pub use diagnosis::diagnosis_sheet;
pub(super) use key::hatching;
pub use page::BurnSheet;
pub(super) use words::{said, short};

//! Pages to print: the burn sheet, which says which file goes into which chip and which sum the programmer must show, and
//! the page of a diagnosis.

mod bar;
mod bus_part;
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
mod words;

pub use canvas::TEXTURES;
pub use chip::SheetChip;
pub use css::{COLOURS, RULES};
pub use diagnosis::diagnosis_sheet;
pub use key::hatching;
pub use page::BurnSheet;
pub use words::{said, short};

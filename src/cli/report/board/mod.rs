//! A board as it is described: who answers where on each bus, and what of the chips no bus sees.

mod boxes;
mod columns;
mod picture;
mod text;
mod view;

pub use picture::board_picture;
pub use view::BoardReport;

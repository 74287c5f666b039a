//! What the screens look like, and that colour only ever colours.

mod carets;
mod changes;
mod colour;
mod digest;
mod dump;
mod helpers;
mod map;
mod sheet;

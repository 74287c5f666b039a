//! Images against the same job done byte by byte, and against figures worked out by hand.

mod builder;
mod clash;
mod lanes;
mod origins;
mod permute;
mod sparse;
mod support;

//! Prepare, split, stamp and prove ROM images.

pub mod formats;
pub mod image;
pub mod parts;
pub mod sums;

pub use image::Image;

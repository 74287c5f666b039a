//! Prepare, split, stamp and prove ROM images.

pub mod faults;
pub mod formats;
pub mod image;
pub mod sums;

pub use image::Image;

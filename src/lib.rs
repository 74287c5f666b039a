//! Prepare, split, stamp and prove ROM images.

pub mod formats;
pub mod image;
pub mod ops;
pub mod sums;
pub mod values;

pub use image::Image;

//! Prepare, split, stamp and prove ROM images.

pub mod image;

pub use image::Image;

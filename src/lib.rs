//! Prepare, split, stamp and prove ROM images.

#[cfg(feature = "cli")]
pub mod bench;
pub mod faults;
pub mod formats;
pub mod image;
pub mod ops;
pub mod parts;
#[cfg(feature = "cli")]
pub mod pipeline;
pub mod report;
#[cfg(feature = "cli")]
pub mod steps;
pub mod sums;
pub mod values;

pub use image::Image;

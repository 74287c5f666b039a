//! File formats: reading and writing images.
//!
//! [`load`] finds out a file's format from its content, [`save`] from the file's name; [`load_as`] and [`save_as`] take the
//! format from the caller. What a file does not say itself is in [`ReadOptions`] and [`WriteOptions`].
//!
//! ```
//! use romloom::formats::{self, ReadOptions, WriteOptions};
//!
//! # let folder = tempfile::tempdir()?;
//! # let (prog, rom) = (folder.path().join("prog.hex"), folder.path().join("rom.s19"));
//! # std::fs::write(&prog, ":080000000010000000000400E4\n:00000001FF\n")?;
//! let loaded = formats::load(&prog, &ReadOptions::default())?;
//! assert_eq!(loaded.format.name(), "intel-hex");
//! assert_eq!(loaded.image.byte(1), Some(0x10));
//!
//! let written = formats::save(&rom, &loaded.image, &WriteOptions::default())?;
//! assert_eq!(written.form, Some("S1"));
//! # Ok::<(), Box<dyn std::error::Error>>(())
//! ```
//!
//! A file that breaks its format's rules is an error whose text says where: a build script that fails prints one
//! sentence.
//!
//! ```
//! use romloom::formats::{self, Input, ReadOptions};
//!
//! let text = ":080000000010000000000400E5\n:00000001FF\n";
//! let mut input = Input::new("prog.hex", text.as_bytes());
//! let error = formats::load_from(&mut input, &ReadOptions::default()).unwrap_err();
//! assert_eq!(
//!     error.to_string(),
//!     "prog.hex: line 1, column 26: the checksum is wrong: says E5, the record's bytes give E4"
//! );
//! ```
//!
//! [`FORMATS`] is the registry. A [`Format`] reads from an [`Input`] into an [`Image`](crate::Image), notes what is wrong
//! in [`Findings`], and writes an image to any `Write`. Nothing here trusts its input: memory grows with the size of
//! a file, never with the addresses in it.

mod address;
mod ahead;
mod detect;
pub mod elf;
mod explain;
mod explanation;
mod facts;
mod findings;
mod format;
mod hex;
mod in_two;
mod input;
pub mod intel_hex;
mod layout;
mod likeness;
mod line;
mod load;
mod meta;
pub mod mos_tape;
mod options;
mod place;
mod problem;
#[cfg(feature = "proof")]
mod proof;
pub mod raw;
pub mod raw_le16;
pub mod readmem;
mod record;
mod registry;
mod rows;
pub mod s_record;
mod salvage;
mod save;
pub mod source_text;
pub mod tek_hex;
pub mod ti_txt;
mod words;
mod written;

pub use ahead::ReadAhead;
pub use detect::{Undetected, detect};
pub use explanation::Explanation;
pub use facts::{DamagedLines, Facts, LeftOutLines};
pub use findings::{Finding, Findings, Severity, Strictness};
pub use format::Format;
pub use input::{Input, LinePart, Taken};
pub use likeness::{Head, Likeness};
pub use line::{LONGEST_LINE, LineEnd, TextLine};
pub use load::{LoadError, Loaded, format_of, load, load_as, load_from, read_as};
pub use meta::{Access, Metadata, ReadOption, WriteOption};
pub use options::{AddressForm, EntryChoice, ReadOptions, WriteOptions};
pub use place::TextPlace;
pub use problem::Problem;
#[cfg(feature = "proof")]
pub use proof::{ProofError, prove};
pub use registry::{FORMATS, by_extension, by_name};
pub use salvage::{Missing, Salvaged, WhyMissing};
#[cfg(feature = "cli")]
pub(crate) use save::taken_over;
pub use save::{SaveError, save, save_as};
pub use written::{LeftOut, WriteError, Written};

#[cfg(test)]
mod tests;

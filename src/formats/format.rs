//! What every format is and does.

use std::fmt;
use std::io::{self, Write};

use super::findings::Findings;
use super::input::Input;
use super::likeness::{Head, Likeness};
use super::meta::{Access, Metadata};
use super::options::{ReadOptions, WriteOptions};
use super::problem::Problem;
use super::written::{WriteError, Written};
use crate::image::Image;

/// Only this crate has formats, so that the trait can grow.
pub(super) trait Sealed {}

/// One file format.
#[allow(private_bounds)] // sealed on purpose
pub trait Format: Sealed + Sync {
    /// What is known of it before any file is seen.
    fn meta(&self) -> &'static Metadata;

    /// How much the beginning of a file looks like this format.
    fn likeness(&self, head: &Head<'_>) -> Likeness;

    /// Reads one file. What is wrong with it goes to `findings`; the image contains what was sound.
    ///
    /// # Errors
    /// Only the reader's own: the file can't be read any further.
    fn read(
        &self,
        input: &mut Input<'_>,
        how: &ReadOptions,
        findings: &mut Findings,
    ) -> io::Result<Image> {
        let _ = (input, how);
        let format = self.name();
        findings.error(None, Problem::WriteOnly { format });
        Ok(Image::new())
    }

    /// Writes an image.
    ///
    /// # Errors
    /// [`WriteError`] when the format can't carry this image in this way.
    fn write(
        &self,
        image: &Image,
        how: &WriteOptions,
        out: &mut dyn Write,
    ) -> Result<Written, WriteError> {
        let _ = (image, how, out);
        Err(WriteError::ReadOnly(self.name()))
    }

    /// Its name, which lists show and [`by_name`](super::by_name) takes.
    fn name(&self) -> &'static str {
        self.meta().name
    }

    /// Whether romloom reads files of this format.
    fn can_read(&self) -> bool {
        self.meta().access != Access::WriteOnly
    }

    /// Whether romloom writes files of this format.
    fn can_write(&self) -> bool {
        self.meta().access != Access::ReadOnly
    }
}

/// Shows its name.
impl fmt::Debug for dyn Format + '_ {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.name())
    }
}

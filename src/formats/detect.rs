//! Finding out a file's format.

use super::format::Format;
use super::likeness::{Head, Likeness};
use super::registry::{FORMATS, by_extension};
use crate::prose::debug_as_display;

/// Why a file's format could not be told.
#[derive(Clone, PartialEq, Eq, thiserror::Error)]
#[non_exhaustive]
pub enum Undetected {
    /// It could be several.
    #[error("could be {}", .0.join(" or "))]
    Several(Vec<&'static str>),
    /// Nothing says.
    #[error("the format can't be told from the content or the file name")]
    Nothing,
}

debug_as_display!(Undetected);

/// Finds out a file's format: by its content first, and by the file name's extension where the content does not decide.
///
/// A format that is [`Proven`](Likeness::Proven) wins over one that is only [`Likely`](Likeness::Likely); between two of
/// the same rank the extension decides, or nothing does. What is looked for in the first 64 KiB:
///
/// | format | proven by | likely by | possible |
/// | --- | --- | --- | --- |
/// | intel-hex, s-record | a record with the right checksum | the beginning of one | any ASCII text |
/// | mos-tape, tek-hex | a record with the right checksum | | any ASCII text |
/// | elf | its signature | | |
/// | ti-txt | | `@` addresses and pairs only, closed by `q`; or not closed, while no address is longer than a 20-bit one | the same with longer addresses |
/// | readmem | | `@` addresses, hex words and comments only, with one address or comment at least | hex words only |
/// | raw, raw-le16 | | | anything |
///
/// So a file of `@` addresses and pairs that is not closed by `q` can be ti-txt, cut off or longer than 64 KiB, or
/// readmem: the extension decides, and if it does not say, the error names both.
///
/// # Errors
/// [`Undetected`].
pub fn detect(head: &Head<'_>, extension: Option<&str>) -> Result<&'static dyn Format, Undetected> {
    let by_name = extension.and_then(by_extension);
    let likenesses: Vec<_> = FORMATS.iter().map(|f| (*f, f.likeness(head))).collect();
    for rank in [Likeness::Proven, Likeness::Likely] {
        let found = likenesses.iter().filter(|(_, its)| *its == rank);
        let found: Vec<_> = found.map(|(f, _)| *f).collect();
        match found[..] {
            [] => {}
            [one] => return Ok(one),
            _ => {
                return by_name
                    .filter(|f| found.iter().any(|g| g.name() == f.name()))
                    .ok_or_else(|| Undetected::Several(found.iter().map(|f| f.name()).collect()));
            }
        }
    }
    by_name
        .filter(|f| f.likeness(head) == Likeness::Possible || head.bytes().is_empty())
        .ok_or(Undetected::Nothing)
}

//! Every format there is.

use super::format::Format;
use super::{
    elf, intel_hex, mos_tape, raw, raw_le16, readmem, s_record, source_text, tek_hex, ti_txt,
};

/// Every format, in the order of lists. Detection asks all of them, so the order decides nothing.
pub const FORMATS: &[&dyn Format] = &[
    &intel_hex::IntelHex,
    &s_record::SRecords,
    &raw::Raw,
    &elf::Elf,
    &ti_txt::TiTxt,
    &mos_tape::MosTape,
    &tek_hex::TekHex,
    &readmem::Readmem,
    &raw_le16::RawLe16,
    &source_text::C_BYTES,
    &source_text::RUST_BYTES,
    &source_text::ASM_BYTES,
];

/// The format called `name`.
pub fn by_name(name: &str) -> Option<&'static dyn Format> {
    FORMATS.iter().copied().find(|f| f.name() == name)
}

/// The format that files with this extension (any case, without the dot) usually have.
pub fn by_extension(extension: &str) -> Option<&'static dyn Format> {
    let extension = extension.to_ascii_lowercase();
    FORMATS
        .iter()
        .copied()
        .find(|f| f.meta().extensions.contains(&extension.as_str()))
}

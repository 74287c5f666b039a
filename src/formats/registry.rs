//! Every format.

use super::format::Format;

/// Every format, in the order of lists. Detection asks all of them, so the order does not matter.
pub const FORMATS: &[&dyn Format] = &[
    &super::intel_hex::IntelHex,
    &super::s_record::SRecords,
    &super::raw::Raw,
    &super::elf::Elf,
    &super::ti_txt::TiTxt,
    &super::mos_tape::MosTape,
    &super::tek_hex::TekHex,
    &super::readmem::Readmem,
    &super::raw_le16::RawLe16,
    &super::source_text::C_BYTES,
    &super::source_text::RUST_BYTES,
    &super::source_text::ASM_BYTES,
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

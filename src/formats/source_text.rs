//! Text for source code: a sized array of bytes, with the address of each line in a comment. Write only.
//!
//! Rules: the languages' own: ISO/IEC 9899 (C), *The Rust Reference*. Assemblers have no standard: this is the
//! dialect that is common for 8-bit processors, `.byte` with `$` before hex and `;` before a comment.

use std::io::Write;

use super::address::{self, Counting};
use super::format::{Format, Sealed};
use super::hex::HexText;
use super::likeness::{Head, Likeness};
use super::meta::{Access, Metadata, WriteOption};
use super::options::WriteOptions;
use super::written::{WriteError, Written};
use crate::image::Image;

/// The format `c-bytes`.
pub const C_BYTES: SourceText = SourceText {
    language: Language::C,
    meta: &Metadata {
        name: "c-bytes",
        about: "an array for C source code",
        rules: "ISO/IEC 9899, Programming languages: C",
        ..USUAL
    },
};
/// The format `rust-bytes`.
pub const RUST_BYTES: SourceText = SourceText {
    language: Language::Rust,
    meta: &Metadata {
        name: "rust-bytes",
        about: "an array for Rust source code",
        rules: "The Rust Reference",
        ..USUAL
    },
};
/// The format `asm-bytes`.
pub const ASM_BYTES: SourceText = SourceText {
    language: Language::Assembler,
    meta: &Metadata {
        name: "asm-bytes",
        about: "`.byte $A9` lines for assembler source code",
        ..USUAL
    },
};

/// What is known of all of them.
const USUAL: Metadata = Metadata {
    access: Access::WriteOnly,
    has_addresses: false,
    has_holes: false,
    writing: &[WriteOption::Width, WriteOption::Crlf, WriteOption::Name],
    ..Metadata::USUAL
};

/// Text for source code in one language.
pub struct SourceText {
    language: Language,
    meta: &'static Metadata,
}

#[derive(Clone, Copy, PartialEq, Eq)]
enum Language {
    C,
    Rust,
    Assembler,
}

/// Data bytes in a line, so that lines stay below 80 characters.
const USUAL_WIDTH: u16 = 8;
/// Compilers need not accept longer lines.
const MOST_WIDTH: u16 = 255;

/// ISO/IEC 9899, 6.4.1, editions 1990 to 2024.
const C_KEYWORDS: &[&str] = &[
    "alignas",
    "alignof",
    "auto",
    "bool",
    "break",
    "case",
    "char",
    "const",
    "constexpr",
    "continue",
    "default",
    "do",
    "double",
    "else",
    "enum",
    "extern",
    "false",
    "float",
    "for",
    "goto",
    "if",
    "inline",
    "int",
    "long",
    "nullptr",
    "register",
    "restrict",
    "return",
    "short",
    "signed",
    "sizeof",
    "static",
    "static_assert",
    "struct",
    "switch",
    "thread_local",
    "true",
    "typedef",
    "typeof",
    "typeof_unqual",
    "union",
    "unsigned",
    "void",
    "volatile",
    "while",
];

/// *The Rust Reference*, Keywords: strict and reserved ones, editions 2015 to 2024.
const RUST_KEYWORDS: &[&str] = &[
    "Self", "abstract", "as", "async", "await", "become", "box", "break", "const", "continue",
    "crate", "do", "dyn", "else", "enum", "extern", "false", "final", "fn", "for", "gen", "if",
    "impl", "in", "let", "loop", "macro", "match", "mod", "move", "mut", "override", "priv", "pub",
    "ref", "return", "self", "static", "struct", "super", "trait", "true", "try", "type", "typeof",
    "unsafe", "unsized", "use", "virtual", "where", "while", "yield",
];

impl Language {
    fn name(self) -> &'static str {
        match self {
            Language::C => "C",
            Language::Rust => "Rust",
            Language::Assembler => "assembler",
        }
    }

    /// Why `name` can't be a name in this language.
    fn fault(self, name: &str) -> Option<&'static str> {
        let mut letters = name.bytes();
        let first = letters.next();
        if !first.is_some_and(|b| b.is_ascii_alphabetic() || b == b'_') {
            return Some("it must begin with a letter or an underscore");
        }
        if !letters.all(|b| b.is_ascii_alphanumeric() || b == b'_') {
            return Some("it may contain only letters A to Z, digits and underscores");
        }
        match self {
            Language::C if C_KEYWORDS.contains(&name) => Some("it is a keyword"),
            Language::C if name.starts_with("__") => Some("such names belong to the compiler"),
            Language::C if matches!(name.as_bytes(), [b'_', b'A'..=b'Z', ..]) => {
                Some("such names belong to the compiler")
            }
            Language::Rust if RUST_KEYWORDS.contains(&name) => Some("it is a keyword"),
            Language::Rust if name == "_" => Some("an underscore alone is not a name"),
            Language::Assembler if name.len() == 1 => {
                Some("single letters are registers in many assemblers")
            }
            _ => None,
        }
    }

    /// What comes before the first line; `\n` ends its lines.
    fn opening(self, name: &str, size: usize) -> String {
        match self {
            Language::C => format!("const unsigned char {name}[{size}] = {{\n"),
            Language::Rust => {
                let quiet = match name.bytes().any(|b| b.is_ascii_lowercase()) {
                    true => "#[allow(non_upper_case_globals)]\n",
                    false => "",
                };
                format!("#[rustfmt::skip]\n{quiet}pub static {name}: [u8; {size}] = [\n")
            }
            Language::Assembler => format!("{name}_size = {size}\n{name}:\n"),
        }
    }

    fn line_opening(self) -> &'static [u8] {
        match self {
            Language::C | Language::Rust => b"    ",
            Language::Assembler => b"    .byte ",
        }
    }

    fn byte_mark(self) -> &'static [u8] {
        match self {
            Language::C | Language::Rust => b"0x",
            Language::Assembler => b"$",
        }
    }

    /// What comes after the bytes of a line.
    fn comment(self, address: u64) -> String {
        match self {
            Language::C => format!(", /* {address:04X} */"),
            Language::Rust => format!(", // {address:04X}"),
            Language::Assembler => format!(" ; {address:04X}"),
        }
    }

    fn closing(self) -> &'static [u8] {
        match self {
            Language::C => b"};",
            Language::Rust => b"];",
            Language::Assembler => b"",
        }
    }
}

impl Sealed for SourceText {}

impl Format for SourceText {
    fn meta(&self) -> &'static Metadata {
        self.meta
    }

    fn likeness(&self, _: &Head<'_>) -> Likeness {
        Likeness::No
    }

    fn write(
        &self,
        image: &Image,
        how: &WriteOptions,
        out: &mut dyn Write,
    ) -> Result<Written, WriteError> {
        let format = self.meta.name;
        let language = self.language;
        let name = how.name.as_deref().ok_or(WriteError::NoName { format })?;
        if let Some(why) = language.fault(name) {
            return Err(WriteError::BadName {
                name: name.into(),
                language: language.name(),
                why,
            });
        }
        let count = Counting { unit: 1 };
        let width = count.width(how.width, format, USUAL_WIDTH, MOST_WIDTH)?;
        let extent = image.extent().ok_or(WriteError::Empty)?;
        let bytes = image.contiguous(extent).map_err(|hole| WriteError::Hole {
            format,
            hole,
            holes: image.holes(extent).count(),
        })?;
        let mut written = Written::default();
        address::leave_out_entry(image, how, format, &mut written);
        let mut text = HexText::new();
        for line in language.opening(name, bytes.len()).lines() {
            text.plain(line.as_bytes());
            text.plain(how.line_end());
        }
        let mut address = extent.first();
        for line in bytes.chunks(width) {
            text.plain(language.line_opening());
            for (i, byte) in line.iter().enumerate() {
                text.plain(if i == 0 { b"" } else { b", " });
                text.plain(language.byte_mark());
                text.hex(&[*byte]);
            }
            text.plain(language.comment(address).as_bytes());
            text.plain(how.line_end());
            text.pour(out, false)?;
            address += line.len() as u64;
        }
        if !language.closing().is_empty() {
            text.plain(language.closing());
            text.plain(how.line_end());
        }
        text.pour(out, true)?;
        Ok(written)
    }
}

#[cfg(test)]
mod tests;

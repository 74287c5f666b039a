//! ELF executables, read only, with the crate `object`.
//!
//! Rules: *System V Application Binary Interface*, ELF chapters, Program Loading. A segment's bytes in the file go to
//! its physical address; what it has beyond them in memory is a hole, not zeros, since it is in no ROM.

use std::io;
use std::ops::Range;

use object::Endianness;
use object::elf::{self, FileHeader32, FileHeader64};
use object::read::elf::{FileHeader, ProgramHeader, SectionHeader};

use super::findings::Findings;
use super::format::{Format, Sealed};
use super::input::Input;
use super::layout;
use super::likeness::{Head, Likeness};
use super::meta::{Access, Metadata, ReadOption};
use super::options::ReadOptions;
use super::problem::Problem;
use crate::image::{AddressRange, Builder, Entry, Image, Source};

/// The format `elf`.
pub struct Elf;

/// What is known of `elf` files.
const META: Metadata = Metadata {
    name: "elf",
    about: "ELF executables: the bytes of their loadable segments",
    rules: "System V Application Binary Interface, ELF chapters, Program Loading",
    extensions: &["elf", "axf"],
    access: Access::ReadOnly,
    reading: &[ReadOption::VirtualAddresses, ReadOption::Sections],
    ..Metadata::USUAL
};

/// The signature, and where the class (32 or 64 bit) and the byte order are after it.
const SIGNATURE: &[u8; 4] = b"\x7FELF";
const CLASS: usize = 4;

impl Sealed for Elf {}

impl Format for Elf {
    fn meta(&self) -> &'static Metadata {
        &META
    }

    fn likeness(&self, head: &Head<'_>) -> Likeness {
        match head.bytes() {
            [0x7F, b'E', b'L', b'F', 1 | 2, 1 | 2, 1, ..] => Likeness::Proven,
            _ => Likeness::No,
        }
    }

    fn read(
        &self,
        input: &mut Input<'_>,
        how: &ReadOptions,
        findings: &mut Findings,
    ) -> io::Result<Image> {
        let file = input.take_bytes(0, None)?.bytes;
        let mut loader = Loader {
            file: &file,
            how,
            parts: Vec::new(),
            taken: 0,
            bits: 32,
        };
        let entry = if !file.starts_with(SIGNATURE) {
            Err(Problem::NotElf)
        } else if file.get(CLASS) == Some(&elf::ELFCLASS64.0) {
            loader.load::<FileHeader64<Endianness>>(findings)
        } else {
            loader.load::<FileHeader32<Endianness>>(findings)
        };
        let entry = entry.unwrap_or_else(|problem| {
            findings.error(None, problem);
            None
        });
        let mut builder = Builder::new(Source::File(input.name().clone()));
        let (places, addresses): (Vec<_>, Vec<_>) = loader.parts.into_iter().unzip();
        for (bytes, address) in cut_out(file, &places).into_iter().zip(addresses) {
            if builder.push_block(address, bytes).is_err() {
                findings.error(None, Problem::OutOfSpace);
            }
        }
        Ok(layout::finished(builder, how.clash, findings, |image| {
            image.entry = entry
        }))
    }
}

/// The message for a part of the file that the crate can't read.
fn damaged(what: &'static str) -> impl Fn(object::read::Error) -> Problem {
    move |_| Problem::ElfDamaged { what }
}

const NO_HEADER: &str = "its header can't be read";
const NO_SEGMENTS: &str = "its table of segments can't be read";
const SEGMENTS_IN_HEADER: &str = "its table of segments overlaps its header";
const SECTIONS_IN_HEADER: &str = "its table of sections overlaps its header";
const NO_SECTIONS: &str = "its table of sections can't be read";

/// Where a loadable segment is in the file and in memory.
struct Segment {
    number: usize,
    offset: u64,
    size: u64,
    physical_address: u64,
    virtual_address: u64,
}

struct Loader<'a> {
    file: &'a [u8],
    how: &'a ReadOptions,
    /// The places in the file that will be loaded, each with its address.
    parts: Vec<(Range<usize>, u64)>,
    /// Bytes taken until now: never more than the file has, so that a file whose segments all claim the same bytes can't
    /// fill the memory.
    taken: u64,
    /// Bits of an address.
    bits: u8,
}

impl Loader<'_> {
    fn load<H: FileHeader<Endian = Endianness>>(
        &mut self,
        findings: &mut Findings,
    ) -> Result<Option<Entry>, Problem> {
        let header = H::parse(self.file).map_err(damaged(NO_HEADER))?;
        let order = header.endian().map_err(damaged(NO_HEADER))?;
        if header.is_type_64() {
            self.bits = 64;
        }
        let kind = match header.e_type(order) {
            elf::ET_EXEC | elf::ET_DYN => None,
            elf::ET_REL => Some("a relocatable object file"),
            elf::ET_CORE => Some("the memory dump of a program"),
            _ => Some("of an unknown kind"),
        };
        if let Some(kind) = kind {
            return Err(Problem::NotExecutable { kind });
        }
        let table = header
            .program_headers(order, self.file)
            .map_err(damaged(NO_SEGMENTS))?;
        let own = u64::from(header.e_ehsize(order)).max(size_of::<H>() as u64);
        if !table.is_empty() && header.e_phoff(order).into() < own {
            return Err(Problem::ElfDamaged {
                what: SEGMENTS_IN_HEADER,
            });
        }
        let loaded = (table.iter().enumerate())
            .filter(|(_, s)| s.p_type(order) == elf::PT_LOAD && s.p_filesz(order).into() > 0);
        for (number, s) in loaded.clone() {
            let (in_file, in_memory) = (s.p_filesz(order).into(), s.p_memsz(order).into());
            if in_file > in_memory {
                let problem = Problem::NoRoom {
                    number,
                    in_file,
                    in_memory,
                };
                findings.error(None, problem);
            }
        }
        let segments: Vec<Segment> = loaded
            .filter(|(_, s)| s.p_filesz(order).into() <= s.p_memsz(order).into())
            .map(|(number, s)| Segment {
                number,
                offset: s.p_offset(order).into(),
                size: s.p_filesz(order).into(),
                physical_address: s.p_paddr(order).into(),
                virtual_address: s.p_vaddr(order).into(),
            })
            .collect();
        if !self.how.virtual_addresses {
            let unset = segments.iter().all(|s| s.physical_address == 0);
            let lowest = segments.iter().map(|s| s.virtual_address).min();
            if let Some(virtual_address) = lowest.filter(|lowest| unset && *lowest > 0) {
                findings.odd(None, Problem::NoPhysical { virtual_address });
            }
        }
        if self.how.sections {
            let sections = header
                .section_headers(order, self.file)
                .map_err(damaged(NO_SECTIONS))?;
            if !sections.is_empty() && header.e_shoff(order).into() < own {
                return Err(Problem::ElfDamaged {
                    what: SECTIONS_IN_HEADER,
                });
            }
            self.sections(sections, order, segments, findings);
        } else {
            let tables = u64::from(header.e_phentsize(order)) * table.len() as u64;
            let end = header.e_phoff(order).into().saturating_add(tables);
            let headers = end.max(header.e_ehsize(order).into());
            self.segments(&segments, headers, findings);
        }
        if self.taken == 0 && findings.errors() == 0 {
            let what = match self.how.sections {
                true => "allocated section",
                false => "loadable segment",
            };
            findings.error(None, Problem::NothingToLoad { what });
        }
        // By the rules, 0 means that there is no entry point.
        let entry: u64 = header.e_entry(order).into();
        Ok((entry != 0).then_some(Entry::Linear(entry)))
    }

    /// `headers` is where the file's own headers end.
    fn segments(&mut self, segments: &[Segment], headers: u64, findings: &mut Findings) {
        for segment in segments {
            let address = self.address(segment);
            let part = (segment.offset, segment.size);
            self.take(("segment", segment.number), part, address, findings);
            let own = AddressRange::from_len(address, headers.min(segment.size));
            if let Some(at) = own.filter(|_| segment.offset == 0) {
                let number = segment.number;
                findings.warning(None, Problem::OwnHeaders { number, at });
            }
        }
    }

    fn sections<S: SectionHeader<Endian = Endianness>>(
        &mut self,
        sections: &[S],
        order: Endianness,
        mut segments: Vec<Segment>,
        findings: &mut Findings,
    ) {
        segments.sort_by_key(|s| s.offset);
        for (number, section) in sections.iter().enumerate() {
            let allocated = section.sh_flags(order).contains(elf::SHF_ALLOC);
            // Sections without bytes in the file have no range.
            let Some((offset, size)) = section.file_range(order).filter(|_| allocated) else {
                continue;
            };
            let flags = section.sh_flags(order);
            if size > 0 && flags.contains(elf::SHF_COMPRESSED) {
                findings.error(None, Problem::Compressed { number });
                continue;
            }
            // A section's address is virtual; its segment says which physical address that is.
            let i = segments.partition_point(|s| s.offset <= offset);
            let segment = segments[..i].last().filter(|s| offset - s.offset < s.size);
            let address = match segment {
                Some(s) => self.address(s).saturating_add(offset - s.offset),
                None => section.sh_addr(order).into(),
            };
            self.take(("section", number), (offset, size), address, findings);
        }
    }

    fn address(&self, segment: &Segment) -> u64 {
        match self.how.virtual_addresses {
            true => segment.virtual_address,
            false => segment.physical_address,
        }
    }

    /// Takes one part of the file.
    fn take(
        &mut self,
        (what, number): (&'static str, usize),
        (offset, size): (u64, u64),
        address: u64,
        findings: &mut Findings,
    ) {
        let has = self.file.len() as u64;
        let end = offset.saturating_add(size);
        if end > has {
            let problem = Problem::CutOff {
                what,
                number,
                end,
                has,
            };
            return findings.error(None, problem);
        }
        let space = u64::MAX >> (64 - self.bits);
        if size > 0
            && address
                .checked_add(size - 1)
                .is_none_or(|last| last > space)
        {
            let problem = Problem::PastSpace {
                what,
                number,
                first: address,
                size,
                bits: self.bits,
            };
            return findings.error(None, problem);
        }
        self.taken = self.taken.saturating_add(size);
        if self.taken > has {
            return findings.error(None, Problem::Swollen { what, has });
        }
        self.parts.push((offset as usize..end as usize, address));
    }
}

/// The bytes at each of `places`. Where these don't touch, memory contains at most one and a half times the file: what comes
/// after is cut off, and one part keeps the file's own memory.
fn cut_out(mut file: Vec<u8>, places: &[Range<usize>]) -> Vec<Vec<u8>> {
    let mut order: Vec<usize> = (0..places.len()).collect();
    order.sort_by_key(|i| places[*i].start);
    let apart = (order.windows(2)).all(|w| places[w[0]].end <= places[w[1]].start);
    if !apart {
        return places
            .iter()
            .map(|place| file[place.clone()].to_vec())
            .collect();
    }
    let large = |i: &usize| 2 * places[*i].len() > file.len();
    let (before, rest) = order.split_at(order.iter().position(large).unwrap_or(0));
    let Some((&own, behind)) = rest.split_first() else {
        return Vec::new();
    };
    let mut parts = vec![Vec::new(); places.len()];
    for &i in behind.iter().rev() {
        file.truncate(places[i].end);
        parts[i] = file.split_off(places[i].start);
        file.shrink_to_fit();
    }
    for &i in before {
        parts[i] = file[places[i].clone()].to_vec();
    }
    file.truncate(places[own].end);
    file.drain(..places[own].start);
    file.shrink_to_fit();
    parts[own] = file;
    parts
}

#[cfg(test)]
mod tests;

//! Source of the rules: *System V Application Binary Interface*, ELF chapters: ELF Header, Sections, Program Loading.
//! The files are built here field by field; files of real linkers are read in `tests/it/assembler_formats.rs`.

use super::{Elf, cut_out};
use crate::formats::tests::*;
use crate::image::{AddressRange, Entry};

const EXEC: u16 = 2;
const PT_LOAD: u32 = 1;
const PT_NOTE: u32 = 4;
const PROGBITS: u32 = 1;
const NOBITS: u32 = 8;
const ALLOC: u64 = 2;

/// An ELF file in one of its four shapes.
struct File {
    bits: u8,
    order: Order,
    kind: u16,
    entry: u64,
    segments: Vec<Segment>,
    sections: Vec<Section>,
    /// What comes after the tables; offsets below count from here.
    body: Vec<u8>,
}

#[derive(Clone, Copy)]
struct Segment {
    kind: u32,
    /// In the body; `None` for the beginning of the file.
    offset: Option<u64>,
    virtual_address: u64,
    physical_address: u64,
    in_file: u64,
    in_memory: u64,
}

#[derive(Clone, Copy)]
struct Section {
    kind: u32,
    flags: u64,
    address: u64,
    offset: u64,
    size: u64,
}

fn segment(offset: u64, address: u64, size: u64) -> Segment {
    Segment {
        kind: PT_LOAD,
        offset: Some(offset),
        virtual_address: address,
        physical_address: address,
        in_file: size,
        in_memory: size,
    }
}

const SHAPES: [(u8, Order); 4] = [
    (32, Order::Little),
    (32, Order::Big),
    (64, Order::Little),
    (64, Order::Big),
];

impl File {
    fn new((bits, order): (u8, Order), segments: &[Segment], body: &[u8]) -> Self {
        File {
            bits,
            order,
            kind: EXEC,
            entry: 0,
            segments: segments.to_vec(),
            sections: Vec::new(),
            body: body.to_vec(),
        }
    }

    fn put(&self, out: &mut Vec<u8>, bytes: usize, value: u64) {
        match self.order {
            Order::Little => out.extend(&value.to_le_bytes()[..bytes]),
            Order::Big => out.extend(&value.to_be_bytes()[8 - bytes..]),
        }
    }

    fn sizes(&self) -> (u64, u64, u64) {
        match self.bits {
            64 => (64, 56, 64),
            _ => (52, 32, 40),
        }
    }

    fn body_at(&self) -> u64 {
        let (header, segment, section) = self.sizes();
        header + segment * self.segments.len() as u64 + section * self.sections.len() as u64
    }

    fn bytes(&self) -> Vec<u8> {
        let wide = usize::from(self.bits / 8);
        let (header, segment, section) = self.sizes();
        let segments_at = header;
        let sections_at = header + segment * self.segments.len() as u64;
        let mut out = b"\x7FELF".to_vec();
        out.push(if self.bits == 64 { 2 } else { 1 });
        out.push(if self.order == Order::Big { 2 } else { 1 });
        out.push(1);
        out.resize(16, 0);
        self.put(&mut out, 2, self.kind.into());
        self.put(&mut out, 2, 0);
        self.put(&mut out, 4, 1);
        self.put(&mut out, wide, self.entry);
        let some = |n: usize, at| if n == 0 { 0 } else { at };
        self.put(&mut out, wide, some(self.segments.len(), segments_at));
        self.put(&mut out, wide, some(self.sections.len(), sections_at));
        self.put(&mut out, 4, 0);
        for field in [
            header,
            segment,
            self.segments.len() as u64,
            section,
            self.sections.len() as u64,
            0,
        ] {
            self.put(&mut out, 2, field);
        }
        for s in &self.segments {
            let offset = s.offset.map_or(0, |o| self.body_at() + o);
            self.put(&mut out, 4, s.kind.into());
            if self.bits == 64 {
                self.put(&mut out, 4, 5);
            }
            for field in [
                offset,
                s.virtual_address,
                s.physical_address,
                s.in_file,
                s.in_memory,
            ] {
                self.put(&mut out, wide, field);
            }
            if self.bits == 32 {
                self.put(&mut out, 4, 5);
            }
            self.put(&mut out, wide, 1);
        }
        for s in &self.sections {
            self.put(&mut out, 4, 0);
            self.put(&mut out, 4, s.kind.into());
            self.put(&mut out, wide, s.flags);
            self.put(&mut out, wide, s.address);
            self.put(&mut out, wide, self.body_at() + s.offset);
            self.put(&mut out, wide, s.size);
            self.put(&mut out, 8, 0);
            self.put(&mut out, wide, 1);
            self.put(&mut out, wide, 0);
        }
        assert_eq!(out.len() as u64, self.body_at());
        out.extend(&self.body);
        out
    }
}

fn by_virtual() -> ReadOptions {
    ReadOptions {
        virtual_addresses: true,
        ..ReadOptions::default()
    }
}

fn by_sections() -> ReadOptions {
    ReadOptions {
        sections: true,
        ..ReadOptions::default()
    }
}

#[test]
fn segments_of_every_shape_go_to_their_physical_addresses() {
    for shape in SHAPES {
        let moved = Segment {
            physical_address: 0x9000,
            virtual_address: 0x200,
            ..segment(2, 0, 2)
        };
        let note = Segment {
            kind: PT_NOTE,
            ..segment(0, 0x4000, 4)
        };
        let mut file = File::new(shape, &[segment(0, 0x8000, 2), note, moved], &[1, 2, 3, 4]);
        file.entry = 0x8001;
        let image = read_strictly(&Elf, file.bytes()).clean();
        assert_eq!(spans(&image), [(0x8000, vec![1, 2]), (0x9000, vec![3, 4])]);
        assert_eq!(image.entry, Some(Entry::Linear(0x8001)));
        let image = read_with(&Elf, file.bytes(), &by_virtual()).clean();
        assert_eq!(spans(&image), [(0x200, vec![3, 4]), (0x8000, vec![1, 2])]);
    }
}

#[test]
fn addresses_of_64_bits_are_kept_whole() {
    let at = 0xFFFF_FFFF_8000_0000;
    let mut file = File::new((64, Order::Little), &[segment(0, at, 1)], &[0x5A]);
    file.entry = at;
    let image = read(&Elf, file.bytes()).clean();
    assert_eq!(spans(&image), [(at, vec![0x5A])]);
    assert_eq!(image.entry, Some(Entry::Linear(at)));
    let top = [segment(0, u64::MAX, 1)];
    let file = File::new((64, Order::Little), &top, &[0x5A]);
    assert_eq!(read(&Elf, file.bytes()).one_error().3, Problem::OutOfSpace);
}

#[test]
fn memory_beyond_the_file_size_is_a_hole() {
    for shape in SHAPES {
        let bss = Segment {
            in_memory: 0x4000_0000,
            ..segment(0, 0x100, 2)
        };
        let only_bss = Segment {
            in_file: 0,
            in_memory: 16,
            ..segment(0, 0x9000, 0)
        };
        let file = File::new(shape, &[bss, only_bss], &[1, 2]);
        let image = read(&Elf, file.bytes()).clean();
        assert_eq!(spans(&image), [(0x100, vec![1, 2])]);
    }
}

#[test]
fn an_entry_of_0_is_none() {
    let file = File::new(SHAPES[0], &[segment(0, 0, 1)], &[1]);
    assert_eq!(read(&Elf, file.bytes()).clean().entry, None);
}

#[test]
fn what_is_no_executable_says_what_it_is() {
    for (kind, name) in [
        (1, "a relocatable object file"),
        (4, "the memory dump of a program"),
        (0, "of an unknown kind"),
        (0xFE00, "of an unknown kind"),
    ] {
        let mut file = File::new(SHAPES[1], &[segment(0, 0, 1)], &[1]);
        file.kind = kind;
        let reading = read(&Elf, file.bytes());
        assert!(reading.image.is_empty());
        let problem = Problem::NotExecutable { kind: name };
        assert_eq!(reading.one_error(), seen(0, 0, "", problem));
    }
    // A position-independent executable is one.
    let mut file = File::new(SHAPES[1], &[segment(0, 0, 1)], &[1]);
    file.kind = 3;
    read(&Elf, file.bytes()).clean();
}

#[test]
fn an_executable_without_bytes_to_load_is_an_error() {
    for shape in SHAPES {
        let file = File::new(shape, &[], &[1]);
        let what = "loadable segment";
        let error = read(&Elf, file.bytes()).one_error();
        assert_eq!(error.3, Problem::NothingToLoad { what });
        let what = "allocated section";
        let error = read_with(&Elf, file.bytes(), &by_sections()).one_error();
        assert_eq!(error.3, Problem::NothingToLoad { what });
    }
}

#[test]
fn a_segment_with_the_files_own_headers_is_a_warning_that_names_the_remedy() {
    for shape in SHAPES {
        let mut file = File::new(shape, &[segment(0, 0, 0)], &[1, 2]);
        let size = file.body_at() + 2;
        file.segments[0] = Segment {
            offset: None,
            ..segment(0, 0x8000, size)
        };
        let (image, warning) = read(&Elf, file.bytes()).one_warning();
        assert_eq!(image.len(), size);
        assert_eq!(image.byte(0x8000), Some(0x7F));
        let at = AddressRange::from_len(0x8000, size - 2).unwrap();
        assert_eq!(warning.3, Problem::OwnHeaders { number: 0, at });
        // No rule forbids it.
        assert_eq!(read_strictly(&Elf, file.bytes()).errors(), []);
    }
}

#[test]
fn sections_are_loaded_where_their_segment_lies() {
    for shape in SHAPES {
        let moved = Segment {
            physical_address: 0x9000,
            ..segment(0, 0x200, 6)
        };
        let mut file = File::new(shape, &[moved], &[1, 2, 3, 4, 5, 6, 7]);
        let section = |kind, flags, address, offset, size| Section {
            kind,
            flags,
            address,
            offset,
            size,
        };
        file.sections = vec![
            section(0, 0, 0, 0, 0),
            section(PROGBITS, ALLOC, 0x200, 0, 2),
            section(PROGBITS, ALLOC, 0x204, 4, 2),
            // Not loaded: debugging data, and memory without bytes in the file.
            section(PROGBITS, 0, 0, 2, 2),
            section(NOBITS, ALLOC, 0x206, 6, 0x1000_0000),
            // In no segment: at its own address.
            section(PROGBITS, ALLOC, 0xA000, 6, 1),
        ];
        let image = read_with(&Elf, file.bytes(), &by_sections()).clean();
        let wanted = [
            (0x9000, vec![1, 2]),
            (0x9004, vec![5, 6]),
            (0xA000, vec![7]),
        ];
        assert_eq!(spans(&image), wanted);
        let how = ReadOptions {
            virtual_addresses: true,
            ..by_sections()
        };
        let image = read_with(&Elf, file.bytes(), &how).clean();
        assert_eq!(image.byte(0x204), Some(5));
    }
}

#[test]
fn physical_addresses_that_were_never_set_are_a_warning() {
    let unset = Segment {
        physical_address: 0,
        ..segment(0, 0x8000, 1)
    };
    let file = File::new(SHAPES[0], &[unset], &[1]);
    let (image, warning) = read(&Elf, file.bytes()).one_warning();
    assert_eq!(spans(&image), [(0, vec![1])]);
    let virtual_address = 0x8000;
    assert_eq!(warning.3, Problem::NoPhysical { virtual_address });
    let image = read_with(&Elf, file.bytes(), &by_virtual()).clean();
    assert_eq!(spans(&image), [(0x8000, vec![1])]);
}

#[test]
fn a_segment_beyond_the_end_of_the_file_is_an_error_that_names_it() {
    for shape in SHAPES {
        let segments = [segment(0, 0x8000, 2), segment(2, 0x9000, 2)];
        let file = File::new(shape, &segments, &[1, 2, 3]);
        let reading = read(&Elf, file.bytes());
        assert_eq!(spans(&reading.image), [(0x8000, vec![1, 2])]);
        let has = file.bytes().len() as u64;
        let problem = Problem::CutOff {
            what: "segment",
            number: 1,
            end: has + 1,
            has,
        };
        assert_eq!(reading.one_error().3, problem);
    }
}

/// The damage to a file of one segment of 4 bytes at 0x8000 and a section for its first 2, and what is said of it.
type Damage = (
    &'static str,
    fn(&mut File, &mut Vec<u8>),
    fn(&Problem) -> bool,
);

fn damaged_table() -> Vec<Damage> {
    fn past(what: &'static str) -> impl Fn(&Problem) -> bool {
        move |p| matches!(p, Problem::PastSpace { what: w, number: 0, .. } if *w == what)
    }
    vec![
        (
            "more bytes in the file than in memory",
            |file, _| file.segments[0].in_memory = 3,
            |p| {
                *p == Problem::NoRoom {
                    number: 0,
                    in_file: 4,
                    in_memory: 3,
                }
            },
        ),
        (
            "no memory at all",
            |file, _| file.segments[0].in_memory = 0,
            |p| matches!(p, Problem::NoRoom { in_memory: 0, .. }),
        ),
        (
            "a size beyond the file",
            |file, _| {
                file.segments[0].in_file = 0xFFFF_FFFF;
                file.segments[0].in_memory = 0xFFFF_FFFF;
            },
            |p| matches!(p, Problem::CutOff { number: 0, .. }),
        ),
        (
            "an offset beyond the file",
            |file, _| file.segments[0].offset = Some(0x7FFF_0000),
            |p| matches!(p, Problem::CutOff { number: 0, .. }),
        ),
        (
            "bytes past the end of the space",
            |file, _| {
                let top = u64::MAX >> (64 - file.bits);
                file.segments[0].physical_address = top - 2;
            },
            |p| past("segment")(p),
        ),
        (
            "a table of segments in the header",
            |file, bytes| {
                let at = if file.bits == 64 { 32 } else { 28 };
                bytes[at..at + usize::from(file.bits / 8)].fill(0);
                let low = match file.order {
                    Order::Little => at,
                    Order::Big => at + usize::from(file.bits / 8) - 1,
                };
                bytes[low] = 16;
            },
            |p| matches!(p, Problem::ElfDamaged { what } if what.contains("segments overlaps")),
        ),
    ]
}

#[test]
fn sizes_and_offsets_that_can_not_be_are_refused() {
    for shape in SHAPES {
        for (title, damage, is_it) in damaged_table() {
            let mut file = File::new(shape, &[segment(0, 0x8000, 4)], &[1, 2, 3, 4]);
            damage(&mut file, &mut vec![0; 64]);
            let mut bytes = file.bytes();
            damage(&mut file, &mut bytes);
            for how in [ReadOptions::default(), by_strict()] {
                let reading = read_with(&Elf, &bytes, &how);
                let problem = reading.one_error().3;
                assert!(is_it(&problem), "{title}, {shape:?}: {problem:?}");
            }
            // Nothing of it is taken by salvage either.
            assert!(salvage(&Elf, &bytes).image.is_empty(), "{title}");
        }
    }
}

fn by_strict() -> ReadOptions {
    ReadOptions {
        strictness: Strictness::Strict,
        ..ReadOptions::default()
    }
}

/// System V ABI, Sections: SHF_COMPRESSED can't be used together with SHF_ALLOC (from memory).
#[test]
fn allocated_sections_that_are_compressed_are_refused() {
    const COMPRESSED: u64 = 1 << 11;
    let section = |flags, kind| Section {
        kind,
        flags,
        address: 0x8000,
        offset: 0,
        size: 2,
    };
    for shape in SHAPES {
        let mut file = File::new(shape, &[segment(0, 0x8000, 4)], &[1, 2, 3, 4]);
        let debug = section(COMPRESSED, PROGBITS);
        let own = Section {
            address: 0x8002,
            offset: 2,
            ..section(ALLOC, PROGBITS)
        };
        file.sections = vec![debug, own, section(ALLOC | COMPRESSED, PROGBITS)];
        let reading = read_with(&Elf, file.bytes(), &by_sections());
        assert_eq!(spans(&reading.image), [(0x8002, vec![3, 4])]);
        assert_eq!(reading.one_error().3, Problem::Compressed { number: 2 });
        // Segments are loaded as they are.
        assert_eq!(read(&Elf, file.bytes()).clean().len(), 4);
        // The table may not be in the header.
        let mut bytes = file.bytes();
        let at = if file.bits == 64 { 40 } else { 32 };
        bytes[at..at + usize::from(file.bits / 8)].fill(0);
        bytes[match file.order {
            Order::Little => at,
            Order::Big => at + usize::from(file.bits / 8) - 1,
        }] = 4;
        let problem = read_with(&Elf, &bytes, &by_sections()).one_error().3;
        assert!(
            matches!(problem, Problem::ElfDamaged { what } if what.contains("sections overlaps")),
            "{problem:?}"
        );
    }
}

#[test]
fn segments_that_share_the_files_bytes_can_not_fill_the_memory() {
    let mut segments = vec![segment(0, 0, 100_000); 1000];
    for (i, s) in segments.iter_mut().enumerate() {
        s.physical_address = i as u64 * 0x10_0000;
    }
    let file = File::new(SHAPES[3], &segments, &[0x5A; 100_000]).bytes();
    let reading = read(&Elf, &file);
    assert!(reading.image.len() <= file.len() as u64);
    let problem = &reading.errors()[0].3;
    assert!(matches!(
        problem,
        Problem::Swollen {
            what: "segment",
            ..
        }
    ));
}

#[test]
fn two_segments_at_one_address_clash() {
    let segments = [segment(0, 0x8000, 2), segment(2, 0x8001, 2)];
    let file = File::new(SHAPES[0], &segments, &[1, 2, 3, 4]);
    let problem = read(&Elf, file.bytes()).one_error().3;
    assert!(matches!(problem, Problem::Overlap(_)));
}

#[test]
fn what_is_no_elf_file_is_refused() {
    for file in [&b""[..], b"\x7FEL", b":00000001FF\n"] {
        assert_eq!(read(&Elf, file).one_error().3, Problem::NotElf);
    }
}

#[test]
fn a_file_cut_anywhere_is_an_error() {
    for shape in SHAPES {
        let segments = [segment(0, 0x8000, 2), segment(2, 0x9000, 2)];
        let file = File::new(shape, &segments, &[1, 2, 3, 4]).bytes();
        for len in 0..file.len() {
            let reading = read(&Elf, &file[..len]);
            assert!(reading.findings.errors() > 0, "{len} bytes");
        }
    }
}

#[test]
fn any_byte_of_the_headers_may_be_damaged_without_harm() {
    for shape in SHAPES {
        let segments = [segment(0, 0x8000, 2), segment(2, 0x9000, 2)];
        let mut file = File::new(shape, &segments, &[1, 2, 3, 4]);
        file.sections = vec![Section {
            kind: PROGBITS,
            flags: ALLOC,
            address: 0x8000,
            offset: 0,
            size: 4,
        }];
        let file = file.bytes();
        for i in 0..file.len() {
            for value in [0, 1, 0x7F, 0x80, 0xFF] {
                let mut damaged = file.clone();
                damaged[i] = value;
                for how in [ReadOptions::default(), by_sections(), by_virtual()] {
                    let reading = read_with(&Elf, &damaged, &how);
                    assert!(reading.image.len() <= file.len() as u64);
                }
            }
        }
    }
}

#[test]
fn elf_files_are_not_written() {
    let error = refused(&Elf, &image(&[(0, &[1])]), &WriteOptions::default());
    assert_eq!(error.to_string(), "elf files can only be read, not written");
    assert!(!Elf.can_write());
}

#[test]
#[allow(clippy::single_range_in_vec_init)] // lists of ranges are meant
fn parts_are_cut_out_in_any_order_and_number() {
    let file: Vec<u8> = (0..=99).collect();
    for places in [
        &[][..],
        &[0..100],
        &[10..20],
        &[50..60, 10..20, 30..31],
        &[2..4, 10..90, 95..100],
        &[0..50, 50..100],
        &[5..5, 5..6, 99..100],
        &[0..60, 40..100, 40..60],
    ] {
        let wanted: Vec<&[u8]> = places.iter().map(|p| &file[p.clone()]).collect();
        assert_eq!(cut_out(file.clone(), places), wanted, "{places:?}");
    }
}

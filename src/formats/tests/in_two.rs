//! Files read in two places at once give what they give when they are read from front to back.

use std::io::{self, Read};
use std::sync::atomic::{AtomicU64, Ordering};

use proptest::prelude::*;

use super::*;

/// Bytes in memory that notice how many of them a second reader had.
struct Watched<'a> {
    bytes: &'a [u8],
    passed: &'a AtomicU64,
}

impl Read for Watched<'_> {
    fn read(&mut self, to: &mut [u8]) -> io::Result<usize> {
        self.bytes.read(to)
    }
}

impl<'a> ReadAhead<'a> for Watched<'a> {
    fn left(&self) -> u64 {
        self.bytes.left()
    }

    fn ahead(&self, skip: u64) -> Option<Box<dyn Read + Send + 'a>> {
        self.bytes.ahead(skip)
    }

    fn pass(&mut self, bytes: u64) -> io::Result<()> {
        self.passed.fetch_add(bytes, Ordering::Relaxed);
        self.bytes.pass(bytes)
    }
}

/// Reads a text both ways, compares all there is to compare, and says how many bytes a second reader had.
fn passed(format: &'static dyn Format, text: &[u8], how: &ReadOptions, stretch: u64) -> u64 {
    let passed = AtomicU64::new(0);
    let bytes = Watched {
        bytes: text,
        passed: &passed,
    };
    let mut input = Input::in_two("a.hex", bytes).in_stretches_of(stretch);
    let both = read_as(format, &mut input, how).unwrap();
    drop(input);
    let one = read_as(format, &mut Input::new("a.hex", text), how).unwrap();
    let told = |loaded: &Loaded| {
        let findings = &loaded.findings;
        let facts = format!("{:?}", findings.facts);
        (findings.errors(), format!("{:?}", findings.list()), facts)
    };
    assert_eq!(told(&both), told(&one));
    assert_eq!(both.image.spans().len(), one.image.spans().len());
    assert!(both.image.spans() == one.image.spans(), "other bytes");
    let origins = |loaded: &Loaded| format!("{:?}", loaded.image.origins());
    assert_eq!(origins(&both), origins(&one));
    assert_eq!(both.image.entry, one.image.entry);
    passed.into_inner()
}

/// One thing in a file, a number of times.
#[derive(Clone, Copy, Debug)]
enum Event {
    /// Data records of this many bytes, one after the other.
    Data(u8, u16),
    /// A base record of this kind, or for S-records a jump to its place.
    Base(u8, u16),
    /// Lines that are not plain: each reader says something about them, or nothing.
    Odd(u8),
}

fn events(odd: u32) -> impl Strategy<Value = Vec<Event>> {
    let data = (prop_oneof![8 => Just(16u8), 1 => 0u8..40], 1u16..150);
    let base = (prop_oneof![1 => Just(2u8), 4 => Just(4u8)], any::<u16>());
    let event = prop_oneof![
        40 => data.prop_map(|(len, n)| Event::Data(len, n)),
        20 => base.prop_map(|(kind, value)| Event::Base(kind, value % 64)),
        odd => (0u8..10).prop_map(Event::Odd),
    ];
    prop::collection::vec(event, 40..80)
}

/// A file that is large enough, whatever the events are: they come again until it is.
fn file(events: &[Event], crlf: bool, is_intel: bool, large: usize) -> Vec<u8> {
    let end = if crlf { "\r\n" } else { "\n" };
    let mut text = String::new();
    let mut at = 0u32;
    let mut n = 0u8;
    let record = |at: u32, data: &[u8]| match is_intel {
        true => intel_record(0, at as u16, data),
        false => s_record(3, &at.to_be_bytes(), data),
    };
    let plain = |record: String| record.trim_end().to_owned() + end;
    while text.len() < large {
        for event in events.iter().chain(&[Event::Data(16, 60)]) {
            match *event {
                Event::Data(len, times) => {
                    for _ in 0..times {
                        n = n.wrapping_add(7);
                        let data: Vec<u8> = (0..len).map(|i| i ^ n).collect();
                        text.push_str(&plain(record(at, &data)));
                        at = at.wrapping_add(len.into());
                    }
                }
                Event::Base(kind, value) => {
                    let data = value.to_be_bytes();
                    at = u32::from(value) << 16;
                    text.push_str(&plain(match is_intel {
                        true => intel_record(kind, 0, &data),
                        false => s_record(3, &at.to_be_bytes(), &[1, 2, 3]),
                    }));
                }
                Event::Odd(which) => {
                    let sound = record(at, &[1, 2, 3, 4]).trim_end().to_owned();
                    let line = match which {
                        0 => format!("{sound} "),
                        1 => format!("{sound}\r"),
                        2 => sound.replace("0304", "0305"),
                        3 => String::new(),
                        9 => format!("{sound}\r{sound}"),
                        4 => "; a remark".into(),
                        5 => sound.to_lowercase(),
                        6 => format!("{sound}{sound}"),
                        7 if is_intel => intel_record(5, 0, &[0, 0, 0x80, 0]),
                        7 => s_record(5, &[0, 1], &[]),
                        _ => "x".repeat(70_000),
                    };
                    text.push_str(line.trim_end_matches('\n'));
                    text.push_str(end);
                }
            }
        }
    }
    text.into_bytes()
}

const INTEL: (&str, &str) = ("intel-hex", ":00000001FF\n");
const S: (&str, &str) = ("s-record", "S70500000000FA\n");

#[test]
fn an_even_file_is_read_in_two_places() {
    let events = [Event::Base(4, 1), Event::Data(16, 100), Event::Base(4, 2)];
    for (name, end) in [INTEL, S] {
        for crlf in [false, true] {
            let mut text = file(&events, crlf, name == INTEL.0, 450 << 10);
            text.extend_from_slice(end.as_bytes());
            let format = by_name(name).unwrap();
            let how = ReadOptions {
                clash: Clash::Last,
                ..ReadOptions::default()
            };
            let half = passed(format, &text, &how, 16 << 10);
            assert!(half > 50_000, "{name}: {half} of {}", text.len());
        }
    }
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 12, ..ProptestConfig::default() })]

    #[test]
    fn whatever_is_in_a_file_both_ways_agree(
        (name, end) in prop::sample::select(vec![INTEL, S]),
        events in prop_oneof![events(0), events(2), events(12)],
        crlf in any::<bool>(),
        strictness in prop::sample::select(vec![
            Strictness::Usual, Strictness::Usual, Strictness::Usual, Strictness::Strict, Strictness::Salvage,
        ]),
        clash in prop::sample::select(vec![Clash::Refuse, Clash::Same, Clash::First, Clash::Last]),
        unit in 1u8..3,
        // Where the file ends, as a part of it; perhaps in the middle of a line, perhaps with records after it.
        ends in prop_oneof![Just(100usize), 0usize..100],
        is_cut in any::<bool>(),
        // Stretches shorter and longer than a window.
        (stretch, size) in prop::sample::select(vec![(16u64 << 10, 450usize << 10), (300 << 10, 2 << 20)]),
    ) {
        let mut text = file(&events, crlf, name == INTEL.0, size);
        let at = text.len() * ends / 100;
        match is_cut {
            true => text.truncate(at),
            false => {
                let line = text[..at].iter().rposition(|b| *b == b'\n').map_or(0, |i| i + 1);
                text.splice(line..line, end.bytes());
            }
        }
        let how = ReadOptions { strictness, clash, unit, ..ReadOptions::default() };
        passed(by_name(name).unwrap(), &text, &how, stretch);
    }
}

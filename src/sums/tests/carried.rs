//! Carries added back, and sums of sums: published values, and each against a plain implementation of its source.

use proptest::prelude::*;

use super::{algo, sum};
use crate::sums::*;

/// Source: RFC 1071, section 3, numerical examples: the eight bytes sum to 2DDF0, which is DDF2 with the carries added
/// back, and DDF2 again when the words are taken low byte first and the two bytes of the result swapped.
#[test]
fn the_internet_sum_is_that_of_rfc_1071() {
    let bytes = [0x00, 0x01, 0xF2, 0x03, 0xF4, 0xF5, 0xF6, 0xF7];
    let total = sum(Algo::INTERNET, &bytes);
    assert_eq!(total.to_string(), "DDF2");
    // Section 1: the checksum is its ones' complement, and the check gives all ones with it in place.
    let checksum = total.complement(Complement::Ones).unwrap();
    assert_eq!(checksum.to_string(), "220D");
    let whole = [&bytes[..], &checksum.to_bytes(Order::Big)].concat();
    assert_eq!(sum(Algo::INTERNET, &whole).to_string(), "FFFF");
}

/// Source: RFC 1071, section 4.1, adds a byte left over at the end as the program's `sum += * (unsigned char *) addr`
/// does after words low byte first: in the other order, as a high byte beside 00.
#[test]
fn an_odd_byte_counts_beside_a_zero() {
    assert_eq!(sum(Algo::INTERNET, &[0x12]).to_string(), "1200");
    assert_eq!(
        sum(Algo::INTERNET, &[0x12, 0x34, 0x56]),
        sum(Algo::INTERNET, &[0x12, 0x34, 0x56, 0x00])
    );
}

/// Values from memory.
#[test]
fn fletcher_of_short_texts() {
    for (text, printed) in [("abcde", "C8F0"), ("abcdef", "2057"), ("abcdefgh", "0627")] {
        let total = sum(Algo::FLETCHER16, text.as_bytes());
        assert_eq!(total.to_string(), printed, "{text}");
    }
    // Modulo 255: FF counts as 0, and is never shown.
    assert_eq!(sum(Algo::FLETCHER16, &[0xFF; 5]).to_string(), "0000");
}

/// The first from memory; the others made with zlib, whose sum it is, through Python's module of that name.
#[test]
fn adler_of_known_bytes() {
    assert_eq!(sum(Algo::ADLER32, b"Wikipedia").to_string(), "11E60398");
    assert_eq!(sum(Algo::ADLER32, b"123456789").to_string(), "091E01DE");
    let erased = vec![0xFF; 32 * 1024];
    assert_eq!(sum(Algo::ADLER32, &erased).to_string(), "7FC28772");
    // Source: RFC 1950, section 9: the sum of no bytes is 1.
    assert_eq!(sum(Algo::ADLER32, &[]).to_string(), "00000001");
}

/// Worked by hand. 80 + 80 = 100, with the carry added back 01; FF and 01 make 100 likewise; 257 bytes of FF are 255 times
/// 257, which is FFFF, and one of 01 more makes 10000, so 0001.
#[test]
fn carries_come_back_at_the_low_end() {
    assert_eq!(sum(Algo::CARRY8, &[0x80, 0x80]).to_string(), "01");
    assert_eq!(sum(Algo::CARRY8, &[0xFF, 0x01]).to_string(), "01");
    assert_eq!(sum(Algo::CARRY16, &[0xFF; 257]).to_string(), "FFFF");
    let more = [&[0xFF; 257][..], &[0x01]].concat();
    assert_eq!(sum(Algo::CARRY16, &more).to_string(), "0001");
    // All zeros are 0, anything else that is divisible is all ones.
    for algo in [Algo::CARRY8, Algo::CARRY16, Algo::INTERNET] {
        assert_eq!(sum(algo, &[0; 9]).value(), Some(0), "{algo}");
        assert_ne!(sum(algo, &[0xFF; 1 << 16]).value(), Some(0), "{algo}");
    }
    assert_eq!(sum(Algo::CARRY8, &[0xFF; 3]).to_string(), "FF");
}

/// More bytes of FF than fill any register of 32 bits on the way.
#[test]
fn long_runs_do_not_overflow() {
    // 2^24 + 2^20 bytes of 255: modulo 255 nothing, shown as all ones.
    let long = vec![0xFF; 17 << 20];
    assert_eq!(sum(Algo::CARRY8, &long).to_string(), "FF");
    // 17 x 2^20 x 255 = 17 x 2^28 - 17 x 2^20; modulo 65,535, 2^16 is 1: 17 x 4096 - 17 x 16 = 69,360, so 3,825.
    assert_eq!(sum(Algo::CARRY16, &long).value(), Some(3825));
    assert_eq!(sum(Algo::INTERNET, &long).to_string(), "FFFF");
    assert_eq!(sum(Algo::FLETCHER16, &long).to_string(), "0000");
    assert_eq!(sum(Algo::ADLER32, &long).to_string(), "E9E8E0F2");
}

/// What a chain of add-with-carry leaves: `value` is the accumulator, of one byte or two, and each byte is added at its
/// low end; the carry goes on into the next addition, and at last 0 is added with it.
fn chain(bytes: &[u8], bits: u32) -> u128 {
    let (mut accumulator, mut carry) = (0u32, 0);
    for byte in bytes.iter().chain(&[0]) {
        let added = accumulator + u32::from(*byte) + carry;
        accumulator = added & ((1 << bits) - 1);
        carry = added >> bits;
    }
    assert_eq!(carry, 0, "nothing is left over");
    accumulator.into()
}

/// After the program in RFC 1071, section 4.1, with words high byte first.
fn rfc_1071(bytes: &[u8]) -> u128 {
    let mut sum: u32 = 0;
    let mut addr = bytes;
    while let [high, low, rest @ ..] = addr {
        sum += u32::from(*high) << 8 | u32::from(*low);
        addr = rest;
    }
    if let [left] = addr {
        sum += u32::from(*left) << 8;
    }
    while sum >> 16 != 0 {
        sum = (sum & 0xFFFF) + (sum >> 16);
    }
    sum.into()
}

/// After the program in RFC 1950, section 9, `update_adler32`; with the modulus 255 and a start at 0, Fletcher's.
fn update(bytes: &[u8], base: u32, start: u32) -> (u128, u128) {
    let (mut s1, mut s2) = (start, 0);
    for byte in bytes {
        s1 = (s1 + u32::from(*byte)) % base;
        s2 = (s2 + s1) % base;
    }
    (s1.into(), s2.into())
}

proptest! {
    #[test]
    fn each_agrees_with_a_plain_implementation_of_its_source(
        mut bytes in prop::collection::vec(prop_oneof![Just(0xFFu8), any::<u8>()], 0..400),
        run in prop_oneof![Just(0usize), 0usize..20_000],
    ) {
        bytes.resize(bytes.len() + run, 0xFF);
        let value = |name: &str| sum(algo(name), &bytes).value().unwrap();
        prop_assert_eq!(value("carry8"), chain(&bytes, 8));
        prop_assert_eq!(value("carry16"), chain(&bytes, 16));
        prop_assert_eq!(value("internet"), rfc_1071(&bytes));
        let (once, twice) = update(&bytes, 255, 0);
        prop_assert_eq!(value("fletcher16"), twice << 8 | once);
        let (once, twice) = update(&bytes, 65_521, 1);
        prop_assert_eq!(value("adler32"), twice << 16 | once);
    }

    /// A sum that begins where another ended goes on as one over both would.
    #[test]
    fn a_total_can_be_taken_up_again(
        words in prop::collection::vec(any::<[u8; 2]>(), 0..60),
        rest in prop::collection::vec(any::<u8>(), 0..60),
    ) {
        let first = words.concat();
        for name in ["carry8", "carry16", "internet", "fletcher16", "adler32"] {
            let algo = algo(name);
            let mut summing = algo.start_from(sum(algo, &first).value().unwrap()).unwrap();
            summing.feed(&rest);
            let both = [&first[..], &rest].concat();
            prop_assert_eq!(summing.finish().unwrap(), sum(algo, &both), "{}", name);
        }
    }

    /// The ones' complement, stored where zeros were, makes the whole all ones.
    #[test]
    fn the_ones_complement_brings_the_whole_to_all_ones(
        words in prop::collection::vec(any::<[u8; 2]>(), 1..60),
        place in any::<prop::sample::Index>(),
    ) {
        for algo in [Algo::CARRY8, Algo::INTERNET] {
            let mut bytes = words.concat();
            let at = place.index(words.len()) * 2;
            bytes[at..at + algo.bytes()].fill(0);
            let stored = sum(algo, &bytes).complement(Complement::Ones).unwrap();
            bytes[at..at + algo.bytes()].copy_from_slice(&stored.to_bytes(Order::Big));
            prop_assert_eq!(sum(algo, &bytes).value(), Some(algo.mask()));
        }
    }
}

//! Sums against figures from outside, and what must contain for every one.

use proptest::prelude::*;

mod carried;

use super::*;

fn sum(algo: Algo, bytes: &[u8]) -> Sum {
    algo.sum(bytes).unwrap()
}

fn algo(name: &str) -> Algo {
    name.parse().unwrap()
}

/// Worked by hand over 01 80 FF FE 7F 02.
///
/// Bytes: 01 + 80 + FF + FE + 7F + 02 = 1 + 128 + 255 + 254 + 127 + 2 = 767 = 2FF.
/// Words, low byte first: 8001 + FEFF + 027F = 17F00 + 27F = 1817F, in 16 bits 817F.
/// Words, high byte first: 0180 + FFFE + 7F02 = 1017E + 7F02 = 18080, in 16 bits 8080.
/// Exclusive-or: 01 ^ 80 = 81, ^ FF = 7E, ^ FE = 80, ^ 7F = FF, ^ 02 = FD.
#[test]
fn plain_sums_worked_by_hand() {
    let bytes = [0x01, 0x80, 0xFF, 0xFE, 0x7F, 0x02];
    for (name, printed) in [
        ("sum8", "FF"),
        ("sum16", "02FF"),
        ("sum32", "000002FF"),
        ("sum16le", "817F"),
        ("sum16be", "8080"),
        ("xor8", "FD"),
    ] {
        assert_eq!(sum(algo(name), &bytes).to_string(), printed, "{name}");
    }
}

/// Worked by hand over FF FE FD FC 02 00 00 80.
///
/// Low byte first: FCFDFEFF + 80000002 = 17CFDFF01, in 32 bits 7CFDFF01.
/// High byte first: FFFEFDFC + 02000080 = 101FEFE7C, in 32 bits 01FEFE7C.
#[test]
fn sums_of_32_bit_words_worked_by_hand() {
    let bytes = [0xFF, 0xFE, 0xFD, 0xFC, 0x02, 0x00, 0x00, 0x80];
    assert_eq!(sum(Algo::SUM32LE, &bytes).to_string(), "7CFDFF01");
    assert_eq!(sum(Algo::SUM32BE, &bytes).to_string(), "01FEFE7C");
}

/// An erased 32 KiB part: 32,768 bytes of FF.
///
/// Bytes: 32768 x 255 = 8,355,840 = 7F8000, in 16 bits 8000.
/// 16-bit words: 16384 x FFFF = 16384 x 65536 - 16384, in 16 bits 10000 - 4000 = C000.
/// 32-bit words: 8192 x FFFFFFFF, in 32 bits 100000000 - 2000 = FFFFE000.
#[test]
fn sums_of_an_erased_part_wrap() {
    let erased = vec![0xFF; 32 * 1024];
    assert_eq!(sum(Algo::SUM8, &erased).to_string(), "00");
    assert_eq!(sum(Algo::SUM16, &erased).to_string(), "8000");
    assert_eq!(sum(Algo::SUM32, &erased).to_string(), "007F8000");
    assert_eq!(sum(Algo::SUM16LE, &erased).to_string(), "C000");
    assert_eq!(sum(Algo::SUM16BE, &erased).to_string(), "C000");
    assert_eq!(sum(Algo::SUM32LE, &erased).to_string(), "FFFFE000");
    assert_eq!(sum(Algo::SUM32BE, &erased).to_string(), "FFFFE000");
}

/// Source: MOS Technology, KIM-1 Microcomputer Module User Manual (August 1976), paper tape
/// format: the record's sixteen-bit sum of count, address and data is 0AFC.
#[test]
fn sum16_is_the_sum_of_the_paper_tape_example() {
    let record = [
        0x18, 0x00, 0x00, 0xFF, 0xEE, 0xDD, 0xCC, 0xBB, 0xAA, 0x00, 0x99, 0x88, 0x77, 0x66, 0x55,
        0x44, 0x33, 0x22, 0x11, 0x22, 0x33, 0x44, 0x55, 0x66, 0x77, 0x88, 0x99,
    ];
    assert_eq!(sum(Algo::SUM16, &record).to_string(), "0AFC");
    assert_eq!(sum(Algo::SUM16, &record).to_bytes(Order::Big), [0x0A, 0xFC]);
    assert_eq!(
        sum(Algo::SUM16, &record).to_bytes(Order::Little),
        [0xFC, 0x0A]
    );
}

/// Source: Motorola, M68000 Family Programmer's Reference Manual (M68000PM/AD), Appendix C: the
/// checksum is the ones' complement of the low byte of the sum; first data record of the example.
#[test]
fn ones_complement_of_sum8_is_the_s_record_checksum() {
    let record = [
        0x13, 0x00, 0x00, 0x28, 0x5F, 0x24, 0x5F, 0x22, 0x12, 0x22, 0x6A, 0x00, 0x04, 0x24, 0x29,
        0x00, 0x08, 0x23, 0x7C,
    ];
    let checksum = sum(Algo::SUM8, &record).complement(Complement::Ones);
    assert_eq!(checksum.unwrap().to_string(), "2A");
}

/// Source: Intel, Hexadecimal Object File Format Specification, Revision A (1988): all bytes of a
/// record sum to 0, and the end record is `:00000001FF`.
#[test]
fn twos_complement_of_sum8_is_the_intel_checksum() {
    let total = sum(Algo::SUM8, &[0x00, 0x00, 0x00, 0x01]);
    let checksum = total.complement(Complement::Twos).unwrap();
    assert_eq!(checksum.value(), Some(0xFF));
    assert_eq!(
        balance(Algo::SUM8, &total, 0, Order::Little).unwrap(),
        [0xFF]
    );
}

/// Source: RFC 1321, appendix A.5, test suite.
#[test]
fn md5_test_suite() {
    for (text, digest) in [
        ("", "d41d8cd98f00b204e9800998ecf8427e"),
        ("a", "0cc175b9c0f1b6a831c399e269772661"),
        ("abc", "900150983cd24fb0d6963f7d28e17f72"),
        ("message digest", "f96b697d7cb7938d525a2f31aaf161d0"),
        (
            "abcdefghijklmnopqrstuvwxyz",
            "c3fcd3d76192e4007dfb496cca67e13b",
        ),
        (
            "ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789",
            "d174ab98d277d9f5a5611c2c9f419d9f",
        ),
        (
            "12345678901234567890123456789012345678901234567890123456789012345678901234567890",
            "57edf4a22be3c955ac49da2e2107b67a",
        ),
    ] {
        assert_eq!(sum(Algo::MD5, text.as_bytes()).to_string(), digest);
    }
}

const TWO_BLOCKS: &[u8] = b"abcdbcdecdefdefgefghfghighijhijkijkljklmklmnlmnomnopnopq";

/// Source: NIST, FIPS 180-4 example values for SHA-1 (one block and two blocks).
#[test]
fn sha1_examples() {
    assert_eq!(
        sum(Algo::SHA1, b"abc").to_string(),
        "a9993e364706816aba3e25717850c26c9cd0d89d"
    );
    assert_eq!(
        sum(Algo::SHA1, TWO_BLOCKS).to_string(),
        "84983e441c3bd26ebaae4aa1f95129e5e54670f1"
    );
}

/// Source: NIST, FIPS 180-4 example values for SHA-256 (one block and two blocks).
#[test]
fn sha256_examples() {
    assert_eq!(
        sum(Algo::SHA256, b"abc").to_string(),
        "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad"
    );
    assert_eq!(
        sum(Algo::SHA256, TWO_BLOCKS).to_string(),
        "248d6a61d20638b8e5c026930c3e6039a33ce45964ff2167f6ecedd419db06c1"
    );
}

/// Source: RevEng catalogue, "check" of CRC-32/ISO-HDLC and CRC-16/ARC.
#[test]
fn short_names_are_the_catalogue_entries_they_say() {
    assert_eq!(algo("crc32"), Algo::CRC32);
    assert_eq!(algo("CRC32").to_string(), "crc-32/iso-hdlc");
    assert_eq!(sum(Algo::CRC32, b"123456789").to_string(), "CBF43926");
    assert_eq!(algo("crc16"), Algo::CRC16);
    assert_eq!(algo("Crc16").to_string(), "crc-16/arc");
    assert_eq!(sum(Algo::CRC16, b"123456789").to_string(), "BB3D");
    assert!(Algo::CRC32.about().ends_with("short name crc32"));
    assert!(Algo::CRC16.about().ends_with("short name crc16"));
}

#[test]
fn every_name_parses_back_to_its_own() {
    for algo in Algo::all() {
        assert_eq!(algo.name().parse(), Ok(algo));
        assert_eq!(algo.name().to_uppercase().parse(), Ok(algo));
        assert_eq!(algo.to_string(), algo.name());
        assert!(!algo.about().contains('\n'));
        assert!(algo.about().contains(' '), "{algo}");
    }
    let names: Vec<_> = Algo::all().map(Algo::name).collect();
    assert_eq!(names.len(), 13 + 113 + 3);
    assert_eq!(names[..2], ["sum8", "sum16"]);
    assert_eq!(names[12..14], ["xor8", "crc-3/gsm"]);
    assert_eq!(names[125..], ["crc-82/darc", "md5", "sha1", "sha256"]);
}

#[test]
fn what_a_crc_is_about_gives_its_parameters() {
    assert_eq!(
        algo("crc-16/xmodem").about(),
        "CRC of 16 bits, polynomial 1021, init 0000, high bit first, xorout 0000"
    );
    assert_eq!(
        algo("crc-12/umts").about(),
        "CRC of 12 bits, polynomial 80F, init 000, high bit first, result reflected, xorout 000"
    );
}

#[test]
fn an_unknown_name_is_answered_with_the_nearest() {
    let message = |word: &str| word.parse::<Algo>().unwrap_err().to_string();
    assert_eq!(
        message("sha-256"),
        "`sha-256` is not a known sum; nearest: sha256"
    );
    assert_eq!(
        message("xmodem"),
        "`xmodem` is not a known sum; nearest: crc-16/xmodem"
    );
    assert!(message("crc-32").contains("crc32"), "{}", message("crc-32"));
    assert!(message("zzzzzz").contains("known sums are sum8"));
    assert!(message("").contains("known sums are sum8"));
    let hostile = message(&"\u{1b}[31m".repeat(100_000));
    assert!(hostile.len() < 600 && !hostile.contains('\u{1b}'));
}

#[test]
fn order_and_complement_parse_and_print() {
    for order in [Order::Little, Order::Big] {
        assert_eq!(order.to_string().parse(), Ok(order));
    }
    for complement in [Complement::Ones, Complement::Twos] {
        assert_eq!(complement.to_string().parse(), Ok(complement));
    }
    assert_eq!("BIG".parse(), Ok(Order::Big));
    assert_eq!(
        "middle".parse::<Order>().unwrap_err().to_string(),
        "`middle` is not a byte order: write little or big"
    );
    assert_eq!(
        "one".parse::<Complement>().unwrap_err().to_string(),
        "`one` is not a complement: write ones or twos"
    );
}

/// Source of the values: RevEng catalogue, "check" (CRC-5/USB 19, CRC-15/CAN 059E,
/// CRC-31/PHILIPS 0CE9E46C, CRC-82/DARC 09EA83F625023801FD612).
#[test]
fn widths_that_are_no_whole_bytes_are_rounded_up() {
    for (name, printed, stored) in [
        ("crc-5/usb", "19", vec![0x19]),
        ("crc-15/can", "059E", vec![0x05, 0x9E]),
        ("crc-31/philips", "0CE9E46C", vec![0x0C, 0xE9, 0xE4, 0x6C]),
        (
            "crc-82/darc",
            "09EA83F625023801FD612",
            vec![
                0x00, 0x9E, 0xA8, 0x3F, 0x62, 0x50, 0x23, 0x80, 0x1F, 0xD6, 0x12,
            ],
        ),
    ] {
        let sum = sum(algo(name), b"123456789");
        assert_eq!(sum.to_string(), printed, "{name}");
        assert_eq!(sum.to_bytes(Order::Big), stored, "{name}");
        let mut little = stored;
        little.reverse();
        assert_eq!(sum.to_bytes(Order::Little), little, "{name}");
    }
}

#[test]
fn a_complement_stays_within_the_width() {
    let check = sum(algo("crc-5/usb"), b"123456789");
    // 19 is 11001: turned over 00110.
    assert_eq!(
        check.complement(Complement::Ones).unwrap().value(),
        Some(0x06)
    );
    assert_eq!(
        check.complement(Complement::Twos).unwrap().value(),
        Some(0x07)
    );
    let zero = sum(Algo::SUM16, &[]);
    assert_eq!(zero.complement(Complement::Twos).unwrap(), zero);
}

#[test]
fn digests_have_one_byte_order_and_no_arithmetic() {
    for algo in [Algo::MD5, Algo::SHA1, Algo::SHA256] {
        let digest = sum(algo, b"abc");
        assert_eq!(digest.value(), None);
        assert_eq!(digest.to_bytes(Order::Little), digest.to_bytes(Order::Big));
        assert_eq!(digest.to_bytes(Order::Big).len(), algo.bytes());
        assert_eq!(
            digest.complement(Complement::Ones),
            Err(SumError::NoComplement { algo })
        );
        assert_eq!(
            algo.start_from(0).map(|_| ()).unwrap_err(),
            SumError::NoInitialValue { algo }
        );
    }
}

#[test]
fn a_part_word_at_the_end_is_an_error_that_counts_it() {
    let mut summing = Algo::SUM32BE.start();
    summing.feed(&[1, 2, 3, 4, 5]);
    summing.feed(&[6, 7]);
    let error = summing.finish().unwrap_err();
    assert_eq!(
        error.to_string(),
        "sum32be adds words of 4 bytes, and 3 of 7 bytes are left over; use a range whose length is a multiple of 4 bytes"
    );
    assert!(Algo::SUM16LE.sum(&[1]).is_err());
    assert!(Algo::SUM16LE.sum(&[]).is_ok());
}

#[test]
fn an_initial_value_is_where_the_total_starts() {
    let mut summing = Algo::SUM16.start_from(0xFFFF).unwrap();
    summing.feed(&[2]);
    assert_eq!(summing.finish().unwrap().to_string(), "0001");
    let mut summing = Algo::XOR8.start_from(0xF0).unwrap();
    summing.feed(&[0x3C]);
    assert_eq!(summing.finish().unwrap().to_string(), "CC");
}

/// The catalogue's CRC-16/MODBUS (check 4B37) is its CRC-16/ARC with init FFFF.
/// Source: RevEng catalogue.
#[test]
fn an_initial_value_replaces_the_register_of_a_crc() {
    let mut summing = Algo::CRC16.start_from(0xFFFF).unwrap();
    summing.feed(b"123456789");
    assert_eq!(summing.finish().unwrap().to_string(), "4B37");
}

#[test]
fn an_initial_value_that_does_not_fit_is_refused() {
    for algo in Algo::all().filter(|algo| !algo.is_digest()) {
        let largest = u128::MAX >> (128 - u32::from(algo.bits()));
        assert!(algo.start_from(largest).is_ok(), "{algo}");
        assert!(algo.start_from(largest + 1).is_err(), "{algo}");
        assert!(algo.start_from(u128::MAX).is_err(), "{algo}");
    }
    assert_eq!(
        Algo::SUM8.start_from(0x100).unwrap_err().to_string(),
        "initial value 0x100 is too large: sum8 has 8 bits, so the largest is 0xFF"
    );
}

#[test]
fn only_sums_that_can_be_balanced_are() {
    let can = ["sum8", "sum16le", "sum16be", "sum32le", "sum32be", "xor8"];
    for algo in Algo::all() {
        let total = sum(algo, &[]);
        let order = algo.order().unwrap_or(Order::Little);
        let balanced = balance(algo, &total, 0, order);
        if can.contains(&algo.name()) {
            assert_eq!(balanced, Ok(vec![0; algo.bytes()]));
        } else {
            assert!(matches!(balanced, Err(SumError::NoBalance { .. })));
        }
    }
}

#[test]
fn balance_refuses_what_would_come_out_wrong() {
    let total = sum(Algo::SUM16BE, &[]);
    assert_eq!(
        balance(Algo::SUM16BE, &total, 0, Order::Little)
            .unwrap_err()
            .to_string(),
        "the stored word is part of sum16be and counts in the order `big`; stored as `little` it would count as another value, so use `big`"
    );
    assert!(matches!(
        balance(Algo::SUM16BE, &total, 0x1_0000, Order::Big),
        Err(SumError::TooLarge { .. })
    ));
    assert!(matches!(
        balance(Algo::SUM16LE, &total, 0, Order::Little),
        Err(SumError::OtherSum { .. })
    ));
}

/// Any of all sums.
fn any_algo() -> impl Strategy<Value = Algo> {
    proptest::sample::select(Algo::all().collect::<Vec<_>>())
}

/// Any that can be balanced.
fn balanceable() -> impl Strategy<Value = Algo> {
    proptest::sample::select(vec![
        Algo::SUM8,
        Algo::SUM16LE,
        Algo::SUM16BE,
        Algo::SUM32LE,
        Algo::SUM32BE,
        Algo::XOR8,
    ])
}

proptest! {
    #[test]
    fn where_the_feed_is_cut_makes_no_difference(
        algo in any_algo(),
        bytes in prop::collection::vec(any::<u8>(), 0..300),
        cuts in prop::collection::vec(0usize..40, 0..20),
    ) {
        let mut summing = algo.start();
        let mut rest = bytes.as_slice();
        for cut in cuts {
            let (part, behind) = rest.split_at(cut.min(rest.len()));
            summing.feed(part);
            rest = behind;
        }
        summing.feed(rest);
        prop_assert_eq!(summing.finish(), algo.sum(&bytes));
    }

    #[test]
    fn balanced_bytes_bring_the_whole_to_the_target(
        algo in balanceable(),
        words in prop::collection::vec(any::<[u8; 4]>(), 1..60),
        place in any::<prop::sample::Index>(),
        target in any::<u32>(),
    ) {
        let mut bytes = words.concat();
        let target = u128::from(target) & algo.mask();
        let size = algo.bytes();
        let at = place.index(bytes.len() / size) * size;
        bytes[at..at + size].fill(0);
        let order = algo.order().unwrap_or(Order::Little);
        let stamp = balance(algo, &sum(algo, &bytes), target, order).unwrap();
        prop_assert_eq!(stamp.len(), size);
        bytes[at..at + size].copy_from_slice(&stamp);
        prop_assert_eq!(sum(algo, &bytes).value(), Some(target));
    }

    /// A total and its twos' complement add up to 0, and its ones' complement to all ones.
    #[test]
    fn complements_add_up(bytes in prop::collection::vec(any::<u8>(), 0..64)) {
        for algo in Algo::all().filter(|algo| !algo.is_digest() && algo.word() == 1) {
            let total = sum(algo, &bytes);
            let turned = |complement| total.complement(complement).unwrap().value().unwrap();
            let value = total.value().unwrap();
            prop_assert_eq!((value + turned(Complement::Twos)) & algo.mask(), 0);
            prop_assert_eq!(value + turned(Complement::Ones), algo.mask());
        }
    }
}

#[test]
fn only_word_sums_add_more_than_a_byte_at_once() {
    for all in Algo::all() {
        let word = match all.to_string().as_str() {
            "sum16le" | "sum16be" | "internet" => 2,
            "sum32le" | "sum32be" => 4,
            _ => 1,
        };
        assert_eq!(all.word(), word, "{all}");
        assert_eq!(all.order().is_some(), word > 1, "{all}");
    }
}

/// Source: the RevEng catalogue, as the crate `crc-catalog` has it; CRC-32's residue is DEBB20E3 there, 2144DF1C after the
/// final exclusive-or.
#[test]
fn a_crc_of_bytes_that_end_in_their_own_crc_is_the_residue() {
    assert_eq!(Algo::CRC32.residue(), Some(0x2144_DF1C));
    assert_eq!(Algo::SUM16.residue(), None);
    let mut tried = 0;
    for algo in Algo::all().filter(|algo| algo.bits() % 8 == 0) {
        let Some(residue) = algo.residue() else {
            continue;
        };
        for bytes in [&b"123456789"[..], b"HERON-8"] {
            let own = sum(algo, bytes);
            let orders = [Order::Little, Order::Big];
            let shown = orders.map(|order| {
                let whole = [bytes, &own.to_bytes(order)].concat();
                sum(algo, &whole).value()
            });
            assert!(shown.contains(&Some(residue)), "{algo}: {shown:X?}");
            tried += 1;
        }
    }
    assert!(tried > 100, "{tried}");
}

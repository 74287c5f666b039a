//! CRCs at run time: the crate `crc`, sixteen bytes a step, with tables built when they are first needed; for CRC-32, which
//! is reported of every file, `crc32fast`, which uses the processor's own instructions for it.

use std::sync::OnceLock;

use crc::{Crc, Digest, Table};

use super::Algo;
use super::algo::Family;
use super::catalogue::{CATALOGUE, Parameters};

/// Sixteen tables: the crate takes sixteen bytes a step with these.
type Sliced = Table<16>;

/// The tables of one CRC: 4 KiB for widths up to 8 bits, 64 KiB for 82.
enum CrcTables {
    Bits8(Box<Crc<u8, Sliced>>),
    Bits16(Box<Crc<u16, Sliced>>),
    Bits32(Box<Crc<u32, Sliced>>),
    Bits64(Box<Crc<u64, Sliced>>),
    Bits128(Box<Crc<u128, Sliced>>),
}

impl CrcTables {
    /// The tables of the CRC at this place of the catalogue, built at first use and then kept:
    /// a board of many chips asks for the same few CRCs again and again.
    fn of(index: u8) -> &'static CrcTables {
        static BUILT: [OnceLock<CrcTables>; CATALOGUE.len()] =
            [const { OnceLock::new() }; CATALOGUE.len()];
        let index = usize::from(index);
        BUILT[index].get_or_init(|| match CATALOGUE[index].model {
            Parameters::Bits8(a) => CrcTables::Bits8(Box::new(Crc::<u8, Sliced>::new(a))),
            Parameters::Bits16(a) => CrcTables::Bits16(Box::new(Crc::<u16, Sliced>::new(a))),
            Parameters::Bits32(a) => CrcTables::Bits32(Box::new(Crc::<u32, Sliced>::new(a))),
            Parameters::Bits64(a) => CrcTables::Bits64(Box::new(Crc::<u64, Sliced>::new(a))),
            Parameters::Bits128(a) => CrcTables::Bits128(Box::new(Crc::<u128, Sliced>::new(a))),
        })
    }
}

/// The tables of CRC-32/ISO-HDLC, which are in the program.
static ISO_HDLC: Crc<u32, Sliced> = Crc::<u32, Sliced>::new(&crc_catalog::CRC_32_ISO_HDLC);
/// So many bytes are done sooner with tables: the other crate asks first what the processor can do, for which a virtual machine takes
/// some 70 microseconds.
const FEW: usize = 64 << 10;

/// A CRC under way.
#[derive(Clone)]
pub(super) enum Register {
    /// CRC-32/ISO-HDLC of few bytes, and how many more they may become.
    FewIsoHdlc(Digest<'static, u32, Sliced>, usize),
    /// CRC-32/ISO-HDLC.
    IsoHdlc(crc32fast::Hasher),
    Bits8(Digest<'static, u8, Sliced>),
    Bits16(Digest<'static, u16, Sliced>),
    Bits32(Digest<'static, u32, Sliced>),
    Bits64(Digest<'static, u64, Sliced>),
    Bits128(Digest<'static, u128, Sliced>),
}

impl Register {
    /// Starts the CRC at this place of the catalogue. `init` means what the catalogue's `init`
    /// means (not reflected), and must fit the CRC's width, so that the casts lose nothing.
    pub(super) fn start(index: u8, init: u128) -> Register {
        if Algo(Family::Crc(index)) == Algo::CRC32 {
            return Register::FewIsoHdlc(ISO_HDLC.digest_with_initial(init as u32), FEW);
        }
        match CrcTables::of(index) {
            CrcTables::Bits8(crc) => Register::Bits8(crc.digest_with_initial(init as u8)),
            CrcTables::Bits16(crc) => Register::Bits16(crc.digest_with_initial(init as u16)),
            CrcTables::Bits32(crc) => Register::Bits32(crc.digest_with_initial(init as u32)),
            CrcTables::Bits64(crc) => Register::Bits64(crc.digest_with_initial(init as u64)),
            CrcTables::Bits128(crc) => Register::Bits128(crc.digest_with_initial(init)),
        }
    }

    pub(super) fn feed(&mut self, bytes: &[u8]) {
        match self {
            Register::FewIsoHdlc(digest, left) => match left.checked_sub(bytes.len()) {
                Some(less) => {
                    digest.update(bytes);
                    *left = less;
                }
                None => {
                    // That crate goes on from a finished CRC.
                    let finished = digest.clone().finalize();
                    let mut hasher = crc32fast::Hasher::new_with_initial(finished);
                    hasher.update(bytes);
                    *self = Register::IsoHdlc(hasher);
                }
            },
            Register::IsoHdlc(hasher) => hasher.update(bytes),
            Register::Bits8(digest) => digest.update(bytes),
            Register::Bits16(digest) => digest.update(bytes),
            Register::Bits32(digest) => digest.update(bytes),
            Register::Bits64(digest) => digest.update(bytes),
            Register::Bits128(digest) => digest.update(bytes),
        }
    }

    pub(super) fn finish(self) -> u128 {
        match self {
            Register::FewIsoHdlc(digest, _) => digest.finalize().into(),
            Register::IsoHdlc(hasher) => hasher.finalize().into(),
            Register::Bits8(digest) => digest.finalize().into(),
            Register::Bits16(digest) => digest.finalize().into(),
            Register::Bits32(digest) => digest.finalize().into(),
            Register::Bits64(digest) => digest.finalize().into(),
            Register::Bits128(digest) => digest.finalize(),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crc_catalog::Algorithm;

    fn crc(index: usize, init: u128, parts: &[&[u8]]) -> u128 {
        let mut register = Register::start(index as u8, init);
        parts.iter().for_each(|part| register.feed(part));
        register.finish()
    }

    /// The catalogue's model, one bit at a time: no table and no shared code.
    /// Source: R. Williams, *A Painless Guide to CRC Error Detection Algorithms* (1993), the
    /// parametrised model.
    fn bit_by_bit(a: &Algorithm<u128>, init: u128, bytes: &[u8]) -> u128 {
        let mask = u128::MAX >> (128 - a.width);
        let mut register = init;
        for &byte in bytes {
            let byte = if a.refin { byte.reverse_bits() } else { byte };
            for bit in (0..8).rev() {
                let out = register >> (a.width - 1) & 1;
                register = register << 1 & mask;
                if out != u128::from(byte >> bit & 1) {
                    register ^= a.poly;
                }
            }
        }
        if a.refout {
            register = register.reverse_bits() >> (128 - a.width);
        }
        register ^ a.xorout
    }

    /// Invented bytes, long enough for the sixteen-byte step and a rest.
    fn bytes() -> Vec<u8> {
        (0..1021u32).map(|i| (i * i * 7 + i / 3) as u8).collect()
    }

    /// Source: RevEng catalogue, "check" of each entry: the CRC of the nine digits.
    #[test]
    fn every_check_value_of_the_catalogue_comes_out() {
        for (index, entry) in CATALOGUE.iter().enumerate() {
            let a = entry.model.widened();
            assert_eq!(
                crc(index, a.init, &[b"123456789"]),
                a.check,
                "{}",
                entry.name
            );
        }
    }

    #[test]
    fn long_input_agrees_with_the_model_bit_by_bit_wherever_it_is_split() {
        let bytes = bytes();
        for (index, entry) in CATALOGUE.iter().enumerate() {
            let a = entry.model.widened();
            let expected = bit_by_bit(&a, a.init, &bytes);
            for cut in [0, 1, 15, 16, 17, 500, 1020, 1021] {
                let (first, rest) = bytes.split_at(cut);
                assert_eq!(
                    crc(index, a.init, &[first, rest]),
                    expected,
                    "{} cut at {cut}",
                    entry.name
                );
            }
        }
    }

    /// From a number of bytes on another crate goes on, wherever that is within a part.
    #[test]
    fn crc_32_of_many_bytes_goes_on_from_that_of_few() {
        let Family::Crc(index) = Algo::CRC32.0 else {
            panic!("CRC-32 is in no catalogue");
        };
        let a = CATALOGUE[usize::from(index)].model.widened();
        let bytes: Vec<u8> = bytes().into_iter().cycle().take(FEW + 1000).collect();
        for init in [a.init, 1, 1 << 31] {
            for len in [FEW, FEW + 1, FEW + 1000] {
                let expected = bit_by_bit(&a, init, &bytes[..len]);
                for cut in [0, 1, FEW - 1, FEW] {
                    let (first, rest) = bytes[..len].split_at(cut);
                    let of_parts = crc(usize::from(index), init, &[first, rest, &[]]);
                    assert_eq!(of_parts, expected, "{len} from {init:X}, cut at {cut}");
                }
            }
        }
    }

    /// An initial value is the register before the first bit, in the catalogue's sense, also
    /// for a reflected CRC: a lopsided one shows a reflection missed or done twice.
    #[test]
    fn another_initial_value_is_taken_as_the_catalogue_means_it() {
        let bytes = bytes();
        for (index, entry) in CATALOGUE.iter().enumerate() {
            let a = entry.model.widened();
            for init in [0, 1, 1 << (a.width - 1), a.poly] {
                assert_eq!(
                    crc(index, init, &[&bytes]),
                    bit_by_bit(&a, init, &bytes),
                    "{} from {init:X}",
                    entry.name
                );
            }
        }
    }
}

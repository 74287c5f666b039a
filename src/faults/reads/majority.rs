//! The majority of each bit.

/// One byte that did not read the same every time.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct WaveringByte {
    /// Index of the byte in the reads.
    pub address: usize,
    /// Its bits that wavered.
    pub bits: u8,
    /// Those of them that read 0 and 1 equally often.
    pub tied: u8,
}

/// What most reads say.
pub(super) struct Majority {
    pub image: Vec<u8>,
    /// Ascending.
    pub wavering: Vec<WaveringByte>,
}

/// Bytes that are compared at once: most of them are the same in all reads.
const CHUNK: usize = 256;

/// Takes the majority of each bit over at most 255 reads of one length. A tied bit is as in `wanted`, or 1.
pub(super) fn majority(reads: &[&[u8]], wanted: Option<&[u8]>) -> Majority {
    let Some((first, others)) = reads.split_first() else {
        return Majority {
            image: Vec::new(),
            wavering: Vec::new(),
        };
    };
    let mut image = first.to_vec();
    let mut wavering = Vec::new();
    for start in (0..image.len()).step_by(CHUNK) {
        let part = start..(start + CHUNK).min(image.len());
        let same = |read: &&[u8]| read[part.clone()] == first[part.clone()];
        if others.iter().all(same) {
            continue;
        }
        for address in part {
            let ties_to = wanted.map_or(0xFF, |wanted| wanted[address]);
            let (byte, wavers) = of_byte(reads, address, ties_to);
            image[address] = byte;
            wavering.extend((wavers.bits != 0).then_some(wavers));
        }
    }
    Majority { image, wavering }
}

/// The majority at one address, and which bits were not unanimous.
fn of_byte(reads: &[&[u8]], address: usize, ties_to: u8) -> (u8, WaveringByte) {
    let ones = reads
        .iter()
        .fold(0u64, |ones, read| ones + spread(read[address]));
    let ones = ones.to_le_bytes();
    let mut wavers = WaveringByte {
        address,
        bits: 0,
        tied: 0,
    };
    let mut most = 0;
    for (line, ones) in ones.into_iter().map(usize::from).enumerate() {
        let zeros = reads.len() - ones;
        most |= u8::from(ones > zeros) << line;
        wavers.bits |= u8::from(ones > 0 && zeros > 0) << line;
        wavers.tied |= u8::from(ones == zeros) << line;
    }
    (most | wavers.tied & ties_to, wavers)
}

/// Each bit of a byte as a byte of its own, so that eight are counted in one addition.
fn spread(byte: u8) -> u64 {
    const SPREAD: [u64; 256] = {
        let mut table = [0; 256];
        let mut byte = 0;
        while byte < 256 {
            let mut line = 0;
            while line < 8 {
                table[byte] |= (byte as u64 >> line & 1) << (8 * line);
                line += 1;
            }
            byte += 1;
        }
        table
    };
    SPREAD[usize::from(byte)]
}

#[cfg(test)]
mod tests {
    use super::*;

    /// By hand: two bits waver in three reads, and one of them is tied in two.
    #[test]
    fn each_bit_goes_by_most_reads() {
        let reads: [&[u8]; 3] = [&[0x0F, 0xFF], &[0x0F, 0xFE], &[0x1F, 0xFE]];
        let three = majority(&reads, None);
        assert_eq!(three.image, [0x0F, 0xFE]);
        let bits = three.wavering.iter().map(|b| (b.address, b.bits, b.tied));
        assert!(bits.eq([(0, 0x10, 0), (1, 0x01, 0)]));
        let two = majority(&reads[1..], None);
        assert_eq!(two.image, [0x1F, 0xFE], "a tie is 1");
        assert_eq!((two.wavering[0].address, two.wavering[0].tied), (0, 0x10));
        let wanted = majority(&reads[1..], Some(&[0x0F, 0xFE]));
        assert_eq!(wanted.image, [0x0F, 0xFE], "a tie is as wanted");
        assert!(majority(&[&[1], &[1]], None).wavering.is_empty());
    }

    /// The highest count that a vote can have.
    #[test]
    fn ninety_nine_reads_count_right() {
        let (ones, zeros) = ([0xFFu8; 300], [0u8; 300]);
        let mut reads: Vec<&[u8]> = vec![&ones; 50];
        reads.resize(99, &zeros);
        assert_eq!(majority(&reads, None).image, [0xFF; 300]);
        reads[0] = &zeros;
        assert_eq!(majority(&reads, None).image, [0; 300]);
    }
}

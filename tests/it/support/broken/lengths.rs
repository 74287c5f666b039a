//! Reads and files that are longer or shorter than what was wanted.

use super::chance::Chance;

/// What a bus that nothing drives reads as.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum OpenBus {
    /// The low byte of the address.
    Low,
    /// The next byte of it.
    High,
    /// What was on it last.
    Last,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Length {
    /// Only the first bytes.
    Cut(usize),
    /// Filled up to this length.
    Padded { with: u8, to: usize },
    /// So many bytes of a file's own in front of the image.
    Header { length: usize, seed: u64 },
    /// The image comes so many times, as a chip in a larger socket.
    Repeats(usize),
    /// Read up to this length, beyond the chip's end.
    OverRead { to: usize, bus: OpenBus },
    /// Lane `lane` of `of`.
    Lane { lane: usize, of: usize },
    /// Part `part` of `of`.
    Part { part: usize, of: usize },
}

impl Length {
    /// What is read when `image` was meant.
    pub fn read(self, image: &[u8]) -> Vec<u8> {
        let size = image.len();
        let mut read = image.to_vec();
        match self {
            Length::Cut(at) => read.truncate(at),
            Length::Padded { with, to } => read.resize(to, with),
            Length::Header { length, seed } => read = [header(length, seed), read].concat(),
            Length::Repeats(times) => read = image.repeat(times),
            Length::OverRead { to, bus } => {
                for address in size..to {
                    read.push(match bus {
                        OpenBus::Low => address as u8,
                        OpenBus::High => (address >> 8) as u8,
                        OpenBus::Last => image[size - 1],
                    });
                }
            }
            Length::Lane { lane, of } => {
                read = image.iter().copied().skip(lane).step_by(of).collect()
            }
            Length::Part { part, of } => {
                let length = size / of;
                read = image[part * length..(part + 1) * length].to_vec();
            }
        }
        read
    }
}

/// A few words and numbers, then zeros: as file formats of any make have it.
fn header(length: usize, seed: u64) -> Vec<u8> {
    let chance = &mut Chance(seed);
    let mut header = vec![0; length];
    let used = (length / 4).max(2).min(length);
    for byte in &mut header[..used] {
        *byte = chance.next() as u8;
    }
    if length >= 16 {
        header[..4].copy_from_slice(b"HERN");
    }
    header
}

//! Slips of the hand: the wrong file, the wrong kind of file, the wrong kind of chip.

#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Mistake {
    /// The text of Intel HEX records burned as it is, so many bytes a record; what has no room is lost where `cut`.
    IntelHexText {
        per_record: usize,
        cut: bool,
    },
    /// The same with S-records.
    SRecordText {
        per_record: usize,
        cut: bool,
    },
    /// The unlock bytes before each byte are stored by a chip that doesn't know them, and whose cells take a later value.
    Unlock,
    /// Bytes of each group of so many in reverse.
    Reversed(usize),
    BitsReversed,
    Inverted,
}

impl Mistake {
    /// What is read when `image` was meant.
    pub fn read(self, image: &[u8], wide: bool) -> Vec<u8> {
        let size = image.len();
        let keep = |mut text: Vec<u8>, cut: bool| {
            if cut {
                text.resize(size, 0xFF);
            }
            text
        };
        match self {
            Mistake::IntelHexText { per_record, cut } => keep(intel_hex(image, per_record), cut),
            Mistake::SRecordText { per_record, cut } => keep(s_record(image, per_record), cut),
            Mistake::Unlock => {
                // AA to 5555, 55 to 2AAA, A0 to 5555 before each byte: JEDEC's commands, common practice.
                let mut chip = vec![0xFF; size];
                for (address, &byte) in image.iter().enumerate() {
                    chip[0x5555 % size] = 0xAA;
                    chip[0x2AAA % size] = 0x55;
                    chip[0x5555 % size] = 0xA0;
                    chip[address] = byte;
                }
                chip
            }
            Mistake::Reversed(of) => {
                let groups = image.chunks_exact(of);
                groups
                    .flat_map(|group| group.iter().rev().copied())
                    .collect()
            }
            Mistake::BitsReversed if wide => image
                .chunks_exact(2)
                .flat_map(|word| [word[1].reverse_bits(), word[0].reverse_bits()])
                .collect(),
            Mistake::BitsReversed => image.iter().map(|byte| byte.reverse_bits()).collect(),
            Mistake::Inverted => image.iter().map(|byte| !byte).collect(),
        }
    }
}

fn intel_hex(image: &[u8], per_record: usize) -> Vec<u8> {
    let mut text = String::new();
    let mut record = |kind: u8, address: usize, data: &[u8]| {
        let mut bytes = vec![data.len() as u8, (address >> 8) as u8, address as u8, kind];
        bytes.extend(data);
        let sum = bytes.iter().fold(0u8, |sum, byte| sum.wrapping_sub(*byte));
        bytes.push(sum);
        let digits: String = bytes.iter().map(|byte| format!("{byte:02X}")).collect();
        text += &format!(":{digits}\r\n");
    };
    for (n, data) in image.chunks(per_record).enumerate() {
        let address = n * per_record;
        if address % 0x1_0000 == 0 && address > 0 {
            record(4, 0, &((address >> 16) as u16).to_be_bytes());
        }
        record(0, address % 0x1_0000, data);
    }
    record(1, 0, &[]);
    text.into_bytes()
}

fn s_record(image: &[u8], per_record: usize) -> Vec<u8> {
    let mut text = String::new();
    let mut record = |kind: char, address: &[u8], data: &[u8]| {
        let mut bytes = vec![(address.len() + data.len() + 1) as u8];
        bytes.extend(address);
        bytes.extend(data);
        bytes.push(!bytes.iter().fold(0u8, |sum, byte| sum.wrapping_add(*byte)));
        let digits: String = bytes.iter().map(|byte| format!("{byte:02X}")).collect();
        text += &format!("S{kind}{digits}\n");
    };
    record('0', &[0, 0], b"heron");
    for (n, data) in image.chunks(per_record).enumerate() {
        let address = ((n * per_record) as u32).to_be_bytes();
        record('2', &address[1..], data);
    }
    record('8', &[0, 0, 0], &[]);
    text.into_bytes()
}

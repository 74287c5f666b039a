//! A bench of broken chips: it burns and reads images the way a faulty socket, chip or transfer
//! would, cell by cell, straight from what each fault means.
//!
//! It shares no code with the crate: what the diagnosis calls a fault is judged by what this
//! bench makes of it. Common practice throughout: an erased cell reads ones, burning ascends
//! through the addresses.

/// What a cell does when it is written a second time.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Cells {
    /// As in an EEPROM: the later value replaces the earlier.
    Overwrites,
    /// As in an EPROM: bits only go from 1 to 0.
    OnlyClears,
}

/// When the fault was there.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Phase {
    /// Burnt well, read through the fault.
    Reading,
    /// Burnt through the fault, read well.
    Burning(Cells),
    /// Burnt and read through the fault.
    Both(Cells),
}

/// What is wrong with one line or two, of the address or of the data.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Kind {
    /// Always 0.
    Low(usize),
    /// Always 1.
    High(usize),
    /// The other level than meant.
    Inverted(usize),
    /// Each carries the other's level.
    Swapped(usize, usize),
    /// Joined, a 0 wins.
    WiredAnd(usize, usize),
    /// Joined, a 1 wins.
    WiredOr(usize, usize),
    /// Joined, the first line's driver wins.
    Driven(usize, usize),
}

impl Kind {
    /// Every fault of every kind on `lines` lines.
    pub fn all(lines: usize) -> Vec<Kind> {
        let mut all = Vec::new();
        for i in 0..lines {
            all.extend([Kind::Low(i), Kind::High(i), Kind::Inverted(i)]);
            for j in i + 1..lines {
                all.extend([
                    Kind::Swapped(i, j),
                    Kind::WiredAnd(i, j),
                    Kind::WiredOr(i, j),
                    Kind::Driven(i, j),
                    Kind::Driven(j, i),
                ]);
            }
        }
        all
    }

    /// The levels behind the fault, when `levels` stand before it; bit i is line i.
    pub fn through(self, levels: usize) -> usize {
        let level = |line: usize| levels >> line & 1;
        let with = |levels: usize, line: usize, level: usize| {
            if level == 1 {
                levels | 1 << line
            } else {
                levels & !(1 << line)
            }
        };
        let both = |i: usize, j: usize, level: usize| with(with(levels, i, level), j, level);
        match self {
            Kind::Low(i) => with(levels, i, 0),
            Kind::High(i) => with(levels, i, 1),
            Kind::Inverted(i) => with(levels, i, 1 - level(i)),
            Kind::Swapped(i, j) => with(with(levels, i, level(j)), j, level(i)),
            Kind::WiredAnd(i, j) => both(i, j, level(i) & level(j)),
            Kind::WiredOr(i, j) => both(i, j, level(i) | level(j)),
            Kind::Driven(winner, loser) => with(levels, loser, level(winner)),
        }
    }

    /// Whether it only moves levels about, so that burning and reading through it cancel.
    pub fn cancels(self) -> bool {
        matches!(self, Kind::Inverted(_) | Kind::Swapped(..))
    }
}

/// Faults of the lines, one behind the other as seen from the programmer.
#[derive(Clone, Debug, PartialEq, Eq, Hash)]
pub struct Lines {
    pub address: Vec<Kind>,
    pub phase: Phase,
    pub data: Vec<Kind>,
}

impl Lines {
    /// What is read when `image` was meant.
    pub fn read(&self, image: &[u8]) -> Vec<u8> {
        let at = |address: usize| self.address.iter().fold(address, |a, kind| kind.through(a));
        let none = |address: usize| address;
        let read = match self.phase {
            Phase::Reading => read_out(image, at),
            Phase::Burning(cells) => read_out(&burn(image, cells, at), none),
            Phase::Both(cells) => read_out(&burn(image, cells, at), at),
        };
        let data = |byte: u8| {
            let levels = usize::from(byte);
            self.data.iter().fold(levels, |d, kind| kind.through(d)) as u8
        };
        read.into_iter().map(data).collect()
    }
}

fn burn(image: &[u8], cells: Cells, at: impl Fn(usize) -> usize) -> Vec<u8> {
    let mut chip = vec![0xFF; image.len()];
    for (address, &byte) in image.iter().enumerate() {
        let cell = &mut chip[at(address)];
        *cell = match cells {
            Cells::Overwrites => byte,
            Cells::OnlyClears => *cell & byte,
        };
    }
    chip
}

fn read_out(chip: &[u8], at: impl Fn(usize) -> usize) -> Vec<u8> {
    (0..chip.len()).map(|address| chip[at(address)]).collect()
}

/// One fault, of lines or of something else.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Fault {
    Address(Kind, Phase),
    Data(Kind),
    /// The chip has fewer address lines than the socket, and what it was burnt with in it.
    Smaller(usize, Held),
    /// The bytes of each word of so many bytes in reverse.
    Lanes(usize),
    /// Two banks of this size stand in each other's place.
    Banks(usize, usize, usize),
    BitsReversed,
    AllInverted,
    /// Moved up by so many bytes; what leaves at one end comes in at the other.
    Rotated(isize),
    /// Moved up by so many bytes, erased bytes come in.
    Moved(isize),
    Blank,
    Zeros,
    /// Nothing burnt from this address up.
    Stopped(usize),
    /// In each page of the size only the first bytes were written.
    PageCut(usize, usize),
    /// A programmer that sends this many bytes (second) to a chip whose page is smaller (first):
    /// the page buffer's address wraps, then the page that the first byte named is written.
    WrappedIntoFirst(usize, usize),
    /// The same in a chip that takes the page from the last byte.
    WrappedIntoLast(usize, usize),
    /// Read as its 24-pin cousin: the reader's A11 drives a select of the chip that wants the
    /// first level, and the chip's A11 stays at the second.
    Cousin(bool, bool),
    Transfer(Damage),
}

/// What a chip smaller than its socket holds of the image.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Held {
    /// The first part, burnt elsewhere.
    First,
    /// Burnt in this socket, later writes win.
    Last,
    /// Burnt in this socket, bits only clear.
    All,
}

/// What a transfer did to the bytes.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Damage {
    Bit7,
    LfToCrLf,
    CrLfToLf,
    FlowControl,
    /// Bytes from 80 up, each by itself, became the three bytes of U+FFFD.
    NotAscii,
    /// What is no UTF-8 became U+FFFD.
    NotUtf8,
    /// 1A behind the last byte that is not erased, up to a multiple of 128.
    Tail1A,
    /// Nothing from the first 1A on.
    EndAt1A,
}

impl Damage {
    pub const ALL: [Damage; 8] = [
        Damage::Bit7,
        Damage::LfToCrLf,
        Damage::CrLfToLf,
        Damage::FlowControl,
        Damage::NotAscii,
        Damage::NotUtf8,
        Damage::Tail1A,
        Damage::EndAt1A,
    ];

    /// The bytes that arrive.
    pub fn arrive(self, sent: &[u8]) -> Vec<u8> {
        let mut got = Vec::new();
        match self {
            Damage::Bit7 => got.extend(sent.iter().map(|byte| byte & 0x7F)),
            Damage::LfToCrLf => {
                for &byte in sent {
                    if byte == 0x0A {
                        got.push(0x0D);
                    }
                    got.push(byte);
                }
            }
            Damage::CrLfToLf => {
                for (i, &byte) in sent.iter().enumerate() {
                    if !(byte == 0x0D && sent.get(i + 1) == Some(&0x0A)) {
                        got.push(byte);
                    }
                }
            }
            Damage::FlowControl => {
                got.extend(sent.iter().filter(|&&byte| byte != 0x11 && byte != 0x13));
            }
            Damage::NotAscii => {
                for &byte in sent {
                    if byte < 0x80 {
                        got.push(byte);
                    } else {
                        got.extend([0xEF, 0xBF, 0xBD]);
                    }
                }
            }
            Damage::NotUtf8 => got = String::from_utf8_lossy(sent).into_owned().into_bytes(),
            Damage::Tail1A => {
                let used = sent.iter().rposition(|&b| b != 0xFF).map_or(0, |at| at + 1);
                let end = used.div_ceil(128) * 128;
                got.extend(&sent[..used]);
                got.resize(end, 0x1A);
                got.extend(sent.get(end..).unwrap_or_default());
            }
            Damage::EndAt1A => got.extend(sent.iter().take_while(|&&byte| byte != 0x1A)),
        }
        got
    }
}

impl Fault {
    /// Every fault without a free measure, for a chip of so many address lines.
    pub fn all(lines: usize) -> Vec<Fault> {
        use Cells::{OnlyClears, Overwrites};
        let mut all: Vec<Fault> = Damage::ALL.map(Fault::Transfer).to_vec();
        all.extend(Kind::all(8).into_iter().map(Fault::Data));
        for kind in Kind::all(lines) {
            all.push(Fault::Address(kind, Phase::Reading));
            if !kind.cancels() {
                all.extend(
                    [
                        Phase::Burning(Overwrites),
                        Phase::Burning(OnlyClears),
                        Phase::Both(Overwrites),
                        Phase::Both(OnlyClears),
                    ]
                    .map(|phase| Fault::Address(kind, phase)),
                );
            }
        }
        for fewer in lines.saturating_sub(4)..lines {
            all.extend([Held::First, Held::Last, Held::All].map(|h| Fault::Smaller(fewer, h)));
        }
        all.extend([Fault::Lanes(2), Fault::Lanes(4)]);
        for banks in [2, 4, 8, 16] {
            let size = (1 << lines) / banks;
            for i in 0..banks {
                all.extend((i + 1..banks).map(|j| Fault::Banks(size, i, j)));
            }
        }
        all.extend([
            Fault::BitsReversed,
            Fault::AllInverted,
            Fault::Rotated(1 << (lines - 1)),
            Fault::Blank,
            Fault::Zeros,
        ]);
        for page in [16, 32, 64, 128, 256, 512] {
            for burst in [2 * page, 4 * page, 8 * page] {
                if burst <= 1 << lines {
                    all.push(Fault::WrappedIntoFirst(page, burst));
                    all.push(Fault::WrappedIntoLast(page, burst));
                }
            }
        }
        if lines == 12 {
            for select in [false, true] {
                all.extend([false, true].map(|a11| Fault::Cousin(select, a11)));
            }
        }
        all
    }

    /// Every fault with a free measure. Where the first byte that isn't burnt would have been FF,
    /// the next measure reads the same and stands for both.
    pub fn measured(image: &[u8]) -> Vec<Fault> {
        let size = image.len();
        let mut all = Vec::new();
        for by in 1..size as isize {
            all.extend([Fault::Moved(by), Fault::Moved(-by)]);
            if by < size as isize / 2 {
                all.extend([Fault::Rotated(by), Fault::Rotated(-by)]);
            }
        }
        all.extend(
            (1..size)
                .filter(|&at| image[at] != 0xFF)
                .map(Fault::Stopped),
        );
        for page in [16, 32, 64, 128, 256, 512] {
            if page <= size {
                let written =
                    |kept: &usize| image.iter().skip(*kept).step_by(page).any(|&b| b != 0xFF);
                all.extend(
                    (1..page)
                        .filter(written)
                        .map(|kept| Fault::PageCut(page, kept)),
                );
            }
        }
        all
    }

    /// What is read when `image` was meant. A transfer may change the length; the chip's
    /// size is kept by cutting off or filling with FF.
    pub fn read(self, image: &[u8]) -> Vec<u8> {
        let size = image.len();
        let on_lines = |address: Vec<Kind>, phase: Phase, data: Vec<Kind>| {
            let lines = Lines {
                address,
                phase,
                data,
            };
            lines.read(image)
        };
        match self {
            Fault::Address(kind, phase) => on_lines(vec![kind], phase, vec![]),
            Fault::Data(kind) => on_lines(vec![], Phase::Reading, vec![kind]),
            Fault::Smaller(lines, held) => {
                let chip_size = 1 << lines;
                let mut chip = vec![0xFF; chip_size];
                for (address, &byte) in image.iter().enumerate() {
                    let cell = &mut chip[address % chip_size];
                    match held {
                        Held::First if address >= chip_size => {}
                        Held::First | Held::Last => *cell = byte,
                        Held::All => *cell &= byte,
                    }
                }
                (0..size).map(|address| chip[address % chip_size]).collect()
            }
            Fault::Lanes(word) => {
                let words = image.chunks_exact(word);
                words.flat_map(|word| word.iter().rev().copied()).collect()
            }
            Fault::Banks(bank, i, j) => {
                let mut banks: Vec<&[u8]> = image.chunks_exact(bank).collect();
                banks.swap(i, j);
                banks.concat()
            }
            Fault::BitsReversed => image.iter().map(|byte| byte.reverse_bits()).collect(),
            Fault::AllInverted => image.iter().map(|byte| !byte).collect(),
            Fault::Rotated(by) => (0..size as isize)
                .map(|address| image[(address - by).rem_euclid(size as isize) as usize])
                .collect(),
            Fault::Moved(by) => (0..size as isize)
                .map(|address| {
                    usize::try_from(address - by)
                        .ok()
                        .and_then(|from| image.get(from))
                        .copied()
                        .unwrap_or(0xFF)
                })
                .collect(),
            Fault::Blank => vec![0xFF; size],
            Fault::Zeros => vec![0x00; size],
            Fault::Stopped(at) => {
                let mut read = image[..at].to_vec();
                read.resize(size, 0xFF);
                read
            }
            Fault::PageCut(page, kept) => image
                .iter()
                .enumerate()
                .map(|(address, &byte)| if address % page < kept { byte } else { 0xFF })
                .collect(),
            Fault::WrappedIntoFirst(page, burst) => wrapped(image, page, burst, |start| start),
            Fault::WrappedIntoLast(page, burst) => {
                wrapped(image, page, burst, |start| start + burst - page)
            }
            Fault::Cousin(select, a11) => (0..size)
                .map(|address| {
                    let selected = (address >> 11 & 1 == 1) == select;
                    let cell = address & !(1 << 11) | usize::from(a11) << 11;
                    if selected { image[cell] } else { 0xFF }
                })
                .collect(),
            Fault::Transfer(damage) => {
                let mut read = damage.arrive(image);
                read.resize(size, 0xFF);
                read
            }
        }
    }
}

fn wrapped(image: &[u8], page: usize, burst: usize, into: impl Fn(usize) -> usize) -> Vec<u8> {
    let mut chip = vec![0xFF; image.len()];
    for (n, sent) in image.chunks_exact(burst).enumerate() {
        let mut buffer = vec![0xFF; page];
        for (i, &byte) in sent.iter().enumerate() {
            buffer[i % page] = byte;
        }
        let start = into(n * burst);
        chip[start..start + page].copy_from_slice(&buffer);
    }
    chip
}

/// Chance that can be repeated (the SplitMix64 generator; constants from memory).
pub struct Chance(pub u64);

impl Chance {
    pub fn next(&mut self) -> u64 {
        self.0 = self.0.wrapping_add(0x9E37_79B9_7F4A_7C15);
        let mut z = self.0;
        z = (z ^ z >> 30).wrapping_mul(0xBF58_476D_1CE4_E5B9);
        z = (z ^ z >> 27).wrapping_mul(0x94D0_49BB_1331_11EB);
        z ^ z >> 31
    }

    /// A number below `end`, which is not 0.
    pub fn below(&mut self, end: usize) -> usize {
        (self.next() % end as u64) as usize
    }

    pub fn pick<T: Copy>(&mut self, from: &[T]) -> T {
        from[self.below(from.len())]
    }

    /// True once in so many times.
    pub fn once_in(&mut self, times: usize) -> bool {
        self.below(times) == 0
    }
}

/// So many different bits of the image flipped.
pub fn flip(image: &[u8], bits: usize, chance: &mut Chance) -> Vec<u8> {
    let mut read = image.to_vec();
    let mut places: Vec<usize> = Vec::new();
    while places.len() < bits {
        let place = chance.below(8 * image.len());
        if !places.contains(&place) {
            places.push(place);
            read[place / 8] ^= 1 << (place % 8);
        }
    }
    read
}

/// An address line that floats: at each access the chip takes it as 0 or as 1.
pub fn floating_address(image: &[u8], line: usize, chance: &mut Chance) -> Vec<u8> {
    (0..image.len())
        .map(|address| image[address & !(1 << line) | chance.below(2) << line])
        .collect()
}

/// A data line that floats: at each access the reader takes it as 0 or as 1.
pub fn floating_data(image: &[u8], line: usize, chance: &mut Chance) -> Vec<u8> {
    image
        .iter()
        .map(|byte| byte & !(1 << line) | (chance.below(2) as u8) << line)
        .collect()
}

/// Programmed bits that went back to 1, one in so many.
pub fn leaked(image: &[u8], one_in: usize, chance: &mut Chance) -> Vec<u8> {
    let mut read = image.to_vec();
    for byte in &mut read {
        for line in 0..8 {
            if *byte >> line & 1 == 0 && chance.once_in(one_in) {
                *byte |= 1 << line;
            }
        }
    }
    read
}

/// The chip held `old` when it was burnt, and bits only go to 0.
pub fn not_blank(image: &[u8], old: &[u8]) -> Vec<u8> {
    image.iter().zip(old).map(|(new, old)| new & old).collect()
}

/// Pages that were never written, one in so many, and hold what was there before.
pub fn pages_left(
    image: &[u8],
    old: &[u8],
    page: usize,
    one_in: usize,
    chance: &mut Chance,
) -> Vec<u8> {
    let mut read = image.to_vec();
    for (new, old) in read.chunks_mut(page).zip(old.chunks(page)) {
        if chance.once_in(one_in) {
            new.copy_from_slice(old);
        }
    }
    read
}

/// Taken too early: one byte in so many is still the one before it.
pub fn late(image: &[u8], one_in: usize, chance: &mut Chance) -> Vec<u8> {
    let mut read = image.to_vec();
    for address in 1..image.len() {
        if chance.once_in(one_in) {
            read[address] = image[address - 1];
        }
    }
    read
}

//! Which line of a chip is wired to which line of an image.

use super::{Line, Width, WiringError};

/// How a chip's lines are wired: chip line `i` goes to the image's line `address[i]`, or `data[i]`, and may be inverted
/// too.
///
/// An empty list leaves its lines straight. Lines above a list are straight too. Both lists are always permutations, because
/// only [`new`](Self::new) makes a wiring.
#[derive(Clone, Debug, Default, PartialEq, Eq, Hash)]
pub struct Wiring {
    width: Width,
    address: Vec<u8>,
    data: Vec<u8>,
    address_inverted: u32,
    data_inverted: u16,
}

impl Wiring {
    /// The most address lines that a list can name.
    pub const MOST_ADDRESS_LINES: usize = 32;

    /// The wiring of these lines, none inverted: for each line of the chip from A0 and from D0 up, the image's line it goes
    /// to. With [`Width::Sixteen`] addresses count words, and D0 to D7 are the first byte of each.
    ///
    /// # Errors
    /// [`WiringError`] names the line when a list has more lines than there are, or does not name each of its lines once.
    pub fn new(width: Width, address: Vec<u8>, data: Vec<u8>) -> Result<Self, WiringError> {
        permutation(Line::Address, &address, Self::MOST_ADDRESS_LINES)?;
        permutation(Line::Data, &data, width.lines().into())?;
        Ok(Self {
            width,
            address,
            data,
            address_inverted: 0,
            data_inverted: 0,
        })
    }

    /// The same with these lines of the chip inverted, and no others; bit i is line i.
    ///
    /// # Errors
    /// [`WiringError::NoSuchLine`] for a data line that the chip does not have.
    pub fn inverting(self, address: u32, data: u16) -> Result<Self, WiringError> {
        let above = u32::from(data) >> self.width.lines();
        if above > 0 {
            let line = self.width.lines() + above.trailing_zeros() as u8;
            return Err(WiringError::NoSuchLine {
                line: Line::Data(line),
            });
        }
        Ok(Self {
            address_inverted: address,
            data_inverted: data,
            ..self
        })
    }

    /// The chip's width.
    pub fn width(&self) -> Width {
        self.width
    }

    /// For each address line of the chip from A0 up, the image's line it is wired to.
    pub fn address(&self) -> &[u8] {
        &self.address
    }

    /// For each data line of the chip from D0 up, the image's line it is wired to.
    pub fn data(&self) -> &[u8] {
        &self.data
    }

    /// The chip's address lines that are inverted too; bit i is line i.
    pub fn address_inverted(&self) -> u32 {
        self.address_inverted
    }

    /// The chip's data lines that are inverted too; bit i is line i.
    pub fn data_inverted(&self) -> u16 {
        self.data_inverted
    }

    /// The chip's lines that are inverted too, address lines first.
    pub fn inverted(&self) -> impl Iterator<Item = Line> {
        let (address, data) = (self.address_inverted, self.data_inverted);
        let address = (0..32).filter(move |n| address >> n & 1 == 1);
        let data = (0..16).filter(move |n| data >> n & 1 == 1);
        address.map(Line::Address).chain(data.map(Line::Data))
    }

    /// Whether it changes nothing.
    pub fn is_straight(&self) -> bool {
        is_straight(&self.address) && is_straight(&self.data) && self.inverted().next().is_none()
    }

    /// The wiring that undoes this one.
    pub fn inverse(&self) -> Wiring {
        let turn = |list: &[u8]| {
            let mut out = vec![0; list.len()];
            for (i, line) in list.iter().enumerate() {
                if let Some(place) = out.get_mut(usize::from(*line)) {
                    *place = i as u8;
                }
            }
            out
        };
        Wiring {
            width: self.width,
            address: turn(&self.address),
            data: turn(&self.data),
            address_inverted: turned_mask(self.address_inverted, &self.address),
            data_inverted: turned_mask(self.data_inverted.into(), &self.data) as u16,
        }
    }

    /// Adds these lines, which are above the list of address lines, to the list, each wired to itself.
    pub(super) fn list_straight(&mut self, lines: std::ops::Range<u8>) {
        self.address.extend(lines);
    }

    /// What the low byte of each cell puts on the chip's data lines, and what its high byte adds by exclusive-or: chip
    /// line i carries the cell's line `data[i]`, inverted if the wiring says so. For bytes only the first table counts.
    pub(super) fn data_tables(&self) -> [[u16; 256]; 2] {
        let straight = self.data.len() as u8..16;
        let lines: Vec<u8> = self.data.iter().copied().chain(straight).collect();
        let wired = |cell: usize| scatter(cell as u64, &lines) as u16;
        [
            std::array::from_fn(|low| wired(low) ^ self.data_inverted),
            std::array::from_fn(|high| wired(high << 8)),
        ]
    }
}

/// Whether each line is wired to itself.
fn is_straight(list: &[u8]) -> bool {
    (0u8..).zip(list).all(|(i, line)| i == *line)
}

/// Bit `i` of the mask becomes bit `list[i]`; bits above the list stay.
fn turned_mask(mask: u32, list: &[u8]) -> u32 {
    let set = (0..u32::BITS as u8).filter(|line| mask >> line & 1 == 1);
    set.map(|line| list.get(usize::from(line)).copied().unwrap_or(line))
        .fold(0, |turned, line| {
            turned | 1u32.checked_shl(line.into()).unwrap_or(0)
        })
}

/// Bit `list[i]` of `from` becomes bit `i`.
pub(super) fn scatter(from: u64, list: &[u8]) -> u64 {
    let bit = |(i, line): (usize, &u8)| (from >> line & 1) << i;
    list.iter().enumerate().map(bit).sum()
}

fn permutation(line: fn(u8) -> Line, list: &[u8], most: usize) -> Result<(), WiringError> {
    let count = list.len();
    if count > most {
        return Err(WiringError::TooMany { count, most });
    }
    // At most 32 lines, so a line's number fits.
    if let Some(outside) = list.iter().find(|l| usize::from(**l) >= count) {
        return Err(WiringError::Outside {
            line: line(*outside),
            first: line(0),
            last: line(count.saturating_sub(1) as u8),
            count,
        });
    }
    let double = (0..count).find(|i| list[..*i].contains(&list[*i]));
    let missing = (0..count as u8).find(|l| !list.contains(l));
    match (double, missing) {
        (Some(i), Some(missing)) => Err(WiringError::Double {
            double: line(list[i]),
            missing: line(missing),
        }),
        _ => Ok(()),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_list_of_lines_names_each_line_once() {
        let check = |address: &[u8], data: &[u8]| {
            let made = Wiring::new(Width::Eight, address.to_vec(), data.to_vec());
            made.map(|_| ()).map_err(|error| error.to_string())
        };
        let says = |text: &str| Err(text.to_owned());
        assert_eq!(check(&[], &[]), Ok(()));
        assert_eq!(check(&[1, 0, 2], &[7, 6, 5, 4, 3, 2, 1, 0]), Ok(()));
        assert_eq!(
            check(&[2, 0, 2], &[]),
            says("A2 is there twice and A1 is missing")
        );
        assert_eq!(
            check(&[], &[1, 2, 0, 4]),
            says("D4 is outside D0-D3, the lines that a list of 4 names")
        );
        let many: Vec<u8> = (0..9).collect();
        assert_eq!(
            check(&[], &many),
            says("9 lines are too many: there can be at most 8")
        );
        let refused = Wiring::new(Width::Eight, (0..33).collect(), Vec::new());
        assert!(matches!(
            refused,
            Err(WiringError::TooMany { most: 32, .. })
        ));
    }

    #[test]
    fn a_byte_has_no_ninth_data_line() {
        let wiring = Wiring::default();
        let refused = wiring.clone().inverting(0, 0x600);
        let line = Line::Data(9);
        assert_eq!(refused, Err(WiringError::NoSuchLine { line }));
        let words = Wiring::new(Width::Sixteen, Vec::new(), Vec::new());
        let words = words.and_then(|wiring| wiring.inverting(0x8000_0000, 0x8000));
        let inverted: Vec<String> = words.unwrap().inverted().map(|l| l.to_string()).collect();
        assert_eq!(inverted, ["A31", "D15"]);
        assert_eq!(
            format!("{:?}", wiring.inverting(0, 0x100).unwrap_err()),
            "there is no D8"
        );
    }

    #[test]
    fn straight_is_what_changes_nothing() {
        let wiring = |address: &[u8], inverted| {
            let made = Wiring::new(Width::Eight, address.to_vec(), vec![0, 1]);
            made.unwrap().inverting(inverted, 0).unwrap()
        };
        assert!(wiring(&[0, 1, 2], 0).is_straight());
        assert!(!wiring(&[0, 2, 1], 0).is_straight());
        assert!(!wiring(&[], 1).is_straight());
    }
}

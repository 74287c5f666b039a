//! The Kingfisher cartridge: one 27C256 in four banks, and the register that switches them.

const BANK: u16 = 0x7F10;
const SLOT_ON: u8 = 0x80;
const BANK_BITS: u8 = 0x03;
const WINDOW: u16 = 0xA000;
const WINDOW_END: u16 = 0xC000;
const BANK_SIZE: usize = 0x2000;

/// The cartridge, ready for the Heron-8's slot.
pub struct Kingfisher {
    chip: Vec<u8>,
    register: u8,
}

impl Kingfisher {
    /// With `chip`, 32 KiB, in its socket.
    pub fn new(chip: Vec<u8>) -> Self {
        assert_eq!(chip.len(), 0x8000, "a 27C256 holds 32 KiB");
        Kingfisher { chip, register: 0 }
    }

    /// The slot's reset line clears the register.
    pub fn reset(&mut self) {
        self.register = 0;
    }

    /// What the cartridge puts on the bus; `None` where it leaves the bus to the computer.
    ///
    /// While the slot is on, the cartridge keeps the computer's ROM off the bus in its window.
    pub fn read(&self, address: u16) -> Option<u8> {
        match address {
            BANK => Some(self.register),
            WINDOW..WINDOW_END if self.register & SLOT_ON != 0 => {
                // The register's two bits are A13 and A14 of the chip.
                let bank = usize::from(self.register & BANK_BITS);
                Some(self.chip[bank * BANK_SIZE + usize::from(address - WINDOW)])
            }
            _ => None,
        }
    }

    /// A write that the cartridge sees; only the register takes it.
    pub fn write(&mut self, address: u16, byte: u8) {
        if address == BANK {
            self.register = byte & (SLOT_ON | BANK_BITS);
        }
    }
}

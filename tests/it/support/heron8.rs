//! The Heron-8: a 6502 with 32 KiB of RAM (the last page of it I/O), one ROM chip and a slot for a cartridge.

use std::collections::VecDeque;

use w65c02s::{System, W65C02S};

use super::kingfisher::Kingfisher;
use super::{NOTHING_THERE, POWER_ON, as_shown};

const RAM_SIZE: usize = 0x7F00;
const TERM_OUT: u16 = 0x7F00;
const TERM_IN: u16 = 0x7F01;
const TERM_STATUS: u16 = 0x7F02;
const ROM: u16 = 0x8000;
const CHARACTER_WAITS: u8 = 0x80;

/// So many looks at the terminal, with nothing typed and nothing sent between them,
/// mean that the program waits for the keyboard.
const PATIENCE: u32 = 16;

/// How [`Heron8::run`] came to its end.
#[derive(Debug, PartialEq, Eq)]
pub enum End {
    /// The program waits for the keyboard.
    Waits,
    /// The steps are used up.
    StepLimit,
}

/// The computer, with a chip in its socket and the power on.
pub struct Heron8 {
    cpu: W65C02S,
    board: Board,
}

struct Board {
    ram: Vec<u8>,
    rom: Vec<u8>,
    slot: Option<Kingfisher>,
    typed: VecDeque<u8>,
    sent: Vec<u8>,
    looks: u32,
}

impl Heron8 {
    /// Puts `chip`, 32 KiB, into the socket and switches on.
    pub fn new(chip: Vec<u8>) -> Self {
        assert_eq!(chip.len(), 0x8000, "a 27C256 holds 32 KiB");
        Heron8 {
            cpu: W65C02S::new(),
            board: Board {
                ram: vec![POWER_ON; RAM_SIZE],
                rom: chip,
                slot: None,
                typed: VecDeque::new(),
                sent: Vec::new(),
                looks: 0,
            },
        }
    }

    /// With a cartridge in the slot.
    pub fn with_cartridge(mut self, cartridge: Kingfisher) -> Self {
        self.board.slot = Some(cartridge);
        self
    }

    /// Runs until the program waits for the keyboard, for at most `steps` instructions.
    /// Gives what appeared on the terminal meanwhile.
    pub fn run(&mut self, steps: u32) -> (String, End) {
        self.board.looks = 0;
        let mut end = End::StepLimit;
        for _ in 0..steps {
            self.cpu.step(&mut self.board);
            if self.board.looks >= PATIENCE {
                end = End::Waits;
                break;
            }
        }
        (as_shown(&std::mem::take(&mut self.board.sent)), end)
    }

    /// Types `line` and return; nothing runs yet.
    pub fn type_line(&mut self, line: &str) {
        self.board.typed.extend(line.bytes());
        self.board.typed.push_back(b'\r');
    }

    /// Presses the button on the NMI line and lets it go again.
    pub fn press_nmi_button(&mut self) {
        self.cpu.set_nmi(true);
        self.cpu.set_nmi(false);
    }

    /// Pulls the IRQ line low (`true`), as a device that wants attention does, or lets it go.
    pub fn hold_irq_line(&mut self, low: bool) {
        self.cpu.set_irq(low);
    }

    /// Presses the reset button. RAM keeps what it holds.
    pub fn press_reset_button(&mut self) {
        if let Some(cartridge) = &mut self.board.slot {
            cartridge.reset();
        }
        self.cpu.reset();
    }
}

impl System for Board {
    fn read(&mut self, _cpu: &mut W65C02S, address: u16) -> u8 {
        let slot = self.slot.as_ref();
        if let Some(byte) = slot.and_then(|cartridge| cartridge.read(address)) {
            return byte;
        }
        match address {
            TERM_IN => {
                self.looks = 0;
                self.typed.pop_front().unwrap_or(0)
            }
            TERM_STATUS if self.typed.is_empty() => {
                self.looks += 1;
                0
            }
            TERM_STATUS => CHARACTER_WAITS,
            ROM.. => self.rom[usize::from(address - ROM)],
            _ => self
                .ram
                .get(usize::from(address))
                .copied()
                .unwrap_or(NOTHING_THERE),
        }
    }

    fn write(&mut self, _cpu: &mut W65C02S, address: u16, byte: u8) {
        if let Some(cartridge) = &mut self.slot {
            cartridge.write(address, byte);
        }
        if address == TERM_OUT {
            self.looks = 0;
            self.sent.push(byte);
        } else if let Some(cell) = self.ram.get_mut(usize::from(address)) {
            *cell = byte;
        }
    }
}

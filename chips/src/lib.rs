//! The Heron-16: a 68000 with two ROM chips, one on each half of its bus, and 64 KiB of RAM.
//!
//! The processor is a crate that needs a newer Rust than romloom does, so this is a package of its own. What surrounds
//! the processor (RAM, terminal, sockets) is as `samples/README.md` describes it.

use m68k::{AddressBus, CpuCore, CpuType, HleHandler};

/// What RAM holds at power-on, for want of anything better: no zeros, so that a program that relies on them is found out.
const POWER_ON: u8 = 0xA5;
/// What the processor reads where nothing answers.
const NOTHING_THERE: u8 = 0xFF;
const ROM_SIZE: u32 = 0x1_0000;
const RAM: u32 = 0x10_0000;
const RAM_SIZE: u32 = 0x1_0000;
const TERM_OUT: u32 = 0xF0_0001;
const TERM_STATUS: u32 = 0xF0_0003;
/// A 68000 has 24 address lines; what is above them reaches no chip.
const ADDRESS_LINES: u32 = 0xFF_FFFF;

/// How [`Heron16::run`] came to its end.
#[derive(Debug, PartialEq, Eq)]
pub enum End {
    /// A STOP instruction.
    Stopped,
    /// The processor gave up: a fault while it dealt with a fault.
    Halted,
    /// The steps are used up.
    StepLimit,
}

/// The computer, with its chips in their sockets and the power on.
pub struct Heron16 {
    cpu: CpuCore,
    board: Board,
}

struct Board {
    /// In the socket whose data pins go to D8-D15.
    upper: Vec<u8>,
    /// In the socket whose data pins go to D0-D7.
    lower: Vec<u8>,
    ram: Vec<u8>,
    /// The address lines that reach the RAM.
    ram_lines: u32,
    sent: Vec<u8>,
}

/// No trap is handled outside: the processor takes all its exceptions itself.
struct NoHandler;

impl HleHandler for NoHandler {}

impl Heron16 {
    /// Puts a chip of 32 KiB into each socket, the first into the one on D8-D15, and
    /// switches on.
    pub fn new(upper: Vec<u8>, lower: Vec<u8>) -> Self {
        assert_eq!(upper.len(), 0x8000, "a 27C256 holds 32 KiB");
        assert_eq!(lower.len(), 0x8000, "a 27C256 holds 32 KiB");
        let mut board = Board {
            upper,
            lower,
            ram: vec![POWER_ON; RAM_SIZE as usize],
            ram_lines: RAM_SIZE - 1,
            sent: Vec::new(),
        };
        let mut cpu = CpuCore::new();
        cpu.set_cpu_type(CpuType::M68000);
        cpu.reset(&mut board);
        Heron16 { cpu, board }
    }

    /// Cuts the RAM's address line `line` (0 to 15): the RAM always sees it low.
    pub fn with_dead_ram_line(mut self, line: u32) -> Self {
        self.board.ram_lines &= !(1 << line);
        self
    }

    /// Runs until the processor stops, for at most `steps` instructions. Gives what
    /// appeared on the terminal.
    pub fn run(&mut self, steps: u32) -> (String, End) {
        let mut end = End::StepLimit;
        for _ in 0..steps {
            if self.cpu.is_halted() {
                end = End::Halted;
                break;
            }
            if self.cpu.is_stopped() {
                end = End::Stopped;
                break;
            }
            self.cpu
                .step_with_hle_handler(&mut self.board, &mut NoHandler);
        }
        let sent = std::mem::take(&mut self.board.sent);
        (String::from_utf8_lossy(&sent).replace('\r', ""), end)
    }
}

impl Board {
    /// The RAM cell that answers at `address`, if one does.
    fn ram_cell(&mut self, address: u32) -> Option<&mut u8> {
        let in_ram = address.checked_sub(RAM).filter(|&at| at < RAM_SIZE)?;
        self.ram.get_mut((in_ram & self.ram_lines) as usize)
    }
}

impl AddressBus for Board {
    fn read_byte(&mut self, address: u32) -> u8 {
        let address = address & ADDRESS_LINES;
        // A0 isn't a line of a 68000's bus: it picks the half. The chips see A1 and up.
        let in_chip = (address >> 1) as usize;
        match address {
            _ if address < ROM_SIZE && address.is_multiple_of(2) => self.upper[in_chip],
            _ if address < ROM_SIZE => self.lower[in_chip],
            TERM_STATUS => 0,
            _ => match self.ram_cell(address) {
                Some(cell) => *cell,
                None => NOTHING_THERE,
            },
        }
    }

    fn read_word(&mut self, address: u32) -> u16 {
        u16::from_be_bytes([
            self.read_byte(address),
            self.read_byte(address.wrapping_add(1)),
        ])
    }

    fn read_long(&mut self, address: u32) -> u32 {
        u32::from(self.read_word(address)) << 16
            | u32::from(self.read_word(address.wrapping_add(2)))
    }

    fn write_byte(&mut self, address: u32, byte: u8) {
        let address = address & ADDRESS_LINES;
        if address == TERM_OUT {
            self.sent.push(byte);
        } else if let Some(cell) = self.ram_cell(address) {
            *cell = byte;
        }
    }

    fn write_word(&mut self, address: u32, word: u16) {
        let [high, low] = word.to_be_bytes();
        self.write_byte(address, high);
        self.write_byte(address.wrapping_add(1), low);
    }

    fn write_long(&mut self, address: u32, long: u32) {
        self.write_word(address, (long >> 16) as u16);
        self.write_word(address.wrapping_add(2), long as u16);
    }
}

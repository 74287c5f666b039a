//! The Heron-16/G: three unlike kinds of ROM chips on the bus of a 68000, an overlay at 0, circuits in the middle of a
//! chip's range, and a chip that only the picture circuit sees.
//!
//! The chips are laid out by the sample's recipe and board file. The buses here know nothing of them: they are written from the
//! memory map in `samples/heron-16g/heron16g.inc`, pin by pin.

#![allow(clippy::unwrap_used)] // a test that meets the unexpected shall stop

use std::fs;
use std::path::Path;
use std::sync::LazyLock;

use m68k::{AddressBus, CpuCore, CpuType, HleHandler};
use tempfile::TempDir;

/// Instructions within which the monitor is done, many times over.
const STEP_LIMIT: u32 = 2_000_000;
const COLUMNS: usize = 10;

/// What is in the sockets, what is in the RAM, and what came out.
struct Machine {
    /// 16 bits wide: word n is bytes 2n (D0-D7) and 2n + 1 (D8-D15).
    u1: Vec<u8>,
    u2: Vec<u8>,
    u3: Vec<u8>,
    u4: Vec<u8>,
    u9: Vec<u8>,
    ram: Vec<u8>,
    cells: [u8; 2 * COLUMNS],
    shows: bool,
    sent: Vec<u8>,
}

struct NoHandler;

impl HleHandler for NoHandler {}

impl Machine {
    /// The ten letters of a row as the picture circuit draws them: it takes the code of each cell and asks its own chip
    /// for the eight dots of a line.
    fn picture(&self, row: usize) -> Vec<String> {
        let cells = &self.cells[row * COLUMNS..][..COLUMNS];
        let line = |line: usize| {
            let dots = cells.iter().flat_map(|code| {
                let dots = self.u9[usize::from(*code) * 8 + line];
                (0..8).map(move |dot| if dots & 0x80 >> dot != 0 { '#' } else { ' ' })
            });
            dots.collect::<String>().trim_end().to_owned()
        };
        (0..8).map(line).collect()
    }

    /// From reset to the STOP; gives what the terminal shows.
    fn run(&mut self) -> String {
        let mut cpu = CpuCore::new();
        cpu.set_cpu_type(CpuType::M68000);
        cpu.reset(self);
        let mut steps = 0;
        while !cpu.is_stopped() && !cpu.is_halted() && steps < STEP_LIMIT {
            cpu.step_with_hle_handler(self, &mut NoHandler);
            steps += 1;
        }
        String::from_utf8_lossy(&self.sent).replace('\r', "")
    }
}

impl AddressBus for Machine {
    fn read_byte(&mut self, address: u32) -> u8 {
        let address = address & 0xFF_FFFF;
        // The chips see the lines from A1 up; an even address is on D8-D15.
        let word = address as usize >> 1;
        let odd = address & 1 == 1;
        match address {
            0x000000..=0x000007 | 0xF80000..=0xF9FEFF => {
                let word = word & 0xFFFF;
                self.u1[2 * word + usize::from(!odd)]
            }
            0x000008..=0x00FFFF => self.ram[address as usize],
            0xE00000..=0xE03FFF if odd => self.u4[word & 0x1FFF],
            0xF40000..=0xF47FFF if odd => self.u3[word & 0x3FFF],
            0xF40000..=0xF47FFF => self.u2[word & 0x3FFF],
            0xF9FF03 => 0,
            _ => 0xFF,
        }
    }

    fn write_byte(&mut self, address: u32, byte: u8) {
        let address = address & 0xFF_FFFF;
        match address {
            0x000008..=0x00FFFF => self.ram[address as usize] = byte,
            0xA00000..=0xA00013 => self.cells[address as usize - 0xA00000] = byte,
            0xF9FF01 => self.sent.push(byte),
            0xF9FF05 => self.shows = byte & 1 == 1,
            _ => {}
        }
    }

    fn read_word(&mut self, address: u32) -> u16 {
        u16::from_be_bytes([self.read_byte(address), self.read_byte(address + 1)])
    }

    fn read_long(&mut self, address: u32) -> u32 {
        u32::from(self.read_word(address)) << 16 | u32::from(self.read_word(address + 2))
    }

    fn write_word(&mut self, address: u32, word: u16) {
        let [high, low] = word.to_be_bytes();
        self.write_byte(address, high);
        self.write_byte(address + 1, low);
    }

    fn write_long(&mut self, address: u32, long: u32) {
        self.write_word(address, (long >> 16) as u16);
        self.write_word(address + 2, long as u16);
    }
}

/// The finished chips, as their recipe makes them: U1 to U4 and U9.
fn chips() -> [Vec<u8>; 5] {
    static CHIPS: LazyLock<[Vec<u8>; 5]> = LazyLock::new(|| {
        let sample = Path::new(env!("CARGO_MANIFEST_DIR")).join("../samples/heron-16g");
        let folder = TempDir::new().unwrap();
        for file in [
            "board.loom",
            "heron-16g.board",
            "monitor.s19",
            "draw.s19",
            "font.s19",
            "settings.bin",
        ] {
            fs::copy(sample.join(file), folder.path().join(file)).unwrap();
        }
        let recipe = folder.path().join("board.loom");
        romloom::cli::main(["romloom".into(), "run".into(), recipe.into_os_string()]);
        ["U1", "U2", "U3", "U4", "U9"].map(|name| {
            let file = format!("out/heron-16g-{name}.bin");
            fs::read(folder.path().join(file)).unwrap()
        })
    });
    CHIPS.clone()
}

/// The chips in these sockets, power on.
fn machine([u1, u2, u3, u4, u9]: [Vec<u8>; 5]) -> Machine {
    let sizes = [&u1, &u2, &u3, &u4, &u9].map(|chip| chip.len());
    assert_eq!(sizes, [0x20000, 0x4000, 0x4000, 0x2000, 0x800]);
    Machine {
        u1,
        u2,
        u3,
        u4,
        u9,
        ram: vec![0xA5; 0x10000],
        cells: [0xA5; 2 * COLUMNS],
        shows: false,
        sent: Vec::new(),
    }
}

#[test]
fn heron16g_starts_through_its_overlay_and_draws_with_letters_from_the_second_bus() {
    let chips = chips();
    // The stamp is word 0xFF7F of the chip.
    let stamp = u16::from_le_bytes([chips[0][0x1FEFE], chips[0][0x1FEFF]]);
    let mut machine = machine(chips);
    assert_eq!(
        machine.run(),
        format!("\nHERON 16/G\nMONITOR CHIP GOOD {stamp:04X}\nPICTURE DRAWN\n")
    );
    assert!(machine.shows);
    let name = [
        " #   #   #####   ####     ###    #   #             #       ##        #    ###",
        " #   #   #       #   #   #   #   ##  #            ##      #          #   #   #",
        " #   #   #       #   #   #   #   ##  #             #     #          #    #",
        " #####   ####    ####    #   #   # # #             #     ####      #     # ###",
        " #   #   #       # #     #   #   #  ##             #     #   #    #      #   #",
        " #   #   #       #  #    #   #   #  ##             #     #   #   #       #   #",
        " #   #   #####   #   #    ###    #   #            ###     ###    #        ###",
        "",
    ];
    assert_eq!(machine.picture(0), name);
    let setting = [
        " #   #    ###             ###    #####   #####    ####   #####",
        " ##  #   #   #           #   #   #       #       #       #",
        " ##  #   #   #           #       #       #       #       #",
        " # # #   #   #           # ###   ####    ####     ###    ####",
        " #  ##   #   #           #   #   #       #           #   #",
        " #  ##   #   #           #   #   #       #           #   #",
        " #   #    ###             ###    #####   #####   ####    #####",
        "",
    ];
    assert_eq!(machine.picture(1), setting);
}

#[test]
fn heron16g_without_the_right_chips_does_not_get_so_far() {
    // The bytes of U1 the other way round: not even the reset vectors make sense.
    let mut turned = chips();
    turned[0]
        .chunks_exact_mut(2)
        .for_each(|word| word.swap(0, 1));
    assert!(!machine(turned).run().contains("HERON"));
    // The pair in each other's sockets: the monitor says its name, and nothing is drawn.
    let [u1, u2, u3, u4, u9] = chips();
    let shown = machine([u1, u3, u2, u4, u9]).run();
    assert!(shown.starts_with("\nHERON 16/G\n"), "{shown}");
    assert!(!shown.contains("DRAWN"), "{shown}");
    // A byte of U1 that no program would notice has changed.
    let mut leaked = chips();
    leaked[0][0x12345] ^= 0x10;
    let shown = machine(leaked).run();
    assert!(shown.contains("MONITOR CHIP CHANGED "), "{shown}");
}

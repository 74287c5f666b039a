//! The 6502: variables in page zero, devices at 7F00. Opcodes from memory.

use super::processor::{Act, Code, Gap, Processor, Variable};

pub struct M6502;

/// Loops count here, one place for each depth.
const COUNTERS: u8 = 0x10;

fn zero_page(variable: Variable) -> u8 {
    0x20 + variable
}

fn device(number: u8) -> usize {
    0x7F00 + usize::from(number)
}

impl Processor for M6502 {
    fn act(&self, code: &mut Code, act: Act) {
        let z = zero_page;
        match act {
            Act::Set(v, value) => code.put(&[0xA9, value, 0x85, z(v)]), // LDA #, STA
            Act::Copy(from, to) => code.put(&[0xA5, z(from), 0x85, z(to)]),
            Act::Add(v, other) => code.put(&[0x18, 0xA5, z(v), 0x65, z(other), 0x85, z(v)]), // CLC, LDA, ADC, STA
            Act::AddNumber(v, n) => code.put(&[0x18, 0xA5, z(v), 0x69, n, 0x85, z(v)]),
            Act::Increment(v) => code.put(&[0xE6, z(v)]), // INC
            Act::Mask(v, mask) => code.put(&[0xA5, z(v), 0x29, mask, 0x85, z(v)]), // AND #
            Act::Double(v) => code.put(&[0x06, z(v)]),    // ASL
            Act::Fetch(table, index, into) => {
                code.put(&[0xA6, z(index)]); // LDX
                code.low_first(0xBD, table); // LDA table,X
                code.put(&[0x85, z(into)]);
            }
            Act::Send(v, to) => {
                code.put(&[0xA5, z(v)]);
                code.low_first(0x8D, device(to)); // STA
            }
            Act::Take(from, v) => {
                code.low_first(0xAD, device(from)); // LDA
                code.put(&[0x85, z(v)]);
            }
            Act::Say(text, print) => {
                code.put(&[0xA9, text as u8, 0xA0, (text >> 8) as u8]); // LDA #, LDY #
                code.low_first(0x20, print);
            }
            Act::Call(routine) => code.low_first(0x20, routine), // JSR
        }
    }

    fn unless(&self, code: &mut Code, variable: Variable, value: u8, far: bool) -> Gap {
        code.put(&[0xA5, zero_page(variable), 0xC9, value]); // LDA, CMP #
        match far {
            true => {
                code.put(&[0xF0, 3]); // BEQ over the jump
                self.jump(code, true)
            }
            false => {
                code.put(&[0xD0, 0]); // BNE
                let at = code.bytes.len() - 1;
                Gap { at, far }
            }
        }
    }

    fn jump(&self, code: &mut Code, far: bool) -> Gap {
        match far {
            true => code.low_first(0x4C, 0),     // JMP
            false => code.put(&[0x18, 0x90, 0]), // CLC, BCC
        }
        let at = code.bytes.len() - if far { 2 } else { 1 };
        Gap { at, far }
    }

    fn land(&self, code: &mut Code, gap: Gap) {
        match gap.far {
            true => {
                let target = code.here();
                code.bytes[gap.at] = target as u8;
                code.bytes[gap.at + 1] = (target >> 8) as u8;
            }
            false => code.bytes[gap.at] = code.distance(gap.at),
        }
    }

    fn rounds(&self, code: &mut Code, depth: usize, times: u8) -> usize {
        code.put(&[0xA9, times, 0x85, COUNTERS + depth as u8]);
        code.here()
    }

    fn again(&self, code: &mut Code, depth: usize, body: usize) {
        code.put(&[0xC6, COUNTERS + depth as u8]); // DEC
        let back = code.here() + 2 - body;
        match back <= 0x80 {
            true => code.put(&[0xD0, back.wrapping_neg() as u8]),
            false => {
                code.put(&[0xF0, 3]);
                code.low_first(0x4C, body);
            }
        }
    }

    fn enter(&self, code: &mut Code, keeps: bool) -> usize {
        let at = code.here();
        if keeps {
            code.put(&[0x48, 0x8A, 0x48]); // PHA, TXA, PHA
        }
        at
    }

    fn leave(&self, code: &mut Code, keeps: bool) {
        if keeps {
            code.put(&[0x68, 0xAA, 0x68]); // PLA, TAX, PLA
        }
        code.put(&[0x60]); // RTS
    }

    fn pointers(&self, addresses: &[usize]) -> Vec<u8> {
        (addresses.iter())
            .flat_map(|address| (*address as u16).to_le_bytes())
            .collect()
    }
}

//! The Z80: variables from C000 up, devices on ports. Opcodes from memory.

use super::processor::{Act, Code, Gap, Processor, Variable};

pub struct Z80;

fn ram(variable: Variable) -> usize {
    0xC000 + 2 * usize::from(variable)
}

impl Z80 {
    /// LD A,(nn)
    fn load(&self, code: &mut Code, variable: Variable) {
        code.low_first(0x3A, ram(variable));
    }

    /// LD (nn),A
    fn store(&self, code: &mut Code, variable: Variable) {
        code.low_first(0x32, ram(variable));
    }

    /// LD HL,nn
    fn point(&self, code: &mut Code, address: usize) {
        code.low_first(0x21, address);
    }
}

impl Processor for Z80 {
    fn act(&self, code: &mut Code, act: Act) {
        match act {
            Act::Set(v, value) => {
                code.put(&[0x3E, value]); // LD A,n
                self.store(code, v);
            }
            Act::Copy(from, to) => {
                self.load(code, from);
                self.store(code, to);
            }
            Act::Add(v, other) => {
                self.point(code, ram(other));
                self.load(code, v);
                code.put(&[0x86]); // ADD A,(HL)
                self.store(code, v);
            }
            Act::AddNumber(v, n) => {
                self.load(code, v);
                code.put(&[0xC6, n]); // ADD A,n
                self.store(code, v);
            }
            Act::Increment(v) => {
                self.point(code, ram(v));
                code.put(&[0x34]); // INC (HL)
            }
            Act::Mask(v, mask) => {
                self.load(code, v);
                code.put(&[0xE6, mask]); // AND n
                self.store(code, v);
            }
            Act::Double(v) => {
                self.point(code, ram(v));
                code.put(&[0xCB, 0x26]); // SLA (HL)
            }
            Act::Fetch(table, index, into) => {
                self.load(code, index);
                code.put(&[0x5F, 0x16, 0x00]); // LD E,A, LD D,0
                self.point(code, table);
                code.put(&[0x19, 0x7E]); // ADD HL,DE, LD A,(HL)
                self.store(code, into);
            }
            Act::Send(v, to) => {
                self.load(code, v);
                code.put(&[0xD3, to]); // OUT (n),A
            }
            Act::Take(from, v) => {
                code.put(&[0xDB, from]); // IN A,(n)
                self.store(code, v);
            }
            Act::Say(text, print) => {
                self.point(code, text);
                code.low_first(0xCD, print);
            }
            Act::Call(routine) => code.low_first(0xCD, routine), // CALL
        }
    }

    fn unless(&self, code: &mut Code, variable: Variable, value: u8, far: bool) -> Gap {
        self.load(code, variable);
        code.put(&[0xFE, value]); // CP n
        match far {
            true => code.low_first(0xC2, 0), // JP NZ
            false => code.put(&[0x20, 0]),   // JR NZ
        }
        let at = code.bytes.len() - if far { 2 } else { 1 };
        Gap { at, far }
    }

    fn jump(&self, code: &mut Code, far: bool) -> Gap {
        match far {
            true => code.low_first(0xC3, 0), // JP
            false => code.put(&[0x18, 0]),   // JR
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

    fn rounds(&self, code: &mut Code, _depth: usize, times: u8) -> usize {
        code.put(&[0x06, times]); // LD B,n
        let body = code.here();
        code.put(&[0xC5]); // PUSH BC
        body
    }

    fn again(&self, code: &mut Code, _depth: usize, body: usize) {
        code.put(&[0xC1]); // POP BC
        let back = code.here() + 2 - body;
        match back <= 0x80 {
            true => code.put(&[0x10, back.wrapping_neg() as u8]), // DJNZ
            false => {
                code.put(&[0x05]); // DEC B
                code.low_first(0xC2, body);
            }
        }
    }

    fn enter(&self, code: &mut Code, keeps: bool) -> usize {
        let at = code.here();
        if keeps {
            code.put(&[0xE5, 0xC5]); // PUSH HL, PUSH BC
        }
        at
    }

    fn leave(&self, code: &mut Code, keeps: bool) {
        if keeps {
            code.put(&[0xC1, 0xE1]); // POP BC, POP HL
        }
        code.put(&[0xC9]); // RET
    }

    fn pointers(&self, addresses: &[usize]) -> Vec<u8> {
        (addresses.iter())
            .flat_map(|address| (*address as u16).to_le_bytes())
            .collect()
    }
}

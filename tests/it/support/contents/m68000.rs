//! The 68000: variables behind A5, devices from FF0000 up. Opcodes from memory, looked through with GNU objdump.

use super::processor::{Act, Code, Gap, Processor, Variable};

pub struct M68000;

fn device(number: u8) -> [u16; 2] {
    [0x00FF, u16::from(number) * 2]
}

/// A variable's distance from A5.
fn ram(variable: Variable) -> u16 {
    u16::from(variable) * 2
}

fn long(address: usize) -> [u16; 2] {
    [(address >> 16) as u16, address as u16]
}

fn words(code: &mut Code, words: &[u16]) {
    for word in words {
        code.put(&word.to_be_bytes());
    }
}

impl Processor for M68000 {
    fn act(&self, code: &mut Code, act: Act) {
        match act {
            Act::Set(v, value) => words(code, &[0x1B7C, value.into(), ram(v)]), // move.b #,d(a5)
            Act::Copy(from, to) => words(code, &[0x1B6D, ram(from), ram(to)]), // move.b d(a5),d(a5)
            // move.b d(a5),d0; add.b d0,d(a5)
            Act::Add(v, other) => words(code, &[0x102D, ram(other), 0xD12D, ram(v)]),
            Act::AddNumber(v, n) => words(code, &[0x062D, n.into(), ram(v)]), // addi.b
            Act::Increment(v) => words(code, &[0x522D, ram(v)]),              // addq.b #1
            Act::Mask(v, mask) => words(code, &[0x022D, mask.into(), ram(v)]), // andi.b
            // move.b d(a5),d0; lsl.b #1,d0; move.b d0,d(a5)
            Act::Double(v) => words(code, &[0x102D, ram(v), 0xE308, 0x1B40, ram(v)]),
            Act::Fetch(table, index, into) => {
                let [high, low] = long(table);
                words(code, &[0x7000, 0x102D, ram(index), 0x41F9, high, low]); // moveq #0,d0; move.b; lea table,a0
                words(code, &[0x1B70, 0x0000, ram(into)]); // move.b 0(a0,d0.w),d(a5)
            }
            Act::Send(v, to) => {
                let [high, low] = device(to);
                words(code, &[0x13ED, ram(v), high, low]); // move.b d(a5),device
            }
            Act::Take(from, v) => {
                let [high, low] = device(from);
                words(code, &[0x1B79, high, low, ram(v)]); // move.b device,d(a5)
            }
            Act::Say(text, print) => {
                let [high, low] = long(text);
                words(code, &[0x41F9, high, low]); // lea text,a0
                self.act(code, Act::Call(print));
            }
            Act::Call(routine) => {
                let [high, low] = long(routine);
                words(code, &[0x4EB9, high, low]); // jsr
            }
        }
    }

    fn unless(&self, code: &mut Code, variable: Variable, value: u8, far: bool) -> Gap {
        words(code, &[0x0C2D, value.into(), ram(variable)]); // cmpi.b
        words(code, if far { &[0x6600, 0] } else { &[0x6600] }); // bne
        let at = code.bytes.len() - if far { 2 } else { 1 };
        Gap { at, far }
    }

    fn jump(&self, code: &mut Code, far: bool) -> Gap {
        words(code, if far { &[0x6000, 0] } else { &[0x6000] }); // bra
        let at = code.bytes.len() - if far { 2 } else { 1 };
        Gap { at, far }
    }

    fn land(&self, code: &mut Code, gap: Gap) {
        // Both distances count from behind the opcode's word; one byte of 0 would mean that two follow.
        match gap.far {
            true => {
                let distance = (code.bytes.len() - gap.at) as u16;
                code.bytes[gap.at..gap.at + 2].copy_from_slice(&distance.to_be_bytes());
            }
            false => {
                if code.bytes.len() == gap.at + 1 {
                    words(code, &[0x4E71]); // nop
                }
                code.bytes[gap.at] = code.distance(gap.at);
            }
        }
    }

    fn rounds(&self, code: &mut Code, depth: usize, times: u8) -> usize {
        let register = 7 - depth as u16;
        words(code, &[0x303C | register << 9, times.into()]); // move.w #,dn
        code.here()
    }

    fn again(&self, code: &mut Code, depth: usize, body: usize) {
        let register = 7 - depth as u16;
        let back = (code.here() + 2 - body).wrapping_neg() as u16;
        words(code, &[0x51C8 | register, back]); // dbra
    }

    fn enter(&self, code: &mut Code, keeps: bool) -> usize {
        if code.bytes.len() % 2 == 1 {
            code.put(&[0]);
        }
        let at = code.here();
        if keeps {
            words(code, &[0x48E7, 0x1F80]); // movem.l d3-d7/a0,-(sp)
        }
        at
    }

    fn leave(&self, code: &mut Code, keeps: bool) {
        if keeps {
            words(code, &[0x4CDF, 0x01F8]); // movem.l (sp)+,d3-d7/a0
        }
        words(code, &[0x4E75]); // rts
    }

    fn pointers(&self, addresses: &[usize]) -> Vec<u8> {
        (addresses.iter())
            .flat_map(|address| (*address as u32).to_be_bytes())
            .collect()
    }
}

//! A program that carries the two chips of the Heron-16.

static EVEN: &[u8; 0x8000] = include_bytes!(concat!(env!("OUT_DIR"), "/even.bin"));
static ODD: &[u8; 0x8000] = include_bytes!(concat!(env!("OUT_DIR"), "/odd.bin"));

fn main() {
    for (name, chip) in [("even", EVEN), ("odd", ODD)] {
        let sum = chip
            .iter()
            .fold(0_u16, |sum, &b| sum.wrapping_add(b.into()));
        println!("{name}: {} bytes, sum16 {sum:04X}", chip.len());
    }
}

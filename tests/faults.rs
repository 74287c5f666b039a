//! Faults and the patterns that find them, judged by a bench of broken chips.

#[allow(dead_code)] // more is taken into use with every stage of the diagnosis
mod support_faults;

use support_faults::{Cells, Damage, Fault, Kind, Phase};

/// The injector's own definitions, each on a case small enough to see.
#[test]
fn the_bench_breaks_chips_as_defined() {
    let image = [0x10, 0x21, 0x42, 0x83];
    let read = |fault: Fault| fault.read(&image);
    let reading = |kind: Kind| read(Fault::Address(kind, Phase::Reading));
    assert_eq!(reading(Kind::Low(0)), [0x10, 0x10, 0x42, 0x42]);
    assert_eq!(reading(Kind::High(1)), [0x42, 0x83, 0x42, 0x83]);
    assert_eq!(reading(Kind::Inverted(0)), [0x21, 0x10, 0x83, 0x42]);
    assert_eq!(reading(Kind::Swapped(0, 1)), [0x10, 0x42, 0x21, 0x83]);
    assert_eq!(reading(Kind::WiredAnd(0, 1)), [0x10, 0x10, 0x10, 0x83]);
    assert_eq!(reading(Kind::WiredOr(0, 1)), [0x10, 0x83, 0x83, 0x83]);
    assert_eq!(reading(Kind::Driven(0, 1)), [0x10, 0x83, 0x10, 0x83]);
    let both = |kind, cells| read(Fault::Address(kind, Phase::Both(cells)));
    assert_eq!(
        both(Kind::Low(0), Cells::Overwrites),
        [0x21, 0x21, 0x83, 0x83]
    );
    assert_eq!(both(Kind::Low(0), Cells::OnlyClears), [0, 0, 2, 2]);
    let burnt = |kind, cells| read(Fault::Address(kind, Phase::Burning(cells)));
    assert_eq!(
        burnt(Kind::Low(0), Cells::Overwrites),
        [0x21, 0xFF, 0x83, 0xFF]
    );
    assert_eq!(
        read(Fault::Data(Kind::High(3))),
        [0x18, 0x29, 0x4A, 0x8B],
        "D3 at 1"
    );
    assert_eq!(read(Fault::Rotated(1)), [0x83, 0x10, 0x21, 0x42]);
    assert_eq!(read(Fault::Moved(-1)), [0x21, 0x42, 0x83, 0xFF]);
    assert_eq!(read(Fault::Banks(1, 0, 3)), [0x83, 0x21, 0x42, 0x10]);
    assert_eq!(
        Damage::LfToCrLf.arrive(&[0x41, 0x0A, 0x42]),
        [0x41, 0x0D, 0x0A, 0x42]
    );
}

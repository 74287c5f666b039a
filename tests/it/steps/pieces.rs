//! `split` and `join`.

use super::Bench;

fn chip() -> Bench {
    Bench::new().raw("chip.bin", &[0, 1, 2, 3, 4, 5, 6, 7])
}

#[test]
fn lanes_are_every_nth_byte_and_join_back() {
    let b = chip();
    b.ok("load chip.bin + split lanes 2 --names even,odd + write {name}.bin");
    assert_eq!(b.read("even.bin"), [0, 2, 4, 6]);
    assert_eq!(b.read("odd.bin"), [1, 3, 5, 7]);
    assert_eq!(
        b.bytes("load even.bin odd.bin --apart + join lanes"),
        b.read("chip.bin")
    );
    b.ok("load chip.bin + split lanes 4 + write {name}.bin");
    assert_eq!(b.read("lane3.bin"), [3, 7]);
    assert_eq!(
        b.bytes("load chip.bin + split lanes 4 + join lanes"),
        b.read("chip.bin")
    );
}

#[test]
fn banks_are_numbered_from_address_0_and_join_back() {
    let b = chip();
    b.ok("load chip.bin + split banks 3 + write {name}.bin");
    assert_eq!(b.read("bank0.bin"), [0, 1, 2]);
    assert_eq!(b.read("bank2.bin"), [6, 7]);
    assert_eq!(
        b.bytes("load bank0.bin bank1.bin bank2.bin --apart + join banks 3"),
        b.read("chip.bin")
    );
    // An empty bank is kept, so that the next keeps its number.
    let out = b.ok("load chip.bin --at 8 + split banks 8 --names low,high + digest sum8");
    assert!(out.starts_with("low   no bytes\n"), "{out}");
    assert!(out.contains("high   0000-0007   8 bytes\n"), "{out}");
}

#[test]
fn plain_join_puts_each_byte_at_its_own_address() {
    let b = Bench::new()
        .hex("a.hex", &[(4, &[1])])
        .hex("b.hex", &[(0, &[2])])
        .hex("c.hex", &[(4, &[9])]);
    assert_eq!(
        b.ok("load a.hex b.hex --apart + join --name both + show hex"),
        "both\n0000 > 02 __ __ __ . 01 < 0004  b.hex line 1\n"
    );
    assert_eq!(
        b.trouble("load a.hex c.hex --apart + join"),
        "join: 0x0004 is wanted twice: a.hex line 1 puts 01 there, c.hex line 1 puts 09; 1 byte overlaps, \
         1 of them different, the first at 0x0004"
    );
}

#[test]
fn a_join_is_named_by_its_first_piece_or_as_asked_and_can_leave_others_out() {
    let b = Bench::new()
        .raw("a.bin", &[1])
        .raw("b.bin", &[2])
        .raw("c.bin", &[3]);
    let labels = |steps: &str| {
        let out = b.ok(&format!(
            "load a.bin b.bin c.bin --apart + {steps} + digest sum8"
        ));
        let labels = out.lines().filter(|l| !l.starts_with(' '));
        let labels: Vec<&str> = labels.map(|l| l.split(' ').next().unwrap()).collect();
        labels.join(" ")
    };
    assert_eq!(labels("join lanes"), "a");
    assert_eq!(labels("join lanes --name all"), "all");
    assert_eq!(labels("join lanes --on b --on c"), "a b");
    assert_eq!(labels("join banks 1 --name two --on a --on c"), "two b");
    assert_eq!(labels("join lanes --name x --on a --on b"), "x c");
    // The pieces' order counts, not that of the options.
    b.ok(
        "load a.bin b.bin c.bin --apart + join banks 1 --on b --on a --name ab + write {name}.rom",
    );
    assert_eq!(b.read("ab.rom"), [1, 2]);
}

#[test]
fn lanes_in_the_wrong_order_are_warned_about() {
    let b = Bench::new()
        .raw("u7-odd.bin", &[1])
        .raw("u8-even.bin", &[0]);
    assert_eq!(
        b.told("load u7-odd.bin u8-even.bin --apart + join lanes"),
        "warning: u7-odd comes before u8-even, but lane 0 has the even addresses: is the order right?\n"
    );
    assert_eq!(
        b.told("load u8-even.bin u7-odd.bin --apart + join lanes + write both.bin"),
        ""
    );
}

#[test]
fn what_can_not_be_joined_is_told_why() {
    let b = Bench::new().raw("a.bin", &[1, 2]).raw("b.bin", &[3]);
    assert_eq!(
        b.trouble("load a.bin b.bin --apart + join lanes"),
        "join: lanes must be equally long, but lane 1 goes up to 0x0000 and lane 0 up to 0x0001: \
         `pad` them to one size"
    );
    assert_eq!(
        b.trouble("load a.bin b.bin --apart + join banks 1"),
        "join: bank 0 has a byte at 0x0001, but a bank ends at 0x0000: `relocate --to 0` it, or choose a larger size"
    );
    assert_eq!(
        b.trouble("load a.bin + join"),
        "join: there is only one piece: `load --apart` makes each file a piece of its own"
    );
    assert!(b.trouble("join").contains("nothing is loaded"));
}

#[test]
fn names_fit_the_pieces_and_none_stands_twice() {
    let b = chip().raw("lane0.bin", &[9]);
    assert_eq!(
        b.trouble("load chip.bin + split lanes 2 --names even"),
        "split: there are 2 lanes but 1 name: give one name for each"
    );
    assert_eq!(
        b.trouble("load chip.bin + split banks 8 --names a,b"),
        "split: there are 1 bank but 2 names: give one name for each"
    );
    assert_eq!(
        b.trouble("load chip.bin + split lanes 2 --names a,a"),
        "split: the name a is given twice"
    );
    assert_eq!(
        b.trouble("load lane0.bin chip.bin --apart + split lanes 2 --on chip"),
        "split: two pieces would have the name lane0: --names gives them other names"
    );
    assert_eq!(
        b.trouble(
            "load chip.bin + split lanes 4 --names a,b,c,d + join lanes --name d --on a --on b"
        ),
        "join: two pieces would have the name d: --name gives them other names"
    );
}

#[test]
fn several_pieces_split_into_pieces_named_after_them() {
    let b = Bench::new().raw("a.bin", &[0, 1]).raw("b.bin", &[2, 3]);
    b.ok("load a.bin b.bin --apart + split lanes 2 + write {name}.rom");
    assert_eq!(b.read("b-lane1.rom"), [3]);
    b.ok("load a.bin b.bin --apart + split lanes 2 --names e,o --on b + write {n}-{name}.rom");
    assert_eq!(b.read("0-a.rom"), [0, 1]);
    assert_eq!((b.read("1-e.rom"), b.read("2-o.rom")), (vec![2], vec![3]));
}

#[test]
fn counts_that_make_no_sense_are_refused() {
    let b = chip();
    for n in ["1", "17"] {
        assert!(
            b.trouble(&format!("load chip.bin + split lanes {n}"))
                .contains("a bus has 2 to 16 byte lanes")
        );
    }
    assert!(
        b.trouble("load chip.bin + split lanes x")
            .contains("`x` is not a number")
    );
    // Of many pieces a few are named.
    let said = b.trouble("load chip.bin --at 0x8000 + split banks 4 + write a.bin");
    assert!(
        said.contains("there are 8,194 pieces (bank0, bank1, bank2, bank3, ...) but one name"),
        "{said}"
    );
    assert!(b.trouble("load chip.bin + split").contains("lanes"));
}

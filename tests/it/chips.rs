//! What happens at the bench: chips that would come out wrong are told, and advice leads on.

use crate::support::bench::Folder;

/// With a chip's program at 0x8000, another at 0xC000, four bytes without addresses, and boards for them.
fn folder() -> Folder {
    let folder = Folder::new();
    folder.put("c.hex", ":04C0000010111213F6\n:00000001FF\n");
    folder.put("low.bin", [1, 2, 3, 4]);
    folder.put(
        "my.toml",
        "[[part]]\nname = \"P1\"\nwords = 8192\nwidth = 8\nkind = \"eeprom\"\nerased = 0xFF\npins = 28\n",
    );
    folder.put(
        "own.board",
        "[[sockets]]\nnames = [\"U1\"]\npart = \"P1\"\nat = 0x8000\n",
    );
    folder.put(
        "slot.board",
        "[[sockets]]\nnames = [\"slot\"]\npart = \"27C256\"\nat = 0x8000\nsize = \"8K\"\nbanks = 4\n",
    );
    folder.put(
        "apart.board",
        "[[sockets]]\nnames = [\"U1\"]\npart = \"27C128\"\n\
         window = [{ at = 0x8000, size = \"8K\", from = 0 }, { at = 0xC000, size = \"8K\", from = \"8K\" }]\n",
    );
    folder
}

const SEATED: &str = "load prog.hex --name o --entry none + seat 27C256 --at 0x8000";
const BANKED: &str = "load prog.hex --entry none --for bank1 + seat --board slot.board";

/// The exit code and the message; no file comes of it.
#[test]
fn what_would_make_a_wrong_chip_is_told_and_nothing_is_written() {
    let folder = folder();
    let apart = "load prog.hex --name a --entry none + seat 27C64 --at 0x8000 \
                 + load c.hex --apart --name b --entry none + seat 27C64 --at 0xC000 --on b";
    for (start, step, code, error) in [
        // Filler is no vector, in a chip's addresses or the bus's.
        (
            SEATED,
            "expect pointer cpu:0xFFFC --in 0-0xFFFF",
            1,
            "expect: the vector at 0xFFFC is filler",
        ),
        (
            SEATED,
            "expect pointer 0x7FFC --in 0-0xFFFF",
            1,
            "expect: the vector at 0x7FFC is filler",
        ),
        // A check that fails names its bank.
        (
            BANKED,
            "expect bytes bank1:0x8003 00",
            1,
            "expect: bank 1: 0x8003 holds 13",
        ),
        (
            BANKED,
            "expect pointer bank:0x8000 --in 0-1",
            1,
            "expect: bank 0: the vector at 0x8000 points to",
        ),
        (
            BANKED,
            "expect blank bank:0x8000-0x8010",
            1,
            "expect: bank 1: 0x8000-0x8010 is not blank",
        ),
        (
            BANKED,
            "expect sum sum8 0 --across bank2:0x8000-0x8001",
            1,
            "expect: bank 2: sum8 is FE",
        ),
        // Of several boards the one that answers is asked.
        (
            apart,
            "expect pointer cpu:0xC000 --in 0-1",
            1,
            "expect: b: the vector at 0xC000 points to 0x1110",
        ),
        (
            SEATED,
            "expect pointer cpu:0x7FFC --in 0-1",
            1,
            "expect: 0x7FFC-0x7FFD is a hole, but a vector needs every byte: `show` says where the chips are seen",
        ),
        // Past the end of the part.
        (
            SEATED,
            "stamp sum16 --across cpu:0x8000-0xFFFE --at cpu:0xFFFF",
            2,
            "stamp: nothing answers at cpu:0x10000 (stamp sum16): `show` says where the chips are seen",
        ),
        (
            SEATED,
            "mark cpu:0xFFFE hello",
            2,
            "mark: nothing answers at cpu:0x10000",
        ),
        (
            SEATED,
            "mark cpu:0x8000 HI",
            2,
            "mark: there is data at the mark's place 0x8000-0x8001",
        ),
        (
            SEATED,
            "mark cpu:0x8100 'V{version}'",
            2,
            "mark: `{version}` in the text means nothing",
        ),
        // Chips of unlike boards are no lanes.
        (
            apart,
            "join lanes --name even",
            2,
            "join: a and b are chips of different boards",
        ),
        (
            SEATED,
            "sheet {label}.html",
            2,
            "sheet: `{label}` in `{label}.html` means nothing",
        ),
        (
            SEATED,
            "write -",
            2,
            "write: the name - does not say the format: write - --as raw, or name one with --as",
        ),
        // A program that no chip sees makes an empty chip.
        (
            "load low.bin",
            "seat 27C256 --at 0x8000 --drop-outside",
            2,
            "seat: this board shows nothing of what was loaded",
        ),
        (
            "load prog.hex",
            "seat 16K --at 0x8000",
            2,
            "seat: `16K` is a size, but a chip needs a part: parts of this size are 27128",
        ),
        (
            "load prog.hex",
            "seat 27C256 --at 0x8000 --tied 11=1",
            2,
            "--tied: `11=1` is not an address pin and its level",
        ),
    ] {
        let line = format!("{start} + {step} + write x.bin");
        let ran = folder.run(&line);
        assert_eq!(ran.code, code, "{line}\n{}", ran.err);
        assert!(
            ran.told().contains(&format!("error: {error}")),
            "{line}\n{}",
            ran.err
        );
        assert!(!folder.has("x.bin") && !folder.has("{name}.html"), "{line}");
    }
}

/// Each advice, and a line that follows it.
#[test]
fn advice_leads_to_a_line_that_runs() {
    let folder = folder();
    let own = "keep the programs apart with --apart";
    for (wrong, advice, right) in [
        (
            "load prog.hex --name p + load prog.hex --name q",
            own,
            "load prog.hex --name p + load prog.hex --name q --apart + expect size 4 --on p + expect size 4 --on q",
        ),
        (
            "load low.bin + seat 27C256 --at 0x8000",
            "`load --at 0x8000` places a raw file there",
            "load low.bin --at 0x8000 + seat 27C256 --at 0x8000 + expect bytes 0 01020304",
        ),
        (
            "load c.hex + seat 27C256 --at 0xC000",
            "--size 16K with --from 16K",
            "load c.hex + seat 27C256 --at 0xC000 --size 16K --from 16K + expect bytes 0x4000 10111213",
        ),
        (
            "load c.hex + seat 27C256 --at 0xC000",
            "or with --tied A14=1",
            "load c.hex + seat 27C256 --at 0xC000 --size 16K --tied A14=1 + expect bytes 0x4000 10111213",
        ),
        (
            "load c.hex + seat 27C256 --at 0xC000",
            "--at 0x8000",
            "load c.hex + seat 27C256 --at 0x8000 + expect bytes 0x4000 10111213",
        ),
        (
            "load prog.hex + seat 27C256 --at 0x8000 + show+ sheet q.html",
            "romloom load prog.hex + seat 27C256 --at 0x8000 + show + sheet q.html",
            "load prog.hex + seat 27C256 --at 0x8000 + show + sheet q.html",
        ),
    ] {
        let ran = folder.run(wrong);
        assert!(
            ran.code == 2 && ran.err.contains(advice),
            "{wrong}\n{}",
            ran.err
        );
        folder.ok(right);
    }
}

#[test]
fn what_does_nothing_or_leaves_a_chip_short_is_warned_about() {
    let folder = folder();
    let ran = folder.ok(&format!("{SEATED} + fill EA cpu:0x9000-0x9FFF"));
    let warning = "warning: o: 0x9000-0x9FFF has no hole, so nothing is filled";
    assert!(ran.err.contains(warning), "{}", ran.err);

    let short = format!("{SEATED} + drop 0-0xF");
    let ran = folder.ok(&format!("{short} + write short.bin"));
    let warning = "warning: o: there is only 0x0010-0x7FFF of a 27C256 with 32,768 bytes: `pad 27C256 --at 0` completes it";
    assert!(ran.err.contains(warning), "{}", ran.err);
    let ran = folder.ok(&format!("{short} + pad 27C256 --at 0 + write whole.bin"));
    assert!(!ran.err.contains("warning"), "{}", ran.err);
    assert_eq!(folder.get("whole.bin").len(), 0x8000);
}

#[test]
fn a_comparison_of_nothing_is_no_agreement() {
    let folder = folder();
    for line in [
        "load prog.hex + drop 0x8000+4 + compare low.bin",
        "load prog.hex + compare low.bin --at 0 --ignore-holes",
    ] {
        let ran = folder.run(line);
        assert_eq!(ran.code, 1, "{line}");
        let said = "prog against low.bin: no address where both have a byte";
        assert!(ran.out.starts_with(said), "{}", ran.out);
    }
}

/// Letters in front tell makers apart, and sometimes parts: a W27C512 erases electrically (from memory).
#[test]
fn parts_are_known_as_they_are_printed() {
    let folder = folder();
    for (printed, part) in [
        ("W27C512", "27E512"),
        ("AM29F040B", "29F040"),
        ("M27C256B", "27C256"),
        ("AT28C256", "28C256"),
        ("at28c256-15PU", "28C256"),
    ] {
        let map = folder
            .ok(&format!(
                "load prog.hex --entry none + relocate --to 0 + seat {printed} --at 0 + show"
            ))
            .out;
        assert!(map.starts_with(&format!("prog  {part} ")), "{map}");
    }
}

/// Every place that takes a part takes what is printed on a chip, and answers alike where that is not one part.
#[test]
fn a_marking_is_read_alike_everywhere() {
    let folder = folder();
    folder.put("whole.bin", [0x42; 32 * 1024]);
    let board =
        |part: &str| format!("[[sockets]]\nnames = [\"U1\"]\npart = \"{part}\"\nat = 0x8000\n");
    let places = [
        "load prog.hex --entry none + seat PART --at 0x8000",
        "load prog.hex + pad PART --at 0x8000",
        "load prog.hex + relocate --to 0 + keep 0-3 + repeat PART",
        "load whole.bin --at 0 + expect size PART",
        "load whole.bin --at 0 + split banks PART",
        "load whole.bin --at 0 + burnable whole.bin --part PART",
        "load whole.bin --at 0 + diagnose --wanted whole.bin --part PART",
        "pattern telltale PART",
        "new prog.hex --part PART --at 0x8000",
        "board any.board",
        "parts PART",
    ];
    for place in places {
        let run = |part: &str| {
            folder.put("any.board", board(part));
            folder.run(&place.replace("PART", part))
        };
        let known = run("AM27C256-15");
        assert_eq!(known.code, 0, "{place}: {}", known.err);
        let unclear = run("TMS2716");
        assert_eq!(unclear.code, 2, "{place}");
        for told in [
            "`TMS2716` can mean several parts",
            "2716-three-supply  2Kx8  uv-eprom, 24 pins. Three supplies",
            "2716               2Kx8  uv-eprom, 24 pins. This is the part with one supply",
        ] {
            assert!(unclear.err.contains(told), "{place}: {}", unclear.err);
        }
    }
    // A number of digits only leads to its part, and stays a size where sizes are meant.
    let lead = folder.run("pattern random 512 + seat 7621 --at 0");
    assert!(
        lead.code == 2 && lead.err.contains("is one maker's number for a prom-512x4"),
        "{}",
        lead.err
    );
    folder.ok("load low.bin --at 0 + pad 7621 --with FF");
}

/// Of a few parts everything is told, also where their pins come from.
#[test]
fn parts_tells_all_of_a_few() {
    let folder = folder();
    let one = folder.ok("parts 27C256-15").out;
    assert!(
        one.contains("\n  pins as in KiCad's symbol library; figures from memory"),
        "{one}"
    );
    let memory = folder.ok("parts 2532").out;
    assert!(
        memory.contains("\n  pins and figures from memory"),
        "{memory}"
    );
    assert!(
        folder
            .ok("parts prom-32x8-oc")
            .out
            .contains("open collector")
    );
    assert_eq!(
        folder.ok("parts page-flash").out.matches("figures").count(),
        0,
        "more than a few"
    );
    let none = folder.run("parts 27C256 eeprom");
    assert!(
        none.code == 2 && none.err.contains("no part fits all of `27C256 eeprom`"),
        "{}",
        none.err
    );
}

#[test]
fn what_is_read_is_in_the_dependency_file() {
    let folder = folder();
    folder.ok("--depfile d.mk --parts my.toml load prog.hex --entry none + seat --board own.board + write x.bin");
    assert_eq!(
        String::from_utf8(folder.get("d.mk")).unwrap(),
        "x.bin: my.toml prog.hex own.board\n"
    );
}

#[test]
fn windows_that_lie_apart_need_no_bank() {
    let folder = folder();
    folder.ok(
        "load prog.hex c.hex --entry none + seat --board apart.board \
         + expect bytes cpu:0x8000 10111213 + expect bytes cpu:0xC000 10111213 + sheet s.html",
    );
    let sheet = String::from_utf8(folder.get("s.html")).unwrap();
    assert!(!sheet.contains("whichever the switch selects"));
    // A range where something else answers may be at the start of the window.
    let map = folder
        .ok("load c.hex --entry none + seat 27C256 --at 0x8000 --except 0x8000-0x80FF + show")
        .out;
    assert!(
        map.contains("chip 0100 = CPU 8100") && map.contains("something else at CPU 8000-80FF"),
        "{map}"
    );
}

#[test]
fn a_recipe_stores_a_sum_as_its_words_are_read() {
    let folder = folder();
    for (sum, order) in [("sum16be", "big"), ("sum16le", "little")] {
        let recipe = folder
            .ok(&format!(
                "new prog.hex --part 27C256 --at 0x8000 --stamp {sum}"
            ))
            .out;
        let stamp =
            format!("stamp {sum} --across cpu:0x8000-0xFFFD --at cpu:0xFFFE --order {order}\n");
        assert!(recipe.contains(&stamp), "{recipe}");
    }
    let ran = folder.run("new prog.hex --part 27C1024 --at 0");
    assert!(
        ran.code == 2 && ran.err.contains("add --order little or --order big"),
        "{}",
        ran.err
    );
}

#[test]
fn a_mask_rom_is_not_burned() {
    let folder = folder();
    for (part, boxes) in [("2316", false), ("2716", true)] {
        folder.ok(&format!(
            "load low.bin --at 0xF000 + seat {part} --at 0xF000 --with FF + sheet {part}.html"
        ));
        let sheet = String::from_utf8(folder.get(&format!("{part}.html"))).unwrap();
        for word in ["blank", "burned"] {
            assert_eq!(
                sheet.contains(&format!("<li>{word}</li>")),
                boxes,
                "{part} {word}"
            );
        }
    }
    assert_eq!(folder.ok("formats").out.matches("(read only)").count(), 1);
}

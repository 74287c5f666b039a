//! `digest` and `show`.

use super::Bench;

fn chip() -> Bench {
    Bench::new()
        .raw("chip.bin", b"123456789")
        .hex("holes.hex", &[(0x8000, &[1, 2]), (0x8010, &[3])])
}

fn json(text: &str) -> serde_json::Value {
    serde_json::from_str(text).unwrap_or_else(|e| panic!("{e}: {text}"))
}

#[test]
fn a_digest_shows_what_programmers_show_or_what_is_asked() {
    let b = chip();
    // The sum of the nine digits is 31h + ... + 39h = 1DDh; the check value of CRC-32 is the RevEng catalogue's; SHA-256
    // of "123456789" as any SHA-256 tool gives it.
    assert_eq!(
        b.ok("load chip.bin + digest"),
        "chip   0000-0008   9 bytes\n  \
           sum16            01DD  of all bytes, as programmers show it\n  \
           sum32            000001DD  of all bytes, as programmers show it\n  \
           crc-32/iso-hdlc  CBF43926\n  \
           sha256           15e2b0d3c33891ebb0f1ef609ec419420c20e320ce94c65fbc8c3312448eb225\n"
    );
    // CRC-16/XMODEM of the same: 31C3, the catalogue's check value.
    assert_eq!(
        b.ok("load chip.bin + digest crc-16/xmodem sum8"),
        "chip   0000-0008   9 bytes\n  crc-16/xmodem  31C3\n  sum8           DD\n"
    );
    assert_eq!(
        b.ok("load holes.hex + digest sum8"),
        "holes   8000-8010   3 bytes, 1 hole not counted\n  sum8  06\n"
    );
    assert!(
        b.trouble("load chip.bin + digest crc33")
            .contains("digest crc32")
    );
    assert!(
        b.trouble("load chip.bin + digest sum16le")
            .contains("use a range whose length is a multiple of 2 bytes")
    );
}

#[test]
fn results_are_json_for_scripts() {
    let b = chip();
    let digest = json(&b.ok("load chip.bin + digest crc32 --json"));
    assert_eq!(digest["step"], "digest");
    assert_eq!(digest["pieces"][0]["piece"], "chip");
    assert_eq!(digest["pieces"][0]["sums"][0]["value"], "CBF43926");
    let map = json(&b.ok("load holes.hex + show --json"));
    assert_eq!(map["step"], "show");
    let map = &map["pieces"][0];
    assert_eq!((&map["data"], &map["hollow"]), (&3.into(), &14.into()));
    assert_eq!(map["range"]["first"], 0x8000);
    let hex = json(&b.ok("load holes.hex + show hex 0x8000-0x8002 --json"));
    assert_eq!(
        hex["pieces"][0]["rows"][0]["bytes"],
        serde_json::json!([1, 2, null])
    );
    let changes = json(&b.ok("load chip.bin + patch 0 FF + show changes chip.bin --json"));
    assert_eq!(changes["pieces"][0]["bytes"], 1);
    assert_eq!(changes["pieces"][0]["rows"][0]["now"][0], 255);
    // All results of a run in one document.
    let all = json(&b.ok("--json load chip.bin + digest sum8 + show + write x.bin"));
    let steps: Vec<&str> = all["reports"]
        .as_array()
        .unwrap()
        .iter()
        .map(|r| r["step"].as_str().unwrap())
        .collect();
    assert_eq!(steps, ["digest", "show", "outputs"]);
}

#[test]
fn the_map_names_every_origin() {
    assert_eq!(
        chip().ok("load holes.hex + pad 32 + stamp sum8 --across 0x8000-0x8001 --at 0x801F + show"),
        "holes   8000-801F   one cell = 16\n8000 hs  801F\n\
         h holes.hex   s stamp sum8   f filler   _ hollow\n\
         data 4, filler 14, hollow 14\n"
    );
}

#[test]
fn rows_of_bytes_are_those_of_the_range() {
    let b = chip();
    assert_eq!(
        b.ok("load holes.hex + show hex"),
        "holes\n8000 > 01 02 __ __ . __ __ __ __ . __ __ __ __ . __ __ __ __ < 800F  holes.hex line 1\n\
         8010 > 03 < 8010\n"
    );
    assert_eq!(
        b.ok("load chip.bin + show hex 2-5"),
        "chip\n0002 > 33 34 . 35 36 < 0005  0002 \"3456\"  chip.bin\n"
    );
    assert_eq!(
        b.trouble("load chip.bin + keep 0x20-0x21 + show hex"),
        "show: the image is empty: `load` something first"
    );
}

#[test]
fn changes_are_against_a_file_at_the_pieces_own_place_or_as_told() {
    let b = chip();
    assert_eq!(
        b.ok("load chip.bin --at 0x100 + patch 0x102 58 + show changes chip.bin"),
        "chip against chip.bin: 1 byte changed\n0100 was       33\n     now       58  patch\n"
    );
    assert_eq!(
        b.ok("load chip.bin --at 0x100 + show changes chip.bin"),
        "chip against chip.bin: no change\n"
    );
    let moved = b.ok("load chip.bin --at 0x100 + show changes chip.bin --at 0");
    assert!(
        moved.ends_with("the same bytes, moved up by 0x100\n"),
        "{moved}"
    );
    let few = b.ok("load chip.bin --at 0x100 + show changes chip.bin --at 0 --limit 1");
    assert!(few.contains("\nand 1 more row, see --limit\n"), "{few}");
    assert_eq!(
        b.trouble("load chip.bin + show changes none.bin"),
        "show: none.bin: no such file or directory"
    );
}

#[test]
fn what_is_shown_can_be_narrowed_to_one_piece() {
    let b = chip();
    let pieces = "load chip.bin holes.hex --apart";
    for (step, start) in [
        ("digest", "holes   "),
        ("show", "holes   "),
        ("show hex", "holes\n"),
        ("show changes holes.hex", "holes against"),
    ] {
        let out = b.ok(&format!("{pieces} + {step} --on holes"));
        assert!(out.starts_with(start) && !out.contains("chip"), "{out}");
    }
    assert_eq!(
        b.trouble(&format!("{pieces} + show --on ghost")),
        "show: there is no piece called `ghost`; the pieces are chip, holes"
    );
}

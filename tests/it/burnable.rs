//! `burnable`: can an image be programmed over what a chip holds now?

use crate::support::bench::Folder;

/// Lines as if they had not been folded.
fn unfolded(lines: &[String]) -> String {
    let words = lines.iter().flat_map(|line| line.split_whitespace());
    words.collect::<Vec<_>>().join(" ")
}

/// Exit code and what is said of the one piece, line by line.
fn asked(folder: &Folder, line: &str) -> (i32, Vec<String>) {
    let ran = folder.run(line);
    assert_eq!(ran.err, "", "{line}");
    (ran.code, ran.out.lines().map(str::to_owned).collect())
}

#[test]
fn whether_a_chip_can_be_programmed_over_is_told_by_the_part() {
    let folder = Folder::new();
    folder.put("old.bin", [0xFF, 0x11, 0xF0, 0x13]);
    folder.put("blocked.bin", [0xFF, 0x01, 0xF0, 0x13]);
    let ask = |old: &str, part: &str| {
        let ran = folder.run(&format!(
            "load prog.hex + burnable {old} --part {part} + write after.bin"
        ));
        assert_eq!(folder.get("after.bin").len(), 4, "the run goes on");
        (ran.code, ran.out.lines().next().unwrap().to_owned())
    };
    // 10 over FF, 11 over 11, 12 over F0 needs bit 1 back from 0: no.
    assert_eq!(
        ask("old.bin", "27C256"),
        (
            1,
            "prog can't be programmed over old.bin in a 27C256".into()
        )
    );
    folder.put("old.bin", [0xFF, 0x11, 0xF2, 0x13]);
    assert_eq!(
        ask("old.bin", "27C256"),
        (0, "prog can be programmed over old.bin in a 27C256".into())
    );
    assert_eq!(
        ask("blocked.bin", "28C256"),
        (
            0,
            "prog can be programmed over blocked.bin in a 28C256".into()
        )
    );
    assert_eq!(
        ask("old.bin", "23256"),
        (1, "prog can't be programmed over old.bin in a 23256".into())
    );
}

#[test]
fn the_sectors_to_erase_are_those_of_the_part_be_they_equal_or_not() {
    let folder = Folder::new();
    folder.put("old.bin", vec![0; 512 << 10]);
    // Two bytes to a word: the sectors are counted in the file's bytes.
    let own = "[[part]]\nname = \"KF-400T\"\nwords = 262_144\nwidth = 16\nkind = \"sector-flash\"\nerased = 0xFF\n\
               sectors = [\"7 x 64K\", \"32K\", \"2 x 8K\", \"16K\"]\npins = 44\n";
    folder.put("own.toml", own);
    let steps = "load old.bin --name new + patch 0x6FFFF FF + patch 0x70000 FF + patch 0x7A010 FF";
    for part in ["29F400T", "KF-400T"] {
        let ran = folder.run(&format!(
            "--parts own.toml {steps} + burnable old.bin --part {part}"
        ));
        assert_eq!(ran.code, 1, "{}", ran.err);
        let said = "  sectors to erase begin at 060000 070000 07A000\n  3 of 11 sectors must be erased first\n";
        assert!(ran.out.ends_with(said), "{}", ran.out);
    }
    let ran = folder.run(&format!("{steps} + burnable old.bin --part 29F400BB"));
    let said =
        "  sectors to erase begin at 060000 070000\n  2 of 11 sectors must be erased first\n";
    assert!(ran.out.ends_with(said), "{}", ran.out);
}

/// Finding 3 of the repairer: 32K were burnable into a 2716.
#[test]
fn an_image_that_is_larger_than_the_part_does_not_fit() {
    let folder = Folder::new();
    folder.put("blank.bin", [0xFF; 2048]);
    folder.put("blank-32k.bin", vec![0xFF; 32 << 10]);
    let no = "can't be programmed over blank.bin in a";
    for (image, part, says) in [
        (
            "pattern ones 32K",
            "2716",
            "the image is 30,720 bytes too long: a 2716 has 2,048 bytes",
        ),
        (
            "pattern ones 2049",
            "2716",
            "the image is 1 byte too long: a 2716 has 2,048 bytes",
        ),
        // A program linked for 0x8000 fits from there on, and not above the first byte of the next such part.
        (
            "load prog.hex --name ones + pad 2049 --at 0x8000",
            "2716",
            "the image is 1 byte too long: a 2716 has 2,048 bytes",
        ),
        (
            "pattern ones 131074",
            "27C1024",
            "the image is 2 bytes too long: a 27C1024 has 131,072 bytes (65,536 words of 16 bits)",
        ),
        // Electrically erased or not, what has no room has none.
        (
            "pattern ones 9K",
            "28C64",
            "the image is 1,024 bytes too long: a 28C64 has 8,192 bytes",
        ),
    ] {
        let line = format!("{image} + burnable blank.bin --part {part}");
        let (code, said) = asked(&folder, &line);
        assert_eq!(
            (code, unfolded(&said)),
            (1, format!("ones {no} {part} {says}"))
        );
    }
    let fits = "pattern ones 2K + burnable blank.bin --part 2716";
    assert_eq!(asked(&folder, fits).0, 0);
    let line = "pattern ones 2K + burnable blank-32k.bin --part 2716";
    let (code, said) = asked(&folder, line);
    assert_eq!(code, 1);
    assert_eq!(
        unfolded(&said[1..]),
        "blank-32k.bin has 30,720 bytes more than a 2716, which has 2,048 bytes: it was not read from such a part"
    );
}

/// Finding 3 too: fuses silently counted as FF before they are blown.
#[test]
fn of_fuses_somebody_must_say_what_they_read_as() {
    let folder = Folder::new();
    folder.put("new.bin", [0x0F; 32]);
    folder.put("low.bin", [0x00; 32]);
    let line = "load new.bin + burnable low.bin --part prom-32x8";
    let ran = folder.run(line);
    assert_eq!((ran.code, ran.out.as_str()), (2, ""), "{}", ran.err);
    for says in [
        "a prom-32x8 has no erased value of its own",
        "add --erased 00 or --erased FF",
    ] {
        assert!(ran.err.contains(says), "{}", ran.err);
    }
    assert_eq!(asked(&folder, &format!("{line} --erased 00")).0, 0);
    let (code, said) = asked(&folder, &format!("{line} --erased FF"));
    assert_eq!(
        (code, said[1].as_str()),
        (
            1,
            "  128 bits in 32 bytes would have to go back to the erased state"
        )
    );
    assert_eq!(
        unfolded(&said[3..]),
        "nothing can change these bits back: use a new chip. It can't be erased: its fuses are blown once."
    );
    // Four bits wide: only these count, whatever the programmer read above them.
    folder.put("high.bin", [0xF0; 256]);
    folder.put("nibbles.bin", [0x05; 256]);
    let line = "load nibbles.bin + burnable high.bin --part prom-256x4 --erased 00";
    assert_eq!(asked(&folder, line).0, 0);
}

#[test]
fn a_mask_rom_is_never_burnable() {
    let folder = Folder::new();
    folder.put("now.bin", [0xFF; 16]);
    for more in ["", " --erased FF"] {
        let line = format!("load now.bin + burnable now.bin --part 23256{more}");
        let said = [
            "now can't be programmed over now.bin in a 23256",
            "  a mask ROM gets its content from its maker; nobody else can program it",
        ];
        assert_eq!(asked(&folder, &line), (1, said.map(String::from).to_vec()));
    }
}

#[test]
fn a_part_sixteen_bits_wide_is_programmed_by_words() {
    let folder = Folder::new();
    folder.put("now.bin", [0xFF, 0x7F, 0xFE, 0xFF, 0x00, 0x00, 0xFF, 0xFF]);
    folder.put("new.bin", [0xFF, 0xFF, 0xFF, 0xFF, 0x00, 0x00, 0xFF, 0x00]);
    let ask = |part: &str| {
        let said = asked(
            &folder,
            &format!("load new.bin + burnable now.bin --part {part}"),
        );
        (said.0, said.1[1..3].to_vec())
    };
    let said = [
        "  2 bits in 2 words would have to go back to the erased state",
        "  0000-0003",
    ];
    assert_eq!(ask("27C1024"), (1, said.map(String::from).to_vec()));
    let said = [
        "  2 bits in 2 bytes would have to go back to the erased state",
        "  0001-0002",
    ];
    assert_eq!(ask("27C64"), (1, said.map(String::from).to_vec()));
}

#[test]
fn what_is_assumed_is_said_and_lists_have_a_limit() {
    let folder = Folder::new();
    folder.put("now.bin", [0, 0xFF].repeat(20));
    folder.put("new.bin", [0xFF; 40]);
    let (code, said) = asked(&folder, "load new.bin + burnable now.bin --limit 2");
    assert_eq!(code, 1);
    assert_eq!(
        said[2..],
        [
            "  0000",
            "  0002",
            "  and 18 more ranges",
            "  no part is named, so an erased byte counts as FF",
            "  the part must be erased first",
        ]
    );
    let (_, said) = asked(&folder, "load new.bin + burnable now.bin");
    assert_eq!(said[14], "  and 8 more ranges");
}

//! Telling the formats without line checksums, and everything, apart: the table at [`detect`].

use super::*;

const MOS: &str = ";180000FFEEDDCCBBAA0099887766554433221122334455667788990AFC\n;0000010001\n";
const TEK: &str = "%1561C3100202020202020\n%0781010\n";
const TI: &str = "@F000\n31 40 00 03\n@FFFE\n00 F0\nq\n";
const ELF: &[u8] = b"\x7FELF\x01\x02\x01\0\0\0\0\0\0\0\0\0";

fn head(bytes: &[u8], whole: bool) -> Head<'_> {
    Head::new(bytes, whole)
}

#[test]
fn a_checksum_or_signature_tells_the_format_whatever_the_name_says() {
    for (bytes, name) in [
        (MOS.as_bytes(), "mos-tape"),
        (TEK.as_bytes(), "tek-hex"),
        (ELF, "elf"),
    ] {
        for extension in [
            None,
            Some("bin"),
            Some("hex"),
            Some("txt"),
            Some("prg"),
            Some("mem"),
        ] {
            assert_eq!(told(bytes, extension), Ok(name), "{extension:?}");
        }
    }
}

#[test]
fn tape_records_are_found_behind_nuls_and_text() {
    assert_eq!(told(format!("\0\0\0HERON 8 {MOS}"), None), Ok("mos-tape"));
    // A comment of assembler source, and a record that is all zeros, prove nothing.
    assert_eq!(told("; 0000010001 x", None), Err(Undetected::Nothing));
    assert_eq!(told(";0000000000", None), Err(Undetected::Nothing));
}

#[test]
fn q_tells_ti_txt_from_readmem() {
    for extension in [None, Some("txt"), Some("mem"), Some("hex"), Some("bin")] {
        assert_eq!(told(TI, extension), Ok("ti-txt"), "{extension:?}");
        assert_eq!(told(TI.to_lowercase(), extension), Ok("ti-txt"));
        let padded = TI.to_owned() + "\x1A";
        assert_eq!(told(padded, extension), Ok("ti-txt"));
    }
}

#[test]
fn addresses_and_pairs_without_q_are_told_by_the_name_or_not_at_all() {
    let open = TI.replace("q\n", "");
    assert_eq!(told(&open, Some("txt")), Ok("ti-txt"));
    assert_eq!(told(&open, Some("mem")), Ok("readmem"));
    assert_eq!(told(&open, Some("vh")), Ok("readmem"));
    for extension in [None, Some("hex"), Some("bin")] {
        let error = told(&open, extension).unwrap_err();
        let both = Undetected::Several(vec!["ti-txt", "readmem"]);
        assert_eq!(error, both, "{extension:?}");
    }
    // The processors that ti-txt is for have 20-bit addresses.
    let wide = open.replace("@F000", "@0000F000");
    for extension in [None, Some("hex"), Some("bin"), Some("txt")] {
        assert_eq!(told(&wide, extension), Ok("readmem"), "{extension:?}");
    }
}

#[test]
fn a_file_longer_than_the_head_that_could_be_both_is_not_guessed_at() {
    let text = format!("@0000\n{}", "31 40 00 03\n".repeat(10_000));
    let cut = &text.as_bytes()[..64 * 1024];
    let told = |extension| detect(&head(cut, false), extension).map(|f| f.name());
    assert_eq!(told(Some("txt")), Ok("ti-txt"));
    assert_eq!(told(Some("mem")), Ok("readmem"));
    let both = Undetected::Several(vec!["ti-txt", "readmem"]);
    assert_eq!(told(None), Err(both));
}

#[test]
fn wide_words_comments_and_unknown_digits_are_readmem() {
    for text in [
        "@10 1234 5678\n",
        "// Heron-8\nA9 00\n",
        "/* Heron-8 */ A9\n00",
        "@0 A9 0x\n",
        "@0 1_2\n",
    ] {
        for extension in [None, Some("hex"), Some("txt"), Some("bin")] {
            assert_eq!(told(text, extension), Ok("readmem"), "{text:?}");
        }
    }
    // On one line longer than the head.
    let text = format!("@0 {}", "12345678 ".repeat(10_000));
    let cut = head(&text.as_bytes()[..64 * 1024], false);
    assert_eq!(detect(&cut, None).unwrap().name(), "readmem");
}

#[test]
fn hex_words_alone_are_told_by_the_name_only() {
    assert_eq!(told("A9 00 8D\n", Some("mem")), Ok("readmem"));
    assert_eq!(told("A9 00 8D\n", None), Err(Undetected::Nothing));
    assert_eq!(told("A9 00 8D\n", Some("bin")), Ok("raw"));
}

#[test]
fn txt_is_ti_txt_only_if_its_content_says_so() {
    for text in ["HERON 8", "A9 00", "@F000\nhello\nq\n", "q\n", "@F000\nq\n"] {
        assert_eq!(
            told(text, Some("txt")),
            Err(Undetected::Nothing),
            "{text:?}"
        );
    }
}

#[test]
fn where_content_says_nothing_the_extension_of_every_format_does() {
    for (extension, name) in [
        ("elf", "elf"),
        ("axf", "elf"),
        ("tek", "tek-hex"),
        ("mem", "readmem"),
        ("vh", "readmem"),
        ("ptp", "mos-tape"),
        ("prg", "raw-le16"),
        ("txt", "ti-txt"),
    ] {
        assert_eq!(told("", Some(extension)), Ok(name), "{extension}, empty");
        let upper = extension.to_ascii_uppercase();
        assert_eq!(by_extension(&upper).unwrap().name(), name);
    }
    for extension in ["ptp", "tek"] {
        let text = told("HERON 8", Some(extension)).unwrap();
        assert_eq!(Some(text), by_extension(extension).map(|f| f.name()));
    }
    assert_eq!(told([1, 0x80, 0xA9], Some("prg")), Ok("raw-le16"));
    // The extension alone makes no ELF file.
    assert_eq!(told([0x4C, 0, 0x80], Some("elf")), Err(Undetected::Nothing));
}

#[test]
fn no_two_formats_share_a_name_or_an_extension() {
    let names = FORMATS.iter().map(|f| f.name()).collect::<Vec<_>>();
    let extensions = FORMATS.iter().flat_map(|f| f.meta().extensions).copied();
    for list in [names, extensions.collect()] {
        let distinct: std::collections::BTreeSet<_> = list.iter().collect();
        assert_eq!(distinct.len(), list.len());
    }
}

#[test]
fn text_for_source_code_is_recognised_as_nothing() {
    let text = "const unsigned char rom[1] = {\n    0xA9, /* 8000 */\n};\n";
    assert_eq!(told(text, None), Err(Undetected::Nothing));
    assert_eq!(told(text, Some("c")), Err(Undetected::Nothing));
}

//! What the fuzz targets do; `tests/it/fuzz.rs` runs the same as seeded property tests.

use std::ffi::OsString;
use std::path::Path;

use romloom::board::Board;
use romloom::cli::{self, Style};
use romloom::faults::{Case, Verdict};
use romloom::formats::{
    self, Findings, Format, Input, ReadOptions, Salvaged, Strictness, WriteOptions,
};
use romloom::image::{Clash, Image, Source};
use romloom::parts::Catalogue;

/// The formats that can be read.
#[allow(dead_code)] // not every target reads files
pub fn readers() -> impl Iterator<Item = &'static dyn Format> {
    let formats = formats::FORMATS.iter().copied();
    formats.filter(|format| format.can_read())
}

/// Reads any bytes as the format that the environment variable `ROMLOOM_FORMAT` names.
#[allow(dead_code)]
pub fn named_reader(data: &[u8]) {
    let name = std::env::var("ROMLOOM_FORMAT").expect("ROMLOOM_FORMAT names a format");
    reader(&name, data);
}

/// Reads any bytes as one format: the first byte chooses options, the rest is the file.
#[allow(dead_code)]
pub fn reader(name: &str, data: &[u8]) {
    let Some((choice, file)) = data.split_first() else {
        return;
    };
    let format = formats::by_name(name).expect("a format that can be read");
    let strictness =
        [Strictness::Usual, Strictness::Strict, Strictness::Salvage][usize::from(choice % 3)];
    let clash =
        [Clash::Refuse, Clash::Same, Clash::First, Clash::Last][usize::from(choice / 3 % 4)];
    let word = choice / 12 % 4 + 1;
    let mut how = ReadOptions {
        strictness,
        clash,
        ..ReadOptions::default()
    };
    match name {
        "readmem" => how.word = word,
        "elf" => (how.sections, how.virtual_addresses) = (word & 1 == 0, word & 2 == 0),
        _ => how.unit = word,
    }
    let mut findings = Findings::new("fuzz".into(), strictness);
    let image = format
        .read(&mut Input::new("fuzz", file), &how, &mut findings)
        .expect("bytes in memory can be read");
    // Memory grows with the file: a word of up to 4 bytes may be written as one digit.
    assert!(image.len() <= 4 * file.len() as u64);
    let _ = cli::carets(&findings, Style::PLAIN);
    let extent = image.extent();
    for missing in Salvaged::of(&findings, &image).missing {
        assert!(
            image.within(missing.range).next().is_none(),
            "missing, and yet there: {missing:?}"
        );
    }
    let (Some(_), 0, true) = (extent, findings.errors(), format.can_write()) else {
        return;
    };
    let out_how = WriteOptions {
        unit: how.unit,
        word: how.word,
        ..WriteOptions::default()
    };
    let mut out = Vec::new();
    // A form may have no room for these addresses, or for holes; what it does write comes back.
    if format.write(&image, &out_how, &mut out).is_ok() {
        let how = ReadOptions {
            unit: how.unit,
            word: how.word,
            at: extent.map_or(0, |e| e.first()),
            ..ReadOptions::default()
        };
        let mut findings = Findings::new("again".into(), Strictness::Usual);
        let again = format.read(&mut Input::new("again", &out[..]), &how, &mut findings);
        assert_eq!(findings.errors(), 0, "{findings:?}");
        assert!(again.is_ok_and(|again| again.same_bytes(&image)));
    }
}

/// Parses any text as a board file, with parts of its own; what it gives can be asked.
#[allow(dead_code)]
pub fn board(data: &[u8]) {
    if let Ok(text) = std::str::from_utf8(data) {
        if let Ok(board) = Board::from_toml("fuzz.board", text, &mut Catalogue::built_in()) {
            for (socket, name) in board.sockets() {
                assert_eq!(board.socket(name), Some(socket));
            }
            for space in board.spaces() {
                board.unanswered(space);
                board.at(space, None, 0x8000);
            }
            for (store, window) in board.windows() {
                window.ranges();
                window.switch();
                board.stores()[store].unseen();
            }
            let program = Image::from_bytes(0x8000, vec![1, 2, 3], Source::Patch);
            let _ = board.seat(&program.expect("an image"));
        }
    }
}

/// Parses any text as a list of parts; what it describes can be found.
#[allow(dead_code)]
pub fn own_parts(data: &[u8]) {
    if let Ok(text) = std::str::from_utf8(data) {
        let mut parts = Catalogue::built_in();
        if parts.add_own("fuzz.toml", text).is_ok() {
            for part in parts.all() {
                assert!(part.names().all(|name| parts.find(name).is_ok()));
            }
        }
    }
}

/// Diagnoses odd contents: the first byte says where the wanted image ends and the read begins.
#[allow(dead_code)]
pub fn diagnosis(data: &[u8]) {
    let Some((cut, rest)) = data.split_first() else {
        return;
    };
    let (wanted, read) = rest.split_at(rest.len() * usize::from(*cut) / 255);
    let case = Case::new(wanted, read);
    if let Ok(found) = case.diagnose() {
        assert_eq!(found.verdict == Verdict::Same, wanted == read);
        // What is certain predicts the very read.
        if let (Verdict::Certain, Some(story)) = (found.verdict, found.story()) {
            let predicted = case.predicted(story);
            assert!(predicted.is_none_or(|bytes| bytes == read), "{story:?}");
        }
    }
}

/// Parses any text as a recipe.
#[allow(dead_code)]
pub fn recipe(data: &[u8]) {
    if let Ok(text) = std::str::from_utf8(data) {
        let settings = [("NAME".to_owned(), "a b + '${NAME}'".to_owned())];
        let _ = cli::parse_recipe("fuzz.loom", text, &settings);
    }
}

/// Words that command lines are made of. Names of files stand for files of one folder, so nothing else is written.
const WORDS: &[&str] = &[
    "+",
    "+",
    "+",
    "+",
    "load",
    "fill",
    "hollow",
    "keep",
    "drop",
    "relocate",
    "pad",
    "repeat",
    "seat",
    "split",
    "join",
    "swap",
    "patch",
    "mark",
    "stamp",
    "expect",
    "digest",
    "show",
    "write",
    "check",
    "run",
    "help",
    "steps",
    "--salvage",
    "--strict",
    "--lenient",
    "--as",
    "--at",
    "--to",
    "--by",
    "--across",
    "--on",
    "--with",
    "--lanes",
    "--rows",
    "--per-record",
    "--address-bits",
    "--entry",
    "--clash",
    "--json",
    "--dry-run",
    "--apart",
    "--follow",
    "--tail",
    "--least",
    "--proof",
    "--replace",
    "--zero-sum",
    "--complement",
    "--order",
    "--unit",
    "lanes",
    "banks",
    "hex",
    "blank",
    "bytes",
    "sum",
    "size",
    "full",
    "pointer",
    "intel-hex",
    "s-record",
    "raw",
    "tek-hex",
    "sum8",
    "sum16",
    "crc32",
    "27C256",
    "2764",
    "0",
    "1",
    "2",
    "16",
    "0x8000",
    "0x8003",
    "32K",
    "1M",
    "0-0xFF",
    "0x8000-0x80FF",
    "0x8000+4",
    "cpu:0xFFFC",
    "FF",
    "EA EA 4C",
    "text:HERON",
    "first",
    "last",
    "none",
    "same",
    "little",
    "big",
    "ones",
    "twos",
    "+1",
    "-1",
    "@a.hex",
    "@b.s19",
    "@c.bin",
    "@bad.hex",
    "@out.hex",
    "@out.s19",
    "@out.bin",
    "@{name}.bin",
    "@r.loom",
    "copy",
    "find",
    "unseat",
    "rewire",
    "vote",
    "spread",
    "compare",
    "diagnose",
    "burnable",
    "sheet",
    "pattern",
    "recognise",
    "board",
    "parts",
    "telltale",
    "--wanted",
    "--among",
    "--address",
    "--data",
    "--singles",
    "--board",
    "--quiet",
    "--explain",
    "1,0,2",
    "@out.html",
    "@k.board",
    "cpu:0-0x1FFF",
];

/// A command line of words that `data` chooses; files are in `folder`.
#[allow(dead_code)]
pub fn words(data: &[u8], folder: &Path) -> Vec<OsString> {
    let word = |byte: &u8| {
        let word = WORDS[usize::from(*byte) % WORDS.len()];
        match word.strip_prefix('@') {
            Some(name) => folder.join(name).into_os_string(),
            None => word.into(),
        }
    };
    // Most begin with a file, or little would ever run.
    let begin = ["load", "@a.hex", "+"].map(|w| match w.strip_prefix('@') {
        Some(name) => folder.join(name).into_os_string(),
        None => w.into(),
    });
    let begin = begin
        .into_iter()
        .filter(|_| data.first().is_some_and(|b| b % 8 > 0));
    begin
        .chain(data.iter().skip(1).take(40).map(word))
        .collect()
}

/// Files for those command lines.
#[allow(dead_code)]
pub fn furnish(folder: &Path) -> std::io::Result<()> {
    for (name, text) in [
        ("a.hex", ":048000001011121336\n:00000001FF\n"),
        ("b.s19", "S107003000144ED492\nS9030000FC\n"),
        ("c.bin", "Heron-8"),
        ("bad.hex", ":04800000101l121336\n:02000\n:00000001FF\n"),
        ("r.loom", "load a.hex\npad 32\nshow\n"),
        (
            "k.board",
            "[[sockets]]\nnames = [\"U7\"]\npart = \"27C256\"\nat = 0x8000\n",
        ),
    ] {
        std::fs::write(folder.join(name), text)?;
    }
    Ok(())
}

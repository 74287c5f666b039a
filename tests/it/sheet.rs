//! The burn sheet: its figures are those of `digest`, it escapes what users name, it stays small and the same.

use std::fmt::Write;
use std::fs;
use std::path::Path;
use std::process::Output;

use assert_cmd::Command;
use tempfile::TempDir;

use crate::support::bench::Ran;

/// A folder with the programs of the samples.
fn bench() -> TempDir {
    let folder = TempDir::new().unwrap();
    let samples = Path::new(env!("CARGO_MANIFEST_DIR")).join("samples");
    for file in [
        "heron-16/selftest.s19",
        "heron-8/monitor.hex",
        "heron-8/basic.s19",
    ] {
        let name = Path::new(file).file_name().unwrap();
        fs::copy(samples.join(file), folder.path().join(name)).unwrap();
    }
    folder
}

fn command(folder: &Path, line: &str) -> Command {
    let mut command = Command::cargo_bin("romloom").unwrap();
    command
        .args(shlex::split(line).unwrap())
        .current_dir(folder)
        .env_remove("SOURCE_DATE_EPOCH");
    command
}

fn run(folder: &TempDir, line: &str) -> Output {
    let output = command(folder.path(), line).output().unwrap();
    let err = String::from_utf8_lossy(&output.stderr);
    assert!(output.status.success(), "{line}\n{err}");
    output
}

fn out(output: &Output) -> String {
    String::from_utf8(output.stdout.clone()).unwrap()
}

fn trouble(folder: &TempDir, line: &str) -> String {
    let ran = Ran::from(command(folder.path(), line).output().unwrap());
    assert_eq!(ran.code, 2, "{line}");
    ran.told()
}

fn read(folder: &TempDir, name: &str) -> String {
    fs::read_to_string(folder.path().join(name)).unwrap()
}

/// The page that these steps make, and what they print.
fn sheet(folder: &TempDir, steps: &str, options: &str) -> (String, String) {
    let said = run(folder, &format!("{steps} + sheet s.html {options}"));
    (read(folder, "s.html"), out(&said))
}

/// The Heron-16's pair of chips, as its board has them.
const PAIR: &str = "load selftest.s19 --entry none + mark 0xFFC0 'HERON-16 ROM 1.0' --length 32 --with 0x00 \
                    + seat 27C256 --at 0 --lanes 2 + stamp sum16be --across cpu:0-0xFFFD --at cpu:0xFFFE --order big";

/// The text between two marks, behind which the search for the next goes on.
fn between<'t>(text: &mut &'t str, from: &str, to: &str) -> Option<&'t str> {
    let (_, rest) = text.split_once(from)?;
    let (found, rest) = rest.split_once(to)?;
    *text = rest;
    Some(found)
}

/// The cards of a page.
fn cards(page: &str) -> Vec<&str> {
    page.split("<article").skip(1).collect()
}

/// The sums on a card, by name; digits stand in groups.
fn sums_on(card: &str) -> Vec<(String, String)> {
    let mut rest = card;
    let mut sums = Vec::new();
    while let Some(name) = between(&mut rest, "data-sum=\"", "\"") {
        let value = between(&mut rest, ">", "</code>").unwrap();
        let value = value.replace("<span>", "").replace("</span>", "");
        sums.push((name.to_owned(), value));
    }
    sums
}

#[test]
fn the_sheet_of_the_heron_16() {
    let folder = bench();
    let steps = format!("{PAIR} + write out/heron-16-{{name}}.bin");
    let (page, said) = sheet(
        &folder,
        &steps,
        "--title 'Heron-16 ROM 1.0' --date 2026-03-01",
    );
    assert!(
        said.ends_with("wrote s.html                 sheet of 2 chips\n"),
        "{said}"
    );
    // An element a line, for people who look at changes.
    insta::assert_snapshot!(page.replace("><", ">\n<"));
}

#[test]
fn every_figure_is_what_digest_prints() {
    let folder = bench();
    for (steps, words) in [
        (PAIR, false),
        ("load monitor.hex basic.s19 --name rom --entry none", false),
        (
            "load selftest.s19 --entry none + seat 27C1024 --at 0 --lanes 2 --rows 2 --order big",
            true,
        ),
    ] {
        let said = run(
            &folder,
            &format!("--json {steps} + write {{name}}.hex --erased-too + digest + sheet s.html"),
        );
        let json: serde_json::Value = serde_json::from_str(&out(&said)).unwrap();
        let reports = json["reports"].as_array().unwrap();
        let digest = reports.iter().find(|r| r["step"] == "digest").unwrap();
        let digests = digest["pieces"].as_array().unwrap();
        let page = read(&folder, "s.html");
        let cards = cards(&page);
        assert_eq!(cards.len(), digests.len());
        for (card, digest) in cards.iter().zip(digests) {
            let piece = digest["piece"].as_str().unwrap();
            if card.contains("erased: nothing to burn") {
                assert!(sums_on(card).is_empty());
                continue;
            }
            assert!(page.contains(&format!("<td class=\"socket\">{piece}</td>")));
            let mut expected: Vec<(String, String)> = digest["sums"]
                .as_array()
                .unwrap()
                .iter()
                .map(|s| {
                    let text = |key: &str| s[key].as_str().unwrap().to_owned();
                    (text("algo"), text("value"))
                })
                .collect();
            assert_eq!(expected.len(), if words { 5 } else { 4 });
            assert_eq!(expected[2].0 == "sum16le", words);
            // A chip alone on its sheet has its first sum in the table only.
            let mut shown = match cards.len() {
                1 => sums_on(page.split_once("<tbody").unwrap().1),
                _ => sums_on(card),
            };
            shown.sort();
            expected.sort();
            assert_eq!(shown, expected, "{piece}");
            let bytes = digest["bytes"].as_u64().unwrap();
            let grouped = |n: u64| match n {
                0..1000 => n.to_string(),
                _ => format!("{},{:03}", n / 1000, n % 1000),
            };
            assert!(card.contains(&format!("<span>{} bytes", grouped(bytes))));
            assert!(card.contains(&format!("<code class=\"name\">{piece}.hex</code>")));
        }
        // The sum on every label is that of the table.
        let labels = page.split_once("class=\"cut\"").unwrap().1;
        let table = page.split_once("<tbody").unwrap().1;
        let table = table.split_once("</table>").unwrap().0;
        for (name, value) in sums_on(table) {
            assert_eq!(name, "sum16");
            assert!(labels.contains(&format!("<code>{value}</code>")));
        }
    }
}

#[test]
fn lanes_are_named_by_both_buses() {
    let folder = bench();
    let (page, _) = sheet(&folder, PAIR, "");
    let [even, odd] = cards(&page)[..] else {
        panic!("two chips")
    };
    assert!(even.contains("<b>D8-D15</b> on a 68000, <b>D0-D7</b> on an 8086"));
    assert!(odd.contains("<b>D0-D7</b> on a 68000, <b>D8-D15</b> on an 8086"));
    let (page, _) = sheet(
        &folder,
        "load selftest.s19 --entry none + seat 27C512 --at 0 --lanes 4",
        "",
    );
    assert!(cards(&page)[1].contains("<b>D16-D23</b> on a 68020, <b>D8-D15</b> on an 80386"));
    let (page, _) = sheet(
        &folder,
        "load selftest.s19 --entry none + seat 27C1024 --at 0 --order big",
        "",
    );
    assert!(cards(&page)[0].contains("<dd>D0-D15</dd>"));
}

#[test]
fn programs_behind_a_switch_have_a_table() {
    let folder = bench();
    let (page, _) = sheet(
        &folder,
        "load monitor.hex --entry none + keep 0xE000-0xFFFF + load selftest.s19 --apart --entry none \
         + relocate --to 0xE000 --on selftest + keep 0xE000-0xEFFF --on selftest \
         + seat 27C128 --at 0xE000 --size 8K --banks 2 --in-banks selftest,monitor --names U7",
        "",
    );
    let card = cards(&page)[0];
    let mut rest = card;
    let table = between(&mut rest, "<tbody>", "</tbody>").unwrap();
    let rows: Vec<String> = table
        .split("</tr>")
        .map(|row| {
            let cells = row.split("</td>").map(|cell| {
                let words = cell.split('>').next_back().unwrap_or_default();
                let code = cell
                    .split_once("<code>")
                    .and_then(|(_, c)| c.split_once('<'));
                code.map_or(words, |(c, _)| c).to_owned()
            });
            cells.collect::<Vec<_>>().join(" | ")
        })
        .collect();
    assert_eq!(
        rows,
        [
            "0 | 0000-1FFF | selftest.s19 | ",
            "1 | 2000-3FFF | monitor.hex | ",
            ""
        ]
    );
    assert!(card.contains("The CPU sees each at <code>E000-FFFF</code>"));
}

/// A label, a title and a date that try to be markup.
#[test]
fn what_users_name_is_text_and_nothing_else() {
    let folder = bench();
    let evil = "</title></style><script>alert(1)</script><img src=x onerror=\"a\"> & '\u{202E}";
    let mut command = command(folder.path(), "");
    let words = [
        "load",
        "monitor.hex",
        "--name",
        evil,
        "+",
        "seat",
        "27C512",
        "--at",
        "0",
        "+",
        "sheet",
        "s.html",
        "--title",
        evil,
        "--date",
        evil,
        "+",
        "sheet",
        "s.svg",
        "--title",
        evil,
    ];
    assert!(command.args(words).output().unwrap().status.success());
    for name in ["s.html", "s.svg"] {
        let page = read(&folder, name);
        assert!(page.contains("&lt;/title&gt;"), "{name}");
        for tag in ["<script", "<img", "\u{202E}"] {
            assert!(!page.contains(tag), "{name}: {tag}");
        }
        // Tags close as often as they open, and the only styles are ours.
        assert_eq!(page.matches("<title>").count(), 1);
        assert_eq!(page.matches("</title>").count(), 1);
        assert_eq!(page.matches("</style>").count(), 1);
    }
    let page = read(&folder, "s.html");
    assert!(page.contains(
        "<h1 class=\"long\">&lt;/title&gt;&lt;/style&gt;&lt;script&gt;alert(1)&lt;/script&gt;&lt;img src=x \
         onerror=&quot;a&quot;&gt; &amp; '\u{FFFD}</h1>"
    ));
}

#[test]
fn nothing_on_the_page_lies_outside_it() {
    let folder = bench();
    run(
        &folder,
        &format!("{PAIR} + sheet s.html + sheet s.svg --on even"),
    );
    for name in ["s.html", "s.svg"] {
        let page = read(&folder, name).replace("http://www.w3.org/2000/svg", "");
        for outside in [
            "http:", "https:", "src=", "href=", "@import", "url(//", "<script",
        ] {
            assert!(!page.contains(outside), "{name}: {outside}");
        }
    }
    assert!(read(&folder, "s.html").contains("content=\"default-src 'none'; style-src"));
    let svg = read(&folder, "s.svg");
    assert!(svg.starts_with("<?xml") && svg.contains(">even</text>") && !svg.contains(">odd<"));
}

/// Four chips whose every cell of the map has another origin than its neighbour.
#[test]
fn the_sheet_of_a_board_stays_below_200_kilobytes() {
    let folder = bench();
    let mut steps = "load".to_owned();
    for file in 0..40u32 {
        let mut text = String::new();
        for block in (file..2048).step_by(40) {
            let address = block * 512;
            let mut bytes = vec![
                21,
                (address >> 24) as u8,
                (address >> 16) as u8,
                (address >> 8) as u8,
                address as u8,
            ];
            bytes.extend([file as u8; 16]);
            let sum = !bytes.iter().fold(0u8, |s, b| s.wrapping_add(*b));
            bytes.push(sum);
            let digits: String = bytes.iter().fold(String::new(), |mut text, b| {
                write!(text, "{b:02X}").unwrap();
                text
            });
            writeln!(text, "S3{digits}").unwrap();
        }
        let name = format!("a-rather-long-name-of-part-{file}.s37");
        fs::write(folder.path().join(&name), text).unwrap();
        write!(steps, " {name}").unwrap();
    }
    let (page, _) = sheet(
        &folder,
        &format!("{steps} + seat 27C020 --at 0 --lanes 4"),
        "",
    );
    assert_eq!(cards(&page).len(), 4);
    assert!(page.len() < 200_000, "{} bytes", page.len());
}

#[test]
fn the_same_input_makes_the_same_bytes_wherever_it_runs() {
    let folder = bench();
    let recipe = format!(
        "{}\nwrite out/{{name}}.bin\nsheet out/s.html",
        PAIR.replace(" + ", "\n")
    );
    fs::write(folder.path().join("board.loom"), recipe).unwrap();
    run(&folder, "run board.loom");
    let first = read(&folder, "out/s.html");
    let elsewhere = TempDir::new().unwrap();
    let said = command(elsewhere.path(), "run")
        .arg(folder.path().join("board.loom"))
        .output()
        .unwrap();
    assert!(said.status.success());
    assert_eq!(out(&said).matches("unchanged ").count(), 3);
    assert_eq!(read(&folder, "out/s.html"), first);
    assert!(first.contains("<code class=\"name\">out/even.bin</code>"));
}

#[test]
fn a_date_is_given_or_the_build_systems_and_never_the_clocks() {
    let folder = bench();
    let steps = "load monitor.hex + sheet s.html";
    run(&folder, steps);
    let without = read(&folder, "s.html");
    let mut rest = without.as_str();
    let under = between(&mut rest, "<p class=\"under\">", "</p>").unwrap();
    assert_eq!(
        under,
        "<span>Burn sheet</span><span>1 chip, 1,324 bytes</span>"
    );
    let with = |epoch: &str, line: &str| {
        let mut command = command(folder.path(), line);
        command.env("SOURCE_DATE_EPOCH", epoch).output().unwrap()
    };
    // 1,772,323,200 s are 20,513 days of 86,400 s: 1 March 2026.
    assert!(with("1772323200", steps).status.success());
    assert!(read(&folder, "s.html").contains("<span>2026-03-01</span>"));
    assert!(
        with("1772323200", &format!("{steps} --date 'in spring'"))
            .status
            .success()
    );
    assert!(read(&folder, "s.html").contains("<span>in spring</span>"));
    let bad = with("soon", steps);
    assert_eq!(bad.status.code(), Some(2));
    assert!(
        String::from_utf8_lossy(&bad.stderr)
            .contains("`soon`; it must be seconds since 1970-01-01")
    );
}

#[test]
fn only_files_that_hold_the_chip_as_it_is_are_named() {
    let folder = bench();
    let (page, _) = sheet(
        &folder,
        "load monitor.hex basic.s19 --name rom --entry none + seat 27C256 --at 0x8000 + write old.bin + patch 0x4000 00 \
         + write new.bin + write new.s19",
        "",
    );
    assert!(!page.contains("old.bin"));
    assert!(page.contains(
        "<code class=\"name\">new.bin</code> <span class=\"soft\">raw binary at 0</span>"
    ));
    assert!(page.contains("<code class=\"name\">new.s19</code>"));
    let (page, _) = sheet(&folder, "load monitor.hex", "");
    assert!(page.contains("not written before this sheet"));
    assert!(page.contains("no part chosen"));
    assert!(page.contains("are in none of the sums"));
    // Padded to a part it is that part's content, in a socket or not.
    let (page, _) = sheet(&folder, "load monitor.hex + pad 27C512 --at 0", "");
    assert!(!page.contains("no part chosen"));
    assert!(page.contains("<td class=\"part\">27C512</td>"), "{page}");
}

#[test]
fn what_cannot_be_made_is_refused_before_anything_is_written() {
    let folder = bench();
    assert!(
        trouble(&folder, "load monitor.hex + sheet s.pdf").contains(
            "s.pdf is not the name of a sheet or a map: end it with .html or .htm or .svg"
        )
    );
    assert!(trouble(&folder, "load monitor.hex + sheet -").contains("not the name of a sheet"));
    assert!(trouble(&folder, "load monitor.hex + sheet s.html --on ghost").contains("`ghost`"));
    assert!(
        trouble(
            &folder,
            "load monitor.hex + write s.html --as raw + sheet s.html"
        )
        .contains("s.html is written twice")
    );
    // A step behind it fails: no sheet.
    trouble(
        &folder,
        "load monitor.hex + sheet s.html + relocate --to 0xFFFFFFFFFFFFFFF0",
    );
    assert!(!folder.path().join("s.html").exists());
    run(&folder, "--dry-run load monitor.hex + sheet s.html");
    assert!(!folder.path().join("s.html").exists());
    // In JSON a sheet is an output without a piece.
    let said = run(&folder, "--json load monitor.hex + sheet s.html");
    let json: serde_json::Value = serde_json::from_str(&out(&said)).unwrap();
    let output = &json["reports"][0]["outputs"][0];
    assert_eq!(
        (&output["file"], &output["state"]),
        (&"s.html".into(), &"new".into())
    );
    assert!(output.get("piece").is_none());
}

#[test]
fn images_at_the_ends_of_the_address_space_and_empty_ones_have_a_sheet() {
    let folder = bench();
    fs::write(folder.path().join("a.bin"), [1, 2, 3, 4, 5, 6, 7, 8]).unwrap();
    let (page, _) = sheet(
        &folder,
        "load a.bin --at 0xFFFFFFFFFFFFFFF0 + copy 0xFFFFFFFFFFFFFFF0+4 --to 0",
        "",
    );
    // The last byte is at FFFF FFFF FFFF FFF7.
    assert!(page.contains("18,446,744,073,709,551,596 bytes are in none of the sums"));
    assert!(page.contains("05 06 07 08 &lt; FFFFFFFFFFFFFFF7"));
    let (page, _) = sheet(&folder, "load a.bin + keep 0x100-0x110", "");
    assert!(page.contains("This piece has no bytes."));
    let (page, _) = sheet(
        &folder,
        "load a.bin + seat 2716 --at 0 --lanes 4 --rows 3",
        "",
    );
    assert_eq!(cards(&page).len(), 12);
}

/// The parts of a page in the order in which the bench asks for them.
#[test]
fn the_lines_that_decide_come_first_then_the_table_then_the_cards() {
    let folder = bench();
    let (page, _) = sheet(&folder, &format!("{PAIR} + write {{name}}.bin"), "");
    let order = [
        "class=\"decide\"",
        "class=\"sheet\"",
        "class=\"chip\"",
        "class=\"picture\"",
        "class=\"cautions\"",
        "class=\"cut\"",
    ];
    let places: Vec<usize> = order.iter().map(|part| page.find(part).unwrap()).collect();
    assert!(places.is_sorted(), "{places:?}");
    for line in [
        "the type on the chip, every letter of it",
        "Blank check: every byte must read FF.",
        "Clear the buffer. Load the file as raw binary at 0: no offset, no byte swap, no split.",
        "Compare the sum",
        "read the chip back, and compare the sum once more",
    ] {
        assert!(page.contains(line), "{line}");
    }
    // Socket, part, file, sum, and two boxes.
    let mut rest = page.as_str();
    let row = between(&mut rest, "<tbody><tr>", "</tr>").unwrap();
    for cell in [
        "socket\">even<",
        "part\">27C256<",
        "<p>even.bin</p>",
        "data-sum=\"sum16\"",
        "loaded<",
        "burned<",
    ] {
        assert!(row.contains(cell), "{cell}: {row}");
    }
}

#[test]
fn a_line_is_only_for_the_parts_that_it_concerns() {
    let folder = bench();
    let seated = |part: &str, more: &str| {
        let steps =
            format!("load monitor.hex --entry none + seat {part} --at 0x8000 {more} + write x.bin");
        sheet(&folder, &steps, "").0
    };
    let (uv, rom) = (seated("27C256", ""), seated("23256", "--with FF"));
    let free = seated("28C256", "");
    for (word, on_uv, on_rom, on_free) in [
        ("UV-C", true, false, false),
        ("Programming voltages", true, false, false),
        ("Identification check", true, true, false),
        ("Blank check", true, false, false),
        ("<li>blank</li>", true, false, false),
        ("<li>burned</li>", true, false, true),
        ("Voltage in its data sheet", true, false, false),
        ("can only be read", false, true, false),
        ("Mains", true, true, true),
    ] {
        let found = [&uv, &rom, &free].map(|page| page.replace('\u{2011}', "-").contains(word));
        assert_eq!(found, [on_uv, on_rom, on_free], "{word}");
    }
    // Records are not told to be loaded as raw binary.
    let steps = "load monitor.hex --entry none + seat 27C256 --at 0x8000 + write x.s19";
    let (page, _) = sheet(&folder, steps, "");
    assert!(page.contains("Load the file as its card says"));
    assert!(
        page.contains("s-record S1, at the addresses in it, no offset"),
        "{page}"
    );
}

/// A voltage on the page is one that parts were made for, never one to set.
#[test]
fn no_voltage_to_set_is_printed() {
    let folder = bench();
    for (part, at) in [
        ("2716", "0xE000"),
        ("2732A", "0xE000"),
        ("27C256", "0x8000"),
        ("28F256", "0x8000"),
        ("27512", "0"),
        ("68764", "0xE000"),
    ] {
        let steps =
            format!("load monitor.hex --entry none + keep 0xE000-0xE010 + seat {part} --at {at}");
        let (page, _) = sheet(&folder, &steps, "");
        assert!(!page.contains("is programmed at"), "{part}");
        assert!(page.contains("Voltage in its data sheet"), "{part}");
        let says = page.contains("Parts of this number were made for")
            || page.contains("number does not say");
        assert!(says, "{part}");
    }
}

#[test]
fn an_erased_chip_is_one_line_and_has_no_label() {
    let folder = bench();
    let (page, _) = sheet(
        &folder,
        "load monitor.hex --entry none + seat 27C64 --at 0x8000 --rows 4 + write {name}.bin",
        "",
    );
    assert!(page.contains("<p><b>row0</b>, 27C64: erased: nothing to burn</p>"));
    assert_eq!(page.matches("erased: nothing to burn").count(), 6);
    assert_eq!(page.matches("class=\"label\"").count(), 1);
}

#[test]
fn chips_that_share_a_shown_sum_are_flagged() {
    let folder = bench();
    let bytes = |at: [(usize, u8); 2]| {
        let mut bytes = vec![0xFF; 8192];
        at.into_iter().for_each(|(n, byte)| bytes[n] = byte);
        bytes
    };
    fs::write(folder.path().join("u1.bin"), bytes([(0, 1), (9, 2)])).unwrap();
    fs::write(folder.path().join("u2.bin"), bytes([(0, 2), (9, 1)])).unwrap();
    fs::write(folder.path().join("u3.bin"), bytes([(0, 2), (9, 1)])).unwrap();
    let steps = "load u1.bin u2.bin u3.bin --apart + pad 27C64 --at 0";
    let (page, _) = sheet(&folder, steps, "");
    assert!(page.contains("u2 and u3 have the same content"), "{page}");
    assert!(page.contains("u1, u2 and u3 share the sum of bytes in 16 bits, "));
    assert_eq!(page.matches("shared, see below").count(), 3);
    let (page, _) = sheet(&folder, "load u1.bin u2.bin --apart + pad 27C64 --at 0", "");
    assert!(page.contains("although they differ: compare the CRC-32 too."));
}

/// The residue of CRC-32/ISO-HDLC, 2144DF1C after the final exclusive-or, is that of the RevEng catalogue (DEBB20E3 before).
#[test]
fn a_crc_that_is_the_same_for_every_image_is_told() {
    let folder = bench();
    let steps = "load monitor.hex --entry none + pad 27C512 --at 0 + fill FF + stamp crc32 --across 0-0xFFFB --at 0xFFFC \
                 --replace + write x.bin";
    let output = command(folder.path(), &format!("{steps} + sheet s.html"))
        .output()
        .unwrap();
    let err = String::from_utf8_lossy(&output.stderr).replace('\n', " ");
    assert!(
        err.contains("the crc-32/iso-hdlc of the whole is 2144DF1C"),
        "{err}"
    );
    assert!(
        err.contains("crc32 2144DF1C is that of every image"),
        "{err}"
    );
    assert!(
        read(&folder, "s.html")
            .contains("Every image that ends in its own CRC-32 shows this CRC-32")
    );
    // Elsewhere than at the end it tells images apart.
    let said = command(
        folder.path(),
        "load monitor.hex --entry none + pad 27C512 --at 0 + fill FF + stamp crc32 --across 0-0xFFEF --at 0xFFF0 --replace",
    );
    let err = { said }.output().unwrap().stderr;
    assert!(!String::from_utf8_lossy(&err).contains("2144DF1C"));
}

#[test]
fn labels_have_the_size_of_the_package_and_say_where_the_chip_is_seen() {
    let folder = bench();
    for (part, size, words) in [
        ("2732", "width:28mm;height:12mm", "28 x 12 mm for 24 pins"),
        ("27C64", "width:33mm;height:12mm", "33 x 12 mm for 28 pins"),
        ("27C010", "width:38mm;height:12mm", "38 x 12 mm for 32 pins"),
        (
            "27C1024",
            "width:48mm;height:12mm",
            "48 x 12 mm for 40 pins",
        ),
        (
            "prom-32x8",
            "width:18mm;height:6mm",
            "18 x 6 mm for 16 pins",
        ),
    ] {
        let more = match part {
            "27C1024" => "--order big",
            "prom-32x8" => "--with 00",
            _ => "",
        };
        let steps = format!(
            "load monitor.hex --entry none + keep 0xE000-0xE00F + seat {part} --at 0xE000 --drop-outside {more}"
        );
        let steps = match part {
            "27C010" | "27C1024" => steps.replace("--at 0xE000", "--at 0"),
            _ => steps,
        };
        let (page, _) = sheet(&folder, &steps, "");
        let labels = page.split_once("<h2>Labels</h2>").unwrap().1;
        assert!(
            labels.contains(size) && labels.contains(words),
            "{part}: {labels}"
        );
        assert!(labels.contains("CPU "), "{part}: {labels}");
    }
}

/// Pins as data sheets number them: common practice.
#[test]
fn the_chip_is_drawn_pin_by_pin() {
    let folder = bench();
    let (page, _) = sheet(
        &folder,
        "load monitor.hex --entry none + seat 27C256 --at 0x8000",
        "",
    );
    let drawing = page.split_once("<svg class=\"dip\"").unwrap().1;
    let drawing = drawing.split_once("</svg>").unwrap().0;
    assert!(drawing.contains("28 pins; pin 1 is the upper left one, left of the notch"));
    for (number, class, name) in [
        (1, "vpp", "VPP"),
        (14, "supply", "GND"),
        (20, "enable", "CE"),
        (22, "enable", "OE"),
        (28, "supply", "VCC"),
        (3, "address", "A7"),
        (19, "data", "D7"),
    ] {
        let pin = drawing.split_once(&format!(">{number}</text>")).unwrap().1;
        let pin = pin.split_once("</text>").unwrap().0;
        assert!(
            pin.contains(&format!("class=\"{class}\"")) && pin.ends_with(&format!(">{name}")),
            "pin {number}: {pin}"
        );
    }
}

#[test]
fn words_have_their_order_and_their_own_sum() {
    let folder = bench();
    let (page, _) = sheet(
        &folder,
        "load selftest.s19 --entry none + seat 27C1024 --at 0 --order big",
        "",
    );
    assert!(page.contains(
        "the file has D0-D7 first, then D8-D15; on the bus D8-D15 have the even address"
    ));
    assert!(page.contains("or, of words, <code>") && page.contains("data-sum=\"sum16le\""));
    let (page, _) = sheet(&folder, "load selftest.s19 --entry none + pad 27C1024", "");
    assert!(page.contains("<dt>Words</dt><dd>the file has D0-D7 first, then D8-D15</dd>"));
}

#[test]
fn the_banks_of_a_register_are_not_called_a_switch() {
    let folder = bench();
    for (by, heading, other) in [
        ("register 0x20", "Banks", "Switch"),
        ("switch S1", "Switch", "Banks"),
    ] {
        let board = format!(
            "[[sockets]]\nnames = [\"U7\"]\npart = \"27C128\"\nat = 0xE000\nsize = \"8K\"\nbanks = 2\nby = \"{by}\"\n"
        );
        fs::write(folder.path().join("b.board"), board).unwrap();
        let steps = "load monitor.hex --entry none + keep 0xE000-0xFFFF + seat --board b.board --in-banks monitor,-";
        let (page, _) = sheet(&folder, steps, "");
        assert!(page.contains(&format!("<h3>{heading}</h3>")), "{by}");
        assert!(!page.contains(&format!("<h3>{other}</h3>")), "{by}");
    }
}

#[test]
fn with_a_name_in_braces_each_chip_has_its_own_sheet() {
    let folder = bench();
    let said = run(
        &folder,
        &format!("--dry-run {PAIR} + sheet out/{{name}}.html"),
    );
    assert!(
        out(&said).contains("would write out/even.html"),
        "{}",
        out(&said)
    );
    run(
        &folder,
        &format!("{PAIR} + sheet out/{{name}}.html + sheet {{n}}.svg"),
    );
    for name in ["out/even.html", "out/odd.html", "0.svg", "1.svg"] {
        assert!(folder.path().join(name).exists(), "{name}");
    }
    assert!(read(&folder, "out/odd.html").contains("<h1>odd</h1>"));
    assert!(
        trouble(&folder, "load monitor.hex + sheet {label}.html")
            .contains("`{label}` in `{label}.html` means nothing")
    );
    let hostile = trouble(
        &folder,
        "load monitor.hex --name ../up + sheet out/{name}.html",
    );
    assert!(
        hostile.contains("can't be part of a file's name"),
        "{hostile}"
    );
    assert!(!folder.path().join("up.html").exists());
}

//! The burn sheet: its figures are those of `digest`, it escapes what users name, it stays small and the same.

use std::fmt::Write;
use std::fs;
use std::path::Path;
use std::process::Output;

use assert_cmd::Command;
use tempfile::TempDir;

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
    let output = command(folder.path(), line).output().unwrap();
    assert_eq!(output.status.code(), Some(2), "{line}");
    String::from_utf8(output.stderr).unwrap()
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
            assert!(card.contains(&format!("<h2>{piece}</h2>")));
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
            let mut shown = sums_on(card);
            shown.sort();
            expected.sort();
            assert_eq!(shown, expected, "{piece}");
            let bytes = digest["bytes"].as_u64().unwrap();
            let grouped = |n: u64| match n {
                0..1000 => n.to_string(),
                _ => format!("{},{:03}", n / 1000, n % 1000),
            };
            assert!(card.contains(&format!("<dd>{} bytes", grouped(bytes))));
            assert!(card.contains(&format!("<code class=\"name\">{piece}.hex</code>")));
        }
        // The sum on every label is the card's first.
        let labels = page.split_once("class=\"cut\"").unwrap().1;
        for card in &cards {
            assert!(labels.contains(&format!("<code>{}</code>", sums_on(card)[0].1)));
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
        "<h2 class=\"long\">&lt;/title&gt;&lt;/style&gt;&lt;script&gt;alert(1)&lt;/script&gt;&lt;img src=x \
         onerror=&quot;a&quot;&gt; &amp; '\u{FFFD}</h2>"
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
        "<span>Burn sheet</span><span>1 chip, 1,095 bytes</span>"
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
        String::from_utf8_lossy(&bad.stderr).contains("`soon`, expected seconds since 1970-01-01")
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
    assert!(page.contains("<code class=\"name\">new.bin</code> <span class=\"soft\">raw</span>"));
    assert!(page.contains("<code class=\"name\">new.s19</code>"));
    let (page, _) = sheet(&folder, "load monitor.hex", "");
    assert!(page.contains("not written before this sheet"));
    assert!(page.contains("no part chosen"));
    assert!(page.contains("bytes hollow and in none of the sums"));
    // Padded to a part it is that part's content, in a socket or not.
    let (page, _) = sheet(&folder, "load monitor.hex + pad 27C512 --at 0", "");
    assert!(!page.contains("no part chosen"));
    assert!(page.contains(">27C512<"), "{page}");
}

#[test]
fn what_cannot_be_made_is_refused_before_anything_is_written() {
    let folder = bench();
    assert!(
        trouble(&folder, "load monitor.hex + sheet s.pdf")
            .contains("s.pdf is neither page nor picture: end the name with .html")
    );
    assert!(trouble(&folder, "load monitor.hex + sheet -").contains("neither page nor picture"));
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
    assert!(page.contains("18,446,744,073,709,551,596 bytes hollow"));
    assert!(page.contains("05 06 07 08 &lt; FFFFFFFFFFFFFFF7"));
    let (page, _) = sheet(&folder, "load a.bin + keep 0x100-0x110", "");
    assert!(page.contains("This piece holds no byte."));
    let (page, _) = sheet(
        &folder,
        "load a.bin + seat 2716 --at 0 --lanes 4 --rows 3",
        "",
    );
    assert_eq!(cards(&page).len(), 12);
}

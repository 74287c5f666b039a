//! The caret of every error is under the word that it is about, in a recipe and on the command line alike.
//!
//! Long, because most of it is the table of what is tried.

use crate::support::bench::Folder;

/// What runs first, and the step that stops; the word meant is between `«` and `»`.
const STEPS: &[(&str, &str)] = &[
    ("", "load «at»"),
    ("", "load prog.hex «at»"),
    ("", "load prog.hex --at «0x8000»"),
    ("", "load prog.hex --at=«0x8000» --name at"),
    ("", "load data.bin --as «data»"),
    ("", "load data.bin «hole.bin» --name data"),
    ("", "load data.bin hole.bin --follow «--apart»"),
    ("", "load data.bin hole.bin --apart --name «data»"),
    ("", "load data.bin hole.bin --skip «1»"),
    ("", "load data.bin hole.bin --length=«1»"),
    ("", "load - --as raw «-»"),
    ("", "load «data.bin» --skip 0x100"),
    ("", "load «data.bin» --length 0x100"),
    ("", "load data.bin --at 1 --word «1»"),
    ("", "load «damaged.hex» --name damaged.hex"),
    ("", "load data.bin --name data --at «data»"),
    ("", "load --name data --clash «data» data.bin"),
    ("", "load --entry=«at» data.bin --name at"),
    ("", "load data.bin --name data «--name» data"),
    ("", "load data.bin «--hole» --name hole"),
    ("", "load data.bin --strict «--salvage»"),
    ("", "load data.bin «--name» --at 3"),
    ("", "load data.bin «--name»"),
    ("", "load data.bin --unit «0» --word 1"),
    ("", "«load» --name data"),
    ("", "pattern «data» 8K --name data"),
    ("", "pattern telltale «data» --name data"),
    ("load prog.hex --name data", "fill «zz» --on zz"),
    ("load prog.hex --name data", "fill --on zz «zz»"),
    ("load prog.hex --name data", "fill FF --on «FF»"),
    ("load prog.hex --name data", "fill FF --on data --on «at»"),
    (
        "load prog.hex --name data",
        "fill FF «0-0x1FFFFFFF» --on data",
    ),
    ("load prog.hex --name data", "fill FF 0x8000 «0x9000»"),
    ("load prog.hex --name data", "hollow «data» --on data"),
    ("load prog.hex --name data", "hollow FF --least «FF»"),
    ("load prog.hex --name data", "keep «0x8000» 0x8000"),
    ("load prog.hex --name data", "keep 0x8000-0x8001 «0x9000»"),
    (
        "load prog.hex --name data",
        "keep 0x8000-0x8001 «cpu:0x9000-0x9001»",
    ),
    (
        "load prog.hex --name data",
        "drop 0x8000-0x8001 «data» --on data",
    ),
    ("load prog.hex --name data", "relocate --by «-0x9000»"),
    (
        "load prog.hex --name data",
        "relocate --by=«-0x9000» --on data",
    ),
    (
        "load prog.hex --name data",
        "relocate --to «0xFFFFFFFFFFFFFFFF»",
    ),
    ("load prog.hex --name data", "relocate --to 0 «--by» -0x10"),
    ("load prog.hex --name data", "«relocate» --on data"),
    ("load prog.hex --name data", "pad 2 --on «2»"),
    ("load prog.hex --name 2", "pad «2» --at 0x8000 --on 2"),
    ("load prog.hex --name data", "pad 4 --at «0x8001» --on data"),
    ("load prog.hex --name data", "pad «27C265» --on data"),
    ("load prog.hex --name 4", "pad «4» --at 4 --on 4"),
    ("load prog.hex --name data", "repeat «3» --on data"),
    ("load prog.hex --name data", "repeat 4K --at «0x8001»"),
    ("load prog.hex --name data", "copy «0-3» --to 0"),
    (
        "load prog.hex --name data",
        "copy 0x8000-0x8003 --to «0x8001» --on data",
    ),
    ("load prog.hex --name data", "find «zz» --on zz"),
    ("load prog.hex --name at", "seat «at» --at 0x8000 --on at"),
    (
        "load prog.hex --name at",
        "seat 27C256 --at «0x8001» --on at",
    ),
    (
        "load prog.hex --name at",
        "seat 27C256 --at 0 --on at --lanes «99»",
    ),
    ("load prog.hex --name at", "seat «27C256» --at 0 --on at"),
    (
        "load prog.hex --name at",
        "seat 27C256 --at 0 --lanes 2 --names «a»,b,at --on at",
    ),
    (
        "load prog.hex --name at",
        "seat 27C512 --at 0x8000 --size 32K --tied A15=1,«B4»",
    ),
    (
        "load prog.hex --name at",
        "seat 27C512 --at 0x8000 --size «32K» --tied A15=1,A14=0",
    ),
    (
        "load prog.hex --name at",
        "seat 27C512 --at 0x8000 --size «32K» --on at",
    ),
    (
        "load prog.hex --name at",
        "seat 27C512 --at 0x8000 --size 32K --from «0x20000»",
    ),
    (
        "load prog.hex --name at",
        "seat «27C256» --at 0x8000 --except 0x8002-0x8003 --on at",
    ),
    (
        "load prog.hex --name at",
        "seat «23256» --at 0x8000 --on at",
    ),
    ("load prog.hex --name at", "seat 27C256 «0x8000»"),
    ("load data.bin --name data", "«unseat»"),
    ("load data.bin --name data", "unseat «--for» nosuch"),
    (
        "load prog.hex + seat 27C256 --at 0x8000",
        "«seat» 27C256 --at 0",
    ),
    (
        "load data.bin --name data",
        "split lanes 2 --names at,«at» --on data",
    ),
    (
        "load data.bin --name data",
        "split lanes 2 --names=at,data,«hole» --on data",
    ),
    ("load data.bin --name data", "split lanes «data» --on data"),
    ("load data.bin --name data", "split «2» --on data"),
    ("load data.bin --name data", "split lanes 2 «3»"),
    ("load data.bin --name data", "split lanes 2 --on «lanes»"),
    ("load data.bin --name data", "«split» lanes"),
    ("load data.bin --name data", "«join» lanes --name data"),
    (
        "load data.bin --name data",
        "join lanes --on data --on «at»",
    ),
    ("load data.bin hole.bin --apart", "join banks «3»"),
    ("load data.bin --name data", "spread 0-3 --bank-size «data»"),
    ("load data.bin --name data", "swap «3» --on data"),
    (
        "load prog.hex --name 4 + drop 0x8001-0x8001",
        "swap «4» --on 4",
    ),
    (
        "load prog.hex --name data",
        "rewire --address «D0» --on data",
    ),
    ("load prog.hex --name data", "rewire --data 0,1,«1»"),
    (
        "load prog.hex --name data",
        "rewire --address=A1,A0,«A9» --on data",
    ),
    ("load prog.hex --name data", "patch 0x8000 «zz» --on zz"),
    ("load prog.hex --name data", "patch 0x8000 EA --was «EB»"),
    ("load prog.hex --name data", "patch 0x9000 EA --was «EB»"),
    ("load prog.hex --name data", "patch «EA» EA"),
    ("load prog.hex --name data", "patch 0x8000 EA «EA»"),
    ("load prog.hex --name data", "patch --file «at»"),
    ("load prog.hex --name data", "mark 0x9000 hole «hole»"),
    (
        "load prog.hex --name data",
        "mark 0x9000 «image» --length 2 --on data",
    ),
    (
        "load prog.hex --name data",
        "mark 0x9000 at --with «at» --on at --length at",
    ),
    (
        "load prog.hex --name data",
        "mark «0xFFFFFFFFFFFFFFFF» hole --on data",
    ),
    (
        "load prog.hex --name data",
        "stamp sum16 --across 0x8000-0x8001 --at «0x8002» --on data",
    ),
    (
        "load prog.hex --name hole",
        "stamp sum16 --across «0x8000-0x8007» --at 0x9000 --on hole",
    ),
    (
        "load prog.hex --name data",
        "stamp sum8 --across 0x8000-0x8001 --across «0x9000-0x9001» --at 0x8004",
    ),
    (
        "load prog.hex --name data",
        "stamp «data» --across 0x8000-0x8001 --at 0x8004 --on data",
    ),
    (
        "load prog.hex --name data",
        "stamp sum16 --across 0x8000-0x8001 --at 0x8004 --order «data»",
    ),
    (
        "load prog.hex --name data",
        "stamp sum16 --across 0x8000-0x8001 --at «cpu:0x8004»",
    ),
    ("load prog.hex --name data", "«stamp» sum16 --at 0x8004"),
    (
        "load prog.hex --name data",
        "expect blank «0x8000-0x8003» --on data",
    ),
    (
        "load prog.hex --name 11",
        "expect bytes 0x8000 «11» --on 11",
    ),
    (
        "load prog.hex --name data",
        "expect sum sum8 «45» --on data",
    ),
    (
        "load prog.hex --name data",
        "expect sum sum8 «data» --on data",
    ),
    ("load prog.hex --name 5", "expect size «5» --on 5"),
    (
        "load prog.hex data.bin --name hole",
        "expect full --on «hole»",
    ),
    ("load prog.hex data.bin --name hole", "«expect» full"),
    (
        "load prog.hex --name data",
        "expect pointer 0x8000 --in «0-1» --on data",
    ),
    (
        "load prog.hex --name data",
        "expect pointer «0x9000» --in 0x9000-0x9001",
    ),
    (
        "load prog.hex --name data",
        "expect pointer 0x8000 --in 0-1 --bytes «5»",
    ),
    ("load prog.hex --name data", "expect «data» --on data"),
    ("load prog.hex --name data", "«expect»"),
    ("load prog.hex --name data", "burnable «at» --part 27C256"),
    (
        "load prog.hex --name data",
        "burnable data.bin --part «data» --on data",
    ),
    (
        "load prog.hex --name data",
        "burnable data.bin --limit «data» --on data",
    ),
    (
        "load prog.hex --name data",
        "burnable data.bin --part «prom-256x8» --on data",
    ),
    ("load prog.hex --name at", "compare «at» --on at"),
    ("load prog.hex --name data", "compare «{data}» --on data"),
    (
        "load prog.hex --name data",
        "show changes «{part}» --on data",
    ),
    (
        "load prog.hex --name data",
        "compare data.bin --on data --on «data.bin»",
    ),
    ("load prog.hex --name data", "«vote»"),
    ("load prog.hex --name data", "vote --name data «data»"),
    (
        "load prog.hex --name data",
        "diagnose --wanted «at» --on data",
    ),
    (
        "load prog.hex --name data",
        "diagnose --old «data.bin» --on data",
    ),
    (
        "load prog.hex --name data",
        "diagnose --pattern «data» --on data",
    ),
    ("load prog.hex --name data", "diagnose «--second» data.bin"),
    ("load prog.hex --name data", "digest sum16 «data» --on data"),
    ("load prog.hex --name data", "digest --on «sum16» sum16"),
    (
        "load prog.hex --name data + seat 27C64 --at 0x8000 + swap 2",
        "show hex «cpu:0x8000-0x8001» --on data",
    ),
    ("load prog.hex --name data", "show changes «at»"),
    ("load prog.hex --name data", "show «data» --on data"),
    ("load prog.hex --name data", "show hex --on data --on «hex»"),
    ("load prog.hex --name data", "show --json «hex»"),
    ("load prog.hex --name data", "write «data» --on data"),
    ("load prog.hex --name data", "write data.x --as «data»"),
    (
        "load prog.hex --name data",
        "write data.x --as raw --per-record «16»",
    ),
    ("load prog.hex --name data", "write «{hole}.bin» --on data"),
    ("load prog.hex + load data.bin --name at", "write «at.bin»"),
    (
        "load prog.hex data.bin --name hole",
        "write «hole.bin» --on hole",
    ),
    ("load prog.hex --name data", "write «prog.hex/data.bin»"),
    ("load prog.hex + write at.bin", "write «at.bin» --on prog"),
    ("load prog.hex + write at.bin", "write --on prog «./at.bin»"),
    ("load prog.hex --name data", "sheet «data»"),
    ("load prog.hex --name data", "«pda» 4"),
    ("load prog.hex --name data", "«run» run"),
    ("load prog.hex --name data", "«data» data"),
    (
        "load prog.hex --name data",
        "stamp crc32 --across 0x8000-0x8001 --at 0x8004 --init «0x1FFFFFFFF»",
    ),
    (
        "load prog.hex --name data",
        "stamp md5 --across 0x8000-0x8001 --at 0x9000 --init «1»",
    ),
    (
        "load prog.hex --name data",
        "stamp sum8 --across 0-1 --at 4 --zero-sum --target «0x100» --on data",
    ),
    (
        "load prog.hex --name data",
        "«stamp» sum8 --across 0x8000-0x8001 --at 0x8004 --target 1",
    ),
    (
        "load prog.hex --name data",
        "stamp crc32 --across 0x8000-0x8003 --at 0x8004 «--zero-sum»",
    ),
    (
        "load prog.hex --name data",
        "stamp sum8 --across 0x8000-0x8003 --at 0x8004 --zero-sum «--complement» ones",
    ),
    (
        "load prog.hex --name data",
        "stamp sha1 --across 0x8000-0x8003 --at 0x9000 --complement «ones»",
    ),
    (
        "load prog.hex --name data",
        "stamp sum16 --across 0x8000-0x8003 --at 0x8004 --blank-as «data»",
    ),
    (
        "load prog.hex --name data",
        "stamp sum16le --across «0x8000-0x8002» --at 0x9000",
    ),
    (
        "load prog.hex --name data",
        "write data.hex --as raw --address-bits «0» --on data",
    ),
    (
        "load prog.hex --name data",
        "write data.hex --per-record «300» --on data",
    ),
    (
        "load prog.hex --name data",
        "write data.hex --header «data» --on data",
    ),
    (
        "load prog.hex --name data",
        "write data.hex --name «data» --on data",
    ),
    (
        "load prog.hex --name data",
        "write data.hex --unit 2 --word «2»",
    ),
    (
        "load prog.hex --name data",
        "write data.bin --line-end «lf»",
    ),
    ("load prog.hex --name data", "write data.bin «--count»"),
    ("load prog.hex --name data", "write data.hex --order «big»"),
    (
        "load prog.hex --name data + relocate --to 0x123456",
        "write data.s19 --address-bits «16» --on data",
    ),
    (
        "load prog.hex --name data",
        "diagnose «--recover-wiring» --on data",
    ),
    (
        "load prog.hex --name data",
        "diagnose --picture «data» --on data",
    ),
    (
        "load prog.hex --name data",
        "diagnose --sheet «a.html» --on data",
    ),
    ("load prog.hex --name data", "diagnose --pass «2» --on data"),
    (
        "load prog.hex --name data",
        "diagnose --part «data» --on data",
    ),
    (
        "load prog.hex --name data",
        "diagnose --wanted prog.hex --second prog.hex «at»",
    ),
    (
        "load prog.hex --name data",
        "diagnose --wanted prog.hex --other prog.hex --other «at»",
    ),
    (
        "load prog.hex --name data",
        "diagnose --wanted prog.hex --old «at»",
    ),
    (
        "load data.bin hole.bin --apart",
        "join lanes --name data --on «hole»",
    ),
    (
        "load data.bin hole.bin --apart",
        "fill FF --on hole --on «at»",
    ),
    (
        "load data.bin --name data",
        "seat «27C512» --at 0 --size 32K --banks 2",
    ),
    (
        "load data.bin --name data",
        "seat 27C512 --at 0 --size 32K --banks «0-3»",
    ),
    (
        "load data.bin --name data",
        "seat 27C1024 --at 0 --order «data»",
    ),
    (
        "load data.bin --name data",
        "seat 27C256 --at 0 --in-banks «0-1»",
    ),
    (
        "load data.bin --name data",
        "seat 27C256 --at 0 --size «data»",
    ),
    ("load data.bin --name data", "seat 27C256 --at 0 --size «3»"),
    (
        "load data.bin --name data",
        "seat 27C256 --at 0 --with «data»",
    ),
    ("load data.bin --name data", "seat 27C256 --at 0 --rows «0»"),
    ("load data.bin --name data", "seat «27C256»"),
    (
        "load data.bin --name data",
        "expect sum sum8 00 --bank-size «16»",
    ),
    (
        "load data.bin --name data",
        "expect blank 0-0xF --erased «data»",
    ),
    (
        "load data.bin --name data",
        "expect bytes «0x130» 00 --bank-size 256",
    ),
    (
        "load data.bin --name data",
        "expect bytes «cpu:0» 00 --bank-size 256",
    ),
    (
        "load data.bin --name data",
        "expect bytes 0 00 --bank-size «data»",
    ),
    (
        "load data.bin --name data",
        "expect full --on data --on «full»",
    ),
    ("load data.bin --name data", "rewire --address A0,«B1»"),
    ("load data.bin --name data", "rewire --address A0,A1,«A1»"),
    (
        "load data.bin --name data",
        "rewire --invert-data «--inverted» D0",
    ),
    ("load data.bin --name data", "«rewire»"),
    (
        "load data.bin --name data",
        "spread «0-0x1FF» --bank-size 256",
    ),
    ("load data.bin --name data", "swap 2 --on «2»"),
    ("load data.bin --name data", "repeat «8» --on data"),
    ("load data.bin --name data", "repeat «data» --on data"),
    ("load data.bin --name data", "«mark» 0 at --with 20"),
    ("load data.bin --name data", "mark 0 «{date}»"),
    ("load data.bin --name data", "mark 0 «'V {data}'»"),
    ("load data.bin --name data", "mark 0x9000 «{bank}»"),
    ("load data.bin --name data", "mark «0» data --on data"),
    ("load data.bin --name data", "mark «data» data"),
    ("load data.bin --name data", "patch «data» data"),
    (
        "load data.bin --name data",
        "patch --file «data.bin» --on data",
    ),
    ("load data.bin --name data", "patch 0 EA «--file» data.bin"),
    ("load data.bin --name data", "«patch» --on data"),
    ("load data.bin --name data", "find 07 --on «07»"),
    ("load data.bin --name data", "find 07 --limit «data»"),
    (
        "load data.bin --name data",
        "hollow 07 --least «data» --on data",
    ),
    ("load data.bin --name data", "compare hole.bin --at «data»"),
    (
        "load data.bin --name data",
        "compare hole.bin --limit «data»",
    ),
    ("load data.bin --name data", "copy 0-3 --to «data»"),
    ("load data.bin --name data", "copy 0-3 --to «2» --on data"),
    ("load data.bin --name data", "copy «0x100-0x103» --to 0x200"),
    ("load data.bin --name data", "copy 0-3 --to «cpu:0x200»"),
    ("load data.bin --name data", "digest «data»"),
    ("load data.bin --name data", "sheet a.html --on «a.html»"),
    (
        "load data.bin --name data",
        "show changes hole.bin --limit «data»",
    ),
    (
        "load data.bin --name data",
        "burnable hole.bin --on data --on «hole.bin»",
    ),
    ("load data.bin --name data", "pad 16 «--at»"),
    ("load data.bin --name data", "pad 16 --with «data»"),
    ("load data.bin --name data", "pad «82S123» --on data"),
    ("load data.bin --name data", "join banks data --on «data»"),
    ("load data.bin --name data", "join «data» --on data"),
    ("load data.bin --name data", "split nibbles «lanes»"),
    (
        "load data.bin --name data",
        "split banks 16 --names a,b,«c»",
    ),
    ("load data.bin --name data", "split banks «data»"),
    ("load data.bin --name data", "split lanes «17» --names 17"),
    ("load data.bin --name data", "drop 0-1 «cpu:2-3»"),
    ("", "pattern random 64 --seed «0»"),
    ("", "pattern zeros 64 --seed «1»"),
    ("", "pattern telltale 64 --pass «3»"),
    ("", "pattern telltale 64 --pass «2»"),
    ("", "pattern zeros «0x1FFFFFFFF»"),
    ("pattern zeros 64", "pattern zeros 64 --name «zeros»"),
    ("", "«pattern» zeros"),
    (
        "load data.bin hole.bin --apart",
        "vote --name hole --on «data»",
    ),
    (
        "load data.bin --name data",
        "seat 27C256 --at 0 --names a,«a»",
    ),
    ("load data.bin", "load «hole.bin» --name data"),
];

fn folder() -> Folder {
    let folder = Folder::new();
    folder.put("data.bin", [7; 64]);
    folder.put("hole.bin", [7; 64]);
    folder.put("damaged.hex", ":048000001011121300\n:00000001FF\n");
    folder
}

/// The last line that carets point into, with what is above them between `«` and `»`.
fn pointed(err: &str) -> Option<String> {
    let lines: Vec<&str> = err.lines().collect();
    let carets = lines.iter().rposition(|line| {
        let marks = line.trim_start().strip_prefix("| ");
        marks.is_some_and(|m| m.trim_start().starts_with('^'))
    })?;
    let first = lines[carets].find('^')?;
    let count = lines[carets].matches('^').count();
    let begin = lines[carets].find("| ")? + 2;
    let text = |part: &[char]| part.iter().collect::<String>();
    let line: Vec<char> = lines[carets - 1].chars().collect();
    let (before, meant) = (&line[begin..first], &line[first..first + count]);
    let after = &line[first + count..];
    Some(format!("{}«{}»{}", text(before), text(meant), text(after)))
}

#[test]
fn the_caret_is_under_the_word_meant() {
    let mut wrong = Vec::new();
    for (before, marked) in STEPS {
        let folder = folder();
        let step = marked.replace(['«', '»'], "");
        let before: Vec<&str> = before.split(" + ").filter(|s| !s.is_empty()).collect();
        let steps = [before.as_slice(), &[step.as_str()]].concat();
        folder.put("r.loom", steps.join("\n"));
        for line in [steps.join(" + "), "run r.loom".into()] {
            let ran = folder.run(&line);
            assert_ne!(ran.code, 0, "{line}");
            if pointed(&ran.err).as_deref() != Some(marked) {
                wrong.push(format!("{marked}\n{}", ran.err));
            }
        }
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

/// The steps above are all the steps there are.
#[test]
fn every_step_has_its_carets_tried() {
    let list = Folder::new().ok("steps").out;
    let names: Vec<&str> = list.lines().filter_map(|l| l.split(' ').next()).collect();
    assert!(names.len() > 20);
    for name in names {
        let tried = |step: &str| step.replace(['«', '»'], "").split(' ').next() == Some(name);
        let tried = STEPS.iter().filter(|(_, step)| tried(step)).count();
        assert!(tried > 0, "{name}");
    }
}

#[test]
fn a_step_on_the_command_line_is_shown_with_its_number_and_as_a_shell_needs_it() {
    let ran = folder().run("--quiet load data.bin + fill FF + mark 0 'a b' --length 1");
    insta::assert_snapshot!(ran.err, @"
    error: mark: the text has 3 bytes, but its place has only 1
      |
    3 | mark 0 'a b' --length 1
      |        ^^^^^
      |
      = help: shorten it, or give it more --length
    ");
    // A long step is cut around the word.
    let names: Vec<String> = (0..30).map(|i| format!("name{i}")).collect();
    let line = format!("load data.bin + split lanes 2 --names {}", names.join(","));
    let ran = folder().run(&line);
    assert!(
        ran.err
            .lines()
            .skip(1)
            .all(|line| line.chars().count() <= 80),
        "{}",
        ran.err
    );
    assert!(pointed(&ran.err).unwrap().contains("«name"), "{}", ran.err);
}

#[test]
fn a_plus_without_a_step_is_pointed_at() {
    for (line, marked) in [
        ("+ load data.bin", "«+» load data.bin"),
        ("load data.bin +", "load data.bin «+»"),
        ("load + + show", "load + «+» show"),
    ] {
        assert_eq!(pointed(&folder().run(line).err).as_deref(), Some(marked));
        let folder = folder();
        folder.put("r.loom", line);
        assert_eq!(
            pointed(&folder.run("run r.loom").err).as_deref(),
            Some(marked)
        );
    }
}

/// Some editors put a mark in front of a text, which is no part of the first line, and end lines in two characters.
#[test]
fn a_recipe_may_begin_with_a_byte_order_mark() {
    let folder = folder();
    folder.put("r.loom", "\u{FEFF}load data.bin\r\nexpect size 64\r\n");
    assert_eq!(folder.ok("run r.loom").err, "");
    folder.put("r.loom", "\u{FEFF}load at\r\n");
    let ran = folder.run("run r.loom");
    assert!(ran.err.contains("--> r.loom:1:6\n"), "{}", ran.err);
    assert_eq!(pointed(&ran.err).as_deref(), Some("load «at»"));
    let wide: Vec<u8> = "\u{FEFF}load at"
        .encode_utf16()
        .flat_map(u16::to_le_bytes)
        .collect();
    folder.put("r.loom", wide);
    let ran = folder.run("run r.loom");
    assert!(
        ran.err.contains("r.loom: byte 0 is not UTF-8 text"),
        "{}",
        ran.err
    );
}

/// What is told in the words of a parser elsewhere is told in our own here.
#[test]
fn numbers_that_are_none_are_told_in_plain_words() {
    for (line, said) in [
        ("load data.bin --unit two", "--unit: `two` is not a number"),
        (
            "load data.bin --unit 99999999999999999999",
            "--unit: `99999999999999999999` is too large",
        ),
        (
            "load data.bin + seat 27C256 --at 0 --lanes two",
            "--lanes: `two` is not a number",
        ),
        ("load data.bin --follow=1", "`--follow` takes no value"),
        ("load data.bin -at 3", "`-at` is not an option of `load`"),
        (
            "load data.bin + diagnose --second a.bin",
            "`--second` takes 2 values",
        ),
        (
            "load data.bin + show --json hex",
            "`hex` comes before its options",
        ),
    ] {
        assert_eq!(folder().run(line).error(), format!("error: {said}"));
    }
}

#[cfg(unix)]
#[test]
fn a_word_that_is_no_text_is_pointed_at() {
    use std::ffi::OsStr;
    use std::os::unix::ffi::OsStrExt;

    let folder = folder();
    folder.put("d\u{e9}.bin", [1]);
    let broken = OsStr::from_bytes(b"a\xFF");
    let mut command = folder.command();
    let command = command.args(["load", "d\u{e9}.bin", "--name"]).arg(broken);
    let err = String::from_utf8(command.output().unwrap().stderr).unwrap();
    assert!(
        err.starts_with("error: `a\u{FFFD}` is not UTF-8 text\n"),
        "{err}"
    );
    assert_eq!(
        pointed(&err).as_deref(),
        Some("load d\u{e9}.bin --name «a\u{FFFD}»")
    );
}

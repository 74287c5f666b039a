//! The pins of the part table against a library from outside: KiCad's electronic symbols (Debian package
//! `kicad-symbols`, files `Memory_*.kicad_sym`), in the form that KiCad's documentation describes as "Symbol Library File
//! Format". Nothing of it is kept here; it is read where it is installed.

use std::collections::{BTreeMap, BTreeSet};
use std::fs;
use std::path::Path;

use romloom::parts::{self, Part, Pin};

use crate::support::missing;

const LIBRARY: &str = "/usr/share/kicad/symbols";

/// What the rows say that were compared with it.
const SAYS: &str = "as in KiCad's symbol library";

/// The symbols that are parts of the table in the same package, with the rows for them.
const SAME: [(&str, &[&str]); 17] = [
    ("2764", &["2764"]),
    ("27C64", &["27C64"]),
    ("27128", &["27128"]),
    ("27C128", &["27C128"]),
    ("27256", &["27256"]),
    ("27C256", &["27C256"]),
    ("27512", &["27512"]),
    ("27C512", &["27C512"]),
    ("27C010", &["27C010"]),
    ("27C020", &["27C020"]),
    ("27C040", &["27C040"]),
    ("27C080", &["27C080"]),
    ("28C256", &["28C256"]),
    // One symbol for top and bottom boot, and for both widths.
    (
        "28F400",
        &["28F400-T", "28F400-B", "28F400-T-x8", "28F400-B-x8"],
    ),
    ("SST39SF010", &["39SF010"]),
    ("SST39SF020", &["39SF020"]),
    ("SST39SF040", &["39SF040"]),
];

/// From a pin of one package to that of another; `None` for a pin that the other has not.
type Turn = fn(u8) -> Option<u8>;

/// Symbols of the same chip in another package, and the pin of the row for each of theirs. Not what a row is said to be
/// compared with; but an order of 32 pins that fits turned is not an accident.
const TURNED: [(&str, &str, Turn); 3] = [
    // Thin packages count from A11 on.
    ("29F010-TSOP-SP", "29F010", |pin| Some((pin + 23) % 32 + 1)),
    ("29W040", "29F040", |pin| Some((pin + 23) % 32 + 1)),
    // Square packages of 32 pins have four that the 28 in two rows have not.
    ("27C512PLCC", "27C512", |pin| match pin {
        1 | 12 | 17 | 26 => None,
        2..12 => Some(pin - 1),
        13..17 => Some(pin - 2),
        18..26 => Some(pin - 3),
        _ => Some(pin - 4),
    }),
];

/// The names of a symbol's pins by their numbers.
type Symbol = BTreeMap<u8, String>;

/// The library, or word that it is not here.
fn symbols() -> Option<BTreeMap<String, Symbol>> {
    let files = [
        "Memory_EPROM",
        "Memory_EEPROM",
        "Memory_Flash",
        "Memory_ROM",
    ];
    let mut symbols: BTreeMap<String, Symbol> = BTreeMap::new();
    let mut same_as = Vec::new();
    for file in files {
        let file = Path::new(LIBRARY).join(format!("{file}.kicad_sym"));
        let Ok(text) = fs::read_to_string(&file) else {
            let file = file.display();
            missing(&format!(
                "{file} is not here (Debian package kicad-symbols): pins not compared"
            ));
            return None;
        };
        for symbol in read(&text).lists("symbol") {
            let name = symbol.word(1).to_owned();
            if let Some(extends) = symbol.lists("extends").next() {
                same_as.push((name, extends.word(1).to_owned()));
                continue;
            }
            let units = symbol.lists("symbol").flat_map(|unit| unit.lists("pin"));
            let pins = units.filter_map(|pin| {
                let told = |what| pin.lists(what).next().map(|list| list.word(1));
                // Grid arrays count in letters and digits; no part of the table is one.
                Some((told("number")?.parse().ok()?, told("name")?.to_owned()))
            });
            symbols.insert(name, pins.collect());
        }
    }
    for (name, other) in same_as {
        let pins = symbols[&other].clone();
        symbols.insert(name, pins);
    }
    assert!(symbols.len() > 100, "{}", symbols.len());
    Some(symbols)
}

/// What a pin of the row may be, where the library names it so; in byte mode the library has the names of the word mode.
fn meant(name: &str, byte_mode: bool) -> Vec<Pin> {
    let plain = name.replace(['~', '{', '}'], "");
    match plain.as_str() {
        // 8 or 16 bits by the level of `BYTE`.
        "A-1/D15" if byte_mode => vec![Pin::Address(0)],
        "A-1/D15" => vec![Pin::Data(15)],
        "CE" | "CS" => vec![Pin::ChipEnable],
        // The library leaves out what a pin takes while the part is programmed.
        "OE" => vec![Pin::OutputEnable, Pin::OutputEnableVpp],
        "OE/VPP" => vec![Pin::OutputEnableVpp],
        // It calls the write enable of 39SF flash by the name that the pin has on an EPROM.
        "PGM" => vec![Pin::Program, Pin::WriteEnable],
        "WE" => vec![Pin::WriteEnable],
        "VPP" => vec![Pin::Vpp],
        "VCC" => vec![Pin::Vcc],
        "GND" => vec![Pin::Ground],
        "BYTE" => vec![Pin::ByteMode],
        // Its name for reset and power down.
        "PR" => vec![Pin::Reset],
        // Don't use.
        "NC" | "DU" => vec![Pin::Nc],
        line => {
            let number: u8 = line[1..].parse().unwrap_or_else(|_| panic!("{name}"));
            match (&line[..1], byte_mode) {
                ("A", true) => vec![Pin::Address(number + 1)],
                ("A", false) => vec![Pin::Address(number)],
                ("D", true) if number >= 8 => vec![Pin::Nc],
                ("D" | "O", _) => vec![Pin::Data(number)],
                _ => panic!("{name}"),
            }
        }
    }
}

/// Every pin of the part against the symbol's; a pin that the symbol lacks has no connection. How many address and data
/// pins there are, or the first pin that differs.
fn compare(part: &Part, symbol: &Symbol) -> Result<usize, String> {
    let byte_mode = part.name.ends_with("-x8");
    let pinout = part.pinout.as_ref().unwrap();
    let mut lines = 0;
    for (number, pin) in (1..).zip(pinout) {
        let name = symbol.get(&number).map_or("NC", String::as_str);
        if !meant(name, byte_mode).contains(pin) {
            return Err(format!(
                "{} pin {number}: {pin} here, {name} there",
                part.name
            ));
        }
        lines += usize::from(matches!(pin, Pin::Address(_) | Pin::Data(_)));
    }
    match symbol.keys().find(|pin| !(1..=part.pins).contains(pin)) {
        Some(pin) => Err(format!("{} has no pin {pin}", part.name)),
        None => Ok(lines),
    }
}

#[test]
fn pins_are_those_of_a_library_of_symbols() {
    let Some(symbols) = symbols() else { return };
    let mut compared = 0;
    for (symbol, rows) in SAME {
        for row in rows {
            compared += compare(parts::find(row).unwrap(), &symbols[symbol]).unwrap();
        }
    }
    // 16 parts of 8 bits with 259 address lines in all, and the 28F400 twice in words and twice in bytes.
    assert_eq!(compared, 16 * 8 + 259 + 2 * 34 + 2 * 27);
    // And cousins do differ.
    let cousin = compare(parts::find("28C256").unwrap(), &symbols["27C256"]);
    assert_eq!(cousin, Err("28C256 pin 1: A14 here, VPP there".to_owned()));
    // No symbol of a part of the table is forgotten.
    for name in symbols.keys() {
        if let Ok(part) = parts::find(name) {
            let listed = SAME.iter().find(|(symbol, _)| symbol == name);
            assert!(
                listed.is_some_and(|(_, rows)| rows.contains(&part.name.as_str())),
                "{name} is {}, and not in the list",
                part.name
            );
        }
    }
    for (symbol, row, pin) in TURNED {
        let turned = |(theirs, name): (&u8, &String)| Some((pin(*theirs)?, name.clone()));
        let symbol = symbols[symbol].iter().filter_map(turned).collect();
        compare(parts::find(row).unwrap(), &symbol).unwrap();
    }
}

/// A row says that it was compared if it was, and only then.
#[test]
fn a_row_says_where_its_pins_come_from() {
    let compared: BTreeSet<&str> = SAME.iter().flat_map(|(_, rows)| *rows).copied().collect();
    let says = parts::all()
        .iter()
        .filter(|part| part.pinout_source == SAYS);
    let says: BTreeSet<&str> = says.map(|part| part.name.as_str()).collect();
    assert_eq!(says, compared);
    for part in parts::all() {
        let source = part.pinout_source.as_str();
        assert!(
            [SAYS, "from memory"].contains(&source),
            "{}: {source}",
            part.name
        );
    }
}

/// A list of words and lists in parentheses, which is all that such a file has.
enum Tree {
    Word(String),
    List(Vec<Tree>),
}

impl Tree {
    fn items(&self) -> &[Tree] {
        match self {
            Tree::List(items) => items,
            Tree::Word(_) => &[],
        }
    }

    fn word(&self, at: usize) -> &str {
        match self.items().get(at) {
            Some(Tree::Word(word)) => word,
            _ => "",
        }
    }

    /// The lists inside that begin with this word.
    fn lists<'t>(&'t self, head: &'t str) -> impl Iterator<Item = &'t Tree> {
        self.items().iter().filter(move |item| item.word(0) == head)
    }
}

/// The file's outermost list.
fn read(text: &str) -> Tree {
    let mut open: Vec<Vec<Tree>> = vec![Vec::new()];
    let mut rest = text.trim_start();
    while let Some(first) = rest.chars().next() {
        let length = match first {
            '(' => {
                open.push(Vec::new());
                1
            }
            ')' => {
                let list = Tree::List(open.pop().unwrap());
                open.last_mut().unwrap().push(list);
                1
            }
            '"' => {
                let mut escaped = false;
                let end = rest[1..].find(|c| {
                    let ends = c == '"' && !escaped;
                    escaped = c == '\\' && !escaped;
                    ends
                });
                let end = end.unwrap();
                let word = Tree::Word(rest[1..=end].to_owned());
                open.last_mut().unwrap().push(word);
                end + 2
            }
            _ => {
                let end = rest.find(|c: char| c.is_whitespace() || "()".contains(c));
                let end = end.unwrap_or(rest.len());
                open.last_mut()
                    .unwrap()
                    .push(Tree::Word(rest[..end].to_owned()));
                end
            }
        };
        rest = rest[length..].trim_start();
    }
    let mut outermost = open.pop().unwrap();
    assert!(
        open.is_empty() && outermost.len() == 1,
        "parentheses that don't match"
    );
    outermost.remove(0)
}

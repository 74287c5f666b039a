//! The sheet of boards.

use std::sync::Arc;

use super::helpers::*;
use crate::board::{Board, Outside, Program, Seat, Target};
use crate::cli::report::{BurnSheet, SheetChip};
use crate::image::{Clash, Image};
use crate::parts::Catalogue;

/// A program with its bus and bank.
type On<'a> = (&'a Image, &'a str, Option<u64>);

/// The sheet of a board with these programs; `moved` is a socket whose chip `rewire` has rearranged.
fn sheet<T>(
    programs: &[On],
    board: &str,
    moved: Option<&str>,
    made: impl Fn(&BurnSheet) -> T,
) -> T {
    let board = Board::from_toml("x.board", board, &mut Catalogue::built_in());
    let board = Arc::new(board.unwrap());
    let programs: Vec<Program> = programs
        .iter()
        .map(|(image, space, bank)| Program {
            name: "program",
            image: Image::clone(image),
            target: Target::Bus {
                space: (*space).into(),
                bank: *bank,
            },
        })
        .collect();
    let laid = board.lay(programs, Clash::Refuse, Outside::Refuse);
    let chips: Vec<(Seat, Image)> = laid
        .unwrap()
        .chips
        .into_iter()
        .map(|chip| (Seat::new(board.clone(), chip.socket).unwrap(), chip.image))
        .collect();
    let chips = chips.iter().map(|(seat, image)| SheetChip {
        name: seat.name(),
        image,
        part: Some(seat.part()),
        seat: Some(seat),
        rearranged_by: (Some(seat.name()) == moved).then_some("rewire"),
        files: Vec::new(),
        sums: Vec::new(),
    });
    made(&BurnSheet {
        title: board.title().into(),
        date: None,
        chips: chips.collect(),
    })
}

/// The words of a page's card or drawing, tags left out, a line for each that stands alone.
fn words(markup: &str) -> String {
    let markup = markup
        .replace("</dt><dd>", ": ")
        .replace("</td><td>", " | ");
    let markup = markup.replace("</th><th>", " | ");
    let markup = markup.replace("&amp;", "&");
    let mut out = String::new();
    let mut blocks = markup.as_str();
    while let Some((before, rest)) = blocks.split_once('<') {
        out += before;
        let (tag, after) = rest.split_once('>').unwrap();
        let inline = ["code", "/code", "b", "/b", "span", "/span"];
        let name = tag.split([' ', '/']).next().unwrap_or_default();
        if !inline.contains(&tag) && name != "code" && !out.ends_with('\n') {
            out.push('\n');
        }
        blocks = after;
    }
    out
}

/// The facts of a card, without its files, bytes and sums, and the rows of its table.
fn facts(page: &str, label: &str) -> Vec<String> {
    let heading = format!(">{label}</h2>");
    let mut cards = page.split("<article").skip(1);
    let first = cards.clone().next();
    // A chip alone on its sheet has its name in the table only.
    let card = cards
        .find(|card| card.contains(&heading))
        .or(first)
        .unwrap();
    let inside = |from: &str, to: &str| {
        let found = card
            .split_once(from)
            .and_then(|(_, rest)| rest.split_once(to));
        words(found.map_or("", |(inside, _)| inside))
    };
    let facts = inside("<dl>", "</dl>") + &inside("<table>", "</table>");
    let facts = facts
        .lines()
        .filter(|line| line.contains(": ") || line.contains(" | "));
    let left_out = ["File: ", "Content: ", "First bytes", "Last bytes"];
    facts
        .filter(|line| !left_out.iter().any(|own| line.starts_with(own)))
        .map(|line| line.trim_end().replace("  ", " "))
        .collect()
}

/// What is written on the drawing, but for its letters and its key.
fn drawn(sheet: &BurnSheet) -> Vec<String> {
    let svg = sheet.svg();
    let texts = svg.split("<text").skip(2).map(|rest| {
        let text = rest.split_once('>').unwrap().1;
        text.split_once('<').unwrap().0.to_owned()
    });
    let is_word = |text: &String| text.contains(' ') || text.chars().any(|c| c.is_lowercase());
    texts
        .filter(|text| text.len() > 1 && is_word(text) && !text.ends_with(" bytes"))
        .collect()
}

const SLOT: &str = "title='Kingfisher'\n[[sockets]]\nnames=['slot']\npart='27C020'\nnote='the card edge'\nwindow=[\
    {at=0x4000,size='8K',banks=32,by='register 0x20'},{at=0x6000,size='8K',from='248K'}]";

const HERON: &str = "title='Heron-16 and its font'\n\
    [[sockets]]\nnames=['even','odd']\npart='27C256'\nlanes=2\norder='big'\n\
    window=[{at=0xFC0000},{at=0,size=8,from=0}]\nexcept=['0xFC8000-0xFC80FF']\n\
    [[sockets]]\nnames=['U9']\npart='27C64'\nat=0xFD0000\nwires={A0='A3',A3='A0',D1='/D1'}\n\
    [[sockets]]\nnames=['font']\npart='27C32'\nat=0\nspace='video'\ntied={A11='any'}\n";

#[test]
fn a_switched_slot_has_its_banks_in_card_and_map() {
    let menu = records("menu.hex", &[(0x4000, 0x800, 1)]);
    let bird = records("bird.s19", &[(0x4000, 0x1800, 1)]);
    let programs = [(&menu, "cpu", Some(0)), (&bird, "cpu", Some(3))];
    sheet(&programs, SLOT, None, |sheet| {
        insta::assert_debug_snapshot!(facts(&sheet.html(), "slot"), @r#"
        [
            "CPU: 4000-5FFF, banks 0 to 31, by register 0x20",
            "CPU: 6000-7FFF",
            "In the chip: 03E000-03FFFF",
            "Note: the card edge",
            "Bank | Chip | Content",
            "0 | 000000-001FFF | menu.hex",
            "1-2 | 002000-005FFF | nothing",
            "3 | 006000-007FFF | bird.s19",
            "4-31 | 008000-03FFFF | nothing",
        ]
        "#);
        insta::assert_debug_snapshot!(drawn(sheet), @r#"
        [
            "CPU 4000-7FFF",
            "8 bits",
            "banks 0-31",
            "banks 0-31 at 4000-5FFF, by register 0x20",
            "slot",
            "menu.hex",
            "bird.s19",
            "filler FF",
        ]
        "#);
    });
    // A switch for the hand shows its levels, and each position is told.
    let jumpers = SLOT.replace("register 0x20", "jumpers J1 to J5");
    sheet(&programs, &jumpers, None, |sheet| {
        let facts = facts(&sheet.html(), "slot");
        assert!(facts.contains(&"Position | A17 A16 A15 A14 A13 | Chip | Content".into()));
        assert!(facts.contains(&"3 | 0 0 0 1 1 | 006000-007FFF | bird.s19".into()));
        assert_eq!(
            facts
                .iter()
                .filter(|line| line.ends_with(" | nothing"))
                .count(),
            30
        );
        assert!(drawn(sheet).contains(&"positions 0-31".into()));
    });
}

#[test]
fn each_bus_of_a_board_is_a_bar_and_each_chip_says_where_it_is_seen() {
    let vectors = records(
        "vectors.s19",
        &[(0xFC0000, 0x400, 1), (0xFD0000, 0x1000, 1)],
    );
    let font = records("font.bin", &[(0, 0x800, 1)]);
    let programs = [(&vectors, "cpu", None), (&font, "video", None)];
    sheet(&programs, HERON, None, |sheet| {
        let page = sheet.html();
        insta::assert_debug_snapshot!(facts(&page, "even"), @r#"
        [
            "Data lines: D8-D15",
            "CPU: FC0000-FCFFFF, lane 0 of 2; something else at FC8000-FC80FF",
            "In the chip: 0000-3FFF 4080-7FFF",
            "CPU: 0000-0007, lane 0 of 2",
            "In the chip: 0000-0003",
        ]
        "#);
        insta::assert_debug_snapshot!(facts(&page, "U9"), @r#"
        [
            "CPU: FD0000-FD1FFF",
            "Wires: A0 has A3, A3 has A0, D1 has /D1",
        ]
        "#);
        insta::assert_debug_snapshot!(facts(&page, "font"), @r#"
        [
            "video: 0000-07FF",
            "In the chip: 0000-0FFF, the same bytes for both levels of A11",
        ]
        "#);
        insta::assert_debug_snapshot!(drawn(sheet), @r#"
        [
            "CPU FC0000-FD1FFF",
            "8 and 16 bits",
            "also at 000000-000007",
            "something else at FC8000-FC80FF",
            "even",
            "odd",
            "video 0000-07FF",
            "8 bits",
            "font",
            "vectors.s19",
            "font.bin",
            "filler FF",
        ]
        "#);
    });
    // Of a chip whose bytes have moved nobody knows what is seen where, nor of the one beside it.
    sheet(&programs, HERON, Some("odd"), |sheet| {
        let odd = facts(&sheet.html(), "odd");
        let order = "Order: as rewire left it: no longer what the CPU sees";
        assert!(odd.contains(&order.into()), "{odd:?}");
        assert!(!odd.iter().any(|line| line.starts_with("In the chip")));
        let drawn = drawn(sheet);
        assert!(drawn.contains(&"CPU FD0000-FD1FFF".into()), "{drawn:?}");
        assert!(drawn.contains(&"even".into()) && drawn.contains(&"odd".into()));
    });
}

#[test]
fn a_bus_is_never_cut_short_in_its_heading() {
    for (at, heading) in [
        ("0xFFFF8000", "CPU FFFF8000-FFFFFFFF"),
        (
            "0x7FFFFFFFFFFF0000",
            "CPU 7FFFFFFFFFFF0000-7FFFFFFFFFFF7FFF",
        ),
    ] {
        let board = format!("[[sockets]]\nnames=['U1']\npart='27C256'\nat={at}");
        sheet(&[], &board, None, |sheet| {
            assert!(drawn(sheet).contains(&heading.into()), "{heading}");
        });
    }
}

#[test]
fn other_widths_name_their_lines() {
    let micro = records("micro.hex", &[(0, 0x300, 1)]);
    let board = "[[sockets]]\nnames=['m0','m1','m2']\npart='27C16'\nat=0\nlanes=3\nspace='micro'";
    sheet(&[(&micro, "micro", None)], board, None, |sheet| {
        assert_eq!(
            facts(&sheet.html(), "m0"),
            [
                "Data lines: D16-D23 on a big-endian bus, D0-D7 on a little-endian bus",
                "micro: 0000-17FF, lane 0 of 3; addresses count bytes"
            ]
        );
    });
    let words = records("boot.s19", &[(0, 0x300, 1)]);
    let board = "[[sockets]]\nnames=['U1']\npart='27C1024'\nat=0\norder='big'";
    sheet(&[(&words, "cpu", None)], board, None, |sheet| {
        assert_eq!(
            facts(&sheet.html(), "U1"),
            [
                "Data lines: D0-D15",
                "Words: the file has D0-D7 first, then D8-D15; on the bus D8-D15 have the even address",
                "CPU: 000000-01FFFF"
            ]
        );
    });
}

//! What is printed on chips, and what it leads to.
//!
//! The forms are those of the trade (common practice); that a maker's letters mean another part, as `W27C512` does, is from
//! memory.

use crate::parts::*;

fn candidates(printed: &str) -> (Doubt, Vec<String>) {
    let error = find(printed).unwrap_err();
    let names = error.candidates.into_iter().map(|part| part.name);
    (error.doubt, names.collect())
}

/// Letters in front, a speed with package and range after it, and letters after the number where the table has them.
#[test]
fn a_marking_is_reduced_to_its_part() {
    for (printed, part) in [
        ("D2716", "2716"),
        ("M2716-1", "2716"),
        ("TMS2516-45", "2516"),
        ("MBM2732A-25", "2732A"),
        ("D2732A-2", "2732A"),
        ("TMS2532-45", "2532"),
        ("MCM68764", "68764"),
        ("D2764A-25", "2764A"),
        ("M2764-4", "2764"),
        ("AM27128A-20", "27128A"),
        ("D27128-25", "27128"),
        ("D27256-2", "27256"),
        ("D27512-25", "27512"),
        ("TMS27C128-20JL", "27C128"),
        ("NM27C256-150", "27C256"),
        ("NMC27C256Q-200", "27C256"),
        ("M27C256B-10F1", "27C256"),
        ("AT27C256R-70PU", "27C256"),
        ("27C256-15I/P", "27C256"),
        ("AM27C512-120DC", "27C512"),
        ("AT27C512R-45PU", "27C512"),
        ("M27C1001-12F1", "27C010"),
        ("AT27C010L-70", "27C010"),
        ("TMS27C010A-12JL", "27C010"),
        ("M27C2001-10F1", "27C020"),
        ("M27C4001-10F1", "27C040"),
        ("M27C801-100F1", "27C080"),
        ("M27C1024-12F1", "27C1024"),
        ("M27C4002-10F1", "27C4096"),
        ("M27C160-100F1", "27C160"),
        ("M27C322-100F1", "27C322"),
        ("AT28C16-15PC", "28C16"),
        ("AT28C64B-15PU", "28C64B"),
        ("28C256E", "28C256"),
        ("AT28C256-15PU", "28C256"),
        ("XL28C256-150", "28C256"),
        ("N28F010-90", "28F010"),
        ("PA28F400BX-T80", "28F400-T"),
        ("AT29C010A-70PC", "29C010"),
        ("AM29F010-90PC", "29F010"),
        ("AM29F040B-90JC", "29F040"),
        ("MX29F040C-70", "29F040"),
        ("AM29F400BT-70SI", "29F400BT"),
        ("M29F160FB-55", "29F160DB"),
        ("SST39SF010A-70-4C-PHE", "39SF010"),
        ("SST39SF040-70-4C-NHE", "39SF040"),
        ("SST27SF512-70-3C-PG", "27SF512"),
        ("W27C512-45Z", "27E512"),
        ("W27E010-12", "27E010"),
        ("SY2364", "2364"),
        ("N82S123", "prom-32x8"),
        ("SN74S288", "prom-32x8"),
        ("DM74S387", "prom-256x4-oc"),
        ("AM27S29", "prom-512x8"),
        ("w27e512-12", "27E512"),
    ] {
        let found = find(printed).unwrap_or_else(|error| panic!("{error}"));
        assert!(
            found.names().any(|name| name == part),
            "{printed}: {}",
            found.name
        );
    }
}

/// Letters that the table does not list for the number decide nothing: they may be the package, or another voltage.
#[test]
fn letters_after_the_number_are_never_dropped_by_rule() {
    for (printed, first) in [
        ("27C256A", "27C256"),
        ("HN27C256AG-15", "27C256"),
        ("27C512A", "27C512"),
        ("TMM2764D-2", "2764"),
        ("UPD27C1001AD-15", "27C010"),
        ("CAT28C256P-12", "28C256"),
        ("MX29F040QC-90", "29F040"),
        ("2732C", "2732"),
        ("39SF010X", "39SF010"),
    ] {
        let (doubt, names) = candidates(printed);
        assert_eq!(
            (doubt, names[0].as_str()),
            (Doubt::Letters, first),
            "{printed}"
        );
    }
    // The forms that the table has are named too.
    assert_eq!(candidates("2764C").1, ["2764", "2764A"]);
    let said = find("27C512A").unwrap_err().to_string();
    assert_eq!(
        said,
        "`27C512A` is not in the part table, and letters after a number can mean another part; nearest: 27C512"
    );
}

#[test]
fn a_number_of_several_parts_names_them() {
    for (printed, parts) in [
        (
            "29F002",
            &["29F002BT", "29F002BB", "29F002NBT", "29F002NBB"][..],
        ),
        (
            "AM29F400-90",
            &["29F400BT", "29F400BT-x8", "29F400BB", "29F400BB-x8"],
        ),
    ] {
        let (doubt, names) = candidates(printed);
        assert_eq!(doubt, Doubt::Forms, "{printed}");
        assert_eq!(names, parts, "{printed}");
    }
}

/// A marking that can mean different parts is told, and not decided.
#[test]
fn a_marking_of_two_parts_is_not_decided() {
    for (printed, parts) in [
        // Three supplies and one.
        ("TMS2716", &["2716-three-supply", "2716"]),
        ("TMS2716-45", &["2716-three-supply", "2716"]),
        // Electrically erased and by light.
        ("W27C256", &["27E257", "27C256"]),
        // Different pins.
        ("MX27C1000-15", &["27C1000", "27C010"]),
        ("MBM27C1000", &["27C1000", "27C010"]),
    ] {
        let (doubt, names) = candidates(printed);
        assert!(matches!(doubt, Doubt::Different(_)), "{printed}: {doubt:?}");
        assert_eq!(names, parts, "{printed}");
    }
    // One that the table has with its letter is decided, and says how it erases.
    assert_eq!(find("W27C512").unwrap().kind, Kind::ElectricEprom);
    let said = find("TMS2716").unwrap_err().to_string();
    assert!(said.ends_with("it is 2716-three-supply or 2716"), "{said}");
    // What the two are is beside each.
    let hints = find("TMS2716").unwrap_err().candidates;
    assert!(hints[0].note.starts_with("Three supplies") && hints[1].note.contains("one supply"));
}

/// Numbers that are digits only read as sizes, so they lead to a part and are not its name.
#[test]
fn makers_numbers_of_small_proms_lead_to_them() {
    for (printed, part) in [
        ("7621", "prom-512x4"),
        ("HM1-7603-5", "prom-32x8"),
        ("6301-1J", "prom-256x4"),
        ("HM7610", "prom-256x4-oc"),
    ] {
        let (doubt, names) = candidates(printed);
        assert_eq!(
            (doubt, &names[..]),
            (Doubt::MakersNumber, &[part.to_owned()][..]),
            "{printed}"
        );
    }
}

#[test]
fn every_name_that_a_marking_leads_to_is_in_the_table() {
    for name in marking::every_lead() {
        assert!(find(name).is_ok_and(|part| part.name == name), "{name}");
    }
}

#[test]
fn speed_and_package_are_left_out() {
    for name in ["27C256-15", "27C256-150", "27c256-20PC", "27C256-1"] {
        assert_eq!(find(name).unwrap().name, "27C256", "{name}");
    }
    assert_eq!(find("2764A-25").unwrap().name, "2764A");
}

#[test]
fn nothing_else_is_guessed() {
    for name in [
        "27C256-",
        "27C256-PC",
        "27C256-1500",
        "27C256-15ABCD",
        "27C256-15-15",
        "27C256 ",
        "C256",
        "",
        "-",
        "-15",
        "prom-32",
        "ABCDE27C256",
        "27C256-\u{663}",
        "\u{df}27C256",
        "\u{4e2d}\u{6587}2716",
    ] {
        assert!(find(name).is_err(), "{name}");
    }
}

#[test]
fn an_unknown_part_brings_the_nearest() {
    assert_eq!(candidates("27C265").1[0], "27C256");
    assert_eq!(candidates("HN4827128G-25").1[0], "27128");
    assert_eq!(candidates("transistor"), (Doubt::Unlike, vec![]));
    assert_eq!(candidates(&"9".repeat(1 << 20)), (Doubt::Unlike, vec![]));
    assert!(candidates("27").1.len() <= 4);
}

#[test]
fn the_error_says_what_is_near() {
    let error = find("27C265").unwrap_err().to_string();
    assert!(
        error.starts_with("`27C265` is not in the part table; nearest: 27C256"),
        "{error}"
    );
    let hostile = find("\u{1b}[2J\n").unwrap_err().to_string();
    assert!(!hostile.contains(['\u{1b}', '\n']), "{hostile}");
}

proptest::proptest! {
    /// Whatever is typed gets an answer, of at most four parts that are in the table.
    #[test]
    fn any_text_is_answered(printed in "\\PC{0,12}|[A-Z]{0,5}2[3-9][A-Z]{0,2}[0-9]{1,5}[A-Z-]{0,4}[0-9/-]{0,5}") {
        match find(&printed) {
            Ok(part) => assert!(all().contains(part)),
            Err(error) => {
                assert!(error.candidates.len() <= 4);
                assert!(error.candidates.iter().all(|part| find(&part.name).is_ok()));
            }
        }
    }
}

//! Adapters: all pairs of the table against rules in plain code, and pairs of the trade one by one.

use std::collections::BTreeMap;

use crate::board::{
    Adapter, AdapterOptions, Answer, Board, Condition, Deciding, Feed, Fitting, Level, NoAdapter,
    Question, SelectLevel, UpperLines,
};
use crate::parts::{self, Drive, Part, Pin};
use crate::sums::Order;

/// Whether a pin enables or selects; the others are lines, levels and supplies.
fn enables(pin: Pin) -> bool {
    use Pin::*;
    matches!(
        pin,
        ChipEnable | OutputEnable | Select | ChipEnableProgram | ChipEnableVpp | OutputEnableVpp
    )
}

/// The numbers of a part's enabling pins.
fn enabling(part: &Part) -> Vec<u8> {
    let pins = (1..).zip(part.pinout.as_ref().unwrap());
    let pins = pins.filter(|(_, pin)| enables(**pin));
    pins.map(|(number, _)| number).collect()
}

fn carries(part: &Part, number: u8) -> Pin {
    part.pinout.as_ref().unwrap()[usize::from(number) - 1]
}

/// What is said of the levels in one go over the table: nothing, or one level for every `CS` of socket and chip.
type Said = Option<(bool, bool)>;

fn options(socket: &Part, chip: &Part, said: Said) -> AdapterOptions {
    let Some((board, own)) = said else {
        return AdapterOptions::default();
    };
    let level = if board {
        SelectLevel::High
    } else {
        SelectLevel::Low
    };
    let selects = socket.pins_of(Pin::Select).map(|pin| (pin, level));
    let own_selects = chip.pins_of(Pin::Select).map(|pin| (pin, own));
    AdapterOptions {
        selects: selects.collect(),
        chip_selects: own_selects.collect(),
        ..AdapterOptions::default()
    }
}

/// The level at which an enabling pin is active, `true` for 1.
fn active(part: &Part, number: u8, select: bool) -> bool {
    carries(part, number) == Pin::Select && select
}

/// The rules that every plan keeps, over the two pin tables and the wires. `said` has the levels of `CS` pins.
fn check_rules(plan: &Adapter, said: Said) {
    let (socket, chip) = (&plan.socket, &plan.chip);
    let name = format!("{} in {}, {said:?}", chip.name, socket.name);
    let at = |feed: Feed| match feed {
        Feed::Pin(hole) => Some(carries(socket, hole)),
        _ => None,
    };
    assert_eq!(plan.pins.len(), usize::from(chip.pins), "{name}");
    // 1: each data line, and each address line that both have, arrives once, at the pin of that name.
    let data = (0..socket.width).map(Pin::Data);
    let common = socket.address_lines().min(chip.address_lines());
    for line in data.chain((0..common).map(Pin::Address)) {
        let arrives: Vec<Pin> = (plan.pins.iter())
            .filter(|pin| at(pin.feed) == Some(line))
            .map(|pin| pin.function)
            .collect();
        assert_eq!(arrives, [line], "{name}: {line}");
    }
    for pin in &plan.pins {
        let here = || format!("{name}: chip pin {} {}", pin.number, pin.function);
        let fed = at(pin.feed);
        // 2: every input has a level, or waits for an answer.
        let is_input = !matches!(pin.function, Pin::Nc | Pin::Data(_));
        assert!(!is_input || pin.feed != Feed::Open, "{}", here());
        if pin.feed == Feed::Asked {
            assert!(enables(pin.function) && said.is_none(), "{}", here());
            assert!(!plan.questions.is_empty(), "{}", here());
        }
        // 3 and 4: lines come from lines, selects from selects, supplies from the supply of that name, and all else from
        // VCC and GND; nothing of the socket's VPP, PGM, WE, RESET, BYTE and NC pins, and no supply on a signal.
        let is_right = match (pin.function, fed) {
            (own @ (Pin::Vcc | Pin::Ground | Pin::Vdd | Pin::Vbb | Pin::Data(_)), fed) => {
                fed == Some(own)
            }
            (Pin::Address(line), fed) if line < socket.address_lines() => fed == Some(pin.function),
            (Pin::Address(_), fed) => {
                matches!(fed, Some(Pin::Vcc | Pin::Ground)) || matches!(pin.feed, Feed::Switch(_))
            }
            (Pin::Program, fed) if chip.pins_of(Pin::Vbb).next().is_some() => {
                fed == Some(Pin::Ground)
            }
            (Pin::Vpp | Pin::Program | Pin::WriteEnable | Pin::Reset, fed) => fed == Some(Pin::Vcc),
            (Pin::ByteMode | Pin::ByteModeVpp, fed) => match chip.width {
                16 => fed == Some(Pin::Vcc),
                _ => fed == Some(Pin::Ground),
            },
            (Pin::Nc, fed) => fed.is_none() && pin.feed == Feed::Open,
            (_, None) => pin.feed == Feed::Asked,
            (_, Some(fed)) => enables(fed) || matches!(fed, Pin::Vcc | Pin::Ground),
        };
        assert!(is_right, "{} gets {:?}", here(), pin.feed);
        // What the chip touches in the socket is what it is wired to, or it is kept out.
        let kept_out = plan.insulated().any(|own| own.number == pin.number);
        if let Some(under) = pin.under.filter(|_| !kept_out) {
            let both_nc = (pin.function, carries(socket, under)) == (Pin::Nc, Pin::Nc);
            assert!(both_nc || pin.feed == Feed::Pin(under), "{}", here());
        }
    }
    // 5: the chip answers when every select of the socket is active, and not when one is missing.
    if let Some((board, own)) = said {
        let selects = enabling(socket);
        for set in 0..1_u32 << selects.len() {
            let is_active = |hole: u8| {
                let place = selects.iter().position(|own| *own == hole);
                place.is_some_and(|place| set >> place & 1 == 1)
            };
            let answers = plan
                .pins
                .iter()
                .filter(|pin| enables(pin.function))
                .all(|pin| {
                    let Feed::Pin(hole) = pin.feed else {
                        panic!("{name}: pin {} has no wire", pin.number);
                    };
                    let level = match carries(socket, hole) {
                        Pin::Vcc => true,
                        Pin::Ground => false,
                        _ => active(socket, hole, board) == is_active(hole),
                    };
                    level == active(chip, pin.number, own)
                });
            assert_eq!(answers, set + 1 == 1 << selects.len(), "{name}: {set:b}");
        }
    }
    // 6: lines that the chip lacks go nowhere, and the plan says that the chip is seen again.
    let times = Deciding::Repeated(u64::from(socket.words / chip.words.min(socket.words)));
    assert_eq!(
        plan.deciding.contains(&times),
        socket.words > chip.words,
        "{name}"
    );
    for line in common..socket.address_lines() {
        let unused = plan.unused();
        assert!(
            unused.iter().any(|(_, pin)| *pin == Pin::Address(line)),
            "{name}: A{line}"
        );
    }
}

/// What a pin has when it is read.
#[derive(Clone, Copy, Debug, PartialEq)]
enum Signal {
    Of(Pin),
    At(bool),
    /// Its level makes no difference, for both halves of the content are alike.
    Steady,
    Nothing,
}

/// A chip that fits as it is, or under conditions, gets by touch what the plan's wires would bring.
fn check_straight(plan: &Adapter) {
    let none = Vec::new();
    let conditions = match &plan.fitting {
        Fitting::AsItIs => &none,
        Fitting::If(conditions) => conditions,
        _ => return,
    };
    let (socket, chip) = (&plan.socket, &plan.chip);
    let signal = |pin: Pin| match pin {
        Pin::Vcc => Signal::At(true),
        Pin::Ground => Signal::At(false),
        other => Signal::Of(other),
    };
    for pin in &plan.pins {
        let name = format!("{} in {}: pin {}", chip.name, socket.name, pin.number);
        let under = pin
            .under
            .unwrap_or_else(|| panic!("{name} is beyond the socket"));
        let hole = carries(socket, under);
        let wired = match pin.feed {
            Feed::Pin(hole) => signal(carries(socket, hole)),
            Feed::Open => Signal::Nothing,
            other => panic!("{name}: {other:?}"),
        };
        let condition = conditions.iter().find(|condition| match condition {
            Condition::Level { chip_pin, .. } | Condition::Unconnected { chip_pin, .. } => {
                *chip_pin == pin.number
            }
        });
        let touched = match condition {
            Some(Condition::Level { pin, level, .. }) => {
                assert_eq!(*pin, under, "{name}");
                match level {
                    Level::High => Signal::At(true),
                    Level::Low => Signal::At(false),
                    Level::Any => Signal::Steady,
                }
            }
            Some(Condition::Unconnected { .. }) => Signal::Nothing,
            // The board holds these for its own part as this one wants them.
            None if hole == pin.function
                && !matches!(hole, Pin::Select | Pin::Vpp | Pin::Program) =>
            {
                wired
            }
            None if hole == pin.function && socket.name == chip.name => wired,
            None if (hole, pin.function) == (Pin::Nc, Pin::Nc) => Signal::Nothing,
            None => signal(hole),
        };
        assert!(
            touched == wired || touched == Signal::Steady,
            "{name}: {touched:?}, {wired:?}"
        );
        // No voltage but the supply reaches a signal.
        let beyond = matches!(hole, Pin::Vpp | Pin::Vdd | Pin::Vbb);
        let alike =
            hole == pin.function || matches!(condition, Some(Condition::Unconnected { .. }));
        assert!(!beyond || alike, "{name}: {hole} on {}", pin.function);
    }
}

/// The content ends in a board whose chip bytes are those that the wires choose, at each position of its switches.
fn check_content(plan: &Adapter) {
    let (socket, chip) = (&plan.socket, &plan.chip);
    let name = || format!("{} in {}", chip.name, socket.name);
    let mut spec = plan.content("U1", 0);
    spec.with = Some(0);
    spec.order = Some(Order::Little);
    let any = spec.tied.iter().any(|(_, level)| *level == Level::Any);
    let banks = spec.windows[0].banks;
    let board = Board::new("", [spec]).unwrap_or_else(|e| panic!("{}: {e}", name()));
    let last = (1 << socket.address_lines()) - 1;
    let words = (0..socket.address_lines()).map(|line| 1_u64 << line);
    let bytes = u64::from(socket.width.div_ceil(8));
    for word in words.chain([0, last, 0x2A55 & last]) {
        let bank = banks.map(|(_, last)| word % (last + 1));
        let chip_word = plan.pins.iter().fold(0, |so_far, pin| {
            let Pin::Address(line) = pin.function else {
                return so_far;
            };
            let level = match pin.feed {
                Feed::Pin(hole) => match carries(socket, hole) {
                    Pin::Address(own) => word >> own & 1,
                    Pin::Vcc => 1,
                    _ => 0,
                },
                Feed::Switch(number) => bank.unwrap() >> number & 1,
                other => panic!("{}: A{line} has {other:?}", name()),
            };
            so_far | level << line
        });
        for byte in 0..bytes {
            let cells = match board.at("cpu", bank, word * bytes + byte) {
                Answer::Cells(cells) => cells,
                other => panic!("{}: {word:X}: {other:?}", name()),
            };
            let cells: Vec<u64> = cells.iter().map(|cell| cell.address).collect();
            assert!(
                cells.contains(&(chip_word * bytes + byte)),
                "{}: word {word:X}",
                name()
            );
            assert!(any || cells.len() == 1, "{}: word {word:X}", name());
        }
    }
}

/// That a refusal has its reason, over the pin tables alone. Every socket is said to be alone on its lines, but in `Drives`.
fn check_refusal(socket: &Part, chip: &Part, why: &NoAdapter, said: Said) {
    let name = format!("{} in {}: {why}", chip.name, socket.name);
    let has = |part: &Part, pin| part.pins_of(pin).next().is_some();
    let counts = |part: &Part, select: bool| {
        let pins = enabling(part);
        let high = pins
            .iter()
            .filter(|pin| active(part, **pin, select))
            .count();
        (pins.len(), high)
    };
    let reason = match why {
        NoAdapter::Width { .. } => socket.width != chip.width,
        NoAdapter::Supplies { .. } => has(chip, Pin::Vbb) && !has(socket, Pin::Vbb),
        NoAdapter::Drives => {
            (socket.outputs, chip.outputs) == (Drive::OpenCollector, Drive::ThreeState)
        }
        NoAdapter::NeedsGate { .. } => counts(socket, false).0 > counts(chip, false).0,
        NoAdapter::NeedsInverter { .. } => {
            let (board, own) = said.unwrap_or_else(|| panic!("{name}"));
            let ((all, high), (own_all, own_high)) = (counts(socket, board), counts(chip, own));
            high > own_high || all - high > own_all - own_high
        }
        NoAdapter::NoPins { .. } | NoAdapter::NotASelect { .. } | NoAdapter::OtherLevel { .. } => {
            false
        }
    };
    assert!(reason, "{name}");
}

fn kind(made: &Result<Adapter, NoAdapter>) -> &'static str {
    match made {
        Ok(plan) => match plan.fitting {
            Fitting::AsItIs => "fits as it is",
            Fitting::If(_) => "fits if",
            Fitting::NeedsWiring => "needs wiring",
            Fitting::Undecided => "undecided",
        },
        Err(NoAdapter::Width { .. }) => "refused: width",
        Err(NoAdapter::Supplies { .. }) => "refused: supplies",
        Err(NoAdapter::Drives) => "refused: open-collector socket",
        Err(NoAdapter::NeedsGate { .. }) => "refused: needs a gate",
        Err(NoAdapter::NeedsInverter { .. }) => "refused: needs an inverter",
        Err(_) => "refused: other",
    }
}

/// Every socket of the table with every chip: nothing said of select levels, all low, and each mixture.
#[test]
fn every_pair_of_the_table_keeps_the_rules_or_has_a_reason() {
    let all = parts::all();
    let mut counts: BTreeMap<&str, [u32; 2]> = BTreeMap::new();
    for socket in all {
        for chip in all {
            let has_select = [socket, chip]
                .iter()
                .any(|part| part.pins_of(Pin::Select).next().is_some());
            let mixed = [(true, true), (true, false), (false, true)].map(Some);
            let mixed = mixed.into_iter().filter(|_| has_select);
            for said in [None, Some((false, false))].into_iter().chain(mixed) {
                let made = Adapter::plan(socket, chip, &options(socket, chip, said));
                match &made {
                    Err(why) => check_refusal(socket, chip, why, said),
                    Ok(plan) => {
                        check_rules(plan, said);
                        check_straight(plan);
                        if said == Some((false, false)) {
                            check_content(plan);
                        }
                    }
                }
                match said {
                    None => counts.entry(kind(&made)).or_default()[0] += 1,
                    Some((false, false)) => counts.entry(kind(&made)).or_default()[1] += 1,
                    Some(_) => {}
                }
            }
        }
    }
    let rows: String = (counts.iter())
        .map(|(kind, [open, low])| format!("| {kind} | {open} | {low} |\n"))
        .collect();
    let sums = [0, 1].map(|i| counts.values().map(|count| count[i]).sum::<u32>());
    assert_eq!(sums, [(all.len() * all.len()) as u32; 2]);
    let page = std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join("docs/evidence.md");
    let page = std::fs::read_to_string(page).unwrap();
    assert!(
        page.contains(&rows),
        "docs/evidence.md has other counts than these:\n{rows}"
    );
}

/// The same with the lines that the socket lacks held in each way, for a share of the pairs.
#[test]
fn whatever_is_done_with_upper_lines_the_rules_are_kept() {
    const SHARE: usize = 9;
    let all = parts::all();
    let pairs = all
        .iter()
        .flat_map(|socket| all.iter().map(move |chip| (socket, chip)));
    let mut seen = 0;
    let more_lines =
        |(socket, chip): &(&Part, &Part)| chip.address_lines() > socket.address_lines();
    for (socket, chip) in pairs.filter(more_lines).step_by(SHARE) {
        let low = Some((false, false));
        for upper in [
            UpperLines::Low,
            UpperLines::High,
            UpperLines::Any,
            UpperLines::Switch,
        ] {
            let options = AdapterOptions {
                upper: Some(upper),
                alone: true,
                ..options(socket, chip, low)
            };
            if let Ok(plan) = Adapter::plan(socket, chip, &options) {
                check_rules(&plan, low);
                check_straight(&plan);
                check_content(&plan);
                seen += 1;
            }
        }
    }
    assert!(seen > 1_000, "{seen}");
}

fn planned(socket: &str, chip: &str, options: &AdapterOptions) -> Result<Adapter, NoAdapter> {
    let find = |name| parts::find(name).unwrap();
    Adapter::plan(find(socket), find(chip), options)
}

fn plain(socket: &str, chip: &str) -> Adapter {
    planned(socket, chip, &AdapterOptions::default()).unwrap()
}

fn low(pins: &[u8]) -> AdapterOptions {
    AdapterOptions {
        selects: pins.iter().map(|pin| (*pin, SelectLevel::Low)).collect(),
        ..AdapterOptions::default()
    }
}

/// The wires that are not straight, as `chip pin < socket pin`.
fn wires(plan: &Adapter) -> Vec<String> {
    let wired = plan.pins.iter().filter(|pin| !pin.is_straight());
    let wired = wired.filter_map(|pin| match pin.feed {
        Feed::Pin(hole) => Some(format!("{}<{hole}", pin.number)),
        _ => None,
    });
    wired.collect()
}

/// Worked out by hand from the two pin tables.
#[test]
fn wires_of_pairs_that_the_trade_adapts() {
    let plan = planned("2364", "27C64", &low(&[20])).unwrap();
    assert_eq!(plan.fitting, Fitting::NeedsWiring);
    assert_eq!(
        wires(&plan),
        ["1<24", "2<21", "20<12", "23<18", "27<24", "28<24"]
    );
    let insulated: Vec<u8> = plan.insulated().map(|pin| pin.number).collect();
    assert_eq!(insulated, [20, 23, 26]);

    let plan = planned("2332", "2732", &low(&[20, 21])).unwrap();
    assert_eq!(wires(&plan), ["18<21", "21<18"]);
    let plan = plain("2532", "2732");
    assert_eq!(wires(&plan), ["18<12", "21<18"]);
    assert_eq!(plan.unused(), [(21, Pin::Vpp)]);

    let plan = plain("27C256", "28C256");
    assert_eq!(wires(&plan), ["1<27", "27<28"]);
    let plan = plain("27C512", "39SF010");
    assert_eq!(wires(&plan), ["2<14", "31<28", "32<28"]);
}

#[test]
fn what_has_to_be_measured_is_told_and_not_assumed() {
    let level = |pin, level| Condition::Level {
        pin,
        chip_pin: pin,
        level,
    };
    let free = |pin| Condition::Unconnected { chip_pin: pin, pin };
    assert_eq!(plain("27512", "27C512").fitting, Fitting::AsItIs);
    assert_eq!(plain("2732", "27C32").fitting, Fitting::AsItIs);
    assert_eq!(plain("29F010", "39SF010").fitting, Fitting::AsItIs);
    assert_eq!(
        plain("27256", "27C256").fitting,
        Fitting::If(vec![level(1, Level::High)])
    );
    assert_eq!(
        plain("27128", "27C256").fitting,
        Fitting::If(vec![level(1, Level::High), level(27, Level::High)])
    );
    assert_eq!(
        plain("27C64", "28C64").fitting,
        Fitting::If(vec![free(1), level(27, Level::High)])
    );
    let any = AdapterOptions {
        upper: Some(UpperLines::Any),
        ..AdapterOptions::default()
    };
    let plan = planned("27128", "27C256", &any).unwrap();
    assert_eq!(
        plan.fitting,
        Fitting::If(vec![level(1, Level::High), level(27, Level::Any)])
    );
    assert_eq!(plan.content("U1", 0).tied, [(14, Level::Any)]);
    // The socket's VPP never reaches a line of the chip, whatever may be measured there.
    assert_eq!(plain("27C256", "27C512").fitting, Fitting::NeedsWiring);
}

#[test]
fn a_select_whose_level_nobody_said_is_a_question_and_has_no_wire() {
    let plan = plain("2364", "27C64");
    assert_eq!(plan.questions, [Question::OfSocket(20)]);
    assert_eq!(plan.pins[21].feed, Feed::Asked);
    let plan = plain("27C64", "23128");
    assert!(
        plan.questions.contains(&Question::OfChip(27)),
        "{:?}",
        plan.questions
    );
    // A mask ROM of the very same number may have been made with another level.
    assert_eq!(
        plain("2364", "2364").questions,
        [Question::OfSocket(20), Question::OfChip(20)]
    );
    let both = AdapterOptions {
        chip_selects: vec![(20, false)],
        ..low(&[20])
    };
    assert_eq!(
        planned("2364", "2364", &both).unwrap().fitting,
        Fitting::AsItIs
    );
}

#[test]
fn a_select_that_the_board_holds_takes_no_part() {
    let gate = planned("2732", "2532", &AdapterOptions::default()).unwrap_err();
    assert!(matches!(gate, NoAdapter::NeedsGate { .. }), "{gate}");
    let held = AdapterOptions {
        selects: vec![(18, SelectLevel::Always)],
        ..AdapterOptions::default()
    };
    let plan = planned("2732", "2532", &held).unwrap();
    assert_eq!(wires(&plan), ["18<21", "21<24"]);
    let high = AdapterOptions {
        selects: vec![(20, SelectLevel::High)],
        ..AdapterOptions::default()
    };
    let inverter = planned("2364", "27C64", &high).unwrap_err();
    assert!(
        matches!(inverter, NoAdapter::NeedsInverter { .. }),
        "{inverter}"
    );
    // A chip whose CS is high needs none.
    let high = AdapterOptions {
        chip_selects: vec![(20, true)],
        ..high
    };
    assert_eq!(
        planned("2364", "2364", &high).unwrap().fitting,
        Fitting::AsItIs
    );
}

#[test]
fn what_is_said_of_a_pin_must_be_about_a_select() {
    for (pin, level) in [
        (7, SelectLevel::Low),
        (0, SelectLevel::Low),
        (29, SelectLevel::Always),
    ] {
        let options = AdapterOptions {
            selects: vec![(pin, level)],
            ..AdapterOptions::default()
        };
        let error = planned("27C64", "28C64", &options).unwrap_err();
        assert!(
            matches!(error, NoAdapter::NotASelect { .. }) && error.is_about_options(),
            "{error}"
        );
    }
    for selects in [
        vec![(20, SelectLevel::High)],
        vec![(20, SelectLevel::Low), (20, SelectLevel::Always)],
    ] {
        let options = AdapterOptions {
            selects,
            ..AdapterOptions::default()
        };
        let error = planned("27C64", "28C64", &options).unwrap_err();
        assert!(matches!(error, NoAdapter::OtherLevel { .. }), "{error}");
    }
}

#[test]
fn driving_outputs_on_lines_that_several_may_pull_are_refused_unless_alone() {
    let options = AdapterOptions {
        chip_selects: vec![(15, false)],
        ..low(&[15])
    };
    let error = planned("prom-32x8-oc", "prom-32x8", &options).unwrap_err();
    assert_eq!(error, NoAdapter::Drives);
    let alone = AdapterOptions {
        alone: true,
        ..options.clone()
    };
    let plan = planned("prom-32x8-oc", "prom-32x8", &alone).unwrap();
    assert_eq!(plan.fitting, Fitting::AsItIs);
    assert!(plan.deciding.contains(&Deciding::Alone));
    // The other way round each line wants a resistor.
    let plan = planned("prom-32x8", "prom-32x8-oc", &options).unwrap();
    assert!(plan.pull_ups && plan.fitting == Fitting::NeedsWiring);
}

#[test]
fn lines_on_a_switch_are_banks() {
    let switch = AdapterOptions {
        upper: Some(UpperLines::Switch),
        ..AdapterOptions::default()
    };
    let plan = planned("27C64", "39SF010", &switch).unwrap();
    let spec = plan.content("U1", 0xE000);
    assert_eq!(spec.windows[0].banks, Some((0, 15)));
    let board = Board::new("", [spec]).unwrap();
    // Switch 1 is A13, the lowest.
    let at = |bank| match board.at("cpu", Some(bank), 0xE001) {
        Answer::Cells(cells) => cells[0].address,
        other => panic!("{other:?}"),
    };
    assert_eq!([at(0), at(1), at(15)], [0x1, 0x2001, 0x1E001]);
    let feed = |number: usize| plan.pins[number - 1].feed;
    assert_eq!(
        (feed(28), feed(29), feed(3), feed(2)),
        (
            Feed::Switch(0),
            Feed::Switch(1),
            Feed::Switch(2),
            Feed::Switch(3)
        )
    );
}

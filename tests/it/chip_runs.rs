//! The chips of the sample computers, run by the processors they are for.
//!
//! That a file holds the right bytes can be compared; that the chip starts, says its name
//! and agrees with its own stamp can only be seen by running it. The programs, assembled
//! by other people's assemblers and run by other people's processors, are the judges here.
//! The Heron-16 runs in the package `chips/`: its processor needs a newer Rust.

use crate::support::heron8::{self, Heron8};
use crate::support::kingfisher::Kingfisher;
use crate::support::recipes::{recipe_says_no, run_recipe, samples};

/// Instructions within which any one command of the computer is done, many times over.
const STEP_LIMIT: u32 = 2_000_000;

/// The finished chip of the Heron-8, as its recipe makes it.
fn heron8_chip() -> Vec<u8> {
    run_recipe("heron-8").file("out/heron-8.bin")
}

/// The finished chips of the Heron-16, as its recipe makes them: even, odd.
fn heron16_chips() -> (Vec<u8>, Vec<u8>) {
    let made = run_recipe("heron-16");
    (
        made.file("out/heron-16-even.bin"),
        made.file("out/heron-16-odd.bin"),
    )
}

/// The chips worked out without romloom: a few lines of plain code over the raw assembler output.
#[test]
fn the_recipes_make_what_plain_code_makes() {
    let sample = |name: &str| std::fs::read(samples().join(name)).unwrap();
    let put = |image: &mut [u8], at: usize, bytes: &[u8]| {
        image[at..at + bytes.len()].copy_from_slice(bytes);
    };
    let mut chip = vec![0xFF; 0x8000];
    put(&mut chip, 0x0000, &sample("heron-8/basic.bin"));
    put(&mut chip, 0x6000, &sample("heron-8/monitor.bin"));
    put(&mut chip, 0x7FE0, &[0; 24]);
    put(&mut chip, 0x7FE0, b"HERON-8 ROM 1.0");
    put(&mut chip, 0x7FFA, &sample("heron-8/vectors.bin"));
    let bytes = chip[..0x7FF8].iter().chain(&chip[0x7FFA..]);
    let sum = bytes.fold(0u16, |sum, byte| sum.wrapping_add(u16::from(*byte)));
    put(&mut chip, 0x7FF8, &sum.to_le_bytes());
    assert!(heron8_chip() == chip);

    let mut rom = vec![0xFF; 0x1_0000];
    put(&mut rom, 0, &sample("heron-16/selftest.bin"));
    put(&mut rom, 0xFFC0, &[0; 32]);
    put(&mut rom, 0xFFC0, b"HERON-16 ROM 1.0");
    // Big-endian words, as a 68000 adds them.
    let words = rom[..0xFFFE].chunks_exact(2);
    let sum = words.fold(0u16, |sum, word| {
        sum.wrapping_add(u16::from_be_bytes([word[0], word[1]]))
    });
    put(&mut rom, 0xFFFE, &sum.to_be_bytes());
    let even: Vec<u8> = rom.iter().step_by(2).copied().collect();
    let odd: Vec<u8> = rom.iter().skip(1).step_by(2).copied().collect();
    assert!(heron16_chips() == (even, odd));
}

/// A board whose designer routed the lines as they came: chip line i goes to the CPU's line in the list.
#[test]
fn heron8_runs_from_a_rewired_chip_on_a_board_with_scrambled_lines() {
    const ADDRESS: [u32; 15] = [3, 0, 14, 1, 5, 2, 4, 13, 6, 12, 7, 9, 8, 11, 10];
    const DATA: [u32; 8] = [7, 0, 6, 1, 5, 2, 4, 3];
    let list = |lines: &[u32]| {
        let words: Vec<String> = lines.iter().map(u32::to_string).collect();
        words.join(",")
    };
    let made = run_recipe("heron-8");
    made.romloom(&format!(
        "load out/heron-8.bin + rewire --address {} --data {} + write scrambled.bin",
        list(&ADDRESS),
        list(&DATA)
    ));
    let chip = made.file("scrambled.bin");
    // The board, wire by wire: where each CPU address ends up on the chip's pins, and which data line comes back where.
    let seen_by_the_cpu: Vec<u8> = (0..0x8000u32)
        .map(|cpu| {
            let on_the_pins = ADDRESS.iter().enumerate();
            let on_the_pins: u32 = on_the_pins.map(|(i, line)| (cpu >> line & 1) << i).sum();
            let byte = chip[on_the_pins as usize];
            let lines = DATA.iter().enumerate();
            lines.map(|(i, line)| (byte >> i & 1) << line).sum()
        })
        .collect();
    assert!(seen_by_the_cpu == heron8_chip());
    let (shown, _) = Heron8::new(seen_by_the_cpu).run(STEP_LIMIT);
    assert!(shown.starts_with("\nHERON 8 MONITOR"), "{shown}");
    // Put in straight, the same chip does not start.
    let (shown, _) = Heron8::new(chip).run(STEP_LIMIT);
    assert!(!shown.contains("HERON"), "{shown}");
}

/// A Heron-8 that has come as far as the monitor's prompt.
fn heron8_at_its_prompt() -> Heron8 {
    let mut computer = Heron8::new(heron8_chip());
    let (shown, end) = computer.run(STEP_LIMIT);
    assert_eq!(end, heron8::End::Waits, "no prompt; shown so far: {shown}");
    computer
}

/// Types a line and gives what the computer answers to it, without the line's echo.
fn answer(computer: &mut Heron8, line: &str) -> String {
    computer.type_line(line);
    let (shown, end) = computer.run(STEP_LIMIT);
    assert_eq!(end, heron8::End::Waits, "{line}: no end; shown: {shown}");
    match shown.strip_prefix(line).and_then(|s| s.strip_prefix('\n')) {
        Some(answer) => answer.to_owned(),
        None => panic!("{line}: not echoed; shown: {shown}"),
    }
}

#[test]
fn heron8_starts_from_its_reset_vector_and_says_its_name() {
    let mut computer = Heron8::new(heron8_chip());
    let shown = computer.run(STEP_LIMIT);
    assert_eq!(
        shown,
        (
            "\nHERON 8 MONITOR\nHERON-8 ROM 1.0\nHERON: ".to_owned(),
            heron8::End::Waits
        )
    );
}

#[test]
fn heron8_agrees_with_its_stamp() {
    let chip = heron8_chip();
    let stamp = u16::from_le_bytes([chip[0x7FF8], chip[0x7FF9]]);
    let mut computer = heron8_at_its_prompt();
    assert_eq!(
        answer(&mut computer, "TALLY"),
        format!("ROM GOOD, SUM {stamp:04X}\nHERON: ")
    );
}

#[test]
fn heron8_finds_a_byte_that_has_changed() {
    let mut chip = heron8_chip();
    let stamp = u16::from_le_bytes([chip[0x7FF8], chip[0x7FF9]]);
    chip[0x5123] ^= 0x10; // in the erased space, where no program would notice
    let mut computer = Heron8::new(chip);
    computer.run(STEP_LIMIT);
    let sum = stamp.wrapping_sub(0x10);
    assert_eq!(
        answer(&mut computer, "TALLY"),
        format!("ROM CHANGED, SUM {sum:04X}, STAMP {stamp:04X}\nHERON: ")
    );
}

#[test]
fn heron8_monitor_looks_puts_and_runs() {
    let mut computer = heron8_at_its_prompt();
    // LDA #$2A; JSR MON_PUT; RTS
    assert_eq!(
        answer(&mut computer, "PUT 0400 A9 2A 20 06 E0 60"),
        "\nHERON: "
    );
    assert_eq!(
        answer(&mut computer, "LOOK 03FE 0409"),
        "\n03FE > A5 A5 < 03FF\n0400 > A9 2A 20 06 E0 60 A5 A5 < 0407\n0408 > A5 A5 < 0409\nHERON: "
    );
    assert_eq!(answer(&mut computer, "RUN 0400"), "*\nHERON: ");
    // Eight bytes without a last one; zeros before a number and blanks between them don't count.
    assert_eq!(
        answer(&mut computer, "  LOOK   00000400  "),
        "\n0400 > A9 2A 20 06 E0 60 A5 A5 < 0407\nHERON: "
    );
    // The very last byte of the address space ends the last row.
    let chip = heron8_chip();
    assert_eq!(
        answer(&mut computer, "LOOK FFFE"),
        format!(
            "\nFFFE > {:02X} {:02X} < FFFF\nHERON: ",
            chip[0x7FFE], chip[0x7FFF]
        )
    );
    assert_eq!(answer(&mut computer, ""), "\nHERON: ");
}

#[test]
fn heron8_monitor_says_what_is_wrong() {
    let mut computer = heron8_at_its_prompt();
    for (line, said) in [
        // Words that are not a command, a beginning of one, and one run into what follows.
        ("X", "NOT UNDERSTOOD, TRY HELP"),
        ("LOO 8000", "NOT UNDERSTOOD, TRY HELP"),
        ("LOOK8000", "NOT UNDERSTOOD, TRY HELP"),
        ("HELPS", "NOT UNDERSTOOD, TRY HELP"),
        ("8000", "NOT UNDERSTOOD, TRY HELP"),
        // Too few numbers, too many, and one that is not a number.
        ("LOOK", "NOT UNDERSTOOD, TRY HELP"),
        ("LOOK 1 2 3", "NOT UNDERSTOOD, TRY HELP"),
        ("LOOK 80G0", "NOT UNDERSTOOD, TRY HELP"),
        ("PUT", "NOT UNDERSTOOD, TRY HELP"),
        ("PUT 0400", "NOT UNDERSTOOD, TRY HELP"),
        ("RUN", "NOT UNDERSTOOD, TRY HELP"),
        ("RUN 0400 1", "NOT UNDERSTOOD, TRY HELP"),
        ("TALLY 1", "NOT UNDERSTOOD, TRY HELP"),
        ("BASIC 1", "NOT UNDERSTOOD, TRY HELP"),
        ("AGAIN 1", "NOT UNDERSTOOD, TRY HELP"),
        ("HELP LOOK", "NOT UNDERSTOOD, TRY HELP"),
        // Numbers that are too large, and a range and an address that are not possible.
        ("LOOK 10000", "NOT IN 16 BITS"),
        ("RUN FFFFFFFF", "NOT IN 16 BITS"),
        ("PUT 0400 10000", "NOT IN 16 BITS"),
        ("PUT 0400 100", "NOT IN 8 BITS"),
        ("LOOK 9000 8FFF", "LAST IS BEFORE FIRST"),
        ("PUT 8000 00", "NO RAM AT 8000"),
        ("PUT 0500 11 100", "NOT IN 8 BITS"),
    ] {
        assert_eq!(
            answer(&mut computer, line),
            format!("{said}\nHERON: "),
            "{line}"
        );
    }
    // The bytes before the one that was wrong are written, and nothing else.
    for (line, row) in [
        ("LOOK 0400 0401", "0400 > A5 A5 < 0401"),
        ("LOOK 0500 0501", "0500 > 11 A5 < 0501"),
    ] {
        assert_eq!(
            answer(&mut computer, line),
            format!("\n{row}\nHERON: "),
            "{line}"
        );
    }
}

#[test]
fn heron8_help_lists_each_command() {
    let mut computer = heron8_at_its_prompt();
    let list = answer(&mut computer, "HELP");
    assert_eq!(
        list,
        "LOOK FIRST LAST   SHOW MEMORY\n\
         PUT FIRST BYTES   WRITE INTO RAM\n\
         RUN ADDRESS       RUN A PROGRAM\n\
         TALLY             ADD UP THE ROM\n\
         BASIC             START BASIC\n\
         AGAIN             RETURN TO BASIC\n\
         HELP              LIST COMMANDS\nHERON: "
    );
}

#[test]
fn heron8_break_names_its_place() {
    let mut computer = heron8_at_its_prompt();
    answer(&mut computer, "PUT 0400 EA 00");
    assert_eq!(
        answer(&mut computer, "RUN 0400"),
        "\nSTOPPED AT 0401\nHERON: "
    );
}

#[test]
fn heron8_irq_reaches_the_programs_handler_with_its_registers() {
    let mut computer = heron8_at_its_prompt();
    answer(&mut computer, "PUT 0400 A9 2B A2 2D 58 4C 05 04"); // LDA #'+'; LDX #'-'; CLI; wait
    answer(&mut computer, "PUT 0500 20 06 E0 8A 20 06 E0 4C 03 E0"); // both to MON_PUT; MON_WARM
    answer(&mut computer, "PUT 0302 00 05");
    computer.type_line("RUN 0400");
    assert_eq!(
        computer.run(10_000),
        ("RUN 0400\n".to_owned(), heron8::End::StepLimit)
    );
    computer.hold_irq_line(true);
    assert_eq!(
        computer.run(STEP_LIMIT),
        ("+-\nHERON: ".to_owned(), heron8::End::Waits)
    );
}

#[test]
fn heron8_lets_a_line_be_edited_and_keeps_its_length() {
    let mut computer = heron8_at_its_prompt();
    computer.type_line("\u{8}lx\u{8}\u{1}\u{7f}look ffff");
    let (shown, end) = computer.run(STEP_LIMIT);
    assert_eq!(end, heron8::End::Waits);
    assert!(
        shown.starts_with("LX\u{8} \u{8}\u{8} \u{8}LOOK FFFF\n\nFFFF > "),
        "{shown:?}"
    );
    computer.type_line(&"X".repeat(81));
    let (shown, _) = computer.run(STEP_LIMIT);
    assert!(
        shown == "X".repeat(79) + "\u{7}\u{7}\nNOT UNDERSTOOD, TRY HELP\nHERON: ",
        "{shown:?}"
    );
}

#[test]
fn heron8_runs_a_basic_program() {
    let mut computer = heron8_at_its_prompt();
    assert_eq!(answer(&mut computer, "BASIC"), "HERON 8 BASIC\nLINE: ");
    // Out of order, one replaced and one removed, as it happens while one types.
    for line in [
        "30 IF N <= 3 THEN 20",
        "10 LET N = 1",
        "20 PRINT \"N IS \";N,N-10",
        "25 N = N + 2",
        "25 N = N + 1",
        "27 PRINT \"NOT THIS\"",
        "40 PRINT \"DONE\"",
        "27",
    ] {
        assert_eq!(answer(&mut computer, line), "LINE: ", "{line}");
    }
    assert_eq!(
        answer(&mut computer, "LIST"),
        "10 LET N = 1\n20 PRINT \"N IS \";N,N-10\n25 N = N + 1\n30 IF N <= 3 THEN 20\n\
         40 PRINT \"DONE\"\n\nLINE: "
    );
    assert_eq!(
        answer(&mut computer, "RUN"),
        "N IS 1 -9\nN IS 2 -8\nN IS 3 -7\nDONE\n\nLINE: "
    );
    assert_eq!(answer(&mut computer, "MONITOR"), "\nHERON: ");
    assert_eq!(answer(&mut computer, "AGAIN"), "\nLINE: ");
    assert_eq!(answer(&mut computer, "NEW"), "\nLINE: ");
    assert_eq!(answer(&mut computer, "LIST"), "\nLINE: ");
    // The variables are gone as well.
    assert_eq!(answer(&mut computer, "PRINT N"), "0\n\nLINE: ");
}

#[test]
fn heron8_basic_counts_and_compares_over_its_whole_range() {
    let mut computer = heron8_at_its_prompt();
    answer(&mut computer, "BASIC");
    for (line, shown) in [
        ("PRINT 32767", "32767\n"),
        ("PRINT -32767-1", "-32768\n"),
        ("PRINT 1000+200-30", "1170\n"),
        ("PRINT 10 - -4 + 0", "14\n"),
        ("PRINT 2*3", "2\nNOT UNDERSTOOD"),
        ("PRINT 32767+1", "\nNOT IN 16 BITS"),
        ("PRINT -32767-2", "\nNOT IN 16 BITS"),
        ("PRINT 32768", "\nNOT IN 16 BITS"),
        ("PRINT 65536", "\nNOT IN 16 BITS"),
        ("A=-32767-1: PRINT", "\nNOT UNDERSTOOD"),
        ("IF -32767-1 < 32767 THEN PRINT 1", "1\n"),
        ("IF 32767 < -32767 THEN PRINT 1", ""),
        ("IF 16384 = -16384 THEN PRINT 1", ""),
        ("IF 5 <> 6 THEN PRINT 1", "1\n"),
        ("IF 5 >= 5 THEN PRINT 1", "1\n"),
        ("IF 5 > 5 THEN PRINT 1", ""),
        ("GOTO 7", "\nNO LINE HAS THIS NUMBER"),
        ("PRINT \"OPEN", "OPEN\nNOT UNDERSTOOD"),
        ("0 PRINT", "\nNOT UNDERSTOOD"),
        ("32768 PRINT", "\nNOT IN 16 BITS"),
        ("PRIN 1", "\nNOT UNDERSTOOD"),
        ("MONITOR 1", "\nNOT UNDERSTOOD"),
        ("LIST 10", "\nNOT UNDERSTOOD"),
    ] {
        assert_eq!(
            answer(&mut computer, line),
            format!("{shown}\nLINE: "),
            "{line}"
        );
    }
    answer(&mut computer, "10 A = 1");
    answer(&mut computer, "20 A = A + ");
    assert_eq!(
        answer(&mut computer, "RUN"),
        "\nNOT UNDERSTOOD, SEE LINE 20\nLINE: "
    );
}

#[test]
fn heron8_nmi_button_stops_a_program_and_keeps_it() {
    let mut computer = heron8_at_its_prompt();
    answer(&mut computer, "BASIC");
    answer(&mut computer, "10 GOTO 10");
    computer.type_line("RUN");
    assert_eq!(
        computer.run(100_000),
        ("RUN\n".to_owned(), heron8::End::StepLimit)
    );
    computer.press_nmi_button();
    let (shown, end) = computer.run(STEP_LIMIT);
    assert_eq!(end, heron8::End::Waits);
    assert!(shown.starts_with("\nSTOPPED AT 8"), "{shown}");
    assert!(shown.ends_with("\nHERON: "), "{shown}");
    assert_eq!(answer(&mut computer, "AGAIN"), "\nLINE: ");
    assert_eq!(answer(&mut computer, "LIST"), "10 GOTO 10\n\nLINE: ");
    computer.press_reset_button();
    computer.run(STEP_LIMIT);
    answer(&mut computer, "AGAIN");
    assert_eq!(answer(&mut computer, "LIST"), "10 GOTO 10\n\nLINE: ");
}

#[test]
fn heron8_basic_without_a_program_in_memory_starts_cold() {
    let mut computer = heron8_at_its_prompt();
    assert_eq!(answer(&mut computer, "AGAIN"), "HERON 8 BASIC\nLINE: ");
    assert_eq!(answer(&mut computer, "LIST"), "\nLINE: ");
}

#[test]
fn heron8_basic_fills_its_memory_and_no_more() {
    let mut computer = heron8_at_its_prompt();
    answer(&mut computer, "BASIC");
    let text = "REM ".to_owned() + &"X".repeat(68);
    let full = (1..)
        .find(|number| {
            answer(&mut computer, &format!("{number:05} {text}")) == "\nNO ROOM LEFT\nLINE: "
        })
        .expect("the memory is full some time");
    // A record is the text with a header of three bytes and a closing zero; the program
    // is closed by one zero more, and lies from 0x0400 to 0x7EFE.
    assert_eq!(full - 1, (0x7EFF - 0x0400 - 1) / (3 + text.len() + 1));
    answer(&mut computer, "1 PRINT \"STILL HERE\"");
    answer(&mut computer, "2 END");
    assert_eq!(answer(&mut computer, "RUN"), "STILL HERE\n\nLINE: ");
}

/// The finished chip of the Kingfisher, as its recipe makes it.
fn kingfisher_chip() -> Vec<u8> {
    run_recipe("kingfisher").file("out/kingfisher.bin")
}

/// A Heron-8 at its prompt, with this chip in the cartridge and the slot on.
fn heron8_with_cartridge(chip: Vec<u8>) -> Heron8 {
    let mut computer = Heron8::new(heron8_chip()).with_cartridge(Kingfisher::new(chip));
    let (shown, end) = computer.run(STEP_LIMIT);
    assert_eq!(end, heron8::End::Waits, "no prompt; shown so far: {shown}");
    assert_eq!(answer(&mut computer, "PUT 7F10 80"), "\nHERON: ");
    computer
}

/// What the menu shows before it asks.
const MENU: &str = "\nKINGFISHER\n1 BIRD\n2 PRIMES\n3 CHECK\n0 MONITOR\nBANK: ";
const BIRD: &str = r"        /\/\_
  _____/  o  \
  -----\      \
        \      \
         \__/\__\
  ========^=^=====";

#[test]
fn kingfisher_recipe_makes_what_plain_code_makes() {
    let sample = |name: &str| std::fs::read(samples().join("kingfisher").join(name)).unwrap();
    let common = sample("common.bin");
    let mut chip = Vec::new();
    for program in ["menu.bin", "bird.bin", "primes.bin", "check.bin"] {
        let mut bank = sample(program);
        bank.resize(0x1F80, 0xFF);
        bank.extend(&common);
        bank.resize(0x2000, 0xFF);
        // What is stored makes all words, low byte first, add up to 0; its place holds 0 before.
        let sum = bank.chunks_exact(2).fold(0u16, |sum, word| {
            sum.wrapping_add(u16::from_le_bytes([word[0], word[1]]))
        });
        bank[4..6].copy_from_slice(&sum.wrapping_neg().to_le_bytes());
        chip.extend(bank);
    }
    assert!(kingfisher_chip() == chip);
}

#[test]
fn kingfisher_runs_each_bank_and_comes_back() {
    let mut computer = heron8_with_cartridge(kingfisher_chip());
    assert_eq!(answer(&mut computer, "RUN A000"), MENU);
    assert_eq!(answer(&mut computer, "1"), format!("{BIRD}{MENU}"));
    let primes = "2 3 5 7 11 13 17 19 23 29 31 37 41 43 47 53 59 61 67 71 73 79 83 89 97 ";
    assert_eq!(answer(&mut computer, "2"), format!("{primes}{MENU}"));
    // The check sums all four banks, and then calls the bird from within its own call.
    let sums = "KINGFISHER GOOD\nBIRD GOOD\nPRIMES GOOD\nCHECK GOOD\n";
    assert_eq!(answer(&mut computer, "3"), format!("{sums}{BIRD}{MENU}"));
    for wrong in ["4", "X", "", "/"] {
        assert_eq!(answer(&mut computer, wrong), MENU, "{wrong}");
    }
    assert_eq!(answer(&mut computer, "0"), "\nHERON: ");
}

#[test]
fn kingfisher_leaves_the_rom_alone_until_its_slot_is_on() {
    let chip = heron8_chip();
    let rom_good = format!(
        "ROM GOOD, SUM {:02X}{:02X}\nHERON: ",
        chip[0x7FF9],
        chip[0x7FF8] // the stamp, low byte first
    );
    let mut computer = heron8_with_cartridge(kingfisher_chip());
    assert!(answer(&mut computer, "TALLY").starts_with("ROM CHANGED"));
    assert_eq!(
        answer(&mut computer, "LOOK A006 A007"),
        "\nA006 > 4B 46 < A007\nHERON: "
    );
    computer.press_reset_button();
    computer.run(STEP_LIMIT);
    assert_eq!(answer(&mut computer, "TALLY"), rom_good);
}

#[test]
fn kingfisher_with_banks_in_the_wrong_order_says_so() {
    let mut chip = kingfisher_chip();
    // Banks 1 and 2 swapped.
    chip[0x2000..0x6000].rotate_left(0x2000);
    let mut computer = heron8_with_cartridge(chip);
    let menu = "\nKINGFISHER\n1 WRONG BANK\n2 WRONG BANK\n3 CHECK\n0 MONITOR\nBANK: ";
    assert_eq!(answer(&mut computer, "RUN A000"), menu);
    assert_eq!(answer(&mut computer, "1"), format!("WRONG BANK{menu}"));
}

#[test]
fn kingfisher_finds_a_byte_that_has_changed() {
    let mut chip = kingfisher_chip();
    chip[0x5123] ^= 0x10; // in the erased space of bank 2
    let mut computer = heron8_with_cartridge(chip);
    answer(&mut computer, "RUN A000");
    assert_eq!(
        answer(&mut computer, "3"),
        format!("KINGFISHER GOOD\nBIRD GOOD\nPRIMES CHANGED\nCHECK GOOD\n{MENU}")
    );
}

#[test]
fn kingfisher_bank_without_the_common_block_is_lost() {
    for (bank, title) in [(1, "BIRD"), (2, "PRIMES"), (3, "CHECK")] {
        let mut chip = kingfisher_chip();
        chip[bank * 0x2000 + 0x1F80..(bank + 1) * 0x2000].fill(0xFF);
        let mut computer = heron8_with_cartridge(chip);
        // The menu asks each bank for its title, and from this one nothing comes back.
        computer.type_line("RUN A000");
        let (shown, _) = computer.run(STEP_LIMIT);
        let (before, _) = MENU.split_once(title).unwrap();
        assert!(shown.starts_with(&format!("RUN A000\n{before}")), "{shown}");
        assert!(!shown.contains(title), "{shown}");
        assert!(!shown.contains("BANK: "), "{shown}");
    }
}

#[test]
fn kingfisher_recipe_refuses_banks_in_the_wrong_order() {
    let said = recipe_says_no("kingfisher", |recipe| {
        recipe.replace("menu,bird,primes,check", "menu,primes,bird,check")
    });
    assert!(said.contains("0xA003 holds 02, expected 01"), "{said}");
}

#[test]
fn kingfisher_recipe_refuses_a_bank_without_the_common_block() {
    let said = recipe_says_no("kingfisher", |recipe| {
        recipe.replace("\nspread ", "\n# spread ")
    });
    assert!(said.contains("0xBF81 points to 0xFFFF"), "{said}");
}

#[test]
fn heron16g_recipe_makes_what_plain_code_makes() {
    let sample = |name: &str| std::fs::read(samples().join("heron-16g").join(name)).unwrap();
    let padded = |name: &str, size: usize| {
        let mut bytes = sample(name);
        bytes.resize(size, 0xFF);
        bytes
    };
    let mut monitor = padded("monitor.bin", 0x2_0000);
    let words = monitor[..0x1_FEFE].chunks_exact(2);
    let sum = words.fold(0u16, |sum, word| {
        sum.wrapping_add(u16::from_be_bytes([word[0], word[1]]))
    });
    monitor[0x1_FEFE..0x1_FF00].copy_from_slice(&sum.to_be_bytes());
    // D0-D7 come first in the file of a part 16 bits wide, and have the odd bytes.
    monitor.chunks_exact_mut(2).for_each(|word| word.swap(0, 1));
    let drawing = padded("draw.bin", 0x8000);
    let lane =
        |first: usize| -> Vec<u8> { drawing.iter().skip(first).step_by(2).copied().collect() };
    let made = run_recipe("heron-16g");
    for (name, chip) in [
        ("U1", monitor),
        ("U2", lane(0)),
        ("U3", lane(1)),
        ("U4", padded("settings.bin", 0x2000)),
        ("U9", padded("font.bin", 0x800)),
    ] {
        assert!(
            made.file(&format!("out/heron-16g-{name}.bin")) == chip,
            "{name}"
        );
    }
}

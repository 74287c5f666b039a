//! The board files of the samples: their programs laid over them, against plain code over the raw assembler output, and
//! the chips that their recipes make, taken to the bus and back.

use std::fs;

use romloom::board::{Board, Outside, Program, Target};
use romloom::formats::{self, ReadOptions};
use romloom::image::{AddressRange, Clash, Image, Source};
use romloom::parts::Catalogue;

use crate::support::recipes::{run_recipe, samples};

fn board(sample: &str) -> Board {
    let path = samples().join(sample).join(format!("{sample}.board"));
    let text = fs::read_to_string(&path).unwrap();
    Board::from_toml(&path.to_string_lossy(), &text, &mut Catalogue::built_in()).unwrap()
}

fn raw(name: &str) -> Vec<u8> {
    fs::read(samples().join(name)).unwrap()
}

/// These files as one program; raw ones are at `at`.
fn program(files: &[&str], at: u64) -> Image {
    let mut image = Image::new();
    for file in files {
        let how = ReadOptions {
            at,
            ..ReadOptions::default()
        };
        let loaded = formats::load(samples().join(file), &how).unwrap();
        image.merge(loaded.image, Clash::Refuse).unwrap();
    }
    image
}

fn bus(space: &str, bank: Option<u64>) -> Target {
    Target::Bus {
        space: space.into(),
        bank,
    }
}

/// The whole content of every chip, in the order of the board.
fn laid(board: &Board, programs: &[(&Image, Target)]) -> Vec<Vec<u8>> {
    let programs = programs.iter().map(|(image, target)| Program {
        name: "program",
        image: Image::clone(image),
        target: target.clone(),
    });
    let programs: Vec<Program> = programs.collect();
    let laid = board.lay(programs, Clash::Refuse, Outside::Refuse);
    let chips = laid.unwrap().chips.into_iter();
    chips
        .map(|chip| chip.image.spans()[0].bytes().to_vec())
        .collect()
}

fn put(chip: &mut [u8], at: usize, bytes: &[u8]) {
    chip[at..at + bytes.len()].copy_from_slice(bytes);
}

/// Every second byte, from this one on.
fn lane(bytes: &[u8], first: usize) -> Vec<u8> {
    bytes.iter().skip(first).step_by(2).copied().collect()
}

#[test]
fn the_samples_programs_are_where_their_boards_have_them() {
    let mut chip = vec![0xFF; 0x8000];
    put(&mut chip, 0x0000, &raw("heron-8/basic.bin"));
    put(&mut chip, 0x6000, &raw("heron-8/monitor.bin"));
    put(&mut chip, 0x7FFA, &raw("heron-8/vectors.bin"));
    let programs = program(&["heron-8/monitor.hex", "heron-8/basic.s19"], 0);
    let made = laid(&board("heron-8"), &[(&programs, bus("cpu", None))]);
    assert!(made == [chip]);

    let mut rom = vec![0xFF; 0x1_0000];
    put(&mut rom, 0, &raw("heron-16/selftest.bin"));
    let programs = program(&["heron-16/selftest.s19"], 0);
    let made = laid(&board("heron-16"), &[(&programs, bus("cpu", None))]);
    assert!(made == [lane(&rom, 0), lane(&rom, 1)]);

    // Each bank with the common block at its end, all linked for the one window.
    let mut chip = Vec::new();
    let mut banks = Vec::new();
    for (name, file) in [
        ("menu", "menu.hex"),
        ("bird", "bird.s19"),
        ("primes", "primes.bin"),
        ("check", "check.hex"),
    ] {
        let mut bank = raw(&format!("kingfisher/{name}.bin"));
        bank.resize(0x1F80, 0xFF);
        bank.extend(raw("kingfisher/common.bin"));
        bank.resize(0x2000, 0xFF);
        chip.extend(bank);
        let own = format!("kingfisher/{file}");
        banks.push(program(&[&own, "kingfisher/common.hex"], 0xA000));
    }
    let programs: Vec<(&Image, Target)> = banks
        .iter()
        .zip(0..)
        .map(|(image, bank)| (image, bus("cpu", Some(bank))))
        .collect();
    assert!(laid(&board("kingfisher"), &programs) == [chip]);
}

#[test]
fn the_heron_16g_has_each_program_in_its_own_kind_of_chip() {
    let board = board("heron-16g");
    let cpu = program(&["heron-16g/monitor.s19", "heron-16g/draw.hex"], 0);
    let font = program(&["heron-16g/font.s19"], 0);
    let settings = program(&["heron-16g/settings.bin"], 0);
    let u4 = Target::Chip(board.socket("U4").unwrap());
    let all = [
        (&cpu, bus("cpu", None)),
        (&font, bus("video", None)),
        (&settings, u4),
    ];
    let made = laid(&board, &all);

    // 16 bits wide, the even byte on D8-D15, which is the second of each word in the file.
    let mut u1 = raw("heron-16g/monitor.bin");
    u1.resize(0x2_0000, 0xFF);
    u1.chunks_exact_mut(2).for_each(|word| word.swap(0, 1));
    let mut pair = raw("heron-16g/draw.bin");
    pair.resize(0x8000, 0xFF);
    let mut u4 = raw("heron-16g/settings.bin");
    u4.resize(0x2000, 0xFF);
    let mut u9 = raw("heron-16g/font.bin");
    u9.resize(0x800, 0xFF);
    assert!(made == [u1, lane(&pair, 0), lane(&pair, 1), u4, u9]);

    // Through the overlay the reset vectors are at 0 as well: 00010000 and 00F80008.
    let chips: Vec<Image> = {
        let images = made
            .iter()
            .map(|bytes| Image::from_bytes(0, bytes.clone(), Source::Patch).unwrap());
        images.collect()
    };
    let sockets = board.sockets().map(|(socket, _)| socket);
    let chips: Vec<_> = sockets.zip(&chips).collect();
    let vectors = AddressRange::new(0, 7).unwrap();
    let seen = board.view(&chips, "cpu", None, &[vectors]).unwrap();
    assert_eq!(
        seen.contiguous(vectors).unwrap(),
        [0x00, 0x01, 0x00, 0x00, 0x00, 0xF8, 0x00, 0x08]
    );
}

#[test]
fn finished_chips_go_to_the_bus_and_come_back() {
    for (sample, files, banks) in [
        ("heron-8", &["heron-8.bin"][..], 0),
        ("heron-16", &["heron-16-even.bin", "heron-16-odd.bin"], 0),
        ("kingfisher", &["kingfisher.bin"], 4),
    ] {
        let board = board(sample);
        let made = run_recipe(sample);
        let files = files.iter().map(|file| made.file(&format!("out/{file}")));
        let files: Vec<Vec<u8>> = files.collect();
        let source = || romloom::image::Source::Patch;
        let images = files
            .iter()
            .map(|file| Image::from_bytes(0, file.clone(), source()));
        let images: Vec<Image> = images.map(Result::unwrap).collect();
        let sockets = board.sockets().map(|(socket, _)| socket);
        let chips: Vec<_> = sockets.zip(images).collect();
        let programs = board.unseat(chips).unwrap().seen;
        let in_banks = programs.iter().filter(|own| own.bank.is_some()).count();
        assert_eq!(
            (programs.len(), in_banks),
            (banks.max(1), banks),
            "{sample}"
        );
        let again: Vec<(&Image, Target)> = programs
            .iter()
            .map(|own| (&own.image, bus(&own.space, own.bank.map(|(bank, _)| bank))))
            .collect();
        assert!(laid(&board, &again) == files, "{sample}");
    }
}

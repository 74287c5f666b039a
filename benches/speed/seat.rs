//! Programs laid over a board, beside copying their bytes into new memory.

use std::hint::black_box;

use romloom::board::{Board, Outside, Program, SocketsSpec, Target, WindowSpec};
use romloom::image::{Clash, Image, Source};
use romloom::parts;

use crate::table::{heading, in_turns, rate, row};
use crate::work::{K, M, bytes, image};

pub fn rows() {
    heading("seat: times as long as copying the bytes into new memory");
    let program = image(16 * M);
    for lanes in [1, 2] {
        let board = board("27C080", 16, lanes, None);
        let what = match lanes {
            1 => "16 MiB in 16 sockets".to_owned(),
            n => format!("16 MiB in 16 sockets, {n} lanes"),
        };
        let program = Program {
            name: "bench",
            image: program.clone(),
            target: Target::default(),
        };
        against_copy(&what, &board, &[program], 16 * M);
    }
    let board = board("27C010", 64, 1, Some(1024));
    let banks: Vec<Image> = bytes(8 * M)
        .chunks(8 * K as usize)
        .map(|bank| Image::from_bytes(0, bank.to_vec(), Source::Patch).unwrap())
        .collect();
    let programs: Vec<Program> = (0..)
        .zip(&banks)
        .map(|(n, image)| Program {
            name: "bench",
            image: image.clone(),
            target: Target::Bus {
                space: "cpu".into(),
                bank: Some(n),
            },
        })
        .collect();
    against_copy("1,024 banks of 8K in 64 sockets", &board, &programs, 8 * M);
}

fn board(part: &str, sockets: usize, lanes: u32, banks: Option<u64>) -> Board {
    let names = (0..sockets).map(|n| format!("U{n}"));
    let mut spec = SocketsSpec::new(parts::find(part).unwrap().clone(), names);
    spec.lanes = lanes;
    spec = spec.window(WindowSpec {
        at: 0,
        size: banks.map(|_| 8 * K),
        banks: banks.map(|banks| (0, banks - 1)),
        ..WindowSpec::default()
    });
    Board::new("", [spec]).unwrap()
}

fn against_copy(what: &str, board: &Board, programs: &[Program<'_>], size: u64) {
    let plain = bytes(size);
    let lay = || {
        let laid = board.lay(black_box(programs.to_vec()), Clash::Refuse, Outside::Refuse);
        drop(black_box(laid.unwrap()));
    };
    let times = in_turns(7, lay, || drop(black_box(black_box(&plain).clone())));
    let ratio = times.0.as_secs_f64() / times.1.as_secs_f64();
    let (ours, copy) = (rate(size, times.0), rate(size, times.1));
    row(what, &ours, "copy", &copy, ratio, "at most 4");
}

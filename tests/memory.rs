//! Memory grows with the size of a file, never with the addresses in it: measured by an allocator that remembers the
//! highest use. All cases are one test, so that nothing else allocates meanwhile.

#![allow(clippy::unwrap_used)] // a test that meets the unexpected shall stop

use std::ffi::OsString;
use std::io::Read;

use peak_alloc::PeakAlloc;
use romloom::cli;
use romloom::formats::{self, Findings, Input, ReadOptions, Strictness};

#[global_allocator]
static PEAK: PeakAlloc = PeakAlloc;

const K: usize = 1024;
const M: usize = 1024 * K;

/// Bytes that `work` needed at most beyond what was in use before, and what it gave.
fn peak<T>(work: impl FnOnce() -> T) -> (usize, T) {
    let before = PEAK.current_usage();
    PEAK.reset_peak_usage();
    let value = work();
    (PEAK.peak_usage().saturating_sub(before), value)
}

/// Reads with `format`, however the file looks.
fn read(format: &str, file: impl Read, strictness: Strictness) -> u64 {
    let mut findings = Findings::new("hostile".into(), strictness);
    let how = ReadOptions {
        strictness,
        ..ReadOptions::default()
    };
    let image = formats::by_name(format).unwrap().read(
        &mut Input::new("hostile", file),
        &how,
        &mut findings,
    );
    image.unwrap().len()
}

/// Runs a command line in this process: its exit code, and the memory it took.
fn run(line: &str) -> (usize, String) {
    let words = std::iter::once("romloom").chain(line.split(' '));
    let words: Vec<OsString> = words.map(OsString::from).collect();
    let (bytes, code) = peak(|| cli::main(words));
    (bytes, format!("{code:?}"))
}

fn exit(code: u8) -> String {
    format!("{:?}", std::process::ExitCode::from(code))
}

/// The same few bytes over and over, `len` in all, without holding them.
struct Over(&'static [u8], usize, usize);

impl Read for Over {
    fn read(&mut self, to: &mut [u8]) -> std::io::Result<usize> {
        let n = to.len().min(self.1);
        for byte in &mut to[..n] {
            *byte = self.0[self.2 % self.0.len()];
            self.2 += 1;
        }
        self.1 -= n;
        Ok(n)
    }
}

#[test]
fn memory_grows_with_the_file_and_not_with_its_addresses() {
    far_apart();
    long_line();
    nonsense();
}

/// Two bytes, at 0 and at 0xFFFFFFF0.
fn far_apart() {
    let folder = tempfile::tempdir().unwrap();
    let files = [
        (
            "a.s37",
            "S30600000000AA4F\nS306FFFFFFF0AA62\nS70500000000FA\n",
        ),
        (
            "a.hex",
            ":01000000AA55\n:02000004FFFFFC\n:01FFF000AA66\n:00000001FF\n",
        ),
    ];
    for (name, text) in files {
        assert!(text.len() <= 60);
        assert_eq!(
            read(
                formats::by_extension(&name[2..]).unwrap().name(),
                text.as_bytes(),
                Strictness::Strict
            ),
            2
        );
        let path = folder.path().join(name);
        std::fs::write(&path, text).unwrap();
        let (file, out) = (path.display(), folder.path().join("out.bin"));
        // The command itself, its grammar above all, takes some.
        for (line, code) in [
            (format!("load {file}"), 0),
            (format!("load {file} --salvage"), 0),
            (format!("check {file}"), 0),
            (format!("load {file} + show"), 0),
            (format!("load {file} + show hex 0x0-0xFFFFFFFF"), 0),
            (format!("load {file} + digest"), 0),
            (format!("load {file} + swap 2"), 2),
            (format!("load {file} + split lanes 2"), 0),
            // 4 GiB of filler are refused: the limit is 256 MiB.
            (format!("load {file} + fill FF"), 2),
            // Only the end is padded: 15 bytes.
            (format!("load {file} + pad 4096M --at 0"), 0),
            (format!("load {file} + pad 8192M --at 0"), 2),
            (format!("load {file} + repeat 8192M --at 0"), 2),
            // Holes can't be written raw, whatever their size.
            (format!("load {file} + write {}", out.display()), 2),
            (format!("load {file} + split banks 32K"), 2),
        ] {
            let (bytes, exited) = run(&line);
            assert_eq!(exited, exit(code), "{line}");
            assert!(bytes < 8 * M, "{line}: {bytes} bytes");
        }
        assert!(!out.exists());
    }
}

/// One line of three megabytes costs a window of the file, not the line.
fn long_line() {
    for (format, text) in [
        ("intel-hex", &b":10"[..]),
        ("s-record", b"S1"),
        ("mos-tape", b"0;"),
        ("tek-hex", b"%"),
        ("ti-txt", b"0"),
        ("readmem", b"/*"),
    ] {
        let file = Over(text, 3_000_000, 0);
        let (bytes, _) = peak(|| read(format, file, Strictness::Usual));
        assert!(bytes < 2 * M, "{format}: {bytes} bytes");
    }
}

/// Lines that are wrong in every way.
fn nonsense() {
    for format in [
        "intel-hex",
        "s-record",
        "mos-tape",
        "tek-hex",
        "ti-txt",
        "readmem",
    ] {
        for text in [
            &b"x\n"[..],
            b"::::;;;;%%%%SSSS\n",
            b":100000000\nS113000000\n;180000FF\n%1561\n@0 00\n",
            b":1000000000\n:1000200000\n",
            b"@FFFFFFFFFFFFFFF0 00\n@0 00\n",
            b"/* @ q\n",
        ] {
            for strictness in [Strictness::Usual, Strictness::Strict, Strictness::Salvage] {
                let file = Over(text, 200_000, 0);
                let (bytes, len) = peak(|| read(format, file, strictness));
                // Words as short as these cost most: a span and its origin for each. Salvage of formats in
                // which an address counts for later lines keeps every line that it can't read, until all is read.
                let most = match (format, strictness) {
                    ("intel-hex" | "ti-txt" | "readmem", Strictness::Salvage) => 14 * M,
                    _ => 7 * M,
                };
                let wanted = "at most 35 bytes for each of the file, or 70, and a window";
                assert!(
                    bytes < most,
                    "{format} {strictness:?} {:?}: {bytes} bytes, image {len}; {wanted}",
                    String::from_utf8_lossy(text)
                );
            }
        }
    }
}

//! Every option of every step with values from the edges: no panic, no memory without end, no file anywhere else.
//!
//! The lines run in a process of their own, one after another through the door that the program uses, so that their
//! messages go nowhere and the memory is theirs.

use std::ffi::OsString;
use std::panic::{AssertUnwindSafe, catch_unwind};
use std::path::Path;
use std::process::{Command, Stdio};

use nix::sys::resource::{Resource, UsageWho, getrusage, setrlimit};
use romloom::cli;

use crate::support::share;

/// Where the process is to write what it found; set for it alone.
const FOUND: &str = "ROMLOOM_EDGES";
/// Lines that one process runs.
const AT_ONCE: u64 = 2_000;
/// Address space that the process may have, in bytes: what asks for 4 GiB gets an error, and nothing in between is asked for.
const SPACE: u64 = 2 << 30;
/// MiB of memory that are used at most, a few pieces of 1 MiB among them, by lines without `--allow-large`.
const MOST_USED: i64 = 256;

#[test]
fn no_value_of_any_option_makes_a_step_panic() {
    let all = share(100_000, 600) as u64;
    for first in (0..all).step_by(AT_ONCE as usize) {
        let count = AT_ONCE.min(all - first);
        let outer = tempfile::tempdir().unwrap();
        let inside = outer.path().join("inside");
        std::fs::create_dir(&inside).unwrap();
        let found = outer.path().join("found");
        let status = Command::new(std::env::current_exe().unwrap())
            .args(["edges::lines_of_one_process", "--exact", "--ignored"])
            .env(FOUND, &found)
            .env("ROMLOOM_EDGES_LINES", format!("{first} {count}"))
            .env_remove("SOURCE_DATE_EPOCH")
            .current_dir(&inside)
            .stdin(Stdio::null())
            .stdout(Stdio::null())
            .stderr(Stdio::null())
            .status()
            .unwrap();
        let text = std::fs::read_to_string(&found).unwrap_or_default();
        let (last, rest) = text.split_once('\n').unwrap_or((&text, ""));
        assert!(status.success(), "{status}, at: {last}");
        let (used, panics) = rest.split_once('\n').unwrap_or_default();
        assert_eq!(panics, "", "lines that panic");
        assert!(
            used.parse::<i64>().unwrap() < MOST_USED,
            "{used} MiB: {last}"
        );
        let beside = std::fs::read_dir(outer.path()).unwrap().count();
        assert_eq!(beside, 2, "a file beside the folder");
    }
}

/// Not a test by itself: the other one calls it.
#[test]
#[ignore = "run by the test above"]
fn lines_of_one_process() {
    let Some(found) = std::env::var_os(FOUND) else {
        return;
    };
    let lines = std::env::var("ROMLOOM_EDGES_LINES").unwrap();
    let (first, count) = lines.split_once(' ').unwrap();
    let (first, count): (u64, u64) = (first.parse().unwrap(), count.parse().unwrap());
    setrlimit(Resource::RLIMIT_AS, SPACE, SPACE).unwrap();
    furnish(Path::new(""));
    let steps = steps();
    let mut panics = String::new();
    // MiB of memory at most, and the line that took it.
    let (mut used, mut most, mut allowed) = (0, Vec::new(), 0);
    for n in first..first + count {
        let words = Chance::new(n).line(&steps);
        // What stands there last is what ended the process, if anything did.
        std::fs::write(&found, format!("{n} {words:?}")).unwrap();
        let args = std::iter::once("romloom".to_owned()).chain(words.clone());
        let args: Vec<OsString> = args.map(OsString::from).collect();
        if catch_unwind(AssertUnwindSafe(|| cli::main(args))).is_err() {
            panics += &format!("{n} {words:?}\n");
        }
        let now = getrusage(UsageWho::RUSAGE_SELF).unwrap().max_rss() / 1024;
        // Who allows it may have as much as there is.
        let is_allowed = words.iter().any(|word| word == "--allow-large");
        match is_allowed {
            true => allowed = now,
            false if now > used.max(allowed) => (used, most) = (now, words),
            false => {}
        }
    }
    std::fs::write(&found, format!("{most:?}\n{used}\n{panics}")).unwrap();
}

/// Files for the lines.
fn furnish(folder: &Path) {
    for (name, text) in [
        ("a.hex", &b":048000001011121336\n:00000001FF\n"[..]),
        ("b.s19", b"S107003000144ED492\nS9030000FC\n"),
        ("c.bin", b"Heron-8, and a little more than that"),
        ("bad.hex", b":04800000101l121336\n:02000\n:00000001FF\n"),
        (
            "far.s37",
            b"S30600000000AA4F\nS306FFFFFFF0AA62\nS70500000000FA\n",
        ),
        ("list", b"0x8000 was 10 now 11\n0xFFFFFFFFFFFFFFFF now 00\n"),
        (
            "h.board",
            b"title = \"Heron-8\"\n[[sockets]]\nnames = [\"U7\"]\npart = \"27C64\"\nwindow = [{ at = 0x8000, size = \"2K\", banks = 4 }]\n",
        ),
    ] {
        std::fs::write(folder.join(name), text).unwrap();
    }
}

/// An argument: how it is written, how many values it takes, and which.
struct Argument {
    /// `--at`; none for a word that is known by its place.
    option: Option<String>,
    value: String,
    most: usize,
    possible: Vec<String>,
}

/// A step, or a way of one such as `split lanes`.
struct StepWords {
    words: Vec<String>,
    arguments: Vec<Argument>,
}

/// All steps with their arguments, from the definitions that parse them.
fn steps() -> Vec<StepWords> {
    let root = cli::definitions();
    let mut all = Vec::new();
    for step in root
        .get_subcommands()
        .take_while(|step| step.get_name() != "run")
    {
        let name = step.get_name().to_owned();
        for way in step
            .get_subcommands()
            .filter(|way| way.get_name() != "help")
        {
            let words = vec![name.clone(), way.get_name().to_owned()];
            all.push(StepWords {
                words,
                arguments: way.get_arguments().map(argument).collect(),
            });
        }
        all.push(StepWords {
            words: vec![name],
            arguments: step.get_arguments().map(argument).collect(),
        });
    }
    assert!(all.len() > 30, "{}", all.len());
    all
}

fn argument(arg: &clap::Arg) -> Argument {
    let names = arg.get_value_names().unwrap_or_default().iter();
    let most = match arg.get_action().takes_values() {
        true => arg.get_num_args().map_or(1, |n| n.max_values()).clamp(1, 3),
        false => 0,
    };
    Argument {
        option: arg.get_long().map(|long| format!("--{long}")),
        value: names
            .map(|name| name.as_str())
            .collect::<Vec<_>>()
            .join(" "),
        most,
        possible: (arg.get_possible_values().iter())
            .map(|value| value.get_name().to_owned())
            .collect(),
    }
}

/// What `n` chooses, the same in every run.
struct Chance(u64);

impl Chance {
    fn new(n: u64) -> Self {
        Self(n.wrapping_mul(0x9E37_79B9_7F4A_7C15) | 1)
    }

    fn below(&mut self, n: u64) -> u64 {
        // xorshift64* (S. Vigna, "An experimental exploration of Marsaglia's xorshift generators, scrambled", 2016)
        self.0 ^= self.0 >> 12;
        self.0 ^= self.0 << 25;
        self.0 ^= self.0 >> 27;
        (self.0.wrapping_mul(0x2545_F491_4F6C_DD1D) >> 33) % n
    }

    fn one<T: Clone>(&mut self, of: &[T]) -> T {
        let n = self.below(of.len() as u64) as usize;
        of[n].clone()
    }

    /// A whole command line.
    fn line(&mut self, steps: &[StepWords]) -> Vec<String> {
        let mut words: Vec<String> = Vec::new();
        for option in [
            "--quiet",
            "--dry-run",
            "--json",
            "--explain",
            "--always",
            "--durable",
        ] {
            if self.below(12) == 0 {
                words.push(option.into());
            }
        }
        if self.below(20) == 0 {
            words.extend(["--depfile".into(), "out.d".into()]);
        }
        let begin = match self.below(8) {
            0 => String::new(),
            1 => "load a.hex b.s19".into(),
            2 => "load c.bin a.hex b.s19 --apart".into(),
            3 => "load far.s37".into(),
            4 => format!("load c.bin --at {}", self.number()),
            5 => "load c.bin + pad 2716 --at 0 --with 00 + seat 2716 --at 0x8000".into(),
            6 => "load c.bin --at 0x8000 --for bank1 + seat --board h.board".into(),
            _ => "pattern random 256".into(),
        };
        words.extend(begin.split_whitespace().map(str::to_owned));
        for _ in 0..=self.below(3) {
            if !words.is_empty() && !words.last().is_some_and(|w| w.starts_with("--")) {
                words.push("+".into());
            }
            let n = self.below(steps.len() as u64) as usize;
            self.step(&steps[n], &mut words);
        }
        words
    }

    fn step(&mut self, step: &StepWords, words: &mut Vec<String>) {
        words.extend(step.words.iter().cloned());
        for argument in &step.arguments {
            match &argument.option {
                None => {
                    for _ in 0..1 + self.below(argument.most.max(1) as u64) {
                        let value = self.value(argument);
                        words.push(value);
                    }
                }
                Some(option) if self.below(4) == 0 && option != "--help" => {
                    words.push(option.clone());
                    for _ in 0..argument.most {
                        let value = self.value(argument);
                        words.push(value);
                    }
                }
                Some(_) => {}
            }
        }
    }

    fn value(&mut self, argument: &Argument) -> String {
        if self.below(12) == 0 {
            return self.odd();
        }
        if !argument.possible.is_empty() {
            return self.one(&argument.possible);
        }
        let value = argument.value.as_str();
        match value {
            _ if value.contains("FILE.html") => self.one(&["out.html", "out/{name}.html"]).into(),
            _ if value.contains("FILE.svg") => self.one(&["out.svg", "out/{name}.svg"]).into(),
            _ if value.contains("FILE") || value == "WANTED READ" => self.file(),
            _ if value.contains("RANGE") => self.range(),
            _ if value.contains("PART") => self.part(),
            _ if value.contains("SIZE") && self.below(3) == 0 => self.part(),
            _ if value.contains("BYTE") => self.bytes(),
            _ if value.contains("NAME") || value.contains("PIECE") || value == "TEXT" => {
                self.name()
            }
            _ if value.contains("LINE") => self
                .one(&["0", "1,0", "2,1,0", "A3,D0", "31", "0,0"])
                .into(),
            _ if value.contains("ALGO") => self
                .one(&[
                    "sum8",
                    "sum16",
                    "crc32",
                    "sha256",
                    "adler32",
                    "sum16be",
                    "bank-number",
                    "internet",
                    "fletcher16",
                ])
                .into(),
            _ if value.contains("FORMAT") => self
                .one(&[
                    "raw",
                    "intel-hex",
                    "s-record",
                    "readmem",
                    "ti-txt",
                    "elf",
                    "c-bytes",
                ])
                .into(),
            _ if value.contains("KIND") => self
                .one(&["zeros", "telltale", "random", "walk", "address"])
                .into(),
            _ if value.contains("BANKS") || value.contains("PLACE") => self
                .one(&[
                    "bank0",
                    "bank1-30",
                    "bank:",
                    "bank0-18446744073709551615",
                    "cpu",
                    "video:bank3",
                    "U7",
                ])
                .into(),
            _ if value.starts_with(['+', '-']) || value.contains("+N") => {
                let sign = self.one(&["+", "-", ""]);
                format!("{sign}{}", self.number())
            }
            _ => {
                let place = self.place();
                format!("{place}{}", self.number())
            }
        }
    }

    fn number(&mut self) -> String {
        let edge = self.one(&[
            0u128,
            1,
            1 << 3,
            1 << 8,
            1 << 15,
            1 << 16,
            1 << 32,
            1 << 63,
            1 << 64,
        ]);
        let near = [0, 0, 0, 1, 2, 3, -1, -2, -16];
        let n = edge.saturating_add_signed(self.one(&near)).min(1 << 65);
        match self.below(8) {
            0 | 1 => format!("{n}"),
            2 => format!("{n:X}h"),
            3 => format!("{}K", n >> 10),
            4 => format!("{}M", n >> 32 << 12),
            _ => format!("0x{n:X}"),
        }
    }

    fn place(&mut self) -> &'static str {
        match self.below(4) {
            0 => self.one(&[
                "cpu:",
                "bank:",
                "bank0:",
                "bank3:",
                "bank0-2:",
                "U7:",
                "c:",
                "video:bank1:",
                "nowhere:",
            ]),
            _ => "",
        }
    }

    fn range(&mut self) -> String {
        let (place, first, second) = (self.place(), self.number(), self.number());
        let sign = self.one(&["-", "+", "-", ".."]);
        match self.below(3) {
            0 => format!(
                "{place}{}",
                self.one(&["0-0xFF", "0x8000-0x80FF", "0x8000+4", "0+1"])
            ),
            _ => format!("{place}{first}{sign}{second}"),
        }
    }

    fn part(&mut self) -> String {
        self.one(&[
            "27C256",
            "2716",
            "part:2716",
            "27C400",
            "28C64",
            "39SF010",
            "82S129",
            "23128",
            "27C9999",
        ])
        .into()
    }

    fn bytes(&mut self) -> String {
        self.one(&[
            "FF",
            "0",
            "00",
            "EA EA 4C",
            "0x8000",
            "text:HERON",
            "text:",
            "F",
            "10 11 12 13",
        ])
        .into()
    }

    fn name(&mut self) -> String {
        self.one(&[
            "a",
            "c",
            "U7",
            "{name}",
            "{bank} {n}",
            "a,b",
            "even,odd",
            "x",
            "",
            "{crc32}",
        ])
        .into()
    }

    fn file(&mut self) -> String {
        self.one(&[
            "a.hex",
            "b.s19",
            "c.bin",
            "bad.hex",
            "far.s37",
            "list",
            "h.board",
            "none.bin",
            "out.hex",
            "out.bin",
            "out/{name}.bin",
            "out-{n}.s37",
            "out.mem",
            "-",
        ])
        .into()
    }

    fn odd(&mut self) -> String {
        match self.below(16) {
            0 => "9".repeat(300),
            1 => "A".repeat(5000),
            _ => self
                .one(&[
                    "", "-", "--", "+1", "-1", "é", ",", ",,", "{", "}", "{}", "%", "\u{202E}",
                    "\u{7}", "0x", "K", "0-", "-0", ":", "bank:", "1=2", "A14=any", "0=FF", "=",
                    "\\", "'", "\"", "2K+", "*",
                ])
                .into(),
        }
    }
}

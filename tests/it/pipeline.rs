//! What a run promises: everything is checked first, files change together or not at all, and the exit code says
//! how it went.

use std::fs;
use std::time::{Duration, SystemTime};

use crate::support::bench::{Folder, Ran};

/// Sets a file's time to an hour ago, so that any later write shows.
fn age(folder: &Folder, name: &str) -> SystemTime {
    let past = SystemTime::now() - Duration::from_secs(3600);
    let file = fs::File::options()
        .write(true)
        .open(folder.path(name))
        .unwrap();
    file.set_modified(past).unwrap();
    fs::metadata(folder.path(name)).unwrap().modified().unwrap()
}

fn time_of(folder: &Folder, name: &str) -> SystemTime {
    fs::metadata(folder.path(name)).unwrap().modified().unwrap()
}

#[test]
fn exit_codes_are_those_of_comparing_utilities() {
    let folder = Folder::new();
    for (line, code) in [
        ("load prog.hex", 0),
        ("--help", 0),
        ("--version", 0),
        ("help pad", 0),
        ("load prog.hex + expect size 5", 1),
        ("load prog.hex + expect bytes 0x8000 FF", 1),
        ("load nosuch.hex", 2),
        ("load prog.hex + pad 2", 2),
        ("load", 2),
        ("", 2),
        ("nonsense", 2),
        ("load prog.hex + write x.hex --per-record 0", 2),
    ] {
        let ran = folder.run(line);
        assert_eq!(ran.code, code, "{line}\n{}", ran.err);
        let error = ran.err.contains("error") || line.is_empty();
        assert_eq!(code != 0, error, "{line}\n{}", ran.err);
    }
}

/// A step that reports says no with the exit code, and the run goes on.
#[test]
fn a_verdict_that_says_no_lets_the_run_finish() {
    let folder = Folder::new();
    folder.put("other.bin", [0x10, 0x11, 0x12, 0x00]);
    let hurt = ":0480000010111213 36\n:0480040014151617 00\n:00000001FF\n";
    folder.put("hurt.hex", hurt.replace(' ', ""));
    for steps in [
        "load prog.hex + find text:NOWHERE",
        "load prog.hex + compare other.bin",
        "load prog.hex + burnable other.bin",
        "load prog.hex + diagnose --read other.bin",
        "load hurt.hex --salvage",
    ] {
        folder.put("a.bin", "old");
        let ran = folder.run(&format!("{steps} + write a.bin"));
        assert_eq!(ran.code, 1, "{steps}: {}", ran.err);
        assert_ne!(folder.get("a.bin"), b"old", "{steps}");
        let ran = folder.run(&format!("{steps} + write a.bin + expect size 99"));
        assert_eq!(ran.code, 1, "{steps}: {}", ran.err);
        assert!(ran.err.contains("error: expect: "), "{steps}: {}", ran.err);
    }
}

#[test]
fn a_pipeline_that_fails_at_its_last_step_leaves_every_file_as_it_was() {
    let folder = Folder::new();
    folder.put("a.bin", "old a");
    folder.put("b.hex", "old b");
    let times = [age(&folder, "a.bin"), age(&folder, "b.hex")];
    let before = folder.list();
    for last in [
        "expect size 99",
        "pad 2",
        "write c.bin --on nosuch",
        "write b.hex/x.bin",
    ] {
        let ran = folder.run(&format!(
            "load prog.hex + write a.bin + write b.hex + write new/deep/d.bin + {last}"
        ));
        assert_ne!(ran.code, 0, "{last}");
        assert_eq!(folder.get("a.bin"), b"old a");
        assert_eq!(folder.get("b.hex"), b"old b");
        assert_eq!(
            [time_of(&folder, "a.bin"), time_of(&folder, "b.hex")],
            times
        );
        assert_eq!(folder.list(), before, "{last}: nothing is left behind");
    }
}

#[test]
fn a_file_that_would_not_change_is_not_touched() {
    let folder = Folder::new();
    folder.ok("load prog.hex + write a.bin");
    let before = age(&folder, "a.bin");
    let ran = folder.ok("load prog.hex + write a.bin");
    assert!(
        ran.out
            .starts_with("unchanged a.bin  raw, 4 bytes, sum16 0046 "),
        "{}",
        ran.out
    );
    assert_eq!(time_of(&folder, "a.bin"), before);
    let ran = folder.ok("--always load prog.hex + write a.bin");
    assert!(ran.out.starts_with("rewrote a.bin "), "{}", ran.out);
    assert!(time_of(&folder, "a.bin") > before);
    let before = age(&folder, "a.bin");
    folder.ok("load prog.hex + patch 0x8003 FF + write a.bin");
    assert!(time_of(&folder, "a.bin") > before);
    assert_eq!(folder.get("a.bin"), [0x10, 0x11, 0x12, 0xFF]);
}

#[test]
fn two_outputs_with_one_name_are_refused_before_anything_runs() {
    let folder = Folder::new();
    let ran = folder.run("load nosuch.hex + write a.bin + write ./a.bin");
    assert_eq!(ran.code, 2);
    insta::assert_snapshot!(ran.err, @"
    error: write: ./a.bin is written twice
      |
    3 | write ./a.bin
      |       ^^^^^^^
      |
      = help: give one of the two another name
    ");
    folder.put(
        "r.loom",
        "load prog.hex\nwrite a.bin\n---\nload prog.hex\nwrite a.bin\n",
    );
    let ran = folder.run("run r.loom");
    insta::assert_snapshot!(ran.err, @"
    error: write: a.bin is written here and on line 2
     --> r.loom:5:7
      |
    5 | write a.bin
      |       ^^^^^
      |
      = help: give one of the two another name
    ");
    // Names with placeholders are known only later, and refused then.
    let ran = folder.run("load prog.hex + write {name}.bin + write prog.bin");
    assert_eq!(ran.code, 2);
    assert!(
        ran.err.contains("prog.bin: two outputs have this name"),
        "{}",
        ran.err
    );
    assert_eq!(folder.list(), ["prog.hex", "r.loom"]);
}

#[test]
fn an_output_may_be_an_input() {
    let folder = Folder::new();
    folder.put("chip.bin", [1, 2, 3, 4]);
    folder.ok("load chip.bin + swap 2 + write chip.bin");
    assert_eq!(folder.get("chip.bin"), [2, 1, 4, 3]);
}

#[test]
fn a_dry_run_puts_nothing_in_place() {
    let folder = Folder::new();
    let ran = folder.ok("--dry-run load prog.hex + write new/a.bin");
    assert!(
        ran.out.starts_with("would write new/a.bin  raw, 4 bytes"),
        "{}",
        ran.out
    );
    assert_eq!(folder.list(), ["prog.hex"]);
}

#[test]
fn a_missing_folder_is_made() {
    let folder = Folder::new();
    folder.ok("load prog.hex + write new/deep/a.bin");
    assert_eq!(folder.get("new/deep/a.bin"), [0x10, 0x11, 0x12, 0x13]);
}

#[test]
fn places_that_cannot_take_a_file_are_named() {
    let folder = Folder::new();
    fs::create_dir(folder.path("dir.bin")).unwrap();
    let ran = folder.run("load prog.hex + write dir.bin");
    assert_eq!(
        (ran.code, ran.error()),
        (
            2,
            "error: write: dir.bin: this is a folder: name a file in it"
        )
    );
    let ran = folder.run("load prog.hex + write prog.hex/a.bin");
    assert_eq!(ran.code, 2);
    assert!(
        ran.err.starts_with("error: write: prog.hex/a.bin: "),
        "{}",
        ran.err
    );
    let ran = folder.run("load dir.bin");
    assert_eq!(
        (ran.code, ran.error()),
        (2, "error: load: dir.bin: this is a folder, not a file")
    );
}

#[cfg(unix)]
#[test]
fn links_and_permissions_stay_as_they_are() {
    use std::os::unix::fs::{PermissionsExt, symlink};
    let folder = Folder::new();
    folder.put("real.bin", "old");
    fs::set_permissions(folder.path("real.bin"), fs::Permissions::from_mode(0o640)).unwrap();
    symlink("real.bin", folder.path("link.bin")).unwrap();
    symlink("later.bin", folder.path("dangling.bin")).unwrap();
    folder.ok("load prog.hex + write link.bin + write dangling.bin + write fresh.bin");
    for link in ["link.bin", "dangling.bin"] {
        let kind = fs::symlink_metadata(folder.path(link)).unwrap().file_type();
        assert!(kind.is_symlink(), "{link}");
        assert_eq!(folder.get(link), [0x10, 0x11, 0x12, 0x13]);
    }
    let mode = |name: &str| {
        fs::metadata(folder.path(name))
            .unwrap()
            .permissions()
            .mode()
            & 0o777
    };
    assert_eq!(mode("real.bin"), 0o640);
    folder.put("plain", "made by the system");
    assert_eq!(
        mode("fresh.bin"),
        mode("plain"),
        "new files get the usual permissions"
    );
}

#[cfg(unix)]
#[test]
fn a_device_is_written_to_and_not_replaced() {
    let folder = Folder::new();
    folder.ok("load prog.hex + write /dev/null --as raw");
    let kind = fs::metadata("/dev/null").unwrap();
    assert!(!kind.is_file());
}

#[cfg(target_os = "linux")]
#[test]
fn a_full_device_is_an_error() {
    let folder = Folder::new();
    let ran = folder.run("load prog.hex + write /dev/full --as raw");
    assert_eq!(ran.code, 2);
    assert_eq!(
        ran.err,
        "error: /dev/full: no space left on device; no file has been replaced\n"
    );
}

#[test]
fn all_three_formats_read_from_and_write_to_a_dash() {
    let folder = Folder::new();
    for (format, suffix) in [("intel-hex", ""), ("s-record", ""), ("raw", " --at 0x8000")] {
        let out = folder
            .command()
            .args(["load", "prog.hex", "+", "write", "-", "--as", format])
            .output()
            .unwrap();
        assert!(out.status.success());
        let list = String::from_utf8(out.stderr).unwrap();
        assert!(
            list.starts_with("wrote -  "),
            "the list makes way for the file: {list}"
        );
        let line = format!("load - --as {format}{suffix} + write back.hex");
        let words = shlex::split(&line).unwrap();
        let ran = Ran::from(
            folder
                .command()
                .args(words)
                .write_stdin(out.stdout)
                .output()
                .unwrap(),
        );
        assert_eq!(ran.code, 0, "{}", ran.err);
        assert_eq!(folder.get("back.hex"), folder.get("prog.hex"), "{format}");
    }
}

#[test]
fn a_dependency_file_names_what_was_read_and_made() {
    let folder = Folder::new();
    folder.put("my data.bin", [1]);
    folder.put("list.txt", "0x8000 now 20\n");
    folder.ok("--depfile d.mk load prog.hex + load 'my data.bin' --at 0 + patch --file list.txt + write a.hex + write $b.s19");
    let text = String::from_utf8(folder.get("d.mk")).unwrap();
    assert_eq!(text, "a.hex $$b.s19: prog.hex my\\ data.bin list.txt\n");

    folder.put("board.loom", "load prog.hex\nwrite c.hex\n");
    folder.ok("--depfile d.mk run board.loom");
    let text = String::from_utf8(folder.get("d.mk")).unwrap();
    assert_eq!(
        text, "c.hex: board.loom prog.hex\n",
        "a changed recipe makes its chips anew"
    );
}

#[test]
fn one_json_document_for_the_whole_run() {
    let folder = Folder::new();
    let ran = folder.ok("--json load prog.hex + digest sum8 + show + write a.bin");
    let document: serde_json::Value = serde_json::from_str(&ran.out).unwrap();
    assert_eq!(document["schema"], 1);
    let steps: Vec<&str> = document["reports"]
        .as_array()
        .unwrap()
        .iter()
        .map(|r| r["step"].as_str().unwrap())
        .collect();
    assert_eq!(steps, ["digest", "show", "outputs"]);
    assert_eq!(
        document["reports"][0]["pieces"][0]["sums"][0]["value"],
        "46"
    );
    assert_eq!(document["reports"][2]["outputs"][0]["state"], "new");
}

#[test]
fn quiet_leaves_out_the_list_but_no_asked_for_result() {
    let folder = Folder::new();
    let ran = folder.ok("--quiet load prog.hex + digest sum8 + write a.bin");
    assert_eq!(ran.out, "prog   8000-8003   4 bytes\n  sum8  46\n");
    assert_eq!(ran.err, "");
}

#[test]
fn options_for_the_whole_run_may_be_anywhere() {
    let folder = Folder::new();
    for line in [
        "load prog.hex --dry-run + write a.bin",
        "load prog.hex + --dry-run write a.bin",
        "load prog.hex + write a.bin --dry-run",
        "load prog.hex --quiet + write a.bin --always --dry-run",
        "load prog.hex + write a.bin --depfile=a.d --dry-run",
        "load prog.hex + write --depfile a.d a.bin --dry-run",
    ] {
        folder.ok(line);
        assert!(!folder.has("a.bin") && !folder.has("a.d"), "{line}");
    }
    folder.ok("load prog.hex + write a.bin --depfile a.d --quiet");
    assert_eq!(folder.get("a.d"), b"a.bin: prog.hex\n");
    // A command takes them as well.
    folder.ok("check prog.hex --quiet");
    // A step's own option is the step's, and after -- there are only files.
    let own = folder.ok("load prog.hex + show --json").out;
    let whole = folder.ok("--json load prog.hex + show").out;
    assert_ne!(own, whole);
    let ran = folder.run("load prog.hex + show -- --quiet");
    assert_eq!(ran.code, 2, "{}", ran.err);
    // What is no value of it is not taken for one.
    let ran = folder.run("load prog.hex + write a.bin --depfile");
    assert!(ran.err.contains("--depfile"), "{}", ran.err);
    assert_eq!(ran.code, 2);
}

#[test]
fn a_recipe_runs_as_the_command_line_does() {
    let folder = Folder::new();
    folder.put(
        "sub/board.loom",
        "# a comment\nload ../prog.hex \\\n  --name ${NAME}\npad 8 --at 0x8000\nwrite {name}.bin\n",
    );
    let ran = folder.ok("run sub/board.loom --set NAME=heron");
    assert!(
        ran.out.starts_with("wrote sub/heron.bin  raw, 8 bytes"),
        "{}",
        ran.out
    );
    assert_eq!(
        folder.get("sub/heron.bin"),
        [0x10, 0x11, 0x12, 0x13, 0xFF, 0xFF, 0xFF, 0xFF]
    );
    folder.ok("load prog.hex + pad 8 --at 0x8000 + write other.bin");
    assert_eq!(folder.get("other.bin"), folder.get("sub/heron.bin"));
}

#[test]
fn pipelines_of_a_recipe_begin_empty_and_succeed_together() {
    let folder = Folder::new();
    folder.put(
        "r.loom",
        "load prog.hex\nwrite a.bin\n---\nload prog.hex\nexpect size ${N}\nwrite b.bin\n",
    );
    let ran = folder.run("run r.loom --set N=5");
    assert_eq!(ran.code, 1);
    insta::assert_snapshot!(ran.err, @"
    error: expect: the image is 4 bytes long, expected 5 bytes
     --> r.loom:5:13
      |
    5 | expect size ${N}
      |             ^^^^
    ");
    assert_eq!(folder.list(), ["prog.hex", "r.loom"]);
    folder.ok("run r.loom --set N=4");
    assert_eq!(folder.list(), ["a.bin", "b.bin", "prog.hex", "r.loom"]);
}

#[test]
fn a_slip_in_a_recipe_is_shown_at_its_word() {
    let folder = Folder::new();
    let mut answers = String::new();
    for recipe in [
        "load prog.hex\npad ${SIZE}\n",
        "\n\nload 'prog.hex\n",
        "load prog.hex\npda 4\n",
        "load prog.hex\nrun r.loom\n",
        "load prog.hex\n--dry-run write a.bin\n",
        "load prog.hex\npad --help\n",
        "load prog.hex # more\npad 2\n",
        "load prog.hex\npad 2Q\n",
        "load prog.hex\npad 27C265\n",
        "load prog.hex\nseat 27C256 \\\n  --at=0x8001\n",
        "load prog.hex\nseat 27C256 --att 0x8000\n",
        "load prog.hex\nstamp sum16 --across 0x8000-0x8001 --at 0x8002 --order litle\n",
        "load prog.hex\nmark 0 'h\u{e9}' + write\n",
        "load prog.hex +\nwrite a.bin\n",
        "load prg.hex\n",
        "load prog.hex write a.bin\n",
        "load prog.hex --at 0x8000\n",
        "load prog.hex\nseat 27C256 --at 0x8000\n\nexpect blank 0x0-0xF\n",
    ] {
        folder.put("r.loom", recipe);
        let ran = folder.run("run r.loom");
        assert_ne!(ran.code, 0, "{recipe}");
        answers += &(ran.err + "\n");
    }
    insta::assert_snapshot!("recipe_slips", answers);
    for (recipe, message) in [
        ("# nothing\n", "r.loom: the recipe has no step"),
        (
            "load prog.hex\n---\n",
            "r.loom: there is no step before or after a line ---",
        ),
    ] {
        folder.put("r.loom", recipe);
        let ran = folder.run("run r.loom");
        assert_eq!(ran.err, format!("error: {message}\n"));
    }
    let ran = folder.run("run r.loom --set X=1 --set 7");
    assert!(ran.err.contains("expected NAME=VALUE"), "{}", ran.err);
    let ran = folder.run("run nosuch.loom");
    assert_eq!(ran.err, "error: nosuch.loom: no such file or directory\n");
}

#[test]
fn steps_and_commands_keep_their_places() {
    let folder = Folder::new();
    for (line, part) in [
        (
            "load prog.hex + write",
            "romloom load prog.hex + write FILE",
        ),
        (
            "load prog.hex + + write a.bin",
            "a step is missing between two +",
        ),
        ("load prog.hex +", "a step is missing after the last +"),
        ("+ load prog.hex", "a step is missing before the first +"),
        ("load prog.hex + steps", "`steps` is a command of its own"),
        ("steps + load prog.hex", "`steps` is a command of its own"),
        ("help nonsense", "there is no help on `nonsense`"),
        (
            "load prog.hex + write a.xyz",
            "the name a.xyz does not say the format: name one with --as",
        ),
        (
            "load prog.hex + write {lable}.bin",
            "`{lable}` in `{lable}.bin` means nothing: use {name} {part} {n} {sum16} {crc32}",
        ),
    ] {
        let ran = folder.run(line);
        assert_eq!(ran.code, 2, "{line}");
        assert!(ran.told().contains(part), "{line}\n{}", ran.err);
    }
}

#[test]
fn every_step_and_command_has_help() {
    let folder = Folder::new();
    let list = folder.ok("steps").out;
    let names: Vec<&str> = list
        .lines()
        .filter_map(|l| l.split_whitespace().next())
        .collect();
    assert!(names.len() >= 18);
    for name in names {
        let help = folder.ok(&format!("help {name}")).out;
        assert!(help.contains(&format!("Usage: romloom {name}")), "{help}");
        assert!(help.contains("Example:"), "{help}");
        assert_eq!(folder.ok(&format!("{name} --help")).out, help);
    }
    for topic in ["run", "formats", "sums", "values", "recipes"] {
        assert!(!folder.ok(&format!("help {topic}")).out.is_empty());
    }
    assert!(folder.ok("formats").out.contains("intel-hex"));
}

#[cfg(unix)]
#[test]
fn a_closed_pipe_is_no_error() {
    use std::process::{Command, Stdio};
    let folder = Folder::new();
    folder.put("big.bin", vec![0x55; 1 << 20]);
    for args in [
        "load big.bin + show hex",
        "load big.bin + write - --as intel-hex",
    ] {
        let mut child = Command::new(assert_cmd::cargo::cargo_bin("romloom"))
            .args(args.split(' '))
            .current_dir(folder.path(""))
            .stdout(Stdio::piped())
            .stderr(Stdio::piped())
            .spawn()
            .unwrap();
        drop(child.stdout.take());
        let out = child.wait_with_output().unwrap();
        assert!(out.status.success(), "{args}");
        let err = String::from_utf8(out.stderr).unwrap();
        assert!(!err.contains("error") && !err.contains("panicked"), "{err}");
    }
}

//! Someone from Windows: backslashes, quotes that stay, slashes in front of options.

use super::Row;

#[rustfmt::skip]
pub const SLIPS: &[Row] = &[
    ("load .\\a.hex + show", "a file of this folder is named without .\\: a.hex", "load ./a.hex + show"),
    ("load 'dir\\next.hex' + show", "folders are separated by / on this system: dir/next.hex", "load dir/next.hex + show"),
    ("load '\"a.hex\"' + show", "load a.hex", "load a.hex + show"),
    ("load \"'a.hex'\" + show", "load a.hex", "load a.hex + show"),
    ("load \"'my data.bin'\" + show", "load 'my data.bin'", "load \"my data.bin\" + show"),
    ("load a.bin /at 0x8000 + show", "romloom load a.bin --at 0x8000 + show", "load a.bin --at 0x8000 + show"),
    ("load a.bin /at:0x8000 + show", "romloom load a.bin --at 0x8000 + show", "load a.bin --at 0x8000 + show"),
    ("load a.bin --at:0x8000 + show", "romloom load a.bin --at 0x8000 + show", "load a.bin --at 0x8000 + show"),
    ("load a.bin --At 0x8000 + show", "romloom load a.bin --at 0x8000 + show", "load a.bin --at 0x8000 + show"),
    ("load a.bin –at 0x8000 + show", "romloom load a.bin --at 0x8000 + show", "load a.bin --at 0x8000 + show"),
    ("load a.bin —at 0x8000 + show", "romloom load a.bin --at 0x8000 + show", "load a.bin --at 0x8000 + show"),
    ("load a.hex /o c.bin", "romloom load a.hex + write c.bin", "load a.hex + write c.bin"),
    ("/?", "romloom help", "help"),
    ("-?", "romloom help", "help"),
    ("/help", "romloom help", "help"),
    ("load a.hex + seat /?", "romloom help seat", "help seat"),
    ("romloom.exe load a.hex + show", "romloom load a.hex + show", "load a.hex + show"),
    ("C:\\> load a.hex + show", "romloom load a.hex + show", "load a.hex + show"),
    ("load a.hex + write c.bin /y", "romloom load a.hex + write c.bin", "load a.hex + write c.bin"),
    ("load a.hex + write c.hex --line-end windows", "romloom load a.hex + write c.hex --line-end crlf", "load a.hex + write c.hex --line-end crlf"),
    ("load a.hex + patch 0x8000 'EA EB\"'", "romloom load a.hex + patch 0x8000 'text:EA EB\"'", "load a.hex + patch 0x8000 'EA EB' + show"),
    ("load A.HEX + show", "did you mean a.hex?", "load a.hex + show"),
    ("Load a.hex + Show", "romloom load a.hex + show", "load a.hex + show"),
    ("run back.loom", "folders are separated by / on this system: dir/next.hex", "run set.loom --set NAME=heron"),
];

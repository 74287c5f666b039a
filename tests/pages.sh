#!/usr/bin/env bash
# Makes pages of every sort from the samples: burn sheets and verdicts. tests/sheet_in_browser.py looks at them.
#
#   tests/pages.sh OUT [ROMLOOM]
set -euo pipefail
cd "$(dirname "$0")/.."
mkdir -p "$1"
out=$(cd "$1" && pwd)
program=$(realpath "${2:-target/debug/romloom}")
work=$(mktemp -d)
trap 'rm -rf "$work"' EXIT
cp -r samples "$work"
cd "$work"

romloom() { "$program" --quiet "$@"; }
# A verdict that something is wrong exits with 1.
verdict() { romloom "$@" >said || [ $? = 1 ]; }

heron_8=(load samples/heron-8/monitor.hex samples/heron-8/basic.s19 --entry none --name U7)
romloom "${heron_8[@]}" + seat 27C256 --at 0x8000 --names U7 + write U7.bin + sheet "$out/one.html" --date 2026-03-01
romloom "${heron_8[@]}" + seat 27C64 --at 0x8000 --rows 4 + write '{name}.bin' + sheet "$out/four.html"
romloom "${heron_8[@]}" + seat 28C256 --at 0x8000 + write eeprom.hex + sheet "$out/eeprom.html"
romloom load samples/heron-8/monitor.hex --entry none + keep 0xE000-0xFFFF + seat 2364 --at 0xE000 --with FF \
    + sheet "$out/mask-rom.html"
romloom "${heron_8[@]}" + sheet "$out/unseated.html"
selftest=(load samples/heron-16/selftest.s19 --entry none)
romloom "${selftest[@]}" + seat 27C256 --at 0 --lanes 2 + write '{name}.bin' + sheet "$out/lanes.html"
romloom "${selftest[@]}" + seat 27C1024 --at 0 --order big + write x16.bin + sheet "$out/words.html"
sixteen=(pattern random 256K --seed 7)
romloom "${sixteen[@]}" + seat 27C128 --at 0 --rows 16 + write '{name}.bin' + sheet "$out/sixteen-rows.html"
romloom "${sixteen[@]}" + seat 27C128 --at 0 --lanes 4 --rows 4 + write '{name}.bin' + sheet "$out/sixteen-lanes.html"
romloom load samples/kingfisher/menu.s19 --name menu --for bank0 + load samples/kingfisher/bird.s19 --name bird --for bank1 \
    + seat --board samples/kingfisher/kingfisher.board + write '{name}.bin' + sheet "$out/banks.html"
cat >slot.board <<'BOARD'
[[sockets]]
names = ["slot"]
part = "27C020"
window = [
  { at = 0x4000, size = "8K", banks = 32, by = "register 0x7F10" },
  { at = 0x6000, size = "8K", from = "248K" },
]
BOARD
romloom "${sixteen[@]}" + write all.bin
romloom load all.bin --at 0 --name slot --for slot + seat --board slot.board + write slot.bin + sheet "$out/many-banks.html"
romloom run samples/heron-16g/board.loom >said
cp samples/heron-16g/out/heron-16g.html "$out/board.html"

# Reads with faults, as the chips above would give them.
python3 - <<'PYTHON'
from pathlib import Path

chip = Path("U7.bin").read_bytes()
Path("stuck.bin").write_bytes(bytes(chip[a & ~0x80] for a in range(len(chip))))
random = Path("row0.bin").read_bytes()
moved = bytearray(random)
moved[0x1000:0x1800] = b"\xFF" * 0x800
moved[0x3000:0x3800] = random[0x1000:0x1800]
Path("moved.bin").write_bytes(moved)
Path("short.bin").write_bytes(chip[:20000])
even, odd = Path("even.bin").read_bytes(), Path("odd.bin").read_bytes()
Path("read-even.bin").write_bytes(odd)
Path("read-odd.bin").write_bytes(bytes(odd[a & ~0x20] for a in range(len(odd))))
PYTHON
verdict load stuck.bin --name U7 + diagnose --wanted U7.bin --part 27C256 --sheet "$out/verdict-line.html"
verdict load moved.bin --name row0 + diagnose --wanted row0.bin --part 27C128 --sheet "$out/verdict-block.html"
verdict load short.bin --name U7 + diagnose --wanted U7.bin --sheet "$out/verdict-short.html"
verdict load U7.bin + diagnose --wanted U7.bin --part 27C256 --sheet "$out/verdict-right.html"
verdict load even.bin odd.bin --apart + diagnose --read 'read-{name}.bin' --part 27C256 --sheet "$out/verdict-{name}.html"

#!/bin/sh
# Assemble the Heron-16/G's programs. Usage: assemble.sh [FOLDER]
#
# The outputs go to FOLDER, or beside this script. There are no dates and no
# paths in them: the same sources and the same tools give the same bytes anywhere.
# Made with GNU binutils 2.40 for m68k-linux-gnu.
set -eu

here=$(CDPATH= cd -- "$(dirname -- "$0")" && pwd)
out=$(CDPATH= cd -- "${1:-$here}" && pwd)
object=$(mktemp)
trap 'rm -f -- "$object"' EXIT
cd -- "$out"

# Usage: link SOURCE ADDRESS FORMAT FILE. The linker writes the name of its output into
# the S0 record, so it gets a bare one. -N keeps it from aligning to pages.
link() {
    m68k-linux-gnu-as -m68000 --fatal-warnings -I "$here" -o "$object" "$here/$1.s"
    m68k-linux-gnu-ld -N -Ttext "$2" -e start --oformat "$3" -o "$4" "$object"
    chmod a-x -- "$4"   # the linker takes what it makes for a program to run
}
link monitor 0xF80000 srec monitor.s19
link monitor 0xF80000 ihex monitor.hex
link monitor 0xF80000 binary monitor.bin
link draw 0xF40000 srec draw.s19
link draw 0xF40000 ihex draw.hex
link draw 0xF40000 binary draw.bin
link font 0 srec font.s19
link font 0 ihex font.hex
link font 0 binary font.bin
link settings 0 binary settings.bin

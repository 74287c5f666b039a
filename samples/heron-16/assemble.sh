#!/bin/sh
# Assemble the Heron-16's program. Usage: assemble.sh [FOLDER]
#
# The outputs go to FOLDER, or beside this script. There are no dates and no
# paths in them: the same source and the same tools give the same bytes anywhere.
# Made with GNU binutils 2.40 for m68k-linux-gnu.
set -eu

here=$(CDPATH= cd -- "$(dirname -- "$0")" && pwd)
out=$(CDPATH= cd -- "${1:-$here}" && pwd)
object=$(mktemp)
trap 'rm -f -- "$object"' EXIT

m68k-linux-gnu-as -m68000 --fatal-warnings -o "$object" "$here/selftest.s"

# The linker writes the name of its output into the S0 record, so it gets a bare
# one. -N keeps it from aligning to the pages of an operating system.
cd -- "$out"
link() {
    m68k-linux-gnu-ld -N -Ttext 0 -e start --oformat "$1" -o "$2" "$object"
    chmod a-x -- "$2"   # the linker takes what it makes for a program to run
}
link srec selftest.s19
link ihex selftest.hex
link binary selftest.bin

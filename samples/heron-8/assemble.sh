#!/bin/sh
# Assemble the Heron-8's programs. Usage: assemble.sh [FOLDER]
#
# The outputs go to FOLDER, or beside this script. There are no dates and no
# paths in them: the same sources and the same 64tass give the same bytes anywhere.
# Made with 64tass 1.58.2974.
set -eu

here=$(CDPATH= cd -- "$(dirname -- "$0")" && pwd)
out=$(CDPATH= cd -- "${1:-$here}" && pwd)
cd -- "$here"

# One run gives all files. The raw monitor is two files, one for each section:
# in one file the space between them would be bytes that the program doesn't have.
64tass --quiet -Wall -Werror \
    --intel-hex --output="$out/monitor.hex" \
    --s-record --output="$out/monitor.s19" \
    --nostart --output-section=code --output="$out/monitor.bin" \
    --nostart --output-section=vectors --output="$out/vectors.bin" \
    monitor.asm

64tass --quiet -Wall -Werror \
    --intel-hex --output="$out/basic.hex" \
    --s-record --output="$out/basic.s19" \
    --nostart --output="$out/basic.bin" \
    basic.asm

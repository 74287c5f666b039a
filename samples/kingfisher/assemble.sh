#!/bin/sh
# Assemble the Kingfisher's programs. Usage: assemble.sh [FOLDER]
#
# The outputs go to FOLDER, or beside this script. There are no dates and no
# paths in them: the same sources and the same 64tass give the same bytes anywhere.
# Made with 64tass 1.58.2974.
set -eu

here=$(CDPATH= cd -- "$(dirname -- "$0")" && pwd)
out=$(CDPATH= cd -- "${1:-$here}" && pwd)
cd -- "$here"

# The raw common block belongs at 0xBF80, the other raw files at 0xA000.
for program in common menu bird primes check; do
    64tass --quiet -Wall -Werror \
        --intel-hex --output="$out/$program.hex" \
        --s-record --output="$out/$program.s19" \
        --nostart --output="$out/$program.bin" \
        "$program.asm"
done

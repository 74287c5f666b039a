#!/usr/bin/env bash
# Mutants of one room, held against its own unit tests:
#
#     tests/mutants.sh OUT ROOM [FILTER...] [-- OPTION...]
#
# OUT gets the logs. FILTERs choose tests, ROOM:: where there are none. OPTIONs go to `cargo mutants`, in place of
# --file 'src/ROOM/*.rs'. Runs in a copy of the tree whose src/lib.rs names only the rooms that the
# room may use: these compile several times faster than the whole crate, and a mutant is a build.
set -euo pipefail
out=$(realpath -m "$1")
room=$2
shift 2
filters=()
while [ $# -gt 0 ] && [ "$1" != -- ]; do
    filters+=("$1")
    shift
done
[ $# -eq 0 ] || shift
[ ${#filters[@]} -gt 0 ] || filters=("$room::")
[ $# -gt 0 ] || set -- --file "src/$room/*.rs"

# In the order in which rooms use each other; see src/lib.rs.
rooms=(image values sums parts formats faults ops)
copy=$(mktemp -d)
trap 'rm -rf "$copy"' EXIT
cd "$(dirname "$0")/.."
git ls-files -z | tar -c --null -T - | tar -x -C "$copy"
sed -i '/^#\[cfg(feature = "cli")\]$/d; /^pub mod /d' "$copy/src/lib.rs"
for name in "${rooms[@]}"; do
    echo "pub mod $name;" >>"$copy/src/lib.rs"
    [ "$name" != "$room" ] || break
done

export CARGO_PROFILE_DEV_DEBUG=0 CARGO_PROFILE_TEST_DEBUG=0 CARGO_INCREMENTAL=1
export PROPTEST_CASES=${PROPTEST_CASES:-64}
cargo mutants --dir "$copy" --output "$out" --jobs "$(nproc)" --no-shuffle --timeout 20 \
    --no-default-features --cargo-arg=--lib "$@" -- -- "${filters[@]}"

#!/usr/bin/env bash
# Mutants of one room, held against its own unit tests:
#
#     tests/mutants.sh OUT ROOM [FILTER...] [-- OPTION...]
#
# ROOM is a folder of src/, such as sums or cli/bench. OUT gets the logs. FILTERs choose tests, the room's own where there
# are none. OPTIONs go to `cargo mutants`, in place of --file 'src/ROOM/**/*.rs'. Runs in a copy of the tree. For a room of
# the library its src/lib.rs names only the rooms that the room may use: these compile several times faster than the
# whole crate, and a mutant is a build.
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
[ ${#filters[@]} -gt 0 ] || filters=("${room//\//::}::")
[ $# -gt 0 ] || set -- --file "src/$room/**/*.rs"

# In the order in which rooms use each other.
rooms=(prose image parts sums wiring values board faults formats identify ops)
copy=$(mktemp -d)
trap 'rm -rf "$copy"' EXIT
cd "$(dirname "$0")/.."
[ -d "src/$room" ] || { echo "there is no folder src/$room" >&2 && exit 2; }
git ls-files -z | tar -c --null -T - | tar -x -C "$copy"
features=()
if [[ $room != cli/* ]]; then
    features=(--no-default-features)
    kept=()
    for name in "${rooms[@]}"; do
        kept+=("$name")
        [ "$name" != "$room" ] || break
    done
    # The lines of rooms that stay, with the attributes above them.
    awk -v kept=" ${kept[*]} " '
        /^#\[/ { above = above $0 "\n"; next }
        /^(pub )?mod / { name = $NF; sub(";", "", name); if (index(kept, " " name " ")) printf "%spub mod %s;\n", above, name }
        /^\/\/!/ || /^#!\[/ || $0 == "" { print }
        { above = "" }
    ' "$copy/src/lib.rs" >"$copy/src/lib.new"
    mv "$copy/src/lib.new" "$copy/src/lib.rs"
fi

export CARGO_PROFILE_DEV_DEBUG=0 CARGO_PROFILE_TEST_DEBUG=0 CARGO_INCREMENTAL=1
export PROPTEST_CASES=${PROPTEST_CASES:-64}
cargo mutants --dir "$copy" --output "$out" --jobs "$(nproc)" --no-shuffle --timeout 20 \
    "${features[@]}" --cargo-arg=--lib "$@" -- -- "${filters[@]}"

#!/usr/bin/env python3
"""The inputs that fuzzing keeps, one a line in hexadecimal, so that the tests run them and fuzzing can go on from them:

    fuzz/corpus.py unpack            # tests/regressions/corpus/NAME.hex into fuzz/corpus/NAME/
    fuzz/corpus.py pack NAME FOLDER  # the files of a folder into tests/regressions/corpus/NAME.hex

NAME is a target, or for `reader` a format. Make a folder small before it is packed:

    NAME -merge=1 -use_counters=0 SMALL FOLDER
"""

import pathlib
import sys

HERE = pathlib.Path(__file__).resolve().parent
LONGEST = 200  # bytes: longer inputs are left out
KEPT = HERE.parent / "tests" / "regressions" / "corpus"


def unpack():
    for kept in sorted(KEPT.glob("*.hex")):
        folder = HERE / "corpus" / kept.stem
        folder.mkdir(parents=True, exist_ok=True)
        for number, line in enumerate(kept.read_text().split()):
            (folder / f"{number:04}").write_bytes(bytes.fromhex(line))


def pack(name, folder):
    KEPT.mkdir(parents=True, exist_ok=True)
    inputs = {path.read_bytes() for path in pathlib.Path(folder).iterdir()}
    inputs = {data for data in inputs if 0 < len(data) <= LONGEST}
    lines = sorted((data.hex() for data in inputs), key=lambda line: (len(line), line))
    (KEPT / f"{name}.hex").write_text("".join(line + "\n" for line in lines))
    print(f"{name}: {len(lines)} inputs, {sum(map(len, inputs)):,} bytes")


match sys.argv[1:]:
    case ["unpack"]:
        unpack()
    case ["pack", name, folder]:
        pack(name, folder)
    case _:
        sys.exit(__doc__)

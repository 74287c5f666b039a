#!/usr/bin/env python3
"""Cross-check of Intel HEX files with the PyPI library intelhex, through a folder.

Usage: interop_python.py FOLDER

FOLDER/ours holds files written by romloom: NAME.hex, beside it one raw file
NAME.ADDRESS.bin for each span (address in hex), and NAME.entry with the entry
point in hex where there is one. Each must read as its twins say. Then files
written by the library are put into FOLDER/theirs in the same layout, for
romloom to read. See tests/it/interop.rs for the two tests at the other end.
"""

import random
import sys
from pathlib import Path

from intelhex import IntelHex


def entry_point(image):
    """The start address of an image as one number, or None."""
    start = image.start_addr
    if not start:
        return None
    if "EIP" in start:
        return start["EIP"]
    return start["CS"] * 16 + start["IP"]


def spans(image):
    """The contiguous parts of an image, as address: bytes."""
    return {
        first: image.tobinstr(start=first, end=end - 1)
        for first, end in image.segments()
    }


def check_ours(folder):
    """How many files there are; stops at the first that reads differently."""
    files = sorted(folder.glob("*.hex"))
    if not files:
        sys.exit(f"no .hex files in {folder}")
    for file in files:
        image = IntelHex(str(file))
        wanted = {
            int(twin.name.split(".")[1], 16): twin.read_bytes()
            for twin in folder.glob(f"{file.stem}.*.bin")
        }
        if spans(image) != wanted:
            sys.exit(f"{file}: the library reads other bytes than were written")
        twin = file.with_suffix(".entry")
        entry = int(twin.read_text(), 16) if twin.exists() else None
        if entry_point(image) != entry:
            sys.exit(f"{file}: entry point {entry_point(image)}, wanted {entry}")
    return len(files)


def random_image(chance, end):
    """An image with holes below end, some parts across a 64 K boundary."""
    image = IntelHex()
    for _ in range(chance.randrange(1, 10)):
        first = chance.randrange(end)
        if chance.random() < 0.3:
            first = max(0, (first & ~0xFFFF) - chance.randrange(20))
        for address in range(first, min(end, first + chance.randrange(1, 200))):
            image[address] = chance.randrange(256)
    if chance.random() < 0.5:
        if end > 1 << 20:
            image.start_addr = {"EIP": chance.randrange(1 << 32)}
        else:
            image.start_addr = {
                "CS": chance.randrange(1 << 16),
                "IP": chance.randrange(1 << 16),
            }
    return image


def write_theirs(folder):
    """Writes files with their twins; the same ones every time."""
    folder.mkdir(exist_ok=True)
    chance = random.Random(8)
    for n in range(100):
        image = random_image(chance, 1 << (16, 20, 32)[n % 3])
        image.write_hex_file(
            str(folder / f"{n:03}.hex"),
            byte_count=chance.randrange(1, 256),
            eolstyle=chance.choice(["native", "CRLF"]),
        )
        for first, data in spans(image).items():
            (folder / f"{n:03}.{first:X}.bin").write_bytes(data)
        if image.start_addr:
            (folder / f"{n:03}.entry").write_text(f"{entry_point(image):X}\n")
    return n + 1


if __name__ == "__main__":
    if len(sys.argv) != 2:
        sys.exit(__doc__)
    exchange = Path(sys.argv[1])
    print(check_ours(exchange / "ours"), "files of ours read as written")
    print(write_theirs(exchange / "theirs"), "files written for romloom to read")

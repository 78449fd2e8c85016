"""Ways to spoil a file of a folder, chosen by a seeded generator."""

from __future__ import annotations

import os
from collections.abc import Callable
from pathlib import Path
from random import Random

CELLS = (
    "", " ", "0", "-1", "1e999", "-1e999", "nan", "inf", "1e-400", "9" * 40, "9" * 5000, "0x10", "١٢", "½", "1_000", "1,5", "47.5 ", "+5",
    "1:99:99", "24:00", "-0:01", "2026-02-30", "0001-01-01", "9999-12-31", "10000-01-01", "dnf", "rerun", "true", "x" * 300, "y" * 140_000,
    "../../x", "/etc/passwd", "~nobody/x", "C:\\x", "con", "\x00", "\x1b[2J", "\u202e31", "\ufeff", "\u2028", "\ud7ff", "=1+1", "[red]x[/]",
    "<script>", "'", '"', '""', ";", "\t", "a\nb", "\r", "e\u0301" * 50, "🏁", "%s%n", "{0.__class__}", "day", "31", "none", "null",
)  # fmt: skip
VALUES = (
    "1e999", "nan", "-inf", "9" * 400, "-1", "0", "0.0", "1e-320", '""', '"x"', "true", "[]", "{}", "[[]]", "[nan]", "[1, 'a']", "[{}]", "[{a = 1}]",
    "{a = {b = {c = nan}}}", "0001-01-01", "9999-12-31", "1979-05-27T07:32:00Z", "07:32:00", '"\\u0000"', '"\\u202e"', '"../../x"', "0xffffffffffffffff",
    "[" * 60 + "]" * 60, "[" * 3000 + "]" * 3000, "'" + "x" * 200_000 + "'", '["31", "31"]', "[0, 0, 0]", "[1, 2, 3, 4, 5, 6, 7, 8, 9]", "10" * 60,
)  # fmt: skip
BYTES = (b"", b'"', b",", b";", b"\n", b"\r", b"\x00", b"\xff", b"\xc3", b"\xed\xa0\x80", b"[", b"]", b"=", b"-", b"#", b"'''", b"1e999", b"nan", b"\xe2\x80\xae")  # fmt: skip


def _bytes(random: Random, data: bytes) -> bytes:
    spoilt = bytearray(data)
    for _ in range(random.randint(1, 4)):
        at = random.randint(0, len(spoilt))
        spoilt[at : at + random.choice((0, 1, 3, 30))] = random.choice(BYTES)
    return bytes(spoilt)


def _lines(random: Random, data: bytes) -> bytes:
    lines = data.splitlines(keepends=True) or [b"\n"]
    at = random.randrange(len(lines))
    turn = random.randrange(6)
    if turn == 0:
        del lines[at]
    elif turn == 1:
        lines[at:at] = [lines[at]] * random.choice((1, 2, 500))
    elif turn == 2:
        random.shuffle(lines)
    elif turn == 3:
        lines[at] = lines[at][: random.randrange(len(lines[at]) + 1)]
    elif turn == 4:
        lines[at] = lines[at].rstrip() + b",x" * random.choice((1, 40, 3000)) + b"\n"
    else:
        lines = lines[:at]
    return b"".join(lines)


def _field(random: Random, data: bytes) -> bytes:
    """A cell of a table or a value of a document that is of another kind, or no value at all."""
    lines = data.decode("utf-8", "replace").split("\n")
    at = random.randrange(len(lines))
    for _ in range(random.randint(1, 3)):
        key, sign, _ = lines[at].partition(" = ")
        if sign:
            lines[at] = f"{key} = {random.choice(VALUES)}"
        else:
            cells = lines[at].split(",")
            cells[random.randrange(len(cells))] = random.choice(CELLS)
            lines[at] = ",".join(cells)
        at = random.randrange(len(lines))
    return "\n".join(lines).encode("utf-8", "replace")


def _encoding(random: Random, data: bytes) -> bytes:
    text = data.decode("utf-8", "replace")
    name = random.choice(("utf-16", "utf-16-le", "utf-32", "latin-1", "cp037", "utf-8-sig", "utf-7"))
    return text.encode(name, "replace") if random.random() < 0.7 else text.replace("\n", "\r").encode()


def _nested(random: Random, data: bytes) -> bytes:
    deep = random.choice((50, 90, 101, 5000, 5000, 100_000))
    more = random.choice((
        ".".join(["a"] * deep) + " = 1\n",
        "[" + ".".join(["a"] * deep) + "]\n",
        "a = " + "[" * deep + "]" * deep + "\n",
        "a = " + "{a = " * deep + "1" + "}" * deep + "\n",
        "[[classes]]\n" * deep,
        ",".join(f"c{n}" for n in range(deep)) + "\n",
    ))  # fmt: skip
    return data + b"\n" + more.encode() if random.random() < 0.6 else more.encode() + data


WAYS: tuple[Callable[[Random, bytes], bytes], ...] = (_field, _field, _field, _bytes, _lines, _encoding, _nested)


def spoilt_bytes(random: Random, data: bytes) -> bytes:
    """Bytes of a file spoilt once or twice."""
    for _ in range(random.choice((1, 1, 2))):
        data = random.choice(WAYS)(random, data)
    return data


def _odd(random: Random, path: Path) -> None:
    """Something that is no file where a file belongs."""
    path.unlink(missing_ok=True)
    kind = random.randrange(6)
    if kind == 0:
        os.mkfifo(path)
    elif kind == 1:
        path.mkdir()
    elif kind == 2:
        path.symlink_to(path.name)
    elif kind == 3:
        path.symlink_to("/dev/zero")
    elif kind == 4:
        path.symlink_to("../../outside.txt")
    else:
        path.symlink_to(".")


def spoil(random: Random, folder: Path) -> str:
    """Spoils one or two files of a folder; which."""
    names = sorted(item.relative_to(folder).as_posix() for item in folder.rglob("*") if item.is_file())
    names += [
        ".paddock/journal",
        "season.toml",
        "merge-conflicts.csv",
        "cars/new.toml",
        "tracks/new.toml",
        "times (1).csv",
    ]
    told = []
    for name in random.sample(names, random.choice((1, 1, 2, 3))):
        path = folder / name
        path.parent.mkdir(exist_ok=True)
        if random.random() < 0.1:
            _odd(random, path)
        else:
            found = path.read_bytes() if path.is_file() else b"day,run,number,time\n1,1,31,46.1\n"
            path.unlink(missing_ok=True)
            path.write_bytes(spoilt_bytes(random, found))
        told.append(name)
    return ", ".join(told)

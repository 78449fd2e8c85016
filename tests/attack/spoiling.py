"""Ways to spoil a file of a folder, chosen by a seeded generator."""

from __future__ import annotations

import os
import re
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
    return _nest(random, data, random.choice((50, 90, 101, 5000, 5000, 100_000)))


def _nest(random: Random, data: bytes, deep: int) -> bytes:
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


# ---- small and quick, with what is large and dear seldom


FIGURES = (
    b"0", b"-0.0", b"-1", b"1e-7", b"0.001", b"1e-320", b"99999", b"2147483648", b"9223372036854775807", b"9223372036854775808", b"1e15", b"1e19",
    b"1e300", b"-1e300", b"1e999", b"nan", b"-inf", b"", b"true", b"31", b"58", b"1", b"2", b"24:00", b"99:99", b"00:00", b"2026-10-11", b"0001-01-01",
    b"9999-12-31", b"2026-10-10T25:00", b'"x"', b"x", b"[]", b"{}", b"[nan]", "\u0661".encode(), "\u202e".encode(), b"\x00", b"\xff", b"7" * 30, b"12.34.56", b"-",
)  # fmt: skip
_TOKEN = re.compile(rb"[0-9][0-9.:eE+-]*|[A-Za-z_][\w-]*")


def _token(random: Random, data: bytes) -> bytes:
    """A figure or a word, wherever it stands, that is another: plausible, at an edge of what can be, or none at all."""
    places = list(_TOKEN.finditer(data))
    for place in sorted(
        random.sample(places, min(len(places), random.choice((1, 1, 1, 2, 5)))), key=lambda at: -at.start()
    ):
        new = random.choice(places).group() if random.random() < 0.25 else random.choice(FIGURES)
        data = data[: place.start()] + new + data[place.end() :]
    return data


def _column(random: Random, data: bytes) -> bytes:
    """A column that is gone, there twice, elsewhere, under another's name, or the same value all the way down."""
    rows = [line.split(b",") for line in data.split(b"\n")]
    at, to, turn = random.randrange(len(rows[0])), random.randrange(len(rows[0])), random.randrange(5)
    figure = random.choice(FIGURES)
    for number, row in enumerate(rows):
        if at < len(row) and turn == 0:
            del row[at]
        elif at < len(row) and turn == 1:
            row.insert(to, row[at])
        elif max(at, to) < len(row) and turn == 2:
            row[at], row[to] = row[to], row[at]
        elif at < len(row) and (number > 0 if turn == 3 else number == 0):
            row[at] = figure if turn == 3 else row[min(to, len(row) - 1)]
    return b"\n".join(b",".join(row) for row in rows)


def _semicolons(random: Random, data: bytes) -> bytes:
    """As another country writes a table; or with other ends of lines."""
    if random.random() < 0.3:
        return data.replace(b"\n", random.choice((b"\r\n", b"\r", b"\n\n", b"\n \n", b"\x0b", b"\x85")))
    sign = random.choice((b";", b"\t", b"|", b"; ", b" "))
    return data.replace(b",", sign).replace(b".", random.choice((b",", b".", b"\xc2\xb7")))


def _deep(random: Random, data: bytes) -> bytes:
    return _nest(random, data, random.choice((50, 90, 101, 600)))


def _dear(random: Random, data: bytes) -> bytes:
    """A hundred thousand of something, or megabytes."""
    turn, many = random.randrange(6), random.choice((5_000, 20_000, 100_000))
    if turn < 2:
        return _nest(random, data, many)
    lines = data.splitlines(keepends=True) or [b"\n"]
    at = random.randrange(len(lines))
    if turn == 2:
        lines[at] = lines[at].rstrip() + b"," + random.choice((b"x", b"1", b"")) + b",c" * many + b"\n"
    elif turn == 3:
        lines[at:at] = [lines[at]] * many
    elif turn == 4:
        lines[at] = lines[at].rstrip() + b"z" * random.choice((200_000, 2_000_000)) + b"\n"
    else:
        lines[at:at] = [random.choice((b"\n", b",\n", b'"\n', b"#\n", b"a.b = 1\n", b"[a]\n"))] * many
    return b"".join(lines)


LITTLE: tuple[tuple[int, Callable[[Random, bytes], bytes]], ...] = (
    (420, _token), (150, _field), (130, _bytes), (100, _lines), (80, _column), (40, _semicolons), (50, _encoding), (29, _deep), (1, _dear),
)  # fmt: skip
"""Ways, and how often of a thousand."""


def little(random: Random, data: bytes) -> bytes:
    """Bytes of a file spoilt once, or a few times."""
    weights, ways = zip(*LITTLE, strict=True)
    for way in random.choices(ways, weights, k=random.choice((1, 1, 1, 2, 3))):
        data = way(random, data)
    return data


ODD: dict[str, Callable[[Path], object]] = {
    "a pipe": os.mkfifo,
    "a folder": os.mkdir,
    "a link to itself": lambda path: path.symlink_to(path.name),
    "a link to a device": lambda path: path.symlink_to("/dev/zero"),
    "a link to nothing": lambda path: path.symlink_to("../../outside.txt"),
    "a link to its folder": lambda path: path.symlink_to("."),
}
"""What is no file where a file belongs."""


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
            path.unlink(missing_ok=True)
            random.choice(tuple(ODD.values()))(path)
        else:
            found = path.read_bytes() if path.is_file() else b"day,run,number,time\n1,1,31,46.1\n"
            path.unlink(missing_ok=True)
            path.write_bytes(spoilt_bytes(random, found))
        told.append(name)
    return ", ".join(told)

"""One spoilt folder put to verbs, and what must never happen."""

from __future__ import annotations

import contextlib
import io
import os
import shutil
import signal
import traceback
from collections.abc import Callable, Iterator
from pathlib import Path
from random import Random
from types import FrameType

import paddock.store.machine
from paddock.__main__ import main
from paddock.errors import PaddockError
from paddock.session import Session
from paddock.store.archive import pack
from paddock.store.glance import glance
from tests.attack.spoiling import spoil, spoilt_bytes

HANG_S = 30
CODES = {0, 1, 2, 3, 4}
READING: tuple[tuple[str, ...], ...] = (
    ("standings", "{a}"), ("standings", "{a}", "--json"), ("gap", "{a}"), ("gap", "{a}", "--at", "99:99"), ("next", "{a}", "--why"),
    ("next", "{a}", "--json"), ("effect", "{a}"), ("chances", "{a}"), ("tyres", "{a}"), ("season", "{home}"), ("season", "{home}", "--json"),
    ("debrief", "{a}", "-o", "{out}/page.html"), ("export", "{a}", "-o", "{out}/a.zip"),
    ("new", "{out}/next", "--from", "{a}", "--days", "2027-01-01"), ("merge", "{a}", "{b}", "--into", "{out}/c"),
    ("merge", "{b}", "{a}", "--into", "{out}/d", "--copies"), ("bar", "{car}"), ("gears", "{car}"), ("bar", "{car}", "--folder", "{a}"),
    ("air", "--json", "{a}"),
)  # fmt: skip


class HangError(BaseException):
    """Something took longer than anybody waits."""


def trial(seed: int, number: int, event: Path, place: Path, verbs: int) -> list[str]:
    """What went wrong with case ``number``: lines, each with the case to ask for again. ``event``: the sound folder,
    ``place``: an empty folder to work in."""
    random = Random(f"{seed}-{number}")
    home = place / "home"
    shutil.copytree(event, home / "a")
    shutil.copytree(event, home / "b")
    told = spoil(random, home / "a")
    cars = sorted((home / "a" / "cars").glob("*.toml")) or [home / "a" / "cars" / "none.toml"]
    names = {"a": home / "a", "b": home / "b", "home": home, "out": place / "out", "car": random.choice(cars)}
    (place / "out").mkdir()
    before = _every(home)
    wrong: list[str] = []
    for words in (("check", "{a}"), *random.sample(READING, min(verbs, len(READING)))):
        said = _asked([word.format(**names) for word in words])
        wrong += [f"{' '.join(words)}: {said}"] if said else []
        if _every(home) != before:
            wrong.append(f"{' '.join(words)}: changed a byte")
            before = _every(home)
    for what, does in _others(random, home, place / "out"):
        said = _guarded(does)
        wrong += [f"{what}: {said}"] if said else []
    return [f"seed {seed} case {number} ({told}): {line}" for line in wrong]


def _others(random: Random, home: Path, out: Path) -> Iterator[tuple[str, Callable[[], object]]]:
    """What writes, or is no verb; each on the folder as the one before left it."""
    a, b = home / "a", home / "b"
    yield "glance", lambda: glance(a)
    source = out / f"source.{random.choice(('csv', 'txt', 'html', 'tsv'))}"
    source.write_bytes(spoilt_bytes(random, (b / random.choice(("times.csv", "entrants.csv"))).read_bytes()))
    yield "import into a sound event", lambda: _raised(["import", str(b), str(source), "--yes"])
    packed = out / "packed.zip"
    yield "pack", lambda: pack(b, packed)
    packed.write_bytes(
        spoilt_bytes(random, packed.read_bytes()) if random.random() < 0.7 else b"PK" + random.randbytes(99)
    )
    yield "unpack", lambda: _raised(["export", str(packed), "--unpack", "-o", str(out / "back")])
    yield "open", lambda: Session.open(a).close()
    yield "merge into the spoilt one", lambda: _raised(["merge", str(a), str(b)])
    yield "import into the spoilt one", lambda: _raised(["import", str(a), str(source), "--yes"])


def _raised(words: list[str]) -> None:
    if said := _asked(words):
        raise AssertionError(said)


def _asked(words: list[str]) -> str:
    """What is wrong with the answer to a command; blank where nothing is."""
    faults: list[str] = []
    real = paddock.store.machine.note

    def note(error: BaseException, _more: str = "") -> str:
        faults.append("".join(traceback.format_exception(error)))
        return ""

    paddock.store.machine.note = note
    out, err = io.StringIO(), io.StringIO()
    try:
        with contextlib.redirect_stdout(out), contextlib.redirect_stderr(err):
            code: list[int] = []
            said = _guarded(lambda: code.append(main(words)))
    finally:
        paddock.store.machine.note = real
    if said or faults:
        return said or faults[0]
    if code[0] not in CODES or "Traceback" in err.getvalue():
        return f"exit {code[0]}: {err.getvalue()}"
    return "an escape reaches the terminal" if "\x1b" in out.getvalue() + err.getvalue() else ""


def _guarded(does: Callable[[], object]) -> str:
    def late(_number: int, _frame: FrameType | None) -> None:
        raise HangError

    was = signal.signal(signal.SIGALRM, late)
    signal.setitimer(signal.ITIMER_REAL, HANG_S)
    try:
        does()
    except PaddockError:
        return ""
    except AssertionError as error:
        return str(error)
    except (Exception, HangError) as error:
        return "".join(traceback.format_exception(error))
    finally:
        signal.setitimer(signal.ITIMER_REAL, 0)
        signal.signal(signal.SIGALRM, was)
    return ""


def _every(folder: Path) -> dict[str, object]:
    """Every name below a folder, with its bytes or what else it is."""
    found: dict[str, object] = {}
    for place, below, names in os.walk(folder):
        for name in (*below, *names):
            path = Path(place, name)
            plain = path.is_file() and not path.is_symlink()
            found[str(path)] = path.read_bytes() if plain else path.lstat().st_mode
    return found

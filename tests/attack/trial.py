"""One spoilt folder put to verbs, and what must never happen."""

from __future__ import annotations

import resource
import shutil
import tempfile
from collections.abc import Callable, Iterator, Mapping, Sequence
from pathlib import Path
from random import Random

from paddock.session import Session
from paddock.store.archive import pack
from paddock.store.glance import glance
from tests.attack.asking import MOST_KB, every, guarded, wrong_answer
from tests.attack.spoiling import spoil, spoilt_bytes
from tests.store.folders import small_folder

READING: tuple[tuple[str, ...], ...] = (
    ("standings", "{a}"), ("standings", "{a}", "--json"), ("gap", "{a}"), ("gap", "{a}", "--at", "99:99"), ("next", "{a}", "--why"),
    ("next", "{a}", "--json"), ("effect", "{a}"), ("chances", "{a}"), ("tyres", "{a}"), ("season", "{home}"), ("season", "{home}", "--json"),
    ("debrief", "{a}", "-o", "{out}/page.html"), ("export", "{a}", "-o", "{out}/a.zip"),
    ("new", "{out}/next", "--from", "{a}", "--days", "2027-01-01"), ("merge", "{a}", "{b}", "--into", "{out}/c"),
    ("merge", "{b}", "{a}", "--into", "{out}/d", "--copies"), ("bar", "{car}"), ("gears", "{car}"), ("bar", "{car}", "--folder", "{a}"),
    ("air", "--json", "{a}"), ("where", "{a}", "--number", "58", "--json"), ("where", "{a}", "--number", "26"), ("hindsight", "{home}"),
    ("check", "{a}", "--json"), ("standings", "{a}", "--day", "2"),
)  # fmt: skip


_TRACK = b"time_s,lat,lon,speed_kmh\n" + b"".join(
    b"%.1f,0.%05d,0.0001,%d\n" % (at / 10, at * 3, at % 90) for at in range(400)
)


def inputs(seed: int, numbers: Sequence[int], verbs: int) -> tuple[str, int]:
    """Folders spoilt one after another; what was asked in words, and how many were not borne. One case alone that fails
    is made smaller."""
    example = Path(__file__).parents[2] / "example_event"
    wrong = 0
    for number in numbers:
        with tempfile.TemporaryDirectory() as place:
            event = example if number % 4 == 0 else small_folder(Path(place) / "sound")
            found = trial(seed, number, event, Path(place), verbs)
            if found and len(numbers) == 1:
                found += shrunk(seed, number, event, Path(place), verbs)
        wrong += bool(found)
        print(*found, sep="\n", end="\n" if found else "", flush=True)
        if number % 25 == 24:
            print(f"{number + 1} so far, not borne: {wrong}", flush=True)
        if number == numbers[0]:
            warm = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
        if (grown := resource.getrusage(resource.RUSAGE_SELF).ru_maxrss - warm) > MOST_KB:
            print(f"case {number}: {grown // 1000} MB more", flush=True)
            return f"{number} spoilt folders, then too much memory", wrong + 1
    asked = len(numbers) * (min(verbs, len(READING)) + 10)
    return f"{len(numbers)} spoilt folders, {asked} answers", wrong


def shrunk(seed: int, number: int, event: Path, place: Path, verbs: int) -> list[str]:
    """The spoilt files of a case that fails, each with as few lines as it still fails with: a test is written of them."""
    spoilt = place / "home" / "a"
    shutil.rmtree(spoilt)
    shutil.copytree(event, spoilt)
    spoil(Random(f"{seed}-{number}"), spoilt)
    lines = {
        path.relative_to(spoilt).as_posix(): path.read_bytes().splitlines(keepends=True)
        for path in sorted(spoilt.rglob("*"))
        if path.is_file() and not path.is_symlink() and path.read_bytes() != _of(event / path.relative_to(spoilt))
    }
    for file in list(lines):
        step = max(1, len(lines[file]) // 2)
        while step:
            at = 0
            while at < len(lines[file]):
                fewer = lines[file][:at] + lines[file][at + step :]
                if _still_fails(event, place, {**lines, file: fewer}, verbs):
                    lines[file] = fewer
                else:
                    at += step
            step //= 2
    return [f"smallest: {file}: {b''.join(kept)[:2000]!r}" for file, kept in lines.items()]


def _of(path: Path) -> bytes | None:
    return path.read_bytes() if path.is_file() else None


def _still_fails(event: Path, place: Path, lines: Mapping[str, list[bytes]], verbs: int) -> bool:
    with tempfile.TemporaryDirectory(dir=place) as other:
        home = Path(other) / "home"
        shutil.copytree(event, home / "a")
        shutil.copytree(event, home / "b")
        (Path(other) / "out").mkdir()
        for file, kept in lines.items():
            (home / "a" / file).parent.mkdir(exist_ok=True)
            (home / "a" / file).write_bytes(b"".join(kept))
        return bool(_asked_all(Random(0), home, Path(other) / "out", verbs))


def trial(seed: int, number: int, event: Path, place: Path, verbs: int) -> list[str]:
    """What went wrong with case ``number``: lines, each with the case to ask for again. ``event``: the sound folder,
    ``place``: an empty folder to work in."""
    random = Random(f"{seed}-{number}")
    home = place / "home"
    shutil.copytree(event, home / "a")
    shutil.copytree(event, home / "b")
    told = spoil(random, home / "a")
    (place / "out").mkdir()
    wrong = _asked_all(random, home, place / "out", verbs)
    return [f"seed {seed} case {number} ({told}): {line}" for line in wrong]


def _asked_all(random: Random, home: Path, out: Path, verbs: int) -> list[str]:
    """What went wrong with a spoilt folder ``home/a`` beside a sound one."""
    cars = sorted((home / "a" / "cars").glob("*.toml")) or [home / "a" / "cars" / "none.toml"]
    names = {"a": home / "a", "b": home / "b", "home": home, "out": out, "car": random.choice(cars)}
    before = every(str(home))
    wrong: list[str] = []
    for words in (("check", "{a}"), *random.sample(READING, min(verbs, len(READING)))):
        _, said = wrong_answer([word.format(**names) for word in words])
        wrong += [f"{' '.join(words)}: {said}"] if said else []
        if every(str(home)) != before:
            wrong.append(f"{' '.join(words)}: changed a byte")
            before = every(str(home))
    for what, does in _others(random, home, out):
        said = guarded(does)
        wrong += [f"{what}: {said}"] if said else []
    return wrong


def _others(random: Random, home: Path, out: Path) -> Iterator[tuple[str, Callable[[], object]]]:
    """What writes, or is no verb; each on the folder as the one before left it."""
    a, b = home / "a", home / "b"
    yield "glance", lambda: glance(a)
    source = out / f"source.{random.choice(('csv', 'txt', 'html', 'tsv'))}"
    source.write_bytes(spoilt_bytes(random, (b / random.choice(("times.csv", "entrants.csv"))).read_bytes()))
    yield "import into a sound event", lambda: _raised(["import", str(b), str(source), "--yes"])
    track = out / f"track.{random.choice(('csv', 'gpx', 'nmea'))}"
    track.write_bytes(spoilt_bytes(random, _TRACK))
    for where, folder in (("a sound event", b), ("the spoilt one", a)):
        words = ["track", str(folder), str(track), "--number", random.choice(("26", "58")), "--day", "1", "--run", "1"]
        yield f"track into {where}", lambda words=words: _raised(words)  # type: ignore[misc]
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
    if said := wrong_answer(words)[1]:
        raise AssertionError(said)

"""``python -m tests.renew [docs] [screens] [pictures]``: all three without a word. Prints each file that came out different."""

from __future__ import annotations

import asyncio
import os
import subprocess
import sys
import tempfile
from collections.abc import Callable, Iterable
from difflib import unified_diff
from pathlib import Path

from tests.renew.blocks import ROOT
from tests.renew.pages import PAGES, renewed


def docs() -> None:
    """The pages with answers in them, the car's values, the keys, the day key by key."""
    from tests.engine import test_car_faults
    from tests.tui import day, keys_doc, test_keys

    for page in PAGES:
        page.write_text(renewed(page), encoding="utf-8")
    test_car_faults.PAGE.write_text(test_car_faults.page(), encoding="utf-8")
    Path(keys_doc.DOC).write_text(keys_doc.document(test_keys.PAGES), encoding="utf-8")
    with tempfile.TemporaryDirectory() as scratch:
        day.DOC.write_text(day.document(asyncio.run(day.drive(Path(scratch)))), encoding="utf-8")


def screens() -> None:
    """The kept screens."""
    tests = [str(path) for path in sorted((ROOT / "tests" / "tui").glob("test_*.py")) if "compare(" in path.read_text()]
    words = [sys.executable, "-m", "pytest", "-q", "-p", "no:cacheprovider", *tests]
    subprocess.run(words, cwd=ROOT, env=os.environ | {"PADDOCK_KEEP_SCREENS": "1"}, check=False)


def pictures() -> None:
    """The pictures of the tour."""
    subprocess.run([sys.executable, "docs/pictures.py"], cwd=ROOT, check=True)


MADE: dict[str, tuple[Callable[[], None], tuple[str, ...]]] = {
    "docs": (docs, ("README.md", "docs/**/*.md")),
    "screens": (screens, ("tests/tui/screens/*.txt",)),
    "pictures": (pictures, ("docs/pictures/*",)),
}
"""What is made, by what, where it lands."""


def _read(patterns: Iterable[str]) -> dict[Path, bytes]:
    return {path: path.read_bytes() for pattern in patterns for path in sorted(ROOT.glob(pattern)) if path.is_file()}


def _told(path: Path, old: bytes | None, new: bytes | None) -> str:
    name = path.relative_to(ROOT).as_posix()
    if old is None or new is None:
        return f"{name}: {'new' if old is None else 'gone'}"
    if path.suffix not in (".md", ".txt"):
        return f"{name}: another picture"
    lines = list(unified_diff(old.decode().splitlines(), new.decode().splitlines(), lineterm="", n=0))[2:]
    return "\n".join([f"{name}:", *(f"  {line}" for line in lines if not line.startswith("@@"))])


def main(words: list[str]) -> int:
    """Make, and say what differs; 2 for a word that is none of the three."""
    if unknown := set(words) - set(MADE):
        print(
            f"{', '.join(sorted(unknown))}: nothing of that name is made; there are {', '.join(MADE)}", file=sys.stderr
        )
        return 2
    os.environ["TEXTUAL_ANIMATIONS"] = "none"
    with tempfile.TemporaryDirectory() as home:
        for part in ("XDG_CONFIG_HOME", "XDG_STATE_HOME", "XDG_DATA_HOME"):
            os.environ[part] = f"{home}/{part}"
        for name in words or MADE:
            make, where = MADE[name]
            before = _read(where)
            make()
            after = _read(where)
            differ = [path for path in sorted(before | after) if before.get(path) != after.get(path)]
            for path in differ:
                print(_told(path, before.get(path), after.get(path)))
            print(f"{name}: {len(differ)} of {len(after)} files differ")
    return 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))

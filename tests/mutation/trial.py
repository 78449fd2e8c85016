"""Run a room's tests on a copy of the checkout with one fault in it.

Each trial is a fork of this process, so that the libraries are imported once. POSIX only.
"""

from __future__ import annotations

import compileall
import importlib
import os
import resource
import shutil
import signal
import sys
import time
import traceback
from dataclasses import dataclass
from importlib.util import cache_from_source
from pathlib import Path

LIBRARIES = (
    "pytest",
    "hypothesis",
    "polars",
    "pydantic",
    "pytest_asyncio",
    "tomlkit",
    "scipy.stats",
    "scipy.integrate",
)
NOT_COPIED = shutil.ignore_patterns(".git", ".venv", ".*_cache", ".hypothesis", "__pycache__", "*.egg-info")
ENOUGH = (600, 1800)
FLAGS = ("-x", "-q", "--no-header", "-p", "no:cacheprovider", "-W", "ignore::pytest.PytestAssertRewriteWarning")


@dataclass(frozen=True)
class Outcome:
    """How a run of the tests ended. ``code`` is pytest's, negative when a limit ended it."""

    code: int
    cpu_s: float
    wall_s: float

    @property
    def caught(self) -> bool:
        """Whether the tests noticed."""
        return self.code != 0

    @property
    def by_limit(self) -> bool:
        """Whether it was the time limit that noticed."""
        return self.code < 0


def warm_up() -> None:
    """Import what every trial needs, and nothing of the project."""
    for name in LIBRARIES:
        importlib.import_module(name)


def copy_of(root: Path, place: Path) -> Path:
    """A copy of the checkout with its bytecode."""
    copy = place / "copy"
    shutil.copytree(root, copy, ignore=NOT_COPIED)
    compileall.compile_dir(copy / "paddock", quiet=1)
    return copy


def trial(copy: Path, tests: list[str], log: Path, limits: tuple[int, int] | None = None) -> Outcome:
    """Run the tests in the copy, their words to ``log``.

    ``limits`` are seconds of processor and of the clock on the wall; ``None`` is the run without a fault, which has
    time enough and leaves its bytecode for the others.
    """
    started = time.monotonic()
    child = os.fork()
    if child == 0:
        _run(copy, tests, log, limits)
    _, status, used = os.wait4(child, 0)
    code = os.waitstatus_to_exitcode(status)
    return Outcome(code, used.ru_utime + used.ru_stime, time.monotonic() - started)


def with_fault(copy: Path, file: str, source: str, tests: list[str], limits: tuple[int, int], log: Path) -> Outcome:
    """Put the fault in, run, take it out again."""
    target = copy / file
    bytecode = Path(cache_from_source(str(target)))
    kept, stamp = target.read_bytes(), target.stat()
    aside = bytecode.with_suffix(".aside")
    bytecode.rename(aside)
    try:
        target.write_text(source, encoding="utf-8")
        return trial(copy, tests, log, limits)
    finally:
        bytecode.unlink(missing_ok=True)
        target.write_bytes(kept)
        os.utime(target, ns=(stamp.st_atime_ns, stamp.st_mtime_ns))
        aside.rename(bytecode)


def _run(copy: Path, tests: list[str], log: Path, limits: tuple[int, int] | None) -> None:
    code = 3
    try:
        os.setsid()
        processor_s, wall_s = limits or ENOUGH
        resource.setrlimit(resource.RLIMIT_CPU, (processor_s, processor_s))
        signal.alarm(wall_s)
        out = os.open(log, os.O_WRONLY | os.O_CREAT | os.O_TRUNC, 0o600)
        os.dup2(out, 1)
        os.dup2(out, 2)
        os.chdir(copy)
        sys.path[:] = [str(copy), *(entry for entry in sys.path if entry not in ("", str(Path.cwd())))]
        for name in [name for name in sys.modules if name.split(".")[0] in ("tests", "paddock")]:
            del sys.modules[name]
        os.environ["PYTHONDONTWRITEBYTECODE"] = "1"
        sys.dont_write_bytecode = limits is not None
        import pytest

        code = int(pytest.main([*FLAGS, f"--rootdir={copy}", *tests]))
        here = sys.modules["paddock"].__file__ or ""
        if not here.startswith(str(copy)):
            code = 77
        sys.stdout.flush()
    except BaseException:
        traceback.print_exc()
    finally:
        sys.stderr.flush()
        os._exit(code)

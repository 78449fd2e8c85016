"""``season.toml`` edited: comments and layout kept, each edit to be taken back while the program runs."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from paddock.errors import RefusedError
from paddock.model.edit import Batch, SetKey
from paddock.model.season import Season
from paddock.store import disk
from paddock.store.disk import FileFault, inside, most_bytes
from paddock.store.plan import with_key
from paddock.store.tables_out import SEASON_FILE
from paddock.store.tomlfile import TomlFile

_TRIES = 20
_NEW = b"format = 1\n"
Raw = Sequence[Mapping[str, Any]]
"""``[[events]]`` as they stand in the file, those the season could not use among them."""


@dataclass(frozen=True, slots=True)
class Booked:
    """One edit done. ``before`` None: there was no file."""

    label: str
    before: bytes | None
    after: bytes | None


class SeasonBook:
    """The ``season.toml`` of a directory. Other hands may write it meanwhile: an edit is made anew on what is there."""

    def __init__(self, directory: Path) -> None:
        self.path = inside(directory, SEASON_FILE)
        self._done: list[Booked] = []
        self._undone: list[Booked] = []

    def do(self, make: Callable[[Season, Raw], Batch]) -> str:
        """What ``make`` makes of the file as it is now; its label. Raises RefusedError, SaveError: nothing is done."""
        for _ in range(_TRIES):
            before = self._read()
            doc = self._doc(before)
            season = doc.model if isinstance(doc.model, Season) else Season()
            batch = make(season, tuple(doc.value(("events",)) or ()))
            for edit in batch.edits:
                assert isinstance(edit, SetKey)
                doc = with_key(doc, edit)
            if self._put(before, doc.data):
                self._done.append(Booked(batch.label, before, doc.data))
                self._undone.clear()
                return batch.label
        raise RefusedError("not saved: other hands change season.toml again and again")

    def undo(self) -> str:
        """Takes the latest edit back; its label. Raises RefusedError, SaveError."""
        return self._turn("undo", self._done, self._undone)

    def redo(self) -> str:
        """Does again what was undone last; its label. Raises RefusedError, SaveError."""
        return self._turn("redo", self._undone, self._done)

    def _turn(self, what: str, source: list[Booked], target: list[Booked]) -> str:
        if not source:
            raise RefusedError(f"there is nothing to {what} in season.toml since the program began")
        entry = source[-1]
        if not self._put(entry.after, entry.before):
            raise RefusedError(f"can't {what} “{entry.label}”: other hands changed season.toml since")
        target.append(Booked(source.pop().label, entry.after, entry.before))
        return entry.label

    def _read(self) -> bytes | None:
        try:
            return disk.read(self.path, most_bytes(SEASON_FILE))
        except OSError as error:
            raise disk.save_error(SEASON_FILE, error) from None

    def _doc(self, data: bytes | None) -> TomlFile:
        try:
            return TomlFile.parse(SEASON_FILE, _NEW if data is None else data)
        except FileFault as fault:
            problem = fault.problem
            raise RefusedError(f"{SEASON_FILE} has to be mended first{problem.at_line}: {problem.message}") from None

    def _put(self, before: bytes | None, after: bytes | None) -> bool:
        """``after`` in place of ``before``; False where something else stands there."""
        try:
            if self._read() != before:
                return False
            if after is None:
                disk.remove(self.path)
            else:
                disk.replace(self.path, after, lambda: self._read() == before)
        except disk.MovedError:
            return False
        except OSError as error:
            raise disk.save_error(SEASON_FILE, error) from None
        return True

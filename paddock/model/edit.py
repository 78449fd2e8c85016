"""An edit is a value: what to do to one file, in the words of its rows.

Row edits carry cells by field name with values in the units kept inside; undo, redo, replay after
an outside edit and merging all work on these.
"""

from __future__ import annotations

import secrets
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any


@dataclass(frozen=True, slots=True)
class AddRow:
    """Append a row to ``file`` (a contract name like ``times.csv``). ``cells``: field to value."""

    file: str
    cells: Mapping[str, Any]


@dataclass(frozen=True, slots=True)
class ChangeRow:
    """Set ``cells`` of the row known by ``key`` (in the order of the row model's ``KEY``).

    ``was``: cells it must hold now; tells rows of one key apart (a run and the re-run it led to).
    """

    file: str
    key: tuple[Any, ...]
    cells: Mapping[str, Any]
    was: Mapping[str, Any] | None = None


@dataclass(frozen=True, slots=True)
class RemoveRow:
    """Take the row known by ``key`` out; ``was`` as in ``ChangeRow``."""

    file: str
    key: tuple[Any, ...]
    was: Mapping[str, Any] | None = None


@dataclass(frozen=True, slots=True)
class SetKey:
    """Set the key at ``path`` of a TOML file, tables made as needed; ``value`` None takes it out."""

    file: str
    path: tuple[str, ...]
    value: Any


@dataclass(frozen=True, slots=True)
class PutTrack:
    """Put a track in place of ``file`` (``tracks/<name>``). ``digest``: SHA-256 of a copy that the store keeps already;
    None takes the file out. ``was``: the sum of what lies there now, None where nothing does."""

    file: str
    digest: str | None
    was: str | None = None


Single = AddRow | ChangeRow | RemoveRow | SetKey | PutTrack


@dataclass(frozen=True, slots=True)
class Batch:
    """Several edits that are one for undo. ``label``: what the user did, in words."""

    label: str
    edits: tuple[Single, ...]


Edit = Single | Batch


ALPHABET = "23456789abcdefghjkmnpqrstuvwxyz"
"""No 0, 1, i, l, o: an id may be read aloud or copied by hand."""


def new_id(length: int = 8) -> str:
    """A random id of ``length`` letters and digits, starting with a letter so that no spreadsheet takes it for
    a number. Eight give 6e11 of them: among 10,000 rows the odds of two alike are 1 in 12,000."""
    first = secrets.choice(ALPHABET[8:])
    return first + "".join(secrets.choice(ALPHABET) for _ in range(length - 1))

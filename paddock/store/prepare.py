"""A new event folder out of an old one: copies of its files, emptied or edited, and nothing of the old one touched."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path

from paddock.errors import FolderError
from paddock.model.edit import AddRow, Batch, ChangeRow, SetKey
from paddock.model.rows import EntrantRow, FittedRow, NoteRow, TickRow, TimeRow, TreadRow, TyreRow, WorkRow
from paddock.store import disk
from paddock.store.csvfile import CsvFile
from paddock.store.folder import Broken, Doc, read_doc
from paddock.store.fresh import default_checklists, new_folder
from paddock.store.plan import plan

CHECKLISTS = "checklist.toml"
_MOST_BESIDE = 30_000_000
COPIED = ("event.toml", CHECKLISTS, TyreRow.FILE)
"""Files taken over as they stand, then edited."""
CARS = "cars"
"""The folder that is copied whole."""
HEADERS = (
    EntrantRow.FILE, TimeRow.FILE, FittedRow.FILE, TreadRow.FILE, WorkRow.FILE, TickRow.FILE, NoteRow.FILE,
)  # fmt: skip
"""Files that begin empty with the old one's header, so that its units and columns stay."""
ALWAYS = (EntrantRow.FILE, TimeRow.FILE)
"""Of ``HEADERS``, those written even when nothing goes into them."""


def _emptied(old: Path, file: str) -> CsvFile:
    """The old file's header, in its own manner, without rows; the contract's where there is none to use."""
    doc = read_doc(old, file)
    if isinstance(doc, CsvFile) and not doc.faults:
        return replace(doc, records=(), cut=None).closed()
    return CsvFile.fresh(file)


def _copied(old: Path) -> dict[str, Doc]:
    docs: dict[str, Doc] = {}
    for file in (*COPIED, *(f"{CARS}/{path.name}" for path in _cars(old) if path.suffix == ".toml")):
        doc = read_doc(old, file)
        if isinstance(doc, Broken):
            problem = doc.problems[0]
            raise FolderError(f"{old}: {file}:{problem.line}: {problem.message}: mend it, then carry it on")
        if doc is not None:
            docs[file] = doc
    return docs


def _cars(old: Path) -> list[Path]:
    """Car files and what lies beside them, links left out."""
    found = (old / CARS).iterdir() if (old / CARS).is_dir() else ()
    return sorted(path for path in found if path.is_file() and not path.is_symlink() and not path.name.startswith("."))


def _made(old: Path, edits: Sequence[AddRow | ChangeRow | SetKey]) -> dict[str, bytes]:
    docs = _copied(old)
    docs |= {file: _emptied(old, file) for file in HEADERS}
    plan(docs, Batch("carry", tuple(edits)))
    for file in HEADERS:
        doc = docs[file]
        if file not in ALWAYS and isinstance(doc, CsvFile) and not doc.records:
            del docs[file]
    made = {file: doc.data for file, doc in docs.items() if doc.data is not None}
    made |= {
        f"{CARS}/{path.name}": disk.read(path, _MOST_BESIDE) or b"" for path in _cars(old) if path.suffix != ".toml"
    }
    made.setdefault(CHECKLISTS, default_checklists().encode())
    return made


def write_carried(old: Path, folder: Path, edits: Sequence[AddRow | ChangeRow | SetKey]) -> None:
    """Write the folder that ``edits`` (``paddock.engine.prepare.Carried.edits``) make of copies of ``old``.

    Raises FolderError where something stands at ``folder``, it can't be written, or a file to be carried can't be
    read; then nothing is written.
    """
    try:
        made = _made(old, edits)
    except OSError as error:
        raise FolderError(f"{old} can't be read: {(error.strerror or str(error)).lower()}") from None
    with new_folder(folder) as draft:
        for file, data in made.items():
            (draft / file).parent.mkdir(exist_ok=True)
            (draft / file).write_bytes(data)

"""A new event folder out of an old one: copies of its files, emptied or edited, and nothing of the old one touched."""

from __future__ import annotations

from dataclasses import replace
from importlib.resources import files
from pathlib import Path

from paddock.engine.prepare import ALWAYS, CARS, COPIED, HEADERS, Carried
from paddock.errors import FolderError
from paddock.model.edit import Batch
from paddock.store.archive import write_whole
from paddock.store.csvfile import CsvFile
from paddock.store.folder import Broken, Doc, read_doc
from paddock.store.fresh import make_folder
from paddock.store.plan import plan

__all__ = ["default_checklists", "write_carried"]

CHECKLISTS = "checklist.toml"


def default_checklists() -> str:
    """The text of the checklists that ship with the program."""
    return files("paddock").joinpath("data", CHECKLISTS).read_text(encoding="utf-8")


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


def _made(old: Path, carried: Carried) -> dict[str, bytes]:
    docs = _copied(old)
    docs |= {file: _emptied(old, file) for file in HEADERS}
    plan(docs, Batch("carry", carried.edits))
    for file in HEADERS:
        doc = docs[file]
        if file not in ALWAYS and isinstance(doc, CsvFile) and not doc.records:
            del docs[file]
    made = {file: doc.data for file, doc in docs.items() if doc.data is not None}
    made |= {f"{CARS}/{path.name}": path.read_bytes() for path in _cars(old) if path.suffix != ".toml"}
    made.setdefault(CHECKLISTS, default_checklists().encode())
    return made


def write_carried(old: Path, folder: Path, carried: Carried) -> None:
    """Write the folder of what was carried from ``old``.

    Raises FolderError where something stands at ``folder``, it can't be written, or a file to be carried can't be
    read; then nothing is written.
    """
    try:
        made = _made(old, carried)
    except OSError as error:
        raise FolderError(f"{old} can't be read: {(error.strerror or str(error)).lower()}") from None
    make_folder(folder)
    for file, data in made.items():
        try:
            (folder / file).parent.mkdir(exist_ok=True)
        except OSError as error:
            raise FolderError(f"{folder} can't be written: {(error.strerror or str(error)).lower()}") from None
        write_whole(folder / file, data)

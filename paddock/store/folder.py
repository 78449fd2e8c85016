"""An event folder read whole. Writes nothing; what is wrong comes back as problems."""

from __future__ import annotations

import contextlib
import errno
import gc
import hashlib
import os
import re
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from contextlib import contextmanager
from pathlib import Path
from typing import cast

from paddock.errors import FolderError, Problem
from paddock.model.car import Car
from paddock.model.rows import ROWS, RawFolder
from paddock.model.settings import Settings
from paddock.store import disk
from paddock.store.csvfile import CsvFile
from paddock.store.disk import AstrayError, FileFault, belongs, inside, kept, most_bytes
from paddock.store.tomlfile import TomlFile

MOST_BYTES = 150_000_000
"""A track of one day; what is larger is a film or a whole year."""
_SUM = re.compile(r"[0-9a-f]{64}")
_CHUNK = 1 << 20


class TrackDoc:
    """A file of ``tracks/`` as the folder's files hold it."""

    problems: tuple[Problem, ...] = ()

    def __init__(self, file: str, digest: str) -> None:
        self.file = file
        self.digest = digest
        self.data = mark_of(digest)


def mark_of(digest: str) -> bytes:
    """What stands for the bytes of a track wherever files are compared."""
    return f"track:{digest}".encode()


def is_sum(text: str) -> bool:
    """A SHA-256 in hexadecimal."""
    return _SUM.fullmatch(text) is not None


def is_track(file: str) -> bool:
    """The name of a track of an event: ``tracks/<name>``."""
    return file.startswith("tracks/")


def digest_of(path: Path, told: Callable[[int], None] = lambda _: None) -> str | None:
    """The sum of a file, None where it isn't there; ``told`` hears the bytes read. Raises OSError."""
    try:
        size = os.stat(path).st_size
        if not path.is_file():
            raise AstrayError("is no plain file: move it away")
        if size > MOST_BYTES:
            raise AstrayError(f"has {size / 1e6:,.0f} MB and is not read: {MOST_BYTES / 1e6:g} MB is the most")
        found = hashlib.sha256()
        with path.open("rb") as file:
            while chunk := file.read(_CHUNK):
                found.update(chunk)
                told(len(chunk))
    except FileNotFoundError:
        return None
    return found.hexdigest()


def data_of(path: Path) -> bytes | None:
    """The mark of the track that lies at ``path``, None where there is none. Raises OSError."""
    digest = digest_of(path)
    return None if digest is None else mark_of(digest)


def keep_copy(folder: Path, source: Path, digest: str) -> None:
    """A copy for undo in ``.paddock``, once. Raises OSError."""
    place = kept(folder, f"track-{digest}")
    if not place.exists():
        place.parent.mkdir(exist_ok=True)
        disk.copy(source, place)


def put(folder: Path, path: Path, data: bytes | None, still: Callable[[], bool]) -> None:
    """The track that ``data`` marks put at ``path``, or the one there taken away; what lay there is kept for undo.

    Raises OSError, MovedError where ``still`` says no.
    """
    there = digest_of(path)
    if data is not None and there is not None and mark_of(there) == data:
        return
    if there is not None:
        keep_copy(folder, path, there)
    if data is None:
        if not still():
            raise disk.MovedError
        disk.remove(path)
        with contextlib.suppress(OSError):
            path.parent.rmdir()  # only where it is empty
        return
    if not path.parent.exists():
        path.parent.mkdir()
        disk.sync_folder(folder)
    copy = kept(folder, f"track-{data.decode().removeprefix('track:')}")
    disk.copy(copy, path, still)
    with contextlib.suppress(OSError):
        copy.unlink()


def forget_copies(folder: Path, named: Iterable[str]) -> None:
    """Copies that no step names any more go."""
    wanted = {f"track-{digest}" for digest in named}
    with contextlib.suppress(OSError):
        for path in (folder / ".paddock").glob("track-*"):
            if path.name not in wanted:
                path.unlink()


REQUIRED = ("event.toml", "entrants.csv", "times.csv")
"""Without these there is no event."""

_WHY = {
    errno.EACCES: "may not be read: ask for its permissions",
    errno.EPERM: "may not be read: ask for its permissions",
    errno.EISDIR: "is a folder, a file is wanted: move it away",
    errno.ENOTDIR: "stands inside something that is no folder",
    errno.ELOOP: "is a link that leads round in a circle: put the file in its place",
}


class Broken:
    """A file that is there and can't be used. ``data`` None: it can't even be read."""

    def __init__(self, file: str, data: bytes | None, problem: Problem) -> None:
        self.file = file
        self.data = data
        self.problems = (problem,)


Doc = CsvFile | TomlFile | TrackDoc | Broken
"""One file of the folder as it was read."""


def why(error: OSError) -> str:
    """What the system says, in words that end a sentence."""
    if isinstance(error, AstrayError):
        return str(error.strerror)
    return _WHY.get(error.errno or 0) or f"can't be read: {(error.strerror or str(error)).lower()}"


def file_names(folder: Path) -> list[str]:
    """The contract's files, there or not, and the car files there are. Raises FolderError for no folder."""
    try:
        inside = {entry.name for entry in os.scandir(folder)}
    except FileNotFoundError:
        raise FolderError(f"{folder}: there is no such folder") from None
    except NotADirectoryError:
        raise FolderError(f"{folder}: is no folder; an event is a folder with event.toml in it") from None
    except OSError as error:
        raise FolderError(f"{folder}: {why(error)}") from None
    known = ["event.toml", *ROWS, "checklist.toml"]
    return [*known, *(_cars(folder) if "cars" in inside else [])]


def _cars(folder: Path) -> list[str]:
    try:
        names = sorted(entry.name for entry in os.scandir(folder / "cars"))
    except OSError:
        return []
    return [f"cars/{name}" for name in names if name.endswith(".toml") and not name.startswith(".")]


def read_bytes(folder: Path, file: str) -> bytes | None:
    """The bytes of a file of the folder (of a track its mark), None where it isn't there. Raises FileFault."""
    if not belongs(file):
        raise FileFault(file, 0, "rename it: this name can't stand on every system, so it is not read")
    try:
        path = inside(folder, file)
        data = data_of(path) if is_track(file) else disk.read(path, most_bytes(file))
    except OSError as error:
        raise FileFault(file, 0, why(error)) from None
    if data is None and path.is_symlink():
        raise FileFault(file, 0, "is a link to a file that isn't there: put the file in its place")
    return data


def parse(file: str, data: bytes) -> Doc:
    """The file of these bytes, broken or not."""
    if is_track(file):
        return TrackDoc(file, data.decode().removeprefix("track:"))
    try:
        return CsvFile.parse(file, data) if file in ROWS else TomlFile.parse(file, data)
    except FileFault as fault:
        return Broken(file, data, fault.problem)


def read_docs(folder: Path) -> dict[str, Doc]:
    """Every file there is. Raises FolderError for no folder."""
    with no_collecting():
        found = ((file, read_doc(folder, file)) for file in file_names(folder))
        return {file: doc for file, doc in found if doc is not None}


def read_doc(folder: Path, file: str) -> Doc | None:
    """The file as it is now, None where it isn't there."""
    try:
        data = read_bytes(folder, file)
    except FileFault as fault:
        return Broken(file, None, fault.problem)
    return None if data is None else parse(file, data)


@contextmanager
def no_collecting() -> Iterator[None]:
    """Thousands of rows made and none dropped: the collector would look through them for nothing, at a third
    of the reading time."""
    was = gc.isenabled()
    gc.disable()
    try:
        yield
    finally:
        if was:
            gc.enable()


def assemble(name: str, docs: Mapping[str, Doc], more: Sequence[Problem] = ()) -> RawFolder:
    """The folder of its files. ``more``: problems found beside them."""
    missing = [
        Problem(file, 0, f"is missing: an event needs {', '.join(REQUIRED[:-1])} and {REQUIRED[-1]}")
        for file in REQUIRED
        if file not in docs
    ]
    problems = [problem for doc in docs.values() for problem in doc.problems]
    models = {file: doc.model for file, doc in docs.items() if isinstance(doc, TomlFile)}
    tables = {file: doc.rows for file, doc in docs.items() if isinstance(doc, CsvFile)}
    cars = {
        file.removeprefix("cars/").removesuffix(".toml"): model
        for file, model in models.items()
        if isinstance(model, Car)
    }
    settings = models.get("event.toml")
    return RawFolder(
        name=name,
        settings=settings if isinstance(settings, Settings) else None,
        tables=tables,
        present=frozenset(docs),
        cars=cars,
        checklists=cast("Mapping[str, tuple[str, ...]]", models.get("checklist.toml") or {}),
        problems=(*missing, *problems, *more),
    )


def read(path: Path) -> RawFolder:
    """The folder at ``path``. Raises FolderError where it isn't there, is no folder or may not be read."""
    return assemble(path.resolve().name, read_docs(path))

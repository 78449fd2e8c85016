"""Durable writes: a temporary file beside the target, fsync, replace, fsync of the directory."""

from __future__ import annotations

import contextlib
import errno
import os
import stat
import sys
import time
import unicodedata
from collections.abc import Callable, Iterable, Iterator
from pathlib import Path

from paddock.errors import Problem, SaveError, UsageError

DOCUMENTS = ("event.toml", "checklist.toml")
_MOST_TABLE = 8_000_000
_MOST_DOCUMENT = 400_000
_DEVICES = {"con", "prn", "aux", "nul", *(f"{kind}{digit}" for kind in ("com", "lpt") for digit in range(1, 10))}
_BAD = set('<>:"|?*\\')
_UNSEEN = {"Cc", "Cf", "Cs", "Zl", "Zp"}


class AstrayError(OSError):
    """A place that leads out of the folder, or where no file stands; ``strerror`` ends a sentence."""

    def __init__(self, why: str) -> None:
        super().__init__(None, why)


def is_table(file: str) -> bool:
    """The name of a CSV file of an event."""
    from paddock.model.rows import ROWS  # the first paint does without

    return file in ROWS


def is_document(file: str) -> bool:
    """The name of a TOML file of an event: ``event.toml``, ``checklist.toml``, ``cars/<name>.toml``."""
    return file in DOCUMENTS or (file.endswith(".toml") and _plain_in("cars", file))


def belongs(file: str) -> bool:
    """The name of a file that the program reads and writes as the event's: a table, a document, ``tracks/<name>``."""
    return is_table(file) or is_document(file) or _plain_in("tracks", file)


def most_bytes(file: str) -> int:
    """The size from which a file is refused before it is read: far above any event, and what memory can bear."""
    return _MOST_TABLE if is_table(file) else _MOST_DOCUMENT


def _plain_in(place: str, file: str) -> bool:
    return file.startswith(f"{place}/") and file.count("/") == 1 and portable(file)


def portable(path: str) -> bool:
    """A relative path with forward slashes that stays below its folder, needs no dotted name and can stand on every
    system."""
    return all(_part(part) for part in path.split("/"))


def folded(path: str) -> str:
    """Paths that fold alike are one file on systems that pass over case or the spelling of accents."""
    return unicodedata.normalize("NFC", path).casefold()


def _part(part: str) -> bool:
    if not part or part.startswith(".") or part != part.rstrip(". "):
        return False
    if any(char in _BAD or unicodedata.category(char) in _UNSEEN for char in part):
        return False
    return len(part.encode()) <= 255 and part.partition(".")[0].rstrip().casefold() not in _DEVICES


def typed(text: str) -> Path:
    """A path as a person wrote it. Raises UsageError, with the reason, where it can be none."""
    if not text.isprintable():
        raise UsageError("a path holds no control characters")
    whole = os.path.expanduser(text)
    if whole.startswith("~"):
        raise UsageError(f"there is no user {text[1:].split('/', maxsplit=1)[0]!r} here: write the whole path")
    longest = max((len(part.encode("utf-8", "replace")) for part in whole.split("/")), default=0)
    if longest > 255 or len(whole) > 4000:
        raise UsageError("that is longer than a path can be")
    return Path(whole)


def inside(folder: Path, file: str) -> Path:
    """Where a file lies. Raises AstrayError where a link on the way leads outside the folder."""
    path = folder
    for part in file.split("/"):
        path = path / part
        if path.is_symlink() and not Path(os.path.realpath(path)).is_relative_to(os.path.realpath(folder)):
            raise AstrayError("is a link that leads outside the folder: put the file itself in its place")
    return path


def may_go_into(folder: Path, place: str) -> bool:
    """``place`` is a folder of this folder's own, no link."""
    try:
        return stat.S_ISDIR(os.lstat(folder / place).st_mode)
    except OSError:
        return False


def kept(folder: Path, name: str) -> Path:
    """A file the program keeps for itself, in ``.paddock``. Raises AstrayError for a link or what is no file."""
    path = folder / ".paddock"
    for place, wanted in ((path, stat.S_ISDIR), (path / name, stat.S_ISREG)):
        try:
            found = os.lstat(place).st_mode
        except FileNotFoundError:
            break
        if not wanted(found):
            raise AstrayError(f"{place.relative_to(folder)} is a link or another thing that does not belong there")
    return path / name


TEMP_MARK = ".paddock-new"
"""Temporary files are hidden, named ``.<target>.<process>.paddock-new``; a killed program's are swept away later."""

MERGE_MARK = "merge-begun"
"""In ``.paddock`` while a merge replaces files: the list of conflicts as it was before."""
_CHUNK = 1 << 20
_TRIES = 20
_PAUSE_S = 0.1

_WHY = {
    errno.ENOSPC: "there is no space left on the disk",
    errno.EDQUOT: "the disk quota is used up",
    errno.EROFS: "the disk can only be read",
    errno.EACCES: "the permission to write is missing",
    errno.EPERM: "the permission to write is missing",
    errno.ENOENT: "the folder is gone",
    errno.ENOTDIR: "the folder is gone",
    errno.EIO: "the disk gave an error",
    errno.ENODEV: "the disk is gone",
    errno.ENXIO: "the disk is gone",
    errno.EISDIR: "a folder stands in its place",
}


class MovedError(Exception):
    """The target is not what it was expected to be; nothing was written. Never leaves the store."""


def save_error(file: str, error: OSError) -> SaveError:
    """The sentence for a write that failed."""
    return SaveError(f"{file} is not saved: {_WHY.get(error.errno or 0) or (error.strerror or str(error)).lower()}")


def read(path: Path, most: int = 0) -> bytes | None:
    """The bytes of a file, None where it isn't there. Raises OSError; AstrayError for a pipe, a device or the like and,
    before anything is read, for more than ``most`` bytes (0: however large)."""
    try:
        _plain(os.stat(path), most)
        handle = os.open(path, os.O_RDONLY | getattr(os, "O_BINARY", 0) | getattr(os, "O_NONBLOCK", 0))
    except FileNotFoundError:
        return None
    try:
        _plain(os.fstat(handle), most)
        file = os.fdopen(handle, "rb")
    except BaseException:
        os.close(handle)
        raise
    with file:
        data = file.read(most + 1 if most else -1)
    if most and len(data) > most:
        raise AstrayError(_too_large(len(data), most))
    return data


@contextlib.contextmanager
def held(path: Path) -> Iterator[Callable[[], bytes | None]]:
    """The file that stands there now, to be read again when another has its name: what was written into it until then.
    None where there was none, or the system lets no file be replaced that is held."""
    handle = None
    with contextlib.suppress(OSError):
        if sys.platform != "win32":
            handle = os.open(path, os.O_RDONLY | os.O_NONBLOCK)

    def again() -> bytes | None:
        return None if handle is None else os.pread(handle, os.fstat(handle).st_size + 1, 0)

    try:
        yield again
    finally:
        if handle is not None:
            os.close(handle)


def _plain(found: os.stat_result, most: int) -> None:
    if stat.S_ISDIR(found.st_mode):
        raise IsADirectoryError(errno.EISDIR, os.strerror(errno.EISDIR))
    if not stat.S_ISREG(found.st_mode):
        raise AstrayError("is a pipe or a device, a file is wanted: move it away")
    if most and found.st_size > most:
        raise AstrayError(_too_large(found.st_size, most))


def _too_large(size: int, most: int) -> str:
    return f"has {size / 1e6:,.1f} MB and is not read: {most / 1e6:g} MB is the most; bring back the right file"


def _write_all(handle: int, data: bytes) -> None:
    view = memoryview(data)
    while view:
        view = view[os.write(handle, view) :]


def _mode_of(target: Path) -> int:
    try:
        return os.stat(target).st_mode & 0o777
    except OSError:
        return 0o666


def replace(target: Path, data: bytes, still: Callable[[], bool] | None = None) -> None:
    """Puts ``data`` in the target's place: after this returns it is on the disk; before, the old is there whole.

    ``still`` is asked just before the replace; False raises MovedError. A link is followed to its file. The
    target's permissions stay. Raises OSError; the temporary file is then gone.
    """
    _put(target, (data,), still)


def copy(source: Path, target: Path, still: Callable[[], bool] | None = None) -> None:
    """``replace`` with the bytes of a file too large to hold."""
    with source.open("rb") as file:
        _put(target, iter(lambda: file.read(_CHUNK), b""), still)


def _put(target: Path, data: Iterable[bytes], still: Callable[[], bool] | None) -> None:
    target = Path(os.path.realpath(target)) if target.is_symlink() else target
    temp = target.with_name(f".{target.name}.{os.getpid()}{TEMP_MARK}")
    try:
        _write_new(temp, data, target)
        if still is not None and not still():
            raise MovedError
        _swap(temp, target)
    except BaseException:
        with contextlib.suppress(OSError):
            os.unlink(temp)
        raise
    sync_folder(target.parent)


def _write_new(temp: Path, data: Iterable[bytes], target: Path) -> None:
    mode = _mode_of(target)
    flags = os.O_WRONLY | os.O_CREAT | os.O_TRUNC | getattr(os, "O_BINARY", 0) | getattr(os, "O_NOFOLLOW", 0)
    handle = os.open(temp, flags, mode)
    try:
        if hasattr(os, "fchmod") and mode != 0o666:
            with contextlib.suppress(OSError):
                os.fchmod(handle, mode)
        for chunk in data:
            _write_all(handle, chunk)
        os.fsync(handle)
    finally:
        os.close(handle)


def _swap(temp: Path, target: Path) -> None:
    """``os.replace``; on Windows another program may hold the target for a moment, so it is tried for 2 s."""
    for left in reversed(range(_TRIES if sys.platform == "win32" else 1)):
        try:
            os.replace(temp, target)
            return
        except PermissionError:
            if not left:
                raise
            time.sleep(_PAUSE_S)


def remove(target: Path) -> None:
    """Takes a file away, durably; one that isn't there is fine. Raises OSError."""
    try:
        os.unlink(target)
    except FileNotFoundError:
        if os.path.lexists(target):  # a share that lost it for a moment
            raise
    sync_folder(target.parent)


def sync_folder(folder: Path) -> None:
    """Makes names in a folder durable, where the system has that. Raises OSError."""
    if sys.platform == "win32":
        return
    handle = os.open(folder, os.O_RDONLY | getattr(os, "O_DIRECTORY", 0))
    try:
        os.fsync(handle)
    except OSError as error:
        if error.errno not in (errno.EINVAL, errno.ENOTSUP, errno.ENOSYS):
            raise
    finally:
        os.close(handle)


def append(path: Path, data: bytes, sync: bool = True) -> None:
    """Appends to a file, on the disk when it returns (``sync``). A torn last line is closed first. Raises OSError."""
    new = not path.exists()
    handle = os.open(path, os.O_RDWR | os.O_CREAT | getattr(os, "O_BINARY", 0), 0o666)
    try:
        end = os.lseek(handle, 0, os.SEEK_END)
        if end:
            os.lseek(handle, end - 1, os.SEEK_SET)
            data = data if os.read(handle, 1) == b"\n" else b"\n" + data
        os.lseek(handle, end, os.SEEK_SET)
        _append_whole(handle, end, data)
        if sync:
            os.fsync(handle)
    finally:
        os.close(handle)
    if new and sync:
        sync_folder(path.parent)


def _append_whole(handle: int, end: int, data: bytes) -> None:
    """All of it or, where the disk fills up, nothing."""
    try:
        _write_all(handle, data)
    except OSError:
        with contextlib.suppress(OSError):
            os.ftruncate(handle, end)
        raise


def strays(folder: Path) -> list[Path]:
    """Temporary files that a killed program left, or that one is writing just now."""
    places = {folder, *(folder / place for place in ("cars", "tracks", ".paddock") if may_go_into(folder, place))}
    if (folder / ".paddock" / MERGE_MARK).exists():  # a merge writes into every folder that is in the event's
        places |= {Path(place) for place, _, _ in os.walk(folder)}
    return [path for place in sorted(places) for path in place.glob(f".*{TEMP_MARK}")]


def sweep(folder: Path) -> list[Path]:
    """Takes away temporary files a killed program left; gives those it took."""
    left = strays(folder)
    for path in left:
        with contextlib.suppress(OSError):
            path.rmdir() if path.is_dir() else path.unlink()
    return left


BOM = "\ufeff"
_CONTROL = bytes(code for code in (*range(32), 127) if code not in b"\t\r\n")


class FileFault(Exception):  # noqa: N818
    """A file that can't be used at all; ``problem`` says why. Never leaves the store."""

    def __init__(self, file: str, line: int, message: str) -> None:
        super().__init__(message)
        self.problem = Problem(file, line, message)


def line_at(data: bytes) -> int:
    """The line number (from 1) on which the byte after ``data`` stands."""
    return data.count(b"\n") + data.count(b"\r") - data.count(b"\r\n") + 1


_AS_UTF8 = 'save it again as UTF-8 (in the editor\'s "save as", encoding UTF-8)'


def _undecodable(file: str, data: bytes, error: UnicodeDecodeError) -> FileFault:
    if data[:2] in (b"\xff\xfe", b"\xfe\xff"):
        return FileFault(file, 0, f"is UTF-16 text: {_AS_UTF8}")
    line = line_at(data[: error.start])
    if error.reason == "unexpected end of data":
        return FileFault(file, line, "is cut off in the middle of a letter: bring back a whole copy")
    return FileFault(file, line, f"is not UTF-8 text (byte {data[error.start]:02x}): {_AS_UTF8}")


def decode(file: str, data: bytes) -> str:
    """The whole text, byte-order mark included. Raises FileFault for empty, binary or foreign bytes."""
    if not data.removeprefix(b"\xef\xbb\xbf").strip():
        said = "is empty: if the folder is being synced, wait for the rest; else bring back a copy, or delete it and"
        raise FileFault(file, 0, f"{said} let the program write it anew")
    try:
        text = data.decode("utf-8")
    except UnicodeDecodeError as error:
        raise _undecodable(file, data, error) from None
    if len(data.translate(None, _CONTROL)) != len(data):
        at = next(place for place, code in enumerate(data) if code in _CONTROL)
        line = line_at(data[:at])
        raise FileFault(
            file, line, f"holds a control character (byte {data[at]:02x}) and is no text: mend or replace it"
        )
    return text

"""The joined folder written: at any moment of it no value of either copy is lost, and once more goes on from there."""

from __future__ import annotations

import contextlib
from collections.abc import Iterator, Mapping
from pathlib import Path

from paddock.errors import LockedError, Problem, SaveError
from paddock.store import aside, disk
from paddock.store.merge import CONFLICTS, Content, content_of
from paddock.store.places import inside, kept

_LOCK_WAIT_S = 5.0


def begun(folder: Path) -> Path | None:
    """The list of conflicts from before a merge that was broken off; None where none was."""
    try:
        mark = kept(folder, disk.MERGE_MARK)
    except OSError:
        return None
    return mark if mark.is_file() else None


def broken_off(folder: Path) -> tuple[Problem, ...]:
    """What ``check`` says of a merge that was not finished."""
    why = (
        f"a merge into this folder was broken off: merge once more, or delete .paddock/{disk.MERGE_MARK} to leave it so"
    )
    return (Problem(CONFLICTS, 0, why, "warning"),) if begun(folder) else ()


def write(target: Path, made: Mapping[str, bytes], copied: Mapping[str, Content], known: Mapping[str, str]) -> None:
    """Puts the joined files into ``target``, each whole or not at all; the list of conflicts and the names that are new
    come first, so that what is replaced stands elsewhere already. A new folder is put in its place in one step.

    ``known``: digests of the target's own files as they were read; one that changed since stops the merge.
    Raises LockedError, SaveError.
    """
    try:
        if not known:
            with aside.built(target) as draft:
                _put(draft, made, copied, known)
            return
        if not made and not copied and begun(target) is None:
            return
        with _locked(target):
            _mark(target)
            disk.sweep(target)
            _put(target, made, copied, known)
            disk.remove(kept(target, disk.MERGE_MARK))
    except disk.MovedError:
        raise SaveError(f"{target}: a file changed while it was joined; merge once more") from None
    except aside.InTheWayError:
        raise SaveError(f"{target} is there already and not empty: choose another name") from None
    except OSError as error:
        raise disk.save_error(str(target), error) from None


def _mark(target: Path) -> None:
    """What this merge lists is no choice made by hand: the list from before is kept till it is through."""
    if begun(target) is None:
        disk.replace(kept(target, disk.MERGE_MARK), disk.read(inside(target, CONFLICTS)) or b"")


def _put(folder: Path, made: Mapping[str, bytes], copied: Mapping[str, Content], known: Mapping[str, str]) -> None:
    for file in sorted({*made, *copied}, key=lambda file: (file != CONFLICTS, file in known, file)):
        place = inside(folder, file)
        place.parent.mkdir(parents=True, exist_ok=True)

        def as_read(place: Path = place, file: str = file) -> bool:
            return known.get(file) == _digest(place)

        if file in made:
            disk.replace(place, made[file], as_read)
        else:
            disk.copy(copied[file].path, place, as_read)


def _digest(place: Path) -> str | None:
    return content_of(place).digest if place.exists() else None


@contextlib.contextmanager
def _locked(folder: Path) -> Iterator[None]:
    """The lock an open event saves under."""
    import filelock

    place = kept(folder, "lock")
    place.parent.mkdir(exist_ok=True)
    lock = filelock.FileLock(place, timeout=_LOCK_WAIT_S, poll_interval=0.01)
    try:
        lock.acquire()
    except filelock.Timeout:
        raise LockedError(f"{folder}: another copy of the program is writing") from None
    try:
        yield
    finally:
        lock.release()

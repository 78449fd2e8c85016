"""A whole event written to another place, when its own can't be written any more."""

from __future__ import annotations

import contextlib
import shutil
from pathlib import Path

from paddock.errors import RefusedError
from paddock.store import disk
from paddock.store.aside import InTheWayError, built
from paddock.store.places import kept
from paddock.store.steps import Docs
from paddock.store.trackdoc import TrackDoc


def write(target: Path, docs: Docs, source: Path) -> None:
    """The files as they are in memory; others of the old folder are copied where they can still be read.

    Raises RefusedError where something is in the way, SaveError where the place can't be written either.
    """
    try:
        with built(target) as draft:
            _copy_others(source, draft, docs)
            for file, doc in docs.items():
                if isinstance(doc, TrackDoc):
                    (draft / file).parent.mkdir(exist_ok=True)
                    copy = kept(source, f"track-{doc.digest}")
                    disk.copy(copy if copy.exists() else source / file, draft / file)
                elif doc.data is not None:
                    (draft / file).parent.mkdir(exist_ok=True)
                    disk.replace(draft / file, doc.data)
    except InTheWayError:
        raise RefusedError(f"{target} is {'not empty' if target.is_dir() else 'a file'}: choose a new folder") from None
    except OSError as error:
        raise disk.save_error(str(target), error) from None


def _copy_others(source: Path, target: Path, docs: Docs) -> None:
    with contextlib.suppress(OSError):
        for path in sorted(source.rglob("*")):
            name = path.relative_to(source)
            if (
                path.is_symlink()
                or ".paddock" in name.parts
                or name.as_posix() in docs
                or target in (path, *path.parents)
            ):
                continue
            with contextlib.suppress(OSError):
                if path.is_file():
                    (target / name).parent.mkdir(parents=True, exist_ok=True)
                    shutil.copy2(path, target / name)

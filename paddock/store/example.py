"""The example event that ships with the program, copied to where it may be written to."""

from __future__ import annotations

import shutil
from pathlib import Path

import paddock
from paddock.store.fresh import new_folder


def example_folder() -> Path:
    """Where the example lies: in the installed package, or beside it in a checkout."""
    here = Path(paddock.__file__).parent
    packed = here / "example_event"
    return packed if packed.is_dir() else here.parent / "example_event"


def folder_description() -> str:
    """The page that describes every file, column and key: in the installed package, or in the docs of a checkout."""
    here = Path(paddock.__file__).parent
    packed = here / "data" / "event-folder.md"
    return (packed if packed.is_file() else here.parent / "docs" / "event-folder.md").read_text(encoding="utf-8")


def copy_example(into: Path | None = None) -> Path:
    """A copy to try things on, made once; ``into`` None: the user's data folder. Raises FolderError."""
    from platformdirs import user_data_path

    target = into or user_data_path("paddock") / "example_event"
    if (target / "event.toml").exists():
        return target
    with new_folder(target) as draft:
        shutil.copytree(example_folder(), draft, dirs_exist_ok=True)
    return target

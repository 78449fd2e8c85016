"""``paddock export``: the folder as a zip with checksums, or as tables; and a zip read back."""

from __future__ import annotations

from argparse import ArgumentParser, Namespace
from pathlib import Path
from typing import TYPE_CHECKING

from paddock.clean import clean
from paddock.commands.common import Answer, add_folder
from paddock.errors import UsageError

if TYPE_CHECKING:
    from paddock.store.archive import Packed

HELP = "Zip an event folder with a manifest and checksums; write its tables for analysis; read such a zip back."
EXAMPLES = (
    "paddock export example_event",
    "paddock export example_event -o backup.zip",
    "paddock export example_event --parquet tables --xlsx tables.xlsx",
    "paddock export --unpack backup.zip -o new_folder",
)


def configure(parser: ArgumentParser) -> None:
    """What to export and where to."""
    add_folder(parser, "the event folder (default: the current one); a zip with --unpack")
    parser.add_argument("-o", "--output", type=Path, metavar="ZIP", help="the zip (default: beside the folder)")
    parser.add_argument("--parquet", type=Path, metavar="DIR", help="also write every table there as Parquet")
    parser.add_argument("--xlsx", type=Path, metavar="FILE", help="also write every table to a spreadsheet file")
    parser.add_argument("--unpack", action="store_true", help="read the zip back into a new folder (-o), proved")


def run(args: Namespace) -> Answer:
    """``file``, ``files`` (the paths in the zip) and the zip's ``sha256``."""
    return _unpack(args) if args.unpack else _pack(args)


def _beside(folder: Path, suffix: str) -> Path:
    home = folder.resolve()
    return home.parent / f"{home.name}{suffix}"


def _pack(args: Namespace) -> Answer:
    from paddock.store.archive import pack

    written = _write_tables(args)
    packed = pack(args.folder, args.output or _beside(args.folder, ".zip"))
    data = {"file": f"{packed.file}", "files": [item.path for item in packed.members], "sha256": packed.sha256}
    return Answer(data, lambda: _text(packed, written))


def _text(packed: Packed, written: list[str]) -> str:
    from paddock.render.plain import table

    rows = [[item.path, f"{item.size}", item.sha256[:16]] for item in packed.members]
    lines = [
        f"{clean(str(packed.file))}, {packed.file.stat().st_size} bytes",
        f"sha256 {packed.sha256}",
        "",
        table(("file", "bytes", "sha256 begins"), rows, right=(1,)),
    ]
    lines += [f"left out, no plain file: {clean(name)}" for name in packed.left_out]
    return "\n".join([*lines, *(f"written: {clean(line)}" for line in written)])


def _write_tables(args: Namespace) -> list[str]:
    if args.parquet is None and args.xlsx is None:
        return []
    from paddock.session.loading import load, need_polars
    from paddock.store.tables_out import event_frames, write_parquet, write_spreadsheet

    need_polars("writing tables")
    frames = event_frames(load(args.folder))
    written = []
    if args.parquet is not None:
        written += [f"{path}" for path in write_parquet(frames, args.parquet)]
    if args.xlsx is not None:
        write_spreadsheet(frames, args.xlsx)
        written.append(f"{args.xlsx}")
    return written


def _unpack(args: Namespace) -> Answer:
    from paddock.store.archive import unpack

    if args.parquet is not None or args.xlsx is not None:
        raise UsageError("--unpack reads a zip back and writes no tables: leave --parquet and --xlsx out")
    target = args.output or _beside(args.folder, "").with_suffix("")
    members = unpack(args.folder, target)
    data = {"file": f"{args.folder}", "files": [item.path for item in members], "sha256": _sum(args.folder)}
    return Answer(data, lambda: f"{clean(str(target))}: {len(members)} files, each as the manifest says")


def _sum(path: Path) -> str:
    import hashlib

    with path.open("rb") as source:
        return hashlib.file_digest(source, "sha256").hexdigest()

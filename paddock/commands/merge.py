"""``paddock merge``: two devices' copies of one event folder joined."""

from __future__ import annotations

from argparse import ArgumentParser, Namespace
from collections.abc import Iterator
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING

from paddock.commands.common import Answer

if TYPE_CHECKING:
    from paddock.folders.merging import Merged

HELP = (
    "Join two copies of an event folder. The result goes into A, or with --into into C; B is only read. "
    "Nothing is deleted; where the copies differ one value is kept and the other listed in merge-conflicts.csv."
)
EXAMPLES = (
    "paddock merge may may-from-tablet",
    "paddock merge may may-from-tablet --into may-joined --json",
    "paddock merge may may --copies",
)
_SHOWN = 20


def configure(parser: ArgumentParser) -> None:
    """Two folders, and where the result goes."""
    parser.add_argument("a", type=Path, metavar="A", help="an event folder; takes the result unless --into is given")
    parser.add_argument("b", type=Path, metavar="B", help="another copy of it")
    parser.add_argument("--into", type=Path, metavar="C", help="a new folder, or a third copy, that takes the result")
    parser.add_argument(
        "--copies", action="store_true", help="also take in second copies a sync program left inside the folders"
    )


def run(args: Namespace) -> Answer:
    """Join, write, and say what came of it."""
    from paddock.folders.merging import merge_folders
    from paddock.store.folder import no_collecting

    with no_collecting():
        merged = merge_folders(args.a, args.b, args.into, args.copies)
    data = {
        "added": merged.added,
        "updated": merged.updated,
        "conflicts": [
            *(
                {"file": clash.file, "row": clash.row, "column": clash.column, "a": clash.pair[0], "b": clash.pair[1]}
                for clash in merged.clashes
            ),
            *({"file": file, "row": "", "column": "", "a": "the file", "b": name} for file, name in merged.beside),
        ],
    }
    return Answer(data, partial(_text, merged))


def _text(merged: Merged) -> str:
    from paddock.clean import clean

    return "\n".join(clean(line) for line in _lines(merged))


def _lines(merged: Merged) -> Iterator[str]:
    from paddock.words import plural

    if merged.files:
        yield f"{merged.target}: {merged.added} added, {merged.updated} changed; written: {', '.join(merged.files)}"
    else:
        yield f"{merged.target}: nothing to add, nothing to change"
    if merged.conflicts:
        cells = len(merged.clashes)
        of_them = "" if not cells else "listed" if cells == merged.conflicts else f"{cells} of them listed"
        listed = f", {of_them} in merge-conflicts.csv" if of_them else ""
        yield f"{plural(merged.conflicts, 'conflict')}{listed}:"
    for clash in merged.clashes[:_SHOWN]:
        place = " ".join(filter(None, (clash.file, clash.row, clash.column)))
        others = ", ".join(other or "blank" for other in clash.others)
        yield f"  {place}: {clash.kept or 'blank'} is kept, {others} is the other"
    if len(merged.clashes) > _SHOWN:
        yield f"  and {len(merged.clashes) - _SHOWN} more"
    for file, name in merged.beside:
        yield f"  {file} could not be joined whole: the other content stands in {name}"
    for stray in merged.strays:
        news = f"{plural(stray.news, 'place')} to bring in with --copies" if stray.news else "nothing new in it"
        yield f"{stray.path} looks like a second copy of {stray.file}: {news}"

"""Open the screens."""

from __future__ import annotations

import contextlib
import os
import sys
from pathlib import Path


def run(folder: Path | None) -> int:
    """Show the screens on an event folder, or the first-run page; returns the exit code."""
    os.environ.setdefault("TEXTUAL_ANIMATIONS", "none")
    from paddock.render.clean import clean
    from paddock.store.personal import read_personal
    from paddock.tui.app import PaddockApp

    app = PaddockApp(folder, personal=read_personal())
    app.run()
    for said in app.farewell:
        with contextlib.suppress(OSError):
            print(f"paddock: {clean(said)}", file=sys.stderr, flush=True)
    return app.return_code or (3 if app.farewell else 0)

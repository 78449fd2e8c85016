"""Other hands seen at work: by the system's file events, else by looking every two seconds."""

from __future__ import annotations

import contextlib
import threading
from collections.abc import Callable
from pathlib import Path
from typing import Any

from paddock.errors import FolderError
from paddock.store.disk import TEMP_MARK
from paddock.store.folder import file_names

POLL_S = 2.0


class Watch:
    """Calls ``callback`` from a thread of its own after a file of the event may have changed, until ``stop``.

    ``polling``: file events can't be had here. Own writes call back too: whoever looks finds nothing new then.
    """

    def __init__(
        self, folder: Path, callback: Callable[[], object], poll_s: float = POLL_S, events: bool = True
    ) -> None:
        self.callback = callback
        self._folder = folder
        self._poll_s = poll_s
        self._over = threading.Event()
        self._before = _stamps(folder)
        self._observer = self._observed() if events else None
        self.polling = self._observer is None
        if self.polling:
            threading.Thread(target=self._look_again, name="paddock-watch", daemon=True).start()

    def stop(self) -> None:
        """Stops calling."""
        self._over.set()
        if self._observer is not None:
            self._observer.stop()
            self._observer.join(2.0)

    def _observed(self) -> Any:
        """A running observer, None where the system gives no events (network drives, no more watches)."""
        from watchdog.observers import Observer
        from watchdog.observers.polling import PollingObserver

        observer = Observer()
        if isinstance(observer, PollingObserver):
            return None
        try:
            self._schedule(observer, self._folder)
            self._schedule(observer, self._folder / "cars")
            observer.start()
        except (OSError, RuntimeError):
            return None
        return observer

    def _schedule(self, observer: Any, place: Path) -> None:
        if place.is_dir():
            observer.schedule(_Handler(self._saw), str(place), recursive=False)

    def _saw(self, path: str, made: bool) -> None:
        name = Path(path).name
        if made and name == "cars" and self._observer is not None:
            with contextlib.suppress(OSError, RuntimeError):
                self._schedule(self._observer, self._folder / "cars")
        if not self._over.is_set() and not name.endswith(TEMP_MARK) and name not in (".paddock", self._folder.name):
            self.callback()

    def _look_again(self) -> None:
        while not self._over.wait(self._poll_s):
            now = _stamps(self._folder)
            if now != self._before:
                self._before = now
                self.callback()


def _Handler(saw: Callable[[str, bool], None]) -> Any:  # noqa: N802
    from watchdog.events import FileSystemEvent, FileSystemEventHandler

    class Handler(FileSystemEventHandler):
        """Passes on what changes a file; opening and reading do not."""

        def on_any_event(self, event: FileSystemEvent) -> None:
            if event.event_type in ("created", "modified", "deleted", "moved"):
                made = event.event_type == "created"
                saw(str(getattr(event, "dest_path", "") or event.src_path), made)

    return Handler()


def _stamps(folder: Path) -> dict[str, tuple[int, int, int] | None]:
    try:
        names = file_names(folder)
    except FolderError:
        return {}
    return {name: _stamp(folder / name) for name in names}


def _stamp(path: Path) -> tuple[int, int, int] | None:
    try:
        found = path.stat()
    except OSError:
        return None
    return found.st_mtime_ns, found.st_size, found.st_ino

"""One event: loaded for reading, or open for edits that are saved, undone and shared."""

from paddock.session.loading import event_of, load
from paddock.session.opened import Saved, Session

__all__ = ["Saved", "Session", "event_of", "load"]

"""One event: loaded for reading, or open for edits that are saved, undone and shared."""

from paddock.session.loading import load

__all__ = ["load"]

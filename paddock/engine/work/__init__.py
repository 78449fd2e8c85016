"""Work on the cars: what a change makes one look at again, what is due and when, noises and faults.

``due`` is the list of the home screen; ``tick`` and ``log_fault`` give the edits.
"""

from paddock.engine.work.due import Due, due
from paddock.engine.work.logs import add_work, done_words, log_fault, note_found, tick, untick
from paddock.engine.work.rechecks import CAUTION, implied_work, rechecks_for, with_rechecks

__all__ = [
    "CAUTION", "Due", "add_work", "done_words", "due", "implied_work", "log_fault", "note_found", "rechecks_for",
    "tick", "untick", "with_rechecks",
]  # fmt: skip

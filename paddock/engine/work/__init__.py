"""Work on the cars: what a change makes one look at again, what is due (the list of the home screen) and when."""

from paddock.engine.work.due import Due, due
from paddock.engine.work.rechecks import CAUTION, implied_work, rechecks_for, with_rechecks

__all__ = ["CAUTION", "Due", "due", "implied_work", "rechecks_for", "with_rechecks"]

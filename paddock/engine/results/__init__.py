"""Posted results into the event: which column is what, what each cell says, and the edits that follow.

``propose`` a column map for a grid, ``understand`` the grid by it, make the ``edits``. Pure: a grid and an
event in, values out; what is doubtful or unreadable comes back in words and changes nothing.
"""

from paddock.engine.results.changes import Difference, Doubt, NewEntrant, Posted, Understood, Unread, edits
from paddock.engine.results.headers import ColumnMap, parse_map
from paddock.engine.results.propose import Remembered, choose, propose, remembered_form, signature
from paddock.engine.results.understand import default_day, understand

__all__ = [
    "ColumnMap",
    "Difference",
    "Doubt",
    "NewEntrant",
    "Posted",
    "Remembered",
    "Understood",
    "Unread",
    "choose",
    "default_day",
    "edits",
    "parse_map",
    "propose",
    "remembered_form",
    "signature",
    "understand",
]

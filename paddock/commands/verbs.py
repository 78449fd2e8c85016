"""Every verb of the command line: its module and what it does, without importing it."""

from __future__ import annotations

VERBS: dict[str, tuple[str, str]] = {
    "standings": ("standings", "every table: classes, index and raw, of a day or in total"),
    "gap": ("gap", "what one more run must be to lead class and index"),
    "next": ("next", "what to set the tyres to before the next run"),
    "air": ("air", "what a gauge will read at another temperature and altitude"),
    "effect": ("effect", "was it the change, the course or me?"),
    "chances": ("chances", "the chance to lead with the runs left"),
    "bar": ("bar", "what each pair of anti-roll bar holes is worth"),
    "gears": ("gears", "where to shift, and where to put the light"),
    "where": ("where", "where on the course the time went, element by element"),
    "track": ("track", "the track of a run: kept, and split by the course's elements"),
    "tyres": ("tyres", "runs, wear by edge, runs left, what to swap and buy"),
    "check": ("check", "every fault in a folder, with its mend"),
    "new": ("new", "a new event folder, fresh or carried from an old one"),
    "import": ("import_", "rivals' times from a file, a page or the clipboard"),
    "merge": ("merge", "join two devices' copies of a folder"),
    "debrief": ("debrief", "the day as one page to keep and share"),
    "export": ("export", "the folder as a zip with checksums"),
    "hindsight": ("hindsight", "what the program said over a directory of events, held against what came"),
    "season": ("season", "points, runs and changes over a directory of events"),
    "archive": ("archive", "season tables over many seasons, on this machine or on several"),
    "serve": ("serve", "the screens in a browser"),
    "describe": ("describe", "what a folder's files hold: for you, or as a schema for an editor"),
    "completion": ("completion", "completion for a shell"),
    "version": ("version", "the version"),
}

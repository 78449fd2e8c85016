"""Typed lines: what a hurried hand writes, read into values or answered with a sentence.

Pure text in, frozen values out; no screen and no event in here. Forgiving only where a line
can't be misread: a doubtful field is asked about, never guessed.
"""

from paddock.entry.pressures import PressureLine, read_pressures
from paddock.entry.runs import RivalLine, TypedRun, read_rival, read_run, read_time, write_run
from paddock.entry.said import Wrong

__all__ = [
    "PressureLine", "RivalLine", "TypedRun", "Wrong", "read_pressures", "read_rival", "read_run", "read_time",
    "write_run",
]  # fmt: skip

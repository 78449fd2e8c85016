"""Typed lines: what a hurried hand writes, read into values or answered with a sentence.

Pure text in, frozen values out; no screen and no event in here. Forgiving only where a line
can't be misread: a doubtful field is asked about, never guessed.
"""

from paddock.entry.pressures import PressureLine, read_pressures
from paddock.entry.rivals import RivalLine, read_rival
from paddock.entry.runs import RunLine, read_run, write_run
from paddock.entry.said import Wrong
from paddock.entry.times import read_time

__all__ = [
    "PressureLine", "RivalLine", "RunLine", "Wrong", "read_pressures", "read_rival", "read_run", "read_time",
    "write_run",
]  # fmt: skip

"""Bytes to text: UTF-8 with or without a byte-order mark; anything else is a fault of the file."""

from __future__ import annotations

from paddock.errors import Problem

BOM = "\ufeff"
_CONTROL = bytes(code for code in (*range(32), 127) if code not in b"\t\r\n")


class FileFault(Exception):  # noqa: N818
    """A file that can't be used at all; ``problem`` says why. Never leaves the store."""

    def __init__(self, file: str, line: int, message: str) -> None:
        super().__init__(message)
        self.problem = Problem(file, line, message)


def line_at(data: bytes) -> int:
    """The line number (from 1) on which the byte after ``data`` stands."""
    return data.count(b"\n") + data.count(b"\r") - data.count(b"\r\n") + 1


def _undecodable(file: str, data: bytes, error: UnicodeDecodeError) -> FileFault:
    if data[:2] in (b"\xff\xfe", b"\xfe\xff"):
        return FileFault(file, 0, "is UTF-16 text: save it again as UTF-8")
    line = line_at(data[: error.start])
    if error.reason == "unexpected end of data":
        return FileFault(file, line, "is cut off in the middle of a letter: bring back a whole copy")
    return FileFault(file, line, f"is not UTF-8 text (byte {data[error.start]:02x}): save it again as UTF-8")


def decode(file: str, data: bytes) -> str:
    """The whole text, byte-order mark included. Raises FileFault for empty, binary or foreign bytes."""
    if not data.removeprefix(b"\xef\xbb\xbf").strip():
        raise FileFault(file, 0, "is empty: bring back a copy, or delete it and let the program write it anew")
    try:
        text = data.decode("utf-8")
    except UnicodeDecodeError as error:
        raise _undecodable(file, data, error) from None
    if len(data.translate(None, _CONTROL)) != len(data):
        at = next(place for place, code in enumerate(data) if code in _CONTROL)
        line = line_at(data[:at])
        raise FileFault(
            file, line, f"holds a control character (byte {data[at]:02x}) and is no text: mend or replace it"
        )
    return text

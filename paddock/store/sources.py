"""A results source to grids: a CSV of any making, a saved page, text pasted from either, standard input.

Nothing is fetched and nothing in a page is run: scripts and styles are thrown away with their content.
"""

from __future__ import annotations

import codecs
import re
from collections.abc import Callable
from pathlib import Path
from typing import BinaryIO

from paddock.errors import FolderError, UsageError, missing
from paddock.model.rows import CellGrid
from paddock.store.plaintext import text_grids

LIMIT_BYTES = 20_000_000
"""Far above any table of results: a season of 200 cars is under 5 MB as a page."""

_MAGIC = (
    (b"PK\x03\x04", "a spreadsheet or zip file: save the sheet as CSV, or copy its cells and paste them"),
    (b"\xd0\xcf\x11\xe0", "an old spreadsheet file: save the sheet as CSV, or copy its cells and paste them"),
    (b"%PDF", "a PDF: open it, copy the table and paste it"),
    (b"\x1f\x8b", "a compressed file: unpack it first"),
    (b"\x89PNG", "a picture: type the times in by hand"),
    (b"\xff\xd8\xff", "a picture: type the times in by hand"),
)
_BOMS = ((codecs.BOM_UTF8, "utf-8-sig"), (codecs.BOM_UTF16_LE, "utf-16"), (codecs.BOM_UTF16_BE, "utf-16"))
_CHARSET = re.compile(rb"charset\s*=\s*[\"']?\s*([\w.:-]+)", re.IGNORECASE)
_CONTROL = bytes(code for code in (*range(32), 127) if code not in b"\t\r\n\x0b\x0c\x1a\xa0")
_PAGE = re.compile(r"<\s*(?:!doctype\s+html|html|table|tr|body|head|div|pre)\b", re.IGNORECASE)


def read_source(source: Path | str) -> list[CellGrid]:
    """The tables of a file (``Path``) or of a pasted text (``str``), in the order they stand.

    Raises UsageError for what holds no table, is binary or too large; FolderError when it can't be read.
    """
    if isinstance(source, Path):
        return read_bytes(_bytes_of(source), source.name)
    if len(source) > LIMIT_BYTES:
        raise UsageError(_too_large("the pasted text", len(source)))
    return _grids(source, "the pasted text")


def read_stream(stream: BinaryIO) -> list[CellGrid]:
    """The tables in what a stream such as standard input gives."""
    return read_bytes(stream.read(LIMIT_BYTES + 1), "the input")


def read_bytes(data: bytes, name: str) -> list[CellGrid]:
    """The tables in foreign bytes; ``name`` is what the sentences call them."""
    if len(data) > LIMIT_BYTES:
        raise UsageError(_too_large(name, len(data)))
    return _grids(decode_source(data, name), name)


def _too_large(name: str, size: int) -> str:
    limit = LIMIT_BYTES // 10**6
    return f"{name} has {size / 1e6:.0f} MB and can't be a table of results: the limit is {limit} MB"


def _bytes_of(path: Path) -> bytes:
    try:
        if not path.is_file():
            what = "is a folder, not a file" if path.is_dir() else "is not there, or is no plain file"
            raise UsageError(f"{path.name} {what}")
        size = path.stat().st_size
        if size > LIMIT_BYTES:
            raise UsageError(_too_large(path.name, size))
        with path.open("rb") as file:
            return file.read(LIMIT_BYTES + 1)
    except OSError as error:
        raise FolderError(f"{path.name} can't be read: {error.strerror or error}") from None


def decode_source(data: bytes, name: str) -> str:
    """Text of foreign bytes: by byte-order mark, by a page's own word, as UTF-8, else as Windows-1252."""
    if not data.strip():
        raise UsageError(f"{name} is empty")
    for magic, what in _MAGIC:
        if data.startswith(magic):
            raise UsageError(f"{name} is {what}")
    for encode in (_by_mark, _by_pattern, _by_charset, _by_default):
        text = encode(data)
        if text is not None:
            break
    else:
        raise UsageError(f"{name} is no text that can be read: it looks like a binary file")
    return text


def _try(data: bytes, encoding: str) -> str | None:
    try:
        return data.decode(encoding)
    except (UnicodeDecodeError, LookupError):
        return None


def _by_mark(data: bytes) -> str | None:
    encoding = next((name for mark, name in _BOMS if data.startswith(mark)), None)
    return _try(data, encoding) if encoding else None


def _by_pattern(data: bytes) -> str | None:
    """UTF-16 without its mark: every other byte of a table is zero."""
    head = data[:400]
    for at, encoding in ((1, "utf-16-le"), (0, "utf-16-be")):
        if len(head) >= 8 and head[at::2].count(0) > 0.4 * len(head) / 2 and head[1 - at :: 2].count(0) == 0:
            return _try(data[: len(data) // 2 * 2], encoding)
    return None


def _is_binary(data: bytes) -> bool:
    return len(data.translate(None, _CONTROL)) < len(data)


def _by_charset(data: bytes) -> str | None:
    if _is_binary(data) or b"<" not in data[:2048]:
        return None
    found = _CHARSET.search(data[:2048])
    encoding = found[1].decode("ascii", "replace").lower() if found else ""
    return _try(data, "cp1252" if encoding in ("iso-8859-1", "latin-1", "latin1", "us-ascii") else encoding)


def _by_default(data: bytes) -> str | None:
    if _is_binary(data):
        return None
    text = _try(data, "utf-8")
    return text if text is not None else data.decode("cp1252", "replace")


def _reader(text: str) -> Callable[[str], list[CellGrid]]:
    if "<" not in text or not _PAGE.search(text[:200_000]):
        return text_grids
    try:
        from paddock.store.pages import page_grids
    except ModuleNotFoundError as error:  # the parser is an extra: tables as CSV or pasted text need none
        why = missing(error)
        if why is None:
            raise
        raise UsageError(f"{why}; or copy the table and paste it, or save it as CSV") from None
    return page_grids


def _grids(text: str, name: str) -> list[CellGrid]:
    grids = _reader(text)(text)
    if not grids:
        raise UsageError(f"no table was found in {name}: it needs at least two rows of two cells")
    return grids

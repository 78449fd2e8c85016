"""A track file to fixes: GPX 1.1 (and 1.0), NMEA 0183, CSV. Read in pieces, so that 100 MB need no more memory than
their figures.

XML is taken without a document type, so without entities, and nothing is fetched. Times without a zone are UTC, as
GPX has them.
"""

from __future__ import annotations

import re
from array import array
from collections.abc import Callable, Iterator
from datetime import UTC, datetime
from pathlib import Path
from typing import TYPE_CHECKING, Any

from paddock.errors import FolderError, UsageError
from paddock.model.event import FASTEST_MPS, Track
from paddock.store.folder import MOST_BYTES

if TYPE_CHECKING:
    import polars as pl

Progress = Callable[[int], None]
_CHUNK = 1 << 20
_KNOT_MPS = 1852 / 3600
_NAN = float("nan")
_MAGIC = ((b"PK\x03\x04", "a zip or a spreadsheet"), (b"\x1f\x8b", "packed"), (b"%PDF", "a PDF"))


def read_track(path: Path, told: Progress = lambda _: None) -> Track:
    """The fixes of a file, by what is in it; ``told`` hears the bytes read. Raises UsageError, FolderError."""
    try:
        if not path.is_file():
            raise UsageError(f"{path.name} {'is a folder' if path.is_dir() else 'is not there'}: name a track file")
        size = path.stat().st_size
        if size > MOST_BYTES:
            raise UsageError(f"{path.name} has {size / 1e6:,.0f} MB, {MOST_BYTES / 1e6:g} MB is the most: cut it "
                             "to the day")  # fmt: skip
        with path.open("rb") as file:
            head = file.read(4096)
        _readable(path.name, head)
        start = head.removeprefix(b"\xef\xbb\xbf").lstrip()
        if start.startswith(b"<"):
            return _gpx(path, told)
        if re.match(rb"[$!](?:P|[A-Z]{2})[A-Z]{2,3},", start) or re.search(rb"\n\$G[A-Z]{4},", head):
            return _nmea(path, told)
        return _csv(path, told)
    except OSError as error:
        raise FolderError(f"{path.name} can't be read: {(error.strerror or str(error)).lower()}") from None


def _readable(name: str, head: bytes) -> None:
    if not head.strip():
        raise UsageError(f"{name} is empty")
    what = next((what for magic, what in _MAGIC if head.startswith(magic)), None)
    if what is not None:
        raise UsageError(f"{name} is {what}: give the track itself, as GPX, NMEA or CSV")
    if b"\x00" in head:
        raise UsageError(f"{name} is no text: give the track as GPX, NMEA or CSV")


def _chunks(path: Path, told: Progress) -> Iterator[bytes]:
    with path.open("rb") as file:
        while chunk := file.read(_CHUNK):
            yield chunk
            told(len(chunk))


def _frame(t: array[float], lat: array[float], lon: array[float], speed: array[float]) -> pl.DataFrame:
    import numpy as np
    import polars as pl

    columns = {"t_s": t, "lat": lat, "lon": lon, "speed_mps": speed}
    frame = pl.DataFrame({name: np.frombuffer(held) if held else np.empty(0) for name, held in columns.items()})
    return _driven(frame)


def _driven(fixes: pl.DataFrame) -> pl.DataFrame:
    """A speed that no car has on a course is none."""
    import polars as pl

    speed = pl.col("speed_mps")
    return fixes.with_columns(pl.when(speed.is_between(0.0, FASTEST_MPS)).then(speed))


def _stamp(text: str) -> float:
    """Seconds since 1970 of an ISO 8601 time. Raises ValueError."""
    found = datetime.fromisoformat(text.strip())
    return (found if found.tzinfo else found.replace(tzinfo=UTC)).timestamp()


# ---- GPX


class _Gpx:
    """Events of the parser taken in one after another."""

    def __init__(self, name: str) -> None:
        self.name = name
        self.t, self.lat, self.lon, self.speed = array("d"), array("d"), array("d"), array("d")
        self.tracks = self.points = self.skipped = self.untimed = 0

    def take(self, element: Any) -> None:
        """A point, or the end of something that holds points; taken out of the tree when it is read."""
        tag = element.tag.rpartition("}")[2]
        if not self.points and not self.tracks:
            self._root(element)
        if tag == "trkpt":
            self._point(element)
        elif tag == "trk":
            self.tracks += self.points > 0
            self.points = 0
        element.clear()
        while element.getprevious() is not None:
            del element.getparent()[0]

    def _root(self, element: Any) -> None:
        if element.getroottree().docinfo.doctype:
            raise UsageError(f"{self.name} brings a document type of its own: a track needs none, it is not read")

    def _point(self, element: Any) -> None:
        time, speed = None, _NAN
        for child in element.iter():
            tag = child.tag.rpartition("}")[2] if isinstance(child.tag, str) else ""
            if tag == "time":
                time = child.text
            elif tag == "speed":
                speed = _figure(child.text)
        self.points += 1
        try:
            lat, lon = float(element.get("lat")), float(element.get("lon"))
            if not (-90 <= lat <= 90 and -180 <= lon <= 180):
                raise ValueError
        except (TypeError, ValueError):
            self.skipped += 1
            return
        try:
            self.t.append(_stamp(time or ""))
        except ValueError:
            self.skipped += 1
            self.untimed += 1
            return
        self.lat.append(lat)
        self.lon.append(lon)
        self.speed.append(speed)


def _figure(text: str | None) -> float:
    try:
        return float(text or "")
    except ValueError:
        return _NAN


_TAGS = tuple(f"{{*}}{name}" for name in ("trkpt", "trk", "wpt", "rte"))
_PIECE = 1 << 16


def _gpx(path: Path, told: Progress) -> Track:
    from lxml import etree

    with path.open("rb") as file:
        _is_gpx(path.name, file.read(_PIECE))
    parser = etree.XMLPullParser(("end",), tag=_TAGS, resolve_entities=False, no_network=True, load_dtd=False)
    found = _Gpx(path.name)
    try:
        for chunk in _chunks(path, told):
            _no_type(path.name, chunk)
            for at in range(0, len(chunk), _PIECE):
                parser.feed(chunk[at : at + _PIECE])
                for _, element in parser.read_events():
                    found.take(element)
        parser.close()
        for _, element in parser.read_events():
            found.take(element)
    except etree.XMLSyntaxError as error:
        line = error.lineno or 0
        raise UsageError(f"{path.name} breaks off or is no whole XML at line {line}: save the track again") from None
    if found.tracks > 1:
        raise UsageError(f"{path.name} holds {found.tracks} tracks: save each by itself and give the one of the run")
    if not found.t:
        why = "no point of it has a time" if found.untimed else "no track is in it"
        raise UsageError(f"{path.name} can't be used: {why}; record with times and export the track, not a route")
    return Track(path.name, _frame(found.t, found.lat, found.lon, found.speed), True, found.skipped)


def _no_type(name: str, data: bytes) -> None:
    if b"<!DOCTYPE" in data or b"<!ENTITY" in data:
        raise UsageError(f"{name} brings a document type of its own: a track needs none, it is not read")


def _is_gpx(name: str, head: bytes) -> None:
    """The first element is ``gpx``. Raises UsageError."""
    _no_type(name, head)
    root = re.search(rb"<([A-Za-z_][\w.:-]*)", head)
    if root is None or root[1].rpartition(b":")[2] != b"gpx":
        begins = root[1].decode("ascii", "replace")[:40] if root else "nothing"
        raise UsageError(f"{name} is XML but no GPX (it begins with <{begins}>): export the track as GPX")


# ---- NMEA 0183

_SENTENCE = re.compile(rb"\$([A-Z]{2}(?:RMC|GGA),[^*\r\n$]*)\*([0-9A-Fa-f]{2})\s*$")


def checksums(bodies: list[bytes]) -> list[int]:
    """XOR of the letters between ``$`` and ``*``, of each sentence; none is empty."""
    import numpy as np

    if not bodies:
        return []
    starts = np.cumsum([0, *map(len, bodies[:-1])])
    found: list[int] = np.bitwise_xor.reduceat(np.frombuffer(b"".join(bodies), np.uint8), starts).tolist()
    return found


class _Nmea:
    """``rmc`` where there is one, it brings speed and date; else ``gga``. Each: t, lat, lon, speed."""

    def __init__(self) -> None:
        self.rmc = (array("d"), array("d"), array("d"), array("d"))
        self.gga = (array("d"), array("d"), array("d"), array("d"))
        self.skipped = 0
        self._days = 0.0
        self._before = -1.0

    def take(self, lines: list[bytes]) -> None:
        """Sentences with a place, each held against its sum."""
        placed = [line for line in lines if line[3:6] in (b"RMC", b"GGA")]
        found = [match for match in map(_SENTENCE.match, placed) if match is not None]
        self.skipped += len(placed) - len(found)
        for match, total in zip(found, checksums([match[1] for match in found]), strict=True):
            if total == int(match[2], 16):
                self._sentence(match[1])
            else:
                self.skipped += 1

    def _sentence(self, body: bytes) -> None:
        fields = body.split(b",")
        try:
            taken = self._rmc(fields) if fields[0].endswith(b"RMC") else self._gga(fields)
        except (ValueError, IndexError):
            taken = False
        self.skipped += not taken

    def _rmc(self, fields: list[bytes]) -> bool:
        if fields[2] != b"A":
            return False
        date, clock = fields[9], _clock(fields[1])
        day, month, year = int(date[:2]), int(date[2:4]), int(date[4:6])
        when = datetime(2000 + year if year < 80 else 1900 + year, month, day, tzinfo=UTC)
        speed = float(fields[7]) * _KNOT_MPS if fields[7] else _NAN
        _put(self.rmc, when.timestamp() + clock, _degrees(fields[3], fields[4]), _degrees(fields[5], fields[6]), speed)
        return True

    def _gga(self, fields: list[bytes]) -> bool:
        if fields[6] in (b"", b"0"):
            return False
        clock = _clock(fields[1])
        if clock < self._before - 43_200:  # midnight
            self._days += 86_400
        self._before = clock
        _put(self.gga, self._days + clock, _degrees(fields[2], fields[3]), _degrees(fields[4], fields[5]), _NAN)
        return True


def _put(columns: tuple[array[float], ...], *values: float) -> None:
    for column, value in zip(columns, values, strict=True):
        column.append(value)


def _clock(text: bytes) -> float:
    return int(text[:2]) * 3600 + int(text[2:4]) * 60 + float(text[4:])


def _degrees(text: bytes, side: bytes) -> float:
    """``4807.038`` with ``N``: degrees, then minutes with their decimals."""
    point = text.index(b".") if b"." in text else len(text)
    value = int(text[: point - 2] or b"0") + float(text[point - 2 :]) / 60
    if side not in (b"N", b"S", b"E", b"W") or value > (90 if side in b"NS" else 180):
        raise ValueError
    return -value if side in (b"S", b"W") else value


def _nmea(path: Path, told: Progress) -> Track:
    found, rest = _Nmea(), b""
    for chunk in _chunks(path, told):
        *lines, rest = (rest + chunk).split(b"\n")
        found.take(lines)
    found.take([rest])
    columns = found.rmc if found.rmc[0] else found.gga
    if not columns[0]:
        why = f"none of its {found.skipped} sentences with a place is whole" if found.skipped else "no place is in it"
        raise UsageError(f"{path.name} can't be used: {why}; RMC or GGA sentences are read")
    return Track(path.name, _frame(*columns), bool(found.rmc[0]), found.skipped)


# ---- CSV

_TIMES = ("time_s", "time", "t", "seconds", "elapsed", "elapsed_s", "elapsed_time", "timestamp", "utc", "utc_time",
          "clock", "datetime", "date_time", "time_ms")  # fmt: skip
_LATS, _LONS = ("lat", "latitude", "lat_deg"), ("lon", "long", "lng", "longitude", "lon_deg", "long_deg")
_SPEEDS = {"speed_kmh": 1 / 3.6, "speed_km_h": 1 / 3.6, "speed_kph": 1 / 3.6, "kmh": 1 / 3.6, "speed_mph": 0.44704,
           "mph": 0.44704, "speed_ms": 1.0, "speed_m_s": 1.0, "speed_mps": 1.0, "speed_knots": _KNOT_MPS,
           "speed_kn": _KNOT_MPS, "velocity_kmh": 1 / 3.6, "velocity_ms": 1.0}  # fmt: skip


def _plain(header: str) -> str:
    """A header as it is matched: ``Speed (km/h)`` is ``speed_km_h``."""
    return re.sub(r"[^a-z0-9]+", "_", header.strip().strip('"').lower()).strip("_")


def _csv(path: Path, told: Progress) -> Track:
    import polars as pl

    separator, header, skip = _head_of(path)
    names = [_plain(cell) for cell in header]
    time, lat, lon = (next((names.index(n) for n in known if n in names), None) for known in (_TIMES, _LATS, _LONS))
    missing = [what for what, at in (("time_s", time), ("lat", lat), ("lon", lon)) if at is None]
    if missing or time is None or lat is None or lon is None:
        raise UsageError(f"{path.name} has no column {' nor '.join(missing)}: its header must name time_s, lat and lon")
    speed = next((at for at, name in enumerate(names) if name in _SPEEDS), None)
    try:
        table = pl.read_csv(
            path, separator=separator, has_header=False, skip_rows=skip, infer_schema=False, truncate_ragged_lines=True,
            new_columns=None, quote_char='"', encoding="utf8-lossy",
        )  # fmt: skip
    except pl.exceptions.PolarsError as error:
        raise UsageError(f"{path.name} can't be read as a table: {str(error).splitlines()[0]}") from None
    told(path.stat().st_size)
    if max(time, lat, lon, speed or 0) >= table.width:
        raise UsageError(f"{path.name} has rows shorter than its header: save the track again")
    decimal = pl.all().str.strip_chars().str.replace(",", ".", literal=True) if separator != "," else (
        pl.all().str.strip_chars())  # fmt: skip
    cells = table.select(decimal)
    columns = cells.columns
    seconds, dated = _seconds(cells[columns[time]], path.name, names[time])
    factor = _SPEEDS[names[speed]] if speed is not None else 0.0
    given = cells[columns[speed]].cast(pl.Float64, strict=False) * factor if speed is not None else None
    frame = pl.DataFrame({
        "t_s": seconds,
        "lat": cells[columns[lat]].cast(pl.Float64, strict=False),
        "lon": cells[columns[lon]].cast(pl.Float64, strict=False),
        "speed_mps": given if given is not None else pl.Series([None] * cells.height, dtype=pl.Float64),
    })  # fmt: skip
    good = frame.filter(
        pl.col("t_s").is_finite() & pl.col("lat").is_between(-90, 90) & pl.col("lon").is_between(-180, 180)
    )
    if good.is_empty():
        raise UsageError(f"{path.name} can't be used: no row has a time, lat and lon that can be read")
    return Track(path.name, _driven(good), dated, frame.height - good.height)


def _head_of(path: Path) -> tuple[str, list[str], int]:
    """(separator, header cells, lines down to the first row): lines of words above the header are passed over."""
    with path.open("rb") as file:
        lines = file.read(64_000).decode("utf-8-sig", "replace").splitlines()[:60]
    for at, line in enumerate(lines):
        for separator in ("\t", ";", ","):
            cells = line.split(separator)
            names = [_plain(cell) for cell in cells]
            if any(name in names for name in _LATS) and any(name in names for name in _LONS):
                return separator, cells, at + 1
    raise UsageError(f"{path.name} is no track that can be read: GPX, NMEA, or a CSV with time_s, lat and lon")


def _seconds(cells: pl.Series, name: str, header: str) -> tuple[pl.Series, bool]:
    """The times in seconds and whether they have a date: figures, clocks, or ISO times."""
    import polars as pl

    figures = cells.cast(pl.Float64, strict=False)
    filled = max(1, cells.len() - cells.null_count())
    if figures.count() > filled / 2:
        largest = float(figures.drop_nulls().abs().max() or 0.0)  # type: ignore[arg-type]
        milli = largest > 1e11 or header.endswith("_ms")
        seconds = figures / 1000 if milli else figures
        return seconds, largest / (1000 if milli else 1) > 1e8
    clock = cells.str.extract_groups(r"^(\d{1,2}):(\d{2}):(\d{2}(?:\.\d+)?)$").struct.unnest()
    parts = [clock[column].cast(pl.Float64, strict=False) for column in clock.columns]
    if parts[0].count() > filled / 2:
        seconds = parts[0] * 3600 + parts[1] * 60 + parts[2]
        fallen = (seconds.diff().fill_null(0.0) < -43_200).cast(pl.Int64).cum_sum()
        return seconds + fallen * 86_400, False
    try:
        stamps = [None if text is None else _iso(text) for text in cells]
    except ValueError:
        how = "write seconds, HH:MM:SS.s or 2026-05-09T12:58:01.2Z"
        raise UsageError(f"{name}: the times can't be read: {how}") from None
    return pl.Series(stamps, dtype=pl.Float64), True


def _iso(text: str) -> float | None:
    return None if not text else _stamp(text)

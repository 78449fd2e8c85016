"""Track files read: published sentences and the reference readers of the same formats; large files in little memory."""

from __future__ import annotations

import tracemalloc
from datetime import UTC, datetime
from pathlib import Path

import gpxpy
import numpy as np
import pynmea2
import pytest
from hypothesis import given
from hypothesis import strategies as st

from paddock.errors import UsageError
from paddock.store.trackread import checksums, read_track
from tests.track_files import csv, gpx, nmea, sentence
from tests.where_event import recorded, runs

PUBLISHED = {
    "GPGGA,123519,4807.038,N,01131.000,E,1,08,0.9,545.4,M,46.9,M,,": 0x47,
    "GPRMC,123519,A,4807.038,N,01131.000,E,022.4,084.4,230394,003.1,W": 0x6A,
    "GPGSA,A,3,04,05,,09,12,,,24,,,,,2.5,1.3,2.1": 0x39,
    "GPRMC,045103.000,A,3014.1984,N,09749.2872,W,0.67,161.46,030913,,,A": 0x7C,
}
"""Widely printed NMEA 0183 sentences with their checksums."""
RECORDED = recorded(runs(1)[0])


def read(folder: Path, name: str, text: str | bytes):  # type: ignore[no-untyped-def]
    path = folder / name
    path.write_bytes(text if isinstance(text, bytes) else text.encode())
    return read_track(path)


def test_published_checksums() -> None:
    assert checksums([body.encode() for body in PUBLISHED]) == list(PUBLISHED.values())


@given(st.text(st.characters(min_codepoint=32, max_codepoint=126, exclude_characters="$*"), min_size=1))
def test_checksums_as_the_reference_reader_has_them(body: str) -> None:
    assert checksums([body.encode(), b"A"]) == [pynmea2.NMEASentence.checksum(body), 65]


def test_a_published_sentence_decoded(tmp_path: Path) -> None:
    """22.4 kn are 11.523556 m/s, 23 March 1994 has a year of two digits."""
    body = "GPRMC,123519,A,4807.038,N,01131.000,E,022.4,084.4,230394,003.1,W"
    found = read(tmp_path, "a.nmea", sentence(body) + sentence(body.replace("123519", "123520")))
    t, lat, lon, speed = found.fixes.row(0)
    assert datetime.fromtimestamp(t, UTC) == datetime(1994, 3, 23, 12, 35, 19, tzinfo=UTC)
    assert (lat, lon, speed) == pytest.approx((48.1173, 11.5166667, 11.523556), abs=1e-6)
    assert found.dated


def test_nmea_as_the_reference_reader_reads_it(tmp_path: Path) -> None:
    text = nmea(RECORDED)
    found = read(tmp_path, "a.txt", text).fixes
    known = [pynmea2.parse(line) for line in text.split()]
    assert found["lat"].to_list() == pytest.approx([one.latitude for one in known], abs=1e-9)
    assert found["lon"].to_list() == pytest.approx([one.longitude for one in known], abs=1e-9)
    assert found["t_s"].to_list() == pytest.approx([one.datetime.timestamp() for one in known], abs=1e-6)
    assert found["speed_mps"].to_list() == pytest.approx([one.spd_over_grnd * 1852 / 3600 for one in known])


def test_gga_alone_has_places_and_crosses_midnight(tmp_path: Path) -> None:
    lines = [
        sentence(f"GPGGA,{clock},4807.038,N,01131.000,E,1,08,0.9,545.4,M,46.9,M,,") for clock in ("235959", "000001")
    ]
    lost = sentence("GPGGA,000002,4807.038,N,01131.000,E,0,08,0.9,545.4,M,46.9,M,,")
    found = read(tmp_path, "a.nmea", "".join(lines) + lost)
    assert found.fixes["t_s"].to_list() == [86_399.0, 86_401.0]
    assert (found.dated, found.skipped) == (False, 1)


def test_gpx_as_the_reference_reader_reads_it(tmp_path: Path) -> None:
    text = gpx(RECORDED)
    found = read(tmp_path, "a.gpx", text).fixes
    points = gpxpy.parse(text).tracks[0].segments[0].points
    assert found["lat"].to_list() == pytest.approx([point.latitude for point in points], abs=1e-12)
    assert found["lon"].to_list() == pytest.approx([point.longitude for point in points], abs=1e-12)
    assert found["t_s"].to_list() == pytest.approx([point.time.timestamp() for point in points if point.time], abs=1e-6)
    assert found["speed_mps"].to_numpy() == pytest.approx(np.maximum(0, RECORDED["speed_mps"]), abs=5e-4)


def test_gpx_of_another_hand(tmp_path: Path) -> None:
    """GPX 1.0 has speed as a child, times have zones, a waypoint is no fix, a latitude over 90 can't be."""
    head = '<gpx version="1.0" xmlns="http://www.topografix.com/GPX/1/0"><wpt lat="1" lon="2"/><trk><trkseg>'
    points = (
        '<trkpt lat="46.5" lon="8.9"><ele>3</ele><time>2026-06-13T09:10:00+02:00</time><speed>12.5</speed></trkpt>'
        '<trkpt lat="96.5" lon="8.9"><time>2026-06-13T07:10:01Z</time></trkpt>'
        '<trkpt lat="46.6" lon="8.9"/></trkseg><trkseg>'
        '<trkpt lat="46.7" lon="-180"><time>2026-06-13T07:10:02.25Z</time></trkpt></trkseg></trk></gpx>'
    )
    found = read(tmp_path, "a.gpx", head + points)
    assert found.fixes["lat"].to_list() == [46.5, 46.7]
    assert found.fixes["speed_mps"].to_list() == [12.5, None]
    assert found.fixes["t_s"].to_list()[1] - found.fixes["t_s"].to_list()[0] == 2.25
    assert found.skipped == 2


@pytest.mark.parametrize(
    ("text", "t", "speed"),
    [
        ("time_s,lat,lon,speed_mph\n1.5,46.5,8.9,10\n", 1.5, 4.4704),
        ('"Time","Latitude","Longitude","Speed (km/h)"\n00:00:01.5,46.5,8.9,36\n', 1.5, 10.0),
        ("recorder of the van\n\nlon;lat;time_s;speed_ms\n8,9;46,5;1,5;10,0\n", 1.5, 10.0),
        ("utc,lat,lng\n1970-01-01T00:00:01.5Z,46.5,8.9\n", 1.5, None),
        ("timestamp,lat,lon\n1781334601500,46.5,8.9\n", 1_781_334_601.5, None),
        ("\ufefftime_ms,lat,lon\n1500,46.5,8.9\n", 1.5, None),
    ],
)
def test_a_table_of_any_hand(tmp_path: Path, text: str, t: float, speed: float | None) -> None:
    found = read(tmp_path, "a.csv", text)
    assert found.fixes.row(0) == (pytest.approx(t), 46.5, 8.9, speed if speed is None else pytest.approx(speed))


def test_rows_that_cannot_be_read_are_counted(tmp_path: Path) -> None:
    found = read(tmp_path, "a.csv", csv(RECORDED) + "x,46.5,8.9,1\n9,,8.9,1\n10,146.5,8.9,1\n")
    assert found.skipped == 3


def test_a_large_file_needs_little_more_than_its_figures(tmp_path: Path) -> None:
    """Over a MB of XML: the parser never holds the whole tree."""
    text = gpx(RECORDED)
    begin, end = text.index("<trkpt"), text.index("</trkseg>")
    path = tmp_path / "long.gpx"
    path.write_text(text[:begin] + text[begin:end] * 20 + text[end:])
    heard = []
    tracemalloc.start()
    found = read_track(path, heard.append)
    peak = tracemalloc.get_traced_memory()[1]
    tracemalloc.stop()
    assert found.fixes.height == 20 * len(RECORDED["t_s"])
    assert sum(heard) == path.stat().st_size
    assert peak < path.stat().st_size * 2.5


def test_what_is_too_large_is_refused_before_it_is_read(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("paddock.store.trackread.MOST_BYTES", 1000)
    with pytest.raises(UsageError, match="is the most"):
        read(tmp_path, "a.gpx", gpx(RECORDED))


@pytest.mark.parametrize("kind", ["csv", "gpx", "nmea"])
def test_a_speed_that_no_car_has_is_none(tmp_path: Path, kind: str) -> None:
    """inf ended the search for the gates in a traceback."""
    odd = recorded(runs(1)[0])
    odd["speed_mps"][3:8] = [-np.inf, np.inf, -1.0, 90.1, 90.0] if kind == "csv" else [120.0, 1e9, 200.0, 90.1, 90.0]
    path = tmp_path / f"odd.{kind}"
    path.write_text({"csv": csv, "gpx": gpx, "nmea": nmea}[kind](odd))
    found = read_track(path).fixes["speed_mps"].to_list()
    assert found[3:7] == [None] * 4
    assert found[7] == pytest.approx(90.0, abs=0.01)
    assert None not in found[8:]

"""What-if lines."""

from __future__ import annotations

import pytest

from paddock.entry.pressures import WhatIfLine, read_what_if
from paddock.entry.said import Wrong


@pytest.mark.parametrize(
    ("text", "meant"),
    [
        ("34 44 a8 w20", WhatIfLine(8.0, 20.0, None, 34.0, 44.0)),
        ("345", WhatIfLine(front_psi=34.5, rear_psi=34.5)),
        ("8c 1600m", WhatIfLine(air_c=8.0, altitude_m=1600.0)),
        ("-3c", WhatIfLine(air_c=-3.0)),
        ("50f 20min shade", WhatIfLine(air_c=10.0, wait_min=20.0, cooling="shade")),
        ("1000FT", WhatIfLine(altitude_m=304.8)),
        ("a8,5", WhatIfLine(air_c=8.5)),
    ],
)
def test_what_is_meant(text: str, meant: WhatIfLine) -> None:
    assert read_what_if(text) == meant


def test_in_the_events_unit() -> None:
    found = read_what_if("235 300", "kpa")
    assert isinstance(found, WhatIfLine)
    assert (found.front_psi or 0) * 6.894757 == pytest.approx(235)


@pytest.mark.parametrize(
    ("text", "field"),
    [("", "what if"), ("8", "pressure"), ("a8 9c", "air_c"), ("a99", "air_c"), ("34 35 36", "wanted"),
     ("9001m", "altitude_m"), ("w-5", "wait_min"), ("warm", "pressure")],
)  # fmt: skip
def test_what_can_not_be_read_is_named(text: str, field: str) -> None:
    found = read_what_if(text)
    assert isinstance(found, Wrong)
    assert found.field == field

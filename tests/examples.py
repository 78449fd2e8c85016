"""How many examples a costly property tries: a share of what the profile says, so that ``long`` tries more of them too."""

from __future__ import annotations

from hypothesis import settings


def share(part: float) -> int:
    """At least five."""
    return max(5, round(settings.default.max_examples * part))

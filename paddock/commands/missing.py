"""A package that is not installed, and what brings it."""

from __future__ import annotations

from paddock.errors import UsageError

__all__ = ["EXTRAS", "missing"]

EXTRAS = {"web": ("textual_serve", "aiohttp", "aiohttp_jinja2")}
"""Which modules an extra of the installation brings."""


def missing(error: ModuleNotFoundError) -> UsageError | None:
    """What to install; None where the module is a part of paddock itself: that is a fault of the program."""
    name = (error.name or "").partition(".")[0]
    if name in {"", "paddock"}:
        return None
    extra = next((extra for extra, modules in EXTRAS.items() if name in modules), None)
    return UsageError(f"{name} is not installed: pip install '{f'paddock[{extra}]' if extra else 'paddock'}' brings it")

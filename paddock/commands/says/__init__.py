"""What each verb says in JSON: frozen values, one a verb, described field by field."""

from __future__ import annotations

from importlib import import_module
from typing import Any

SAYS: dict[str, tuple[str, str]] = {
    "standings": ("scoring", "StandingsSaid"),
    "gap": ("scoring", "GapSaid"),
    "chances": ("field", "ChancesSaid"),
    "effect": ("field", "EffectSaid"),
    "hindsight": ("field", "HindsightSaid"),
    "next": ("tyres", "NextSaid"),
    "air": ("tyres", "AirSaid"),
    "tyres": ("tyres", "TyresSaid"),
    "bar": ("car", "BarSaid"),
    "gears": ("car", "GearsSaid"),
    "where": ("where", "WhereSaid"),
    "track": ("where", "TrackSaid"),
    "version": ("files", "VersionSaid"),
    "check": ("files", "CheckSaid"),
    "new": ("files", "NewSaid"),
    "import": ("files", "ImportSaid"),
    "merge": ("files", "MergeSaid"),
    "debrief": ("files", "DebriefSaid"),
    "export": ("files", "ExportSaid"),
    "completion": ("files", "CompletionSaid"),
    "describe": ("files", "DescribeSaid"),
    "season": ("season", "SeasonSaid"),
    "archive": ("season", "ArchiveSaid"),
}
"""Where the type of a verb's answer stands; ``serve`` has none."""


def type_of(verb: str) -> type:
    """The type of a verb's answer."""
    module, name = SAYS[verb]
    found: type = getattr(import_module(f"paddock.commands.says.{module}"), name)
    return found


def said(verb: str, value: object) -> Any:
    """The answer of a verb out of the engine's values: a mapping of its keys."""
    from paddock.commands.says.shape import made

    return made(type_of(verb), value)

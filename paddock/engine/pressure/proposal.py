"""What a rule puts forward."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Literal

from paddock.engine.pressure.reasons import Reason
from paddock.engine.pressure.signs import Sign

Kind = Literal["stop", "limits", "plan", "return", "new", "none"]


@dataclass(frozen=True, slots=True)
class Proposal:
    """``wanted``: true gauge psi per corner in the present state, before the limits are applied.

    ``kind``: ``new`` goes through the hold gate; ``none`` answers with hold. ``step_psi``: size of the new part.
    """

    kind: Kind
    reason: Reason
    wanted: Mapping[str, float]
    signs: tuple[Sign, ...] = ()
    step_psi: float = 0.0
    cautions: tuple[Reason, ...] = ()


Tested = Proposal | Reason
"""A proposal, or why the rule is passed over."""

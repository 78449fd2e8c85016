"""What is believed about one number: a mixture of normals, and what is read off it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from paddock.engine.field.fit import normal

if TYPE_CHECKING:
    from paddock.engine.field.frame import Floats

_POINTS = 121


@dataclass(frozen=True, slots=True, eq=False)
class Mixture:
    """``means`` and ``sds`` of parts that weigh alike."""

    means: Floats
    sds: Floats

    @property
    def mean(self) -> float:
        """The best guess."""
        return float(self.means.mean())

    @property
    def sd(self) -> float:
        """Of the whole."""
        return float(np.sqrt((self.sds**2).mean() + self.means.var()))

    def under(self, x: float) -> float:
        """Share of it below ``x``."""
        return float(normal((x - self.means) / self.sds).mean())

    def quantiles(self, *shares: float) -> tuple[float, ...]:
        """Values under which the shares lie."""
        low = float((self.means - 5.0 * self.sds).min())
        high = float((self.means + 5.0 * self.sds).max())
        middle, reach = self.mean, 7.0 * self.sd
        points = np.linspace(max(low, middle - reach), min(high, middle + reach), _POINTS)
        under = normal((points[:, None] - self.means) / self.sds).mean(1)
        return tuple(float(np.interp(share, under, points)) for share in shares)

    def range80(self) -> tuple[float, float]:
        """The range that holds it four times in five."""
        low, high = self.quantiles(0.1, 0.9)
        return low, high

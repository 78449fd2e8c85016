"""Four corners of a car as one value; and a reason, by its name."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import dataclass

from paddock.model.rows import CORNERS

AXLES: dict[str, tuple[str, str]] = {"front": ("lf", "rf"), "rear": ("lr", "rr")}
AXLE_OF = {corner: axle for axle, pair in AXLES.items() for corner in pair}
MATE = {"lf": "rf", "rf": "lf", "lr": "rr", "rr": "lr"}
SIDE_OF = {"lf": "left", "lr": "left", "rf": "right", "rr": "right"}
CORNER_NAMES = {"lf": "left front", "rf": "right front", "lr": "left rear", "rr": "right rear"}


@dataclass(frozen=True, slots=True)
class Corners:
    """A figure per corner; None = not known."""

    lf: float | None = None
    rf: float | None = None
    lr: float | None = None
    rr: float | None = None

    def __getitem__(self, corner: str) -> float | None:
        value: float | None = getattr(self, corner)
        return value

    @classmethod
    def of(cls, values: Mapping[str, float | None]) -> Corners:
        """From a mapping by corner; corners that aren't in it are None."""
        return cls(*(values.get(corner) for corner in CORNERS))

    def items(self) -> Iterator[tuple[str, float | None]]:
        """Corner and value, in the order lf, rf, lr, rr."""
        return iter((("lf", self.lf), ("rf", self.rf), ("lr", self.lr), ("rr", self.rr)))

    def known(self) -> dict[str, float]:
        """The corners that have a value."""
        whole = {"lf": self.lf, "rf": self.rf, "lr": self.lr, "rr": self.rr}
        return {corner: value for corner, value in whole.items() if value is not None}

    def as_dict(self) -> dict[str, float | None]:
        """All four, None included."""
        return dict(self.items())

    def axle(self, axle: str) -> float | None:
        """Mean of an axle's known corners; None where neither is known."""
        values = [value for corner in AXLES[axle] if (value := self[corner]) is not None]
        return sum(values) / len(values) if values else None

    def map(self, change: Callable[[float], float]) -> Corners:
        """``change`` applied to every known corner."""
        return Corners(*(None if value is None else change(value) for _, value in self.items()))

    def mirrored(self) -> Corners:
        """Left and right exchanged."""
        return Corners(self.rf, self.lf, self.rr, self.lr)


NONE = Corners()


@dataclass(frozen=True, slots=True)
class Reason:
    """``values``: psi, C and minutes as numbers, corners and axles by their names, other reasons."""

    name: str
    values: tuple[tuple[str, object], ...] = ()


def because(name: str, /, **values: object) -> Reason:
    """A reason of that name."""
    return Reason(name, tuple(values.items()))


def together(reasons: Iterable[Reason]) -> Iterator[Reason]:
    """Those that differ only in their ``corner`` as one, its corners in a tuple."""
    alike: dict[Reason, list[object]] = {}
    for item in reasons:
        rest = Reason(item.name, tuple(pair for pair in item.values if pair[0] != "corner"))
        alike.setdefault(rest, []).extend(value for key, value in item.values if key == "corner")
    for rest, corners in alike.items():
        corner = (("corner", corners[0] if len(corners) == 1 else tuple(corners)),) if corners else ()
        yield Reason(rest.name, (*corner, *rest.values))

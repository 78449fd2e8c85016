"""The base of every TOML model: frozen, unknown keys passed over, any unit of a family taken."""

from __future__ import annotations

from decimal import Decimal
from typing import Any

from pydantic import BaseModel, ConfigDict, ValidationInfo, field_validator, model_validator

from paddock.model.units import FAMILIES, Family, Measured, Unit, Written, out_of_bounds


def _family_of(field: str) -> tuple[str, Family] | None:
    stem, _, suffix = field.rpartition("_")
    for family in FAMILIES.values():
        if stem and family.units[0].suffix == suffix:
            return stem, family
    return None


def _inward(value: object, unit: Unit) -> object:
    if isinstance(value, list):
        return [_inward(item, unit) for item in value]
    if isinstance(value, int | float | Decimal) and not isinstance(value, bool):
        return Written(unit.inward(float(value)), unit.suffix, f"{value}")
    return value


class TomlModel(BaseModel):
    """Fields carry the unit kept inside; ``altitude_ft`` fills ``altitude_m``, converted.

    A field that is ``Measured`` takes nothing beyond its bounds.
    """

    model_config = ConfigDict(frozen=True, extra="ignore", allow_inf_nan=False)

    @model_validator(mode="before")
    @classmethod
    def _any_unit(cls, data: Any) -> Any:
        if not isinstance(data, dict):
            return data
        taken = dict(data)
        for field in cls.model_fields:
            known = _family_of(field)
            if known is None or field in taken:
                continue
            stem, family = known
            for unit in family.units[1:]:
                if f"{stem}_{unit.suffix}" in taken:
                    taken[field] = _inward(taken[f"{stem}_{unit.suffix}"], unit)
        return taken

    @field_validator("*", mode="before")
    @classmethod
    def _in_bounds(cls, value: Any, info: ValidationInfo) -> Any:
        name = info.field_name or ""
        field = cls.model_fields.get(name)
        row = next((extra for extra in field.metadata if isinstance(extra, Measured)), None) if field else None
        wrong = None if row is None else out_of_bounds(row, name, value)
        if wrong is not None:
            raise ValueError(wrong)
        return value

"""The judged example in the docs says what the program says."""

from __future__ import annotations

from pathlib import Path

from paddock.engine.effect import judge
from paddock.folders.reading import load
from paddock.model.event import Event
from paddock.model.rows import ChangeRow

ROOT = Path(__file__).parents[3]


def block(event: Event) -> str:
    """The table of docs/methods/effect.md."""
    lines = ["| change | car | controls | P | sentence |", "|---|---|---|---|---|"]
    for row in event.of(ChangeRow):
        found = judge(event, row.id)
        chance = "-" if found.p_helped is None else f"{found.p_helped:.2f}"
        lines.append(f"| `{row.id}` | {found.number} | {found.controls} | {chance} | {found.sentence} |")
    return "\n".join(lines)


def test_the_examples_table_is_current() -> None:
    wanted = block(load(ROOT / "example_event"))
    text = (ROOT / "docs" / "methods" / "effect.md").read_text(encoding="utf-8")
    assert wanted in text, f"put this into docs/methods/effect.md:\n{wanted}"

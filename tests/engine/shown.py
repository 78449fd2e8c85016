"""The parts of docs/methods/next-pressure.md that the program answers."""

from __future__ import annotations

from paddock.engine.pressure.answer import Moment
from paddock.engine.pressure.cautions import MAKER
from paddock.pages.pressure import next_line
from paddock.pages.reasons import say
from tests.engine.example_log import ARGUED, answers, example
from tests.engine.pressure.situations import SITUATIONS, now, story
from tests.engine.said import cautions


def _cautions(found: Moment) -> str:
    said = [text for text in cautions(found) if text != say(MAKER)]
    return f" *{' '.join(said)}*" if said else ""


def situations() -> str:
    """Each invented situation: what was told, the engineer's answer, the program's."""
    parts = []
    for place, told in enumerate(SITUATIONS, 1):
        found = now(story(told), at=told.at)
        parts.append(
            f"**{place}. {told.title}.** {told.told}\n\n"
            f"- Engineer: {told.engineer}\n- Program ({found.name}, {found.rule}): {next_line(found)}{_cautions(found)}"
        )
    return "\n\n".join(parts)


def example_log() -> str:
    """The log of 58, run by run, each answer argued."""
    event, parts = example(), []
    for log, found in answers(event, "58"):
        note = log.unsafe or log.note or ""
        felt = " ".join(f"{name} {value:+d}" for name, value in _felt(log).items() if value)
        told = ", ".join(part for part in (log.surface or "", felt or "neutral", note) if part)
        parts.append(
            f"**Day {log.day}, run {log.run}** ({told})\n\n"
            f"- {found.name}, {found.rule}: {next_line(found)}{_cautions(found)}\n- {ARGUED['58', log.day, log.run]}"
        )
    return "\n\n".join(parts)


def _felt(log: object) -> dict[str, int]:
    return {name: getattr(log, name) or 0 for name in ("entry", "mid", "exit", "slalom")}

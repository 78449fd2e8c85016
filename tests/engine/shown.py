"""The parts of docs/methods/next-pressure.md that the program answers."""

from __future__ import annotations

from paddock.engine.pressure.advise import advise
from paddock.engine.pressure.answer import Advice
from paddock.engine.pressure.cautions import MAKER
from paddock.engine.pressure.say import next_line
from tests.engine.example_log import ARGUED, answers, example
from tests.engine.situations import ME, SITUATIONS, story

__all__ = ["example_log", "situations"]


def _cautions(found: Advice) -> str:
    said = [text for text in found.cautions if text != MAKER]
    return f" *{' '.join(said)}*" if said else ""


def situations() -> str:
    """Each invented situation: what was told, the engineer's answer, the program's."""
    parts = []
    for place, told in enumerate(SITUATIONS, 1):
        found = advise(story(told), ME)
        parts.append(
            f"**{place}. {told.title}.** {told.told}\n\n"
            f"- Engineer: {told.engineer}\n- Program (rule {found.rule}): {next_line(found)}{_cautions(found)}"
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
            f"- Rule {found.rule}: {next_line(found)}{_cautions(found)}\n- {ARGUED['58', log.day, log.run]}"
        )
    return "\n\n".join(parts)


def _felt(log: object) -> dict[str, int]:
    return {name: getattr(log, name) or 0 for name in ("entry", "mid", "exit", "slalom")}

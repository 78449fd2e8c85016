"""The parts of docs/methods/next-pressure.md that the program answers: ``python -m tests.engine.shown`` renews them."""

from __future__ import annotations

from pathlib import Path

from paddock.engine.pressure.advise import advise
from paddock.engine.pressure.answer import Advice
from paddock.engine.pressure.cautions import MAKER
from paddock.engine.pressure.say import next_line
from tests.engine.example_log import ARGUED, answers, example
from tests.engine.situations import ME, SITUATIONS, story

__all__ = ["BLOCKS", "PAGE", "block_of", "renewed"]

PAGE = Path(__file__).parents[2] / "docs" / "methods" / "next-pressure.md"


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
    """The example's own log, run by run, each answer argued."""
    event, parts = example(), []
    for number in event.settings.mine.numbers:
        for log, found in answers(event, number):
            note = log.unsafe or log.note or ""
            felt = " ".join(f"{name} {value:+d}" for name, value in _felt(log).items() if value)
            told = ", ".join(part for part in (log.surface or "", felt or "neutral", note) if part)
            parts.append(
                f"**{number}, day {log.day}, run {log.run}** ({told})\n\n"
                f"- Rule {found.rule}: {next_line(found)}{_cautions(found)}\n- {ARGUED[number, log.day, log.run]}"
            )
    return "\n\n".join(parts)


def _felt(log: object) -> dict[str, int]:
    return {name: getattr(log, name) or 0 for name in ("entry", "mid", "exit", "slalom")}


BLOCKS = {"situations": situations, "example log": example_log}


def _marks(name: str) -> tuple[str, str]:
    return f"<!-- {name}: made by the program -->\n", f"\n<!-- end of {name} -->"


def block_of(text: str, name: str) -> str:
    """What stands in the page now."""
    start, end = _marks(name)
    return text[text.index(start) + len(start) : text.index(end)].strip()


def renewed(text: str) -> str:
    """The page with every block answered anew."""
    for name, make in BLOCKS.items():
        start, end = _marks(name)
        before, after = text[: text.index(start) + len(start)], text[text.index(end) :]
        text = f"{before}\n{make()}\n{after}"
    return text


if __name__ == "__main__":
    PAGE.write_text(renewed(PAGE.read_text(encoding="utf-8")), encoding="utf-8")

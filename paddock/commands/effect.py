"""``paddock effect``: was it the change?"""

from __future__ import annotations

from argparse import ArgumentParser, Namespace
from typing import TYPE_CHECKING, Any

from paddock.commands.common import Answer, add_at, add_folder, faults_data, faults_line, load_as_of, plain

if TYPE_CHECKING:
    from paddock.engine.field.effect import Effect


HELP = "Say whether a logged change helped, held against the cars that were left alone."
EXAMPLES = (
    "paddock effect example_event --change n8f5q",
    "paddock effect example_event --change t5m1y --json",
)


def configure(parser: ArgumentParser) -> None:
    """The folder and a change."""
    add_folder(parser)
    parser.add_argument("--change", metavar="ID", help="id of the change, as in changes.csv; left out: they are listed")
    add_at(parser)


def _ms(value: float | None) -> int | None:
    return None if value is None else round(value)


def _range(value: tuple[float, float] | None) -> list[int] | None:
    return None if value is None else [round(value[0]), round(value[1])]


def data(effect: Effect) -> dict[str, Any]:
    """The contract's figures: whole milliseconds, None where nothing can be said."""
    from paddock.pages.verdict_words import caution_words, effect_words, next_test_words

    return {
        "field_change_ms": _ms(effect.field_change_ms), "my_change_ms": _ms(effect.my_change_ms),
        "extra_ms": _ms(effect.extra_ms), "se_ms": _ms(effect.se_ms), "df": effect.df,
        "interval80_ms": _range(effect.interval80_ms), "prior_sd_ms": _ms(effect.prior_sd_ms),
        "shrunk_ms": _ms(effect.shrunk_ms), "shrunk_interval80_ms": _range(effect.shrunk_interval80_ms),
        "p_helped": effect.p_helped, "rank": effect.rank, "controls": effect.controls, "verdict": effect.verdict,
        "sentence": effect_words(effect), "next_test": next_test_words(effect.label, effect.plan),
        "cautions": list(caution_words(effect)),
        "prior_source": effect.prior_source, "told_share": effect.told_share, "power": effect.power,
        "hoped_ms": _ms(effect.hoped_ms), "own_learning_ms": _ms(effect.own_learning_ms),
        "own_learning_interval80_ms": _range(effect.own_learning_interval80_ms),
        "not_separable": list(effect.not_separable),
    }  # fmt: skip


def run(args: Namespace) -> Answer:
    """The verdict with every figure behind it."""
    from paddock.engine.field.verdict import judge
    from paddock.engine.where.answer import kind_deltas
    from paddock.folders.seasons import habits_beside

    event, moment = load_as_of(args)
    effect = judge(event, args.change, habits_beside(args.folder, event))
    whole = data(effect) | {"by_kind": plain(kind_deltas(event, effect)), "as_of": moment.iso}

    def words() -> str:
        from paddock.pages.effect import figures_page
        from paddock.render.lines import text

        return text(figures_page(event, effect)) + faults_line(event, moment)

    return Answer(whole | faults_data(event, moment), words)

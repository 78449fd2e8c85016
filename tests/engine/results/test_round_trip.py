"""Any field of runs, written in any of many manners, is understood as it was, without a word from the user."""

from __future__ import annotations

from collections.abc import Callable

from hypothesis import given, settings
from hypothesis import strategies as st

from paddock.engine.results import choose, propose, understand
from paddock.store.sources import read_source
from tests.engine.results.tables import ENTRANTS, at_event, written

NUMBERS = [entrant.number for entrant in ENTRANTS]
DRIVERS = {entrant.number: entrant.driver or "" for entrant in ENTRANTS}
Run = tuple[int, int, str]
Field = dict[tuple[str, int], Run]


@st.composite
def fields(draw: st.DrawFn) -> Field:
    """Two to five drivers, two to four runs each: time, cones, void or not; each driver has a clean first run."""
    numbers = draw(st.lists(st.sampled_from(NUMBERS), min_size=2, max_size=5, unique=True))
    count = draw(st.integers(2, 4))
    found = {}
    for number in numbers:
        for run in range(1, count + 1):
            time = draw(st.integers(30_000, 99_000))
            void = run > 1 and draw(st.integers(0, 5)) == 0
            found[number, run] = (time, draw(st.integers(0, 3)), "dnf" if void else "")
    return found


def plain(field: Field) -> dict[tuple[str, int], str]:
    """As ``written`` shows it."""
    return {
        key: status or f"{time / 1000:.3f}" + (f"+{cones}" if cones else "")
        for key, (time, cones, status) in field.items()
    }


@st.composite
def manners(draw: st.DrawFn) -> Callable[[Field], str]:
    """One way to post results: language, separator or page, decimal sign, cones, runs side by side or in rows."""
    comma = draw(st.booleans())
    void = draw(st.sampled_from(["DNF", "ausgeschieden", "Abandon", "ritirato", "nie ukończyła"]))
    number, name, run, cones = draw(
        st.sampled_from([
            ("No.", "Driver", "Run {}", "Cones"), ("Startnr.", "Fahrer", "{}. Lauf", "Pylonen"),
            ("Dossard", "Pilote", "Manche {}", "Plots"), ("Start nr", "Förare", "Åk {}", "Koner"),
        ])
    )  # fmt: skip
    behind = draw(st.sampled_from(["+{}", " (+{})", " + {}", None]))
    page = draw(st.sampled_from(["html", ";", "\t", "|"]))

    def time_text(ms: int) -> str:
        return f"{ms / 1000:.3f}".replace(".", "," if comma else ".")

    def cell(found: Run) -> list[str]:
        time, count, status = found
        if behind is None:
            return [status and void, ""] if status else [time_text(time), str(count or "")]
        return [void if status else time_text(time) + (behind.format(count) if count else "")]

    def side_by_side(field: Field) -> str:
        numbers, runs = _both(field)
        heads = [head for r in runs for head in ([run.format(r)] + ([cones] if behind is None else []))]
        rows = [[number, name, *heads]]
        rows += [[n, DRIVERS[n], *(text for r in runs for text in cell(field[n, r]))] for n in numbers]
        return _laid_out(rows, page)

    return side_by_side


def _both(field: Field) -> tuple[list[str], list[int]]:
    return list(dict.fromkeys(number for number, _ in field)), sorted({run for _, run in field})


def _laid_out(rows: list[list[str]], page: str) -> str:
    if page != "html":
        return "\n".join(page.join(row) for row in rows)
    body = "".join("<tr>" + "".join(f"<td>{cell}</td>" for cell in row) + "</tr>" for row in rows)
    return f"<html><body><h1>Results</h1><table>{body}</table></body></html>"


@given(fields(), manners())
def test_any_field_in_any_manner(field: Field, manner: Callable[[Field], str]) -> None:
    of = at_event()
    grids = read_source(manner(field))
    grid = grids[choose(grids, of)]
    seen = understand(grid, propose(grid, of), of)
    assert seen.unread == ()
    assert written(seen) == plain(field)


@settings(max_examples=50)
@given(fields(), st.sampled_from([",", ";", "\t"]))
def test_any_field_with_a_run_to_a_row(field: Field, mark: str) -> None:
    rows = [["number", "run", "time", "cones", "status"]]
    rows += [[n, str(r), "" if s else f"{t / 1000:.3f}", "" if s else str(c), s] for (n, r), (t, c, s) in field.items()]
    of = at_event()
    (grid,) = read_source("\n".join(mark.join(row) for row in rows))
    seen = understand(grid, propose(grid, of), of)
    assert (seen.unread, written(seen)) == ((), plain(field))

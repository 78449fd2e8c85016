"""The page whole: sound, closed to the outside, escaped, anonymous, the same twice."""

from __future__ import annotations

import base64
import hashlib
import re
import shutil
from datetime import date
from importlib.resources import files
from pathlib import Path
from typing import Any

import html5lib
import pytest
import tinycss2

from paddock.clean import clean
from paddock.engine.field.course import course_evolution
from paddock.engine.field.scores import groups_of
from paddock.model.rows import EntrantRow, NoteRow, PressureRow, RunRow, SetupChange, WorkRow
from paddock.pages.debrief.build import PARTS, Report, build
from paddock.render.debrief import POST_LETTERS, page, summary
from paddock.session.loading import load
from paddock.words import hundredths
from tests import factories

EXAMPLE = Path(__file__).resolve().parents[2] / "example_event"
XHTML = "{http://www.w3.org/1999/xhtml}"
HOSTILE = [
    "<script>alert(1)</script>", '"><img src=x onerror=alert(1)>', "</style><script>alert(1)</script>", "{{ 7 * 7 }}",
    "{% raw %}", "javascript:alert(1)", "&lt;b&gt;", "]]><svg onload=alert(1)>", "<!-- ", "'--><b>", "$\\frac{a}$",
    "\u202egpj.exe", "http://evil.example/x", "x" * 5000,
]  # fmt: skip


@pytest.fixture(scope="module")
def report() -> Report:
    return build(load(EXAMPLE))


@pytest.fixture(scope="module")
def html(report: Report) -> str:
    return page(report)


def _tree(text: str) -> Any:
    return html5lib.HTMLParser(strict=True).parse(text)


def _words(text: str) -> str:
    return " ".join("".join(_tree(text).itertext()).split())


def test_the_page_is_sound_html_and_css(html: str) -> None:
    _tree(html)
    rules = tinycss2.parse_stylesheet(files("paddock.render").joinpath("static", "debrief.css").read_text("utf-8"))
    assert rules
    assert [item for item in rules if item.type == "error"] == []
    for rule in rules:
        if rule.type == "qualified-rule":
            assert [item for item in tinycss2.parse_blocks_contents(rule.content) if item.type == "error"] == []


def test_nothing_is_asked_of_anybody(html: str) -> None:
    tree = _tree(html)
    for item in tree.iter():
        for name, value in item.attrib.items():
            if name in {"src", "href"}:
                assert value.startswith("data:")
            assert not name.startswith("on")
    assert not list(tree.iter(f"{XHTML}script"))
    assert "http://" not in html
    assert "https://" not in html
    assert "url(" not in html


def test_the_policy_lets_in_the_one_style_sheet_by_its_hash(html: str) -> None:
    tree = _tree(html)
    policy = next(item.attrib["content"] for item in tree.iter(f"{XHTML}meta") if "http-equiv" in item.attrib)
    styles = [item.text for item in tree.iter(f"{XHTML}style")]
    assert len(styles) == 1
    digest = base64.b64encode(hashlib.sha256(styles[0].encode()).digest()).decode()
    assert dict(part.split(" ", 1) for part in policy.split("; ")) == {
        "default-src": "'none'", "style-src": f"'sha256-{digest}'", "img-src": "data:", "base-uri": "'none'",
        "form-action": "'none'",
    }  # fmt: skip
    assert " style=" not in html


def test_every_picture_has_its_words(html: str) -> None:
    pictures = [item for item in _tree(html).iter() if item.tag.endswith("}svg")]
    assert len(pictures) >= 5
    for item in pictures:
        assert len(item.attrib["aria-label"]) > 20


def test_rivals_are_not_to_be_found_anywhere(html: str, report: Report) -> None:
    event = load(EXAMPLE)
    everything = html + summary(report)
    rivals = [item for item in event.entrants if item.number not in event.settings.mine.numbers]
    assert len(rivals) > 50
    for item in rivals:
        assert item.driver
        assert item.driver not in everything
    assert "rival A" in html
    assert "is done and was not quicker" not in everything
    shown = page(build(event, named=True))
    assert all(item.driver in shown for item in rivals if item.class_ == "ASH" and item.driver)
    assert "is done and was not quicker" in shown


def test_the_story_is_told_in_its_order(report: Report) -> None:
    assert [section.title for section in report.sections] == [
        "Results", "Runs", "Where the time went", "Changes", "Tyres", "Next time", "Everybody, on index and raw", "The course", "Set-up",
        "Pressures, psi", "Work", "Weather", "Notes",
    ]  # fmt: skip


def test_the_answer_stands_first_one_picture_follows_and_the_rest_is_folded(html: str, report: Report) -> None:
    """58's logged 0.200 lost on day 1, run 2 is more than the 0.020 it trails by; no cone stands in its counting runs."""
    assert report.answers == (
        "58 Ansel Brook trails in ASH by 0.020: the mistake on run 2 of day 1, 0.200 as logged. 1 run left.",
        "158 Petra Brook won HAZEL by 0.380: the cone of rival BT on run 3 of day 2.",
        "12 Ansel Brook won OAK by 1.937.",
    )
    head, body = html.split("</header>")
    assert head.index("trails in ASH") < head.index("<svg")
    assert head.count("<figure>") == 1
    assert [section.title for section in report.sections if not section.folded] == [
        "Results", "Runs", "Where the time went", "Changes", "Tyres", "Next time",
    ]  # fmt: skip
    assert body.count("<details>") == body.count("<summary>") == sum(section.folded for section in report.sections)
    assert len(html.encode()) < 300_000


@pytest.mark.parametrize(
    ("mine", "theirs", "says"),
    [
        (("50.000", "48.000+1", "49.500"), ("49.000", "49.386", "50.000"), "26 Driver 26 lost PINE by 0.500: the cone on run 2."),
        (("50.000", "48.900/1"), ("49.000", "50.000"), "trails in PINE by 1.000: the missed gate on run 2. 1 run left."),
        (("50.000", "51.000", "52.000"), ("49.000",), "lost PINE by 1.000: no penalty and no logged mistake makes that up."),
        (("48.000", "48.100", "48.100"), ("49.000",), "won PINE by 1.000."),
        (("49.000", "49.100", "49.200"), ("49.000",), "ended level in PINE."),
        (("48.000",), (), "leads PINE alone. 2 runs left."),
    ],
)  # fmt: skip
def test_the_answer_of_a_day(mine: tuple[str, ...], theirs: tuple[str, ...], says: str) -> None:
    day = factories.settings({"cone_s": 2}, days=[date(2026, 5, 9)])
    times = [*factories.runs("26", 1, *mine), *factories.runs("7", 1, *theirs)]
    event = factories.event([factories.entrant("26"), factories.entrant("7")], times, day)
    assert build(event, named=True).answers[0].endswith(says)


def test_figures_are_the_engines_own(report: Report) -> None:
    """The example by hand: 58's best of each day 56.618 and 55.514 make 112.132, 0.020 behind 112.112."""
    results = report.sections[0]
    assert results.words[0] == "58 Ansel Brook, class ASH: 2nd of 14 with 112.132, 0.020 behind rival AA."
    assert results.grids[0].rows[1].cells == ("2", "58 Ansel Brook", "56.618", "55.514", "112.132", "+0.020")
    assert [row.mine for row in results.grids[0].rows][:3] == [False, True, False]
    runs = report.sections[1].grids[0]
    assert runs.rows[1].cells[:4] == ("1.2 *", "56.618", "56.618", "0.000")
    assert runs.rows[5].cells[1:3] == ("55.588+1", "56.588")


def test_the_text_to_post_is_short_and_narrow(report: Report) -> None:
    text = summary(report)
    lines = text.splitlines()
    assert max(map(len, lines)) <= 80
    assert len(text) <= POST_LETTERS
    assert lines[0] == "Two days on the quay"
    assert lines[3].startswith("- 58 Ansel Brook trails in ASH by 0.020: the mistake on run 2 of day 1")
    assert {"RUNS", "CHANGES", "NEXT TIME"} <= set(lines)
    assert "- First run, cold, psi: estate 28.0/26.7, special 22.9/20.4 at 14 °C" in lines
    assert not re.search(r"[\x00-\x09\x0b-\x1f]", text)


def test_the_same_folder_gives_the_same_page(html: str) -> None:
    assert page(build(load(EXAMPLE))) == html


def test_progress_names_each_part() -> None:
    seen: list[str] = []
    build(factories.event([factories.entrant("26")], []), progress=seen.append)
    assert seen == ["answer", *(name for name, _ in PARTS)]


@pytest.mark.parametrize("text", HOSTILE)
def test_what_was_written_is_shown_and_never_obeyed(text: str) -> None:
    entries = [
        EntrantRow(number="26", driver=text, class_="PINE"), EntrantRow(number="8", driver=f"{text}2", class_="PINE"),
    ]  # fmt: skip
    rows = [
        NoteRow(id="n", day=1, run=1, topic=text, text=text), RunRow(day=1, run=1, number="26", note=text, unsafe=text),
        SetupChange(id="c", day=1, run=2, number="26", item=text, before=text, after=text, reason=text, expect=text),
        WorkRow(id="w", item=text, reason=text, due=text), PressureRow(day=1, run=1, number="26", moment="after", note=text),
    ]  # fmt: skip
    times = [*factories.runs("26", 1, "46.0", "45.0"), *factories.runs("8", 1, "46.1", "45.2")]
    event = factories.event(entries, times, factories.settings(name=text, site=text), *rows)
    for named in (False, True):
        made = page(build(event, named))
        tree = _tree(made)
        assert not list(tree.iter(f"{XHTML}script"))
        assert not list(tree.iter(f"{XHTML}img"))
        assert " ".join(clean(text).split()) in _words(made)
        assert not [name for item in tree.iter() for name in item.attrib if name.startswith("on")]


def test_an_empty_event_is_still_a_page() -> None:
    event = factories.event([], [], factories.settings(days=[], mine={}))
    report = build(event)
    _tree(page(report))
    assert summary(report).startswith("Test event\n")


@pytest.mark.parametrize("left_out", ["runs", "pressures", "treadtemps", "changes", "weather", "notes", "tyres", "fitted",
                                      "tread", "worklist", "grid", "ticks"])  # fmt: skip
def test_any_file_may_be_missing(left_out: str, tmp_path: Path) -> None:
    folder = shutil.copytree(EXAMPLE, tmp_path / "day")
    (folder / f"{left_out}.csv").unlink()
    _tree(page(build(load(folder))))


def test_faulty_lines_are_said_to_be_left_out(tmp_path: Path) -> None:
    folder = shutil.copytree(EXAMPLE, tmp_path / "day")
    with (folder / "times.csv").open("a") as out:
        out.write("1,1,58,fast,,,,,\n")
    report = build(load(folder))
    assert report.sections[-1].title == "Left out"
    assert "times.csv" in report.sections[-1].items[0]
    assert "1 faulty line left out." in summary(report)


def test_pressures_in_the_unit_of_the_event() -> None:
    rows = [PressureRow(day=1, run=run, number="26", moment="after", lf_psi=30.0 + run) for run in (1, 2, 3)]
    event = factories.event([factories.entrant("26")], factories.runs("26", 1, "46.0", "45.0", "44.0"),
                            factories.settings(pressure_unit="bar"), *rows)  # fmt: skip
    section = next(item for item in build(event).sections if item.title.startswith("Pressures"))
    assert section.title == "Pressures, bar"
    assert section.grids[0].rows[0].cells[4] == "2.14"


def test_the_course_is_told_without_one_car_as_on_the_verdict_page(report: Report) -> None:
    rows = next(section for section in report.sections if section.title == "The course").grids[0].rows
    event = load(EXAMPLE)
    found = course_evolution(event, 2, groups_of(event, 2)["58"], frozenset(event.numbers_of_car("58")))
    want = [f"{hundredths(pair.low_ms)} to {hundredths(pair.high_ms)}" for pair in found.pairs]
    assert [row.cells[3] for row in rows if row.cells[0] == "2"] == want


def test_each_day_has_its_own_best_work_names_its_car_and_questions_take_one_line(report: Report) -> None:
    rows = next(section for section in report.sections if section.title == "Runs").grids[0].rows
    best = [row.cells[0] for row in rows if row.cells[3] == "0.000"]
    assert [place[0] for place in best] == ["1", "2"]
    work = next(section for section in report.sections if section.title == "Work").items
    assert any("special: rear end links" in item for item in work)
    assert any("estate: front end-link jam nuts" in item for item in work)
    then = next(section for section in report.sections if section.title == "Next time").items
    assert [item for item in then if item.startswith("Not answered yet: fastest, slowest, ")] == [then[-1]]
    assert sum("Test next" in item or "Then, another day" in item for item in then) == 2

"""The debrief opened in a real browser: asks nobody, runs nothing, shows every picture, fits the paper."""

from __future__ import annotations

import re
from pathlib import Path
from typing import TYPE_CHECKING, Any

import pytest

from paddock.__main__ import main
from tests.seasonfiles import write_event

if TYPE_CHECKING:
    from playwright.sync_api import Browser

EXAMPLE = Path(__file__).resolve().parents[2] / "example_event"
INCH = 96
PAPERS = {"A4": (210 / 25.4, 297 / 25.4), "Letter": (8.5, 11.0)}
MARGIN = 12 / 25.4
EVIL = (
    "<script>document.title='ran'</script><img src=x onerror=\"document.title='ran'\">"
    "<a href=javascript:alert(1)>x</a><iframe src=http://evil.example></iframe>"
)


@pytest.fixture(scope="module")
def page_file(browser: Browser, tmp_path_factory: pytest.TempPathFactory) -> Path:
    assert browser
    target = tmp_path_factory.mktemp("debrief") / "day.html"
    assert main(["debrief", f"{EXAMPLE}", "-o", f"{target}"]) == 0
    return target


class Opened:
    """A file opened: what it asked for, what it complained of."""

    def __init__(self, browser: Browser, file: Path, width: int = 1000) -> None:
        self.page = browser.new_page(viewport={"width": width, "height": 900})
        self.requests: list[str] = []
        self.complaints: list[str] = []
        self.page.on("request", lambda request: self.requests.append(request.url))
        self.page.on("pageerror", lambda error: self.complaints.append(f"{error}"))
        self.page.on("console", lambda message: self.complaints.append(message.text))
        self.page.goto(file.as_uri())
        self.page.wait_for_load_state("networkidle")

    def ask(self, script: str) -> Any:
        """What a script of the test's own sees."""
        return self.page.evaluate(script)


def test_it_asks_nobody_and_breaks_no_policy(browser: Browser, page_file: Path) -> None:
    seen = Opened(browser, page_file)
    assert [url for url in seen.requests if not url.startswith("data:")] == [page_file.as_uri()]
    assert seen.complaints == []
    seen.page.close()


def test_every_picture_is_drawn_and_the_style_is_let_in(browser: Browser, page_file: Path) -> None:
    seen = Opened(browser, page_file)
    sizes = seen.ask(
        "[...document.querySelectorAll('svg')].map(i => [i.getBoundingClientRect().width, i.getBoundingClientRect().height])"
    )
    shown = [(wide, high) for wide, high in sizes if wide]
    assert len(shown) >= 4  # the ones for an upright phone and those that are folded have no size here
    assert all(wide > 300 and high > 60 for wide, high in shown)
    assert seen.ask("getComputedStyle(document.querySelector('td.figure')).textAlign") == "right"
    assert seen.ask("getComputedStyle(document.querySelector('svg .line')).stroke") == "rgb(0, 0, 0)"
    seen.page.close()


@pytest.mark.parametrize("width", [360, 800, 1400])
def test_no_screen_is_too_narrow_for_it(width: int, browser: Browser, page_file: Path) -> None:
    seen = Opened(browser, page_file, width)
    assert seen.ask("document.documentElement.scrollWidth") <= width
    seen.page.close()


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_a_phone_needs_no_sideways_scroll_and_no_glasses(scheme: str, browser: Browser, page_file: Path) -> None:
    """360 px wide, everything unfolded: no part scrolls by itself, no text is under 12 px, light or dark."""
    seen = Opened(browser, page_file, 360)
    seen.page.emulate_media(color_scheme=scheme)
    seen.ask("document.querySelectorAll('details').forEach(item => item.open = true)")
    assert (
        seen.ask(
            "[...document.querySelectorAll('.wide, figure')].filter(i => i.scrollWidth > i.clientWidth + 1).length"
        )
        == 0
    )
    sizes = seen.ask("""[...document.querySelectorAll('body *')].filter(item => item.getClientRects().length &&
        [...item.childNodes].some(node => node.nodeType == 3 && node.textContent.trim())).map(item => {
            const size = parseFloat(getComputedStyle(item).fontSize), svg = item.closest('svg');
            return svg ? size * svg.getBoundingClientRect().width / svg.viewBox.baseVal.width : size;
        })""")
    assert len(sizes) > 500
    assert min(sizes) >= 12
    ink, paper = seen.ask("[getComputedStyle(document.body).color, getComputedStyle(document.body).backgroundColor]")
    assert (ink, paper) == {
        "light": ("rgb(0, 0, 0)", "rgb(255, 255, 255)"), "dark": ("rgb(238, 238, 238)", "rgb(17, 17, 17)")
    }[scheme]  # fmt: skip
    seen.page.close()


def test_what_is_folded_prints_whole(browser: Browser, page_file: Path) -> None:
    seen = Opened(browser, page_file, 700)
    high = "[...document.querySelectorAll('details')].map(item => item.getBoundingClientRect().height)"
    assert max(seen.ask(high)) < 120
    seen.page.emulate_media(media="print")
    assert min(seen.ask(high)) > 90
    seen.page.close()


@pytest.mark.parametrize("paper", PAPERS)
def test_it_fits_the_paper(paper: str, browser: Browser, page_file: Path) -> None:
    """Nothing stands out over the right margin; the page's own margins are 12 mm at the sides."""
    wide = int((PAPERS[paper][0] - 2 * MARGIN) * INCH)
    seen = Opened(browser, page_file, wide)
    seen.page.emulate_media(media="print")
    assert seen.ask("document.documentElement.scrollWidth") <= wide
    over = seen.ask(
        f"[...document.querySelectorAll('td, th, svg')].filter(i => i.getBoundingClientRect().right > {wide} + 1).length"
    )
    assert over == 0
    pdf = seen.page.pdf(format=paper, prefer_css_page_size=False)
    pages = len(re.findall(rb"/Type\s*/Page\b(?!s)", pdf))
    assert 3 <= pages <= 16
    seen.page.close()


def test_it_can_be_read_in_grey(browser: Browser, page_file: Path) -> None:
    """Every colour of text and ground is black, white or a grey."""
    seen = Opened(browser, page_file)
    colours = seen.ask(
        """[...new Set([...document.querySelectorAll('body, body *')].flatMap(item => {
            const style = getComputedStyle(item);
            return [style.color, style.backgroundColor, style.borderBottomColor];
        }))]"""
    )
    for colour in colours:
        red, green, blue = (int(part) for part in re.findall(r"\d+", colour)[:3])
        assert red == green == blue, colour
    seen.page.close()


def test_what_was_written_in_notes_and_names_runs_nothing(browser: Browser, tmp_path: Path) -> None:
    quoted = EVIL.replace('"', '""')
    folder = write_event(
        tmp_path / "day", {"26": ("46.5", "46.1"), "7": ("46.6", "46.2")}, "Spring",
        notes=f'id,day,topic,text\nn1,1,"{quoted}","{quoted}"\n',
        changes=f'id,day,run,number,item,before,after,reason\nc1,1,2,26,"{quoted}",a,b,"{quoted}"\n',
    )  # fmt: skip
    text = (folder / "entrants.csv").read_text("utf-8").replace("Driver 26", f'"{quoted}"')
    (folder / "entrants.csv").write_text(text, "utf-8")
    assert main(["debrief", f"{folder}", "-o", f"{tmp_path / 'x.html'}", "--names"]) == 0
    seen = Opened(browser, tmp_path / "x.html")
    assert seen.page.title() == "Spring: debrief"
    assert seen.ask("document.querySelectorAll('script, iframe, a').length") == 0
    assert "onerror" in seen.page.inner_text("body")
    assert [url for url in seen.requests if not url.startswith(("data:", "file:"))] == []
    assert seen.complaints == []
    seen.page.close()

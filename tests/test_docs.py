"""The docs are true: every command in them runs, every link and file they name is there."""

from __future__ import annotations

import re
import shlex
import shutil
from pathlib import Path

import pytest

from paddock.__main__ import main
from paddock.commands.verbs import VERBS

ROOT = Path(__file__).parent.parent
PAGES = [ROOT / "README.md", ROOT / "DEVELOPERS.md", *sorted((ROOT / "docs").rglob("*.md"))]
_FENCE = re.compile(r"^```sh\n(.*?)^```", re.DOTALL | re.MULTILINE)
_LINK = re.compile(r"(?<!!)\[[^\]]*\]\(([^)#]+)(?:#[^)]*)?\)|!\[[^\]]*\]\(([^)]+)\)")


def commands(page: Path) -> list[list[str]]:
    """The lines of a page's shell blocks that call the program with a verb."""
    found = []
    for block in _FENCE.findall(page.read_text(encoding="utf-8")):
        for line in block.replace("\\\n", " ").splitlines():
            words = shlex.split(line, comments=True)
            if words and words[0].rpartition("/")[2] == "paddock" and len(words) > 1 and words[1] in VERBS:
                found.append(words[1:])
    return found


ALL = [(p, words) for p in PAGES for words in commands(p) if words[0] != "serve" and "--cluster" not in words]
"""A server that never ends and a cluster that stands elsewhere have tests of their own."""


@pytest.mark.parametrize(
    ("page", "words"), ALL, ids=lambda value: value.name if isinstance(value, Path) else " ".join(value)
)
def test_every_command_of_the_docs_answers(
    page: Path, words: list[str], tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    shutil.copytree(ROOT / "example_event", tmp_path / "example_event", ignore=shutil.ignore_patterns(".paddock"))
    monkeypatch.chdir(tmp_path)
    words = words[: next((at for at, word in enumerate(words) if word in {">", "|", "<"}), len(words))]
    assert main(words) in {0}, capsys.readouterr().err


def test_the_readme_has_the_main_job() -> None:
    assert ["gap", "example_event", "--number", "58"] in commands(ROOT / "README.md")


@pytest.mark.parametrize("page", PAGES, ids=lambda page: str(page.relative_to(ROOT)))
def test_links_lead_somewhere(page: Path) -> None:
    for found in _LINK.finditer(page.read_text(encoding="utf-8")):
        target = found[1] or found[2]
        if "://" not in target:
            assert (page.parent / target).exists(), f"{page.name} names {target}"


@pytest.mark.parametrize("verb", VERBS)
def test_the_examples_in_the_help_parse(verb: str) -> None:
    from paddock.commands.ask import module_of, parser_of

    for line in module_of(verb).EXAMPLES:
        words = shlex.split(line)
        words = words[: next((at for at, word in enumerate(words) if word in {">", "|", "<"}), len(words))]
        if "paddock" in words:
            parser_of(verb).parse_args([word for word in words[words.index("paddock") + 2 :] if word != "--json"])


def test_the_project_speaks_of_itself_alone() -> None:
    """No path of a machine and no host of a registry in the docs."""
    forbidden = re.compile(r"(?<![\w.])/(?:root|home|tmp|opt)/|site-packages|pypi\.")
    for page in PAGES:
        assert forbidden.search(page.read_text(encoding="utf-8")) is None, page

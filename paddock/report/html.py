"""A report as one page that asks nobody for anything: no script, no outside address, texts escaped."""

from __future__ import annotations

import base64
import hashlib
from importlib.resources import files

from jinja2 import Environment, PackageLoader, StrictUndefined

import paddock
from paddock.report.build import Report
from paddock.report.parts import Figure

__all__ = ["page", "policy"]


def page(report: Report) -> str:
    """The page; its policy allows the one style sheet by its hash, pictures within the page, and nothing else."""
    style = files("paddock.report").joinpath("templates", "debrief.css").read_text("utf-8")
    env = Environment(
        loader=PackageLoader("paddock.report"), autoescape=True, undefined=StrictUndefined, trim_blocks=True,
        lstrip_blocks=True,
    )  # fmt: skip
    env.filters["picture"] = picture
    return env.get_template("debrief.html").render(
        report=report, style=style, policy=policy(style), version=paddock.__version__
    )


def policy(style: str) -> str:
    """The content policy for a page with this style sheet."""
    digest = base64.b64encode(hashlib.sha256(style.encode()).digest()).decode()
    return f"default-src 'none'; style-src 'sha256-{digest}'; img-src data:; base-uri 'none'; form-action 'none'"


def picture(figure: Figure) -> str:
    """The picture as an address of its own: as an image it can run nothing, whatever stands in it."""
    return "data:image/svg+xml;base64," + base64.b64encode(figure.svg.encode()).decode()

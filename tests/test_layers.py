"""The house: who may import whom, that the engine is pure, and that no file outgrows one reading."""

from __future__ import annotations

import ast
import re
import subprocess
import sys
from functools import cache
from graphlib import TopologicalSorter
from pathlib import Path

ROOT = Path(__file__).parent.parent
PACKAGE = ROOT / "paddock"
TESTS = sorted((ROOT / "tests").rglob("*.py"))
RANK = {
    "errors": 0, "clean": 0, "log": 0, "ids": 0, "__init__": 0, "__version__": 0, "data": 0, "model": 1, "words": 2,
    "engine": 2, "store": 2, "entry": 2, "session": 4, "folders": 5, "actions": 6, "pages": 7,
    "render": 8, "commands": 9, "tui": 9, "serve": 9, "__main__": 11,
}  # fmt: skip
"""A room may import rooms of a lower rank, and itself."""

APART = {("engine", "store"), ("store", "engine"), ("commands", "tui")}
FORBIDDEN = {"os", "io", "pathlib", "textual", "scipy", "time", "socket", "subprocess", "shutil", "tempfile"}
NUMERIC = {f"field/{name}.py" for name in ("fit", "own", "mixture", "from_event", "ahead")}
"""Carried by numpy; imported inside functions, when first needed."""


def modules() -> list[Path]:
    return sorted(path for path in PACKAGE.rglob("*.py") if "__pycache__" not in path.parts)


def room(dotted: str) -> str:
    parts = dotted.split(".")
    return parts[1] if len(parts) > 1 else "__init__"


def typing_only(tree: ast.Module) -> set[ast.AST]:
    """Imports under ``if TYPE_CHECKING`` bind nothing at run time."""
    blocks = [node for node in ast.walk(tree) if isinstance(node, ast.If) and "TYPE_CHECKING" in ast.dump(node.test)]
    return {inner for block in blocks for inner in ast.walk(block)}


@cache
def imported(path: Path) -> set[str]:
    tree = ast.parse(path.read_text(encoding="utf-8"))
    skipped = typing_only(tree)
    names: set[str] = set()
    for node in ast.walk(tree):
        if node in skipped:
            continue
        if isinstance(node, ast.Import):
            names |= {alias.name for alias in node.names}
        elif isinstance(node, ast.ImportFrom) and node.module and not node.level:
            names.add(node.module)
            names |= {f"paddock.{alias.name}" for alias in node.names if node.module == "paddock"}
    return names


def test_imports_go_downwards() -> None:
    wrong = []
    for path in modules():
        here = path.relative_to(PACKAGE).parts[0].removesuffix(".py")
        if path == PACKAGE / "__init__.py":
            here = "__main__"  # the public face asks the verbs, as the doorway does
        assert here in RANK, f"give {here} a rank"
        for name in imported(path):
            there = room(name)
            if name.split(".")[0] == "paddock" and (
                (there != here and RANK[there] > RANK[here]) or (here, there) in APART
            ):
                wrong.append(f"{path.relative_to(ROOT)} imports {name}")
    assert wrong == []


def test_the_engine_opens_nothing() -> None:
    taken = {path.name: {name.split(".")[0] for name in imported(path)} for path in (PACKAGE / "engine").rglob("*.py")}
    assert {name: names & FORBIDDEN for name, names in taken.items() if names & FORBIDDEN} == {}


def test_a_file_fits_in_one_reading() -> None:
    lengths = {path: len(path.read_text(encoding="utf-8").splitlines()) for path in (*modules(), *TESTS)}
    assert {path.relative_to(ROOT): lines for path, lines in lengths.items() if lines > 450} == {}


def test_a_test_takes_no_private_name() -> None:
    """What is tested has a name others may use: a test of an inner name breaks with every tidying."""
    private = re.compile(r"^paddock\..*\._(?!_)")
    wrong = []
    for path in TESTS:
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            names = [f"{node.module}.{alias.name}" for alias in node.names] if isinstance(node, ast.ImportFrom) else []
            wrong += [f"{path.relative_to(ROOT)} takes {name}" for name in names if private.search(name)]
    assert wrong == []


def test_a_public_class_has_its_name_alone() -> None:
    """One public name, one class in the whole package; an alias of a type takes no class's name either."""
    classes: dict[str, list[str]] = {}
    aliases: dict[str, list[str]] = {}
    for path in modules():
        for node in ast.parse(path.read_text(encoding="utf-8")).body:
            if isinstance(node, ast.ClassDef) and not node.name.startswith("_"):
                classes.setdefault(node.name, []).append(dotted(path))
            elif isinstance(node, ast.Assign) and isinstance(node.targets[0], ast.Name):
                aliases.setdefault(node.targets[0].id, []).append(dotted(path))
    twice = {name: [*rooms, *aliases.get(name, ())] for name, rooms in classes.items()}
    assert {name: rooms for name, rooms in twice.items() if len(rooms) > 1} == {}


def dotted(path: Path) -> str:
    parts = ("paddock", *path.relative_to(PACKAGE).with_suffix("").parts)
    return ".".join(parts[:-1] if parts[-1] == "__init__" else parts)


def test_no_circle_of_imports() -> None:
    """Imports inside functions count too; only those for type checking do not."""
    known = {dotted(path): path for path in modules()}
    graph: dict[str, set[str]] = {}
    for name, path in known.items():
        found = {target for target in imported(path) | members(path) if target in known and target != name}
        graph[name] = {target for target in found if not name.startswith(f"{target}.")}
    tuple(TopologicalSorter(graph).static_order())


@cache
def members(path: Path) -> set[str]:
    """Modules taken by name out of their package."""
    tree = ast.parse(path.read_text(encoding="utf-8"))
    skipped = typing_only(tree)
    nodes = (node for node in ast.walk(tree) if isinstance(node, ast.ImportFrom) and node not in skipped)
    return {f"{node.module}.{alias.name}" for node in nodes for alias in node.names}


def in_a_fresh_interpreter(statement: str, asked: tuple[str, ...]) -> set[str]:
    code = f"{statement}\nimport sys; print(*[name for name in {asked!r} if name in sys.modules])"
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True, cwd=ROOT)
    return set(done.stdout.split())


def test_the_engine_loads_no_screen_and_no_store() -> None:
    rooms = [
        "paddock." + ".".join(path.relative_to(PACKAGE).with_suffix("").parts)
        for path in sorted((PACKAGE / "engine").rglob("*.py"))
        if path.name != "__init__.py" and path.relative_to(PACKAGE / "engine").as_posix() not in NUMERIC
    ]
    asked = ("textual", "paddock.store", "paddock.session", "numpy", "scipy", "matplotlib", "tomlkit")
    assert in_a_fresh_interpreter("\n".join(f"import {name}" for name in rooms), asked) == set()


def test_the_doorway_is_light() -> None:
    asked = ("textual", "polars", "pydantic", "matplotlib", "lxml")
    assert in_a_fresh_interpreter("import paddock.__main__", asked) == set()


def test_the_gap_needs_polars_only_where_it_can_run() -> None:
    code = "import os; os.environ['PADDOCK_PLAIN'] = '1'\nfrom paddock.__main__ import main\nmain(['gap', 'example_event', '--number', '26', '--json'])"
    assert "polars" not in in_a_fresh_interpreter(code, ("polars",))


def test_a_gap_loads_only_what_it_is_worked_out_from() -> None:
    """No keeper, journal or watch, nothing of tyres and the field's model."""
    code = "from paddock.__main__ import main\nmain(['gap', 'example_event', '--number', '58', '--json'])"
    asked = (
        "paddock.store.keeper", "paddock.store.journal", "paddock.store.watch", "paddock.engine.tyres", "paddock.session.opened",
        "paddock.engine.field", "numpy", "polars", "tomlkit", "textual",
    )  # fmt: skip
    assert in_a_fresh_interpreter(f"{code}\nprint()", asked) & set(asked) == set()

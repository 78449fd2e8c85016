"""Small faults in Python source: where one can be made, and the source with it made.

Left alone: text, annotations, decorators, ``__all__``, code under ``TYPE_CHECKING`` and ``zip(strict=...)``.
"""

from __future__ import annotations

import ast
from collections.abc import Iterator
from dataclasses import dataclass
from types import CodeType

FLIPS: dict[type[ast.cmpop], tuple[type[ast.cmpop], ...]] = {
    ast.Lt: (ast.LtE, ast.GtE), ast.LtE: (ast.Lt, ast.Gt), ast.Gt: (ast.GtE, ast.LtE), ast.GtE: (ast.Gt, ast.Lt),
    ast.Eq: (ast.NotEq,), ast.NotEq: (ast.Eq,), ast.Is: (ast.IsNot,), ast.IsNot: (ast.Is,),
    ast.In: (ast.NotIn,), ast.NotIn: (ast.In,),
}  # fmt: skip
"""A comparison with its edge moved, and one turned round."""

SWAPS: dict[type[ast.operator], type[ast.operator]] = {
    ast.Add: ast.Sub, ast.Sub: ast.Add, ast.Mult: ast.Div, ast.Div: ast.Mult, ast.FloorDiv: ast.Div,
    ast.Mod: ast.Mult, ast.Pow: ast.Mult,
}  # fmt: skip
NAMES = {"min": "max", "max": "min", "any": "all", "all": "any"}
LEAVES = (ast.Return, ast.Raise, ast.Continue, ast.Break)
UNTOUCHED = {"annotation", "returns", "decorator_list", "type_params"}


@dataclass(frozen=True)
class Mutant:
    """One fault: the line it is on, what was changed, and the whole source with it."""

    line: int
    change: str
    source: str


@dataclass(frozen=True)
class Place:
    """Where a node hangs: a field of its parent, and its place in that field when it is a list."""

    parent: ast.AST
    field: str
    index: int | None

    def put(self, node: ast.AST) -> None:
        """Hang another node there."""
        if self.index is None:
            setattr(self.parent, self.field, node)
        else:
            getattr(self.parent, self.field)[self.index] = node


def count(source: str) -> int:
    """How many faults could be made in this source, those that come to nothing included."""
    return len(_sites(ast.parse(source)))


def described(source: str) -> list[tuple[int, str]]:
    """Every fault by number: its line, and the change in words."""
    sites = _sites(ast.parse(source))
    return [(node.lineno, _words(node, new)) for _, node, new in sites]  # type: ignore[attr-defined]


def made(source: str, number: int) -> Mutant | None:
    """The source with the fault of this number, from 0; ``None`` when its bytecode is no different."""
    tree = ast.parse(source)
    before = essence(compile(ast.unparse(tree), "", "exec"))
    place, node, new = _sites(tree)[number]
    place.put(new)
    text = ast.unparse(tree)
    if essence(compile(text, "", "exec")) == before:
        return None
    return Mutant(node.lineno, _words(node, new), text)  # type: ignore[attr-defined]


def _sites(tree: ast.AST) -> list[tuple[Place, ast.AST, ast.AST]]:
    return [(place, node, new) for place, node in _places(tree) for new in replacements(node)]


def essence(code: CodeType) -> tuple[object, ...]:
    """What a code object does: its instructions, constants and names, without line numbers."""
    constants = tuple(essence(item) if isinstance(item, CodeType) else repr(item) for item in code.co_consts)
    return code.co_code, constants, code.co_names, code.co_varnames


def _places(tree: ast.AST) -> Iterator[tuple[Place, ast.AST]]:
    for field, value in ast.iter_fields(tree):
        if field in UNTOUCHED:
            continue
        if isinstance(value, ast.AST) and not _left_alone(value):
            yield Place(tree, field, None), value
            yield from _places(value)
        elif isinstance(value, list):
            for index, item in enumerate(value):
                if isinstance(item, ast.AST) and not _left_alone(item):
                    yield Place(tree, field, index), item
                    yield from _places(item)


def _left_alone(node: ast.AST) -> bool:
    if isinstance(node, ast.Expr):
        return isinstance(node.value, ast.Constant)
    if isinstance(node, ast.If):
        return "TYPE_CHECKING" in ast.unparse(node.test)
    if isinstance(node, ast.Assign):
        return any(isinstance(target, ast.Name) and target.id == "__all__" for target in node.targets)
    return isinstance(node, ast.keyword) and node.arg == "strict"


def replacements(node: ast.AST) -> Iterator[ast.AST]:
    """What could stand, wrongly, in place of this node."""
    if isinstance(node, ast.Compare):
        yield from _compared(node)
    elif isinstance(node, ast.BinOp | ast.AugAssign) and type(node.op) in SWAPS:
        yield _with(node, op=SWAPS[type(node.op)]())
    elif isinstance(node, ast.Constant):
        yield from _constant(node)
    elif isinstance(node, ast.BoolOp):
        yield _with(node, op=ast.Or() if isinstance(node.op, ast.And) else ast.And())
    elif isinstance(node, ast.UnaryOp) and isinstance(node.op, ast.Not | ast.USub):
        yield node.operand
    elif isinstance(node, ast.Name) and node.id in NAMES:
        yield _with(node, id=NAMES[node.id])
    elif isinstance(node, ast.IfExp | ast.If | ast.While) and not isinstance(node.test, ast.Compare):
        yield _with(node, test=ast.UnaryOp(ast.Not(), node.test))
    yield from _statement(node)


def _compared(node: ast.Compare) -> Iterator[ast.AST]:
    for index, op in enumerate(node.ops):
        for other in FLIPS[type(op)]:
            yield _with(node, ops=[*node.ops[:index], other(), *node.ops[index + 1 :]])


def _constant(node: ast.Constant) -> Iterator[ast.AST]:
    if isinstance(node.value, bool):
        yield _with(node, value=not node.value)
    elif isinstance(node.value, int):
        yield from (_with(node, value=node.value + step) for step in (1, -1))
    elif isinstance(node.value, float):
        yield _with(node, value=node.value + 1.0)


def _statement(node: ast.AST) -> Iterator[ast.AST]:
    if isinstance(node, ast.Return) and node.value is not None:
        yield _with(node, value=None)
    elif isinstance(node, ast.AugAssign | ast.Raise | ast.Continue) or _calls(node) or _guards(node):
        yield ast.copy_location(ast.Pass(), node)


def _calls(node: ast.AST) -> bool:
    return isinstance(node, ast.Expr) and isinstance(node.value, ast.Call)


def _guards(node: ast.AST) -> bool:
    return isinstance(node, ast.If) and not node.orelse and isinstance(node.body[-1], LEAVES)


def _with(node: ast.AST, **fields: object) -> ast.AST:
    kept = dict(ast.iter_fields(node)) | fields
    return ast.copy_location(type(node)(**kept), node)


def _words(node: ast.AST, new: ast.AST) -> str:
    return f"{_short(node)}  ->  {_short(new)}"


def _short(node: ast.AST) -> str:
    text = " ".join(ast.unparse(node).split())
    return text if len(text) <= 90 else text[:87] + "..."

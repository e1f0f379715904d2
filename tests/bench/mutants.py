"""Small wrong changes to a module, one at a time: what a test suite is held against.

A mutant is a piece of the module's text and what is put in its place. Docstrings, annotations,
decorators, ``__repr__``, messages (strings with a space, f-strings, what is raised) and code for
the type checker alone are left as they are.
"""

from __future__ import annotations

import ast
from dataclasses import asdict, dataclass
from pathlib import Path

COMPARED: dict[type[ast.cmpop], tuple[type[ast.cmpop], ...]] = {
    ast.Lt: (ast.LtE, ast.GtE),
    ast.LtE: (ast.Lt, ast.Gt),
    ast.Gt: (ast.GtE, ast.LtE),
    ast.GtE: (ast.Gt, ast.Lt),
    ast.Eq: (ast.NotEq,),
    ast.NotEq: (ast.Eq,),
    ast.Is: (ast.IsNot,),
    ast.IsNot: (ast.Is,),
    ast.In: (ast.NotIn,),
    ast.NotIn: (ast.In,),
}
RECKONED: dict[type[ast.operator], type[ast.operator]] = {
    ast.Add: ast.Sub,
    ast.Sub: ast.Add,
    ast.Mult: ast.Div,
    ast.Div: ast.Mult,
    ast.FloorDiv: ast.Div,
    ast.Mod: ast.Mult,
    ast.Pow: ast.Mult,
    ast.BitAnd: ast.BitOr,
}
CALLED = {
    "min": "max",
    "max": "min",
    "any": "all",
    "all": "any",
    "floor": "ceil",
    "ceil": "floor",
    "reversed": "list",
    "sorted": "list",
    "pairwise": "list",
    "abs": "",
    "round": "",
}
"""A function and the one called in its place; without one its argument alone."""
EMPTY = {"list": "[]", "tuple": "()", "dict": "{}", "str": '""', "frozenset": "frozenset()"}
"""By the name of the type that a function returns."""
TYPES = {
    "Literal",
    "Annotated",
    "Callable",
    "Mapping",
    "dict",
    "frozenset",
    "list",
    "tuple",
    "type",
}
EQUAL_ANYWAY = {"strict", "slots", "frozen", "maxsize", "encoding"}
"""Keywords whose value changes nothing that a test of behaviour could see."""


@dataclass(frozen=True)
class Mutant:
    """A change of a module: ``before``, the ``nth`` of its like in ``scope``, becomes ``after``."""

    path: str
    line: int
    column: int
    scope: str
    before: str
    after: str
    nth: int = 0

    @property
    def key(self) -> tuple[str, str, str, str, int]:
        """The name that still finds it when lines above it have come or gone."""
        return self.path, self.scope, self.before, self.after, self.nth

    def __str__(self) -> str:
        before, after = (" ".join(text.split()) for text in (self.before, self.after))
        return f"{self.path}:{self.line} {self.scope}: {before} => {after or '(nothing)'}"

    def as_dict(self) -> dict[str, str | int]:
        """Its fields, for a file."""
        return asdict(self)

    def applied(self, source: str) -> str:
        """The module's text with the change in it."""
        lines = source.encode().splitlines(keepends=True)
        at = sum(map(len, lines[: self.line - 1])) + self.column
        text, old = source.encode(), self.before.encode()
        assert text[at : at + len(old)] == old, f"{self} is not there"
        return (text[:at] + self.after.encode() + text[at + len(old) :]).decode()


def mutants_of(root: Path, path: str) -> list[Mutant]:
    """Return every mutant of a module, in the order of its text."""
    source = (root / path).read_text("utf-8")
    finder = _Finder(path, source)
    finder.visit(ast.parse(source))
    found: list[Mutant] = []
    for mutant in sorted(finder.found, key=lambda one: (one.line, one.column, one.after)):
        like = sum(1 for other in found if other.key[:4] == mutant.key[:4])
        found.append(Mutant(**{**asdict(mutant), "nth": like}))
    return found


class _Finder(ast.NodeVisitor):
    """Goes through a module and notes what can be changed."""

    def __init__(self, path: str, source: str) -> None:
        self.path = path
        self.source = source
        self.scopes: list[str] = []
        self.returns: list[ast.expr | None] = []
        self.found: list[Mutant] = []

    def note(self, node: ast.expr | ast.stmt, after: str | ast.expr) -> None:
        """A mutant in which another expression stands for a node."""
        before = ast.get_source_segment(self.source, node)
        text = after if isinstance(after, str) else f"({ast.unparse(after)})"
        if before is not None and text != before:
            scope = ".".join(self.scopes) or "module"
            self.found.append(Mutant(self.path, node.lineno, node.col_offset, scope, before, text))

    # What is left as it is.

    def visit_JoinedStr(self, node: ast.JoinedStr) -> None:
        """A message."""

    def visit_Raise(self, node: ast.Raise) -> None:
        """A message too."""

    def visit_Assert(self, node: ast.Assert) -> None:
        """For the type checker."""

    def visit_AnnAssign(self, node: ast.AnnAssign) -> None:
        """Its value alone."""
        if node.value is not None:
            self.visit(node.value)

    def visit_Expr(self, node: ast.Expr) -> None:
        """A call for its effect is left out; a docstring is not touched."""
        if isinstance(node.value, ast.Call):
            self.note(node, "pass")
        if not isinstance(node.value, ast.Constant):
            self.generic_visit(node)

    # Where we are.

    def visit_ClassDef(self, node: ast.ClassDef) -> None:
        """Its body."""
        self._within(node.name, node.body)

    def visit_FunctionDef(self, node: ast.FunctionDef) -> None:
        """Its defaults and its body; not its annotations."""
        if node.name == "__repr__":
            return
        for default in [*node.args.defaults, *node.args.kw_defaults]:
            if default is not None:
                self.visit(default)
        self.returns.append(node.returns)
        self._within(node.name, node.body)
        self.returns.pop()

    def _within(self, name: str, body: list[ast.stmt]) -> None:
        self.scopes.append(name)
        for statement in body:
            self.visit(statement)
        self.scopes.pop()

    # What is changed.

    def visit_If(self, node: ast.If) -> None:
        """Taken always, and never."""
        if ast.unparse(node.test) == "TYPE_CHECKING":
            return
        self.note(node.test, "True")
        self.note(node.test, "False")
        self.generic_visit(node)

    def visit_IfExp(self, node: ast.IfExp) -> None:
        """Either of its values."""
        self.note(node, node.body)
        self.note(node, node.orelse)
        self.generic_visit(node)

    def visit_comprehension(self, node: ast.comprehension) -> None:
        """A condition that lets everything through."""
        for test in node.ifs:
            self.note(test, "True")
        self.generic_visit(node)

    def visit_BoolOp(self, node: ast.BoolOp) -> None:
        """``and`` for ``or``, and without each operand in turn."""
        other = ast.Or() if isinstance(node.op, ast.And) else ast.And()
        self.note(node, ast.BoolOp(other, node.values))
        for number in range(len(node.values)):
            left = node.values[:number] + node.values[number + 1 :]
            self.note(node, left[0] if len(left) == 1 else ast.BoolOp(node.op, left))
        self.generic_visit(node)

    def visit_UnaryOp(self, node: ast.UnaryOp) -> None:
        """Without its ``not``, without its minus."""
        if isinstance(node.op, ast.Not | ast.USub):
            self.note(node, node.operand)
        self.generic_visit(node)

    def visit_Compare(self, node: ast.Compare) -> None:
        """Each comparison, its bound in or out and turned round."""
        for number, op in enumerate(node.ops):
            for other in COMPARED[type(op)]:
                ops = [*node.ops[:number], other(), *node.ops[number + 1 :]]
                self.note(node, ast.Compare(node.left, ops, node.comparators))
        self.generic_visit(node)

    def visit_BinOp(self, node: ast.BinOp) -> None:
        """Another sum."""
        text = any(
            isinstance(side, ast.JoinedStr)
            or (isinstance(side, ast.Constant) and isinstance(side.value, str))
            for side in (node.left, node.right)
        )
        if type(node.op) in RECKONED and not text:
            self.note(node, ast.BinOp(node.left, RECKONED[type(node.op)](), node.right))
        self.generic_visit(node)

    def visit_AugAssign(self, node: ast.AugAssign) -> None:
        """Another sum, and none."""
        if type(node.op) in RECKONED and isinstance(node.target, ast.Name | ast.Attribute):
            other = ast.AugAssign(node.target, RECKONED[type(node.op)](), node.value)
            self.note(node, ast.unparse(other))
            self.note(node, "pass")
        self.generic_visit(node)

    def visit_Subscript(self, node: ast.Subscript) -> None:
        """A slice without its beginning, or without its end."""
        if ast.unparse(node.value) in TYPES:
            return
        bounds = node.slice
        if isinstance(bounds, ast.Slice):
            for name in ("lower", "upper"):
                if getattr(bounds, name) is not None:
                    kept = {"lower": bounds.lower, "upper": bounds.upper, name: None}
                    cut = ast.Slice(kept["lower"], kept["upper"], bounds.step)
                    self.note(node, ast.Subscript(node.value, cut, node.ctx))
        self.generic_visit(node)

    def visit_Constant(self, node: ast.Constant) -> None:
        """One more, one less; the other truth; another word."""
        value = node.value
        if isinstance(value, bool):
            self.note(node, str(not value))
        elif isinstance(value, int):
            self.note(node, f"({value + 1})")
            self.note(node, f"({value - 1})")
        elif isinstance(value, str) and " " not in value.strip() and value.isprintable():
            self.note(node, repr(f"{value}X"))

    def visit_Call(self, node: ast.Call) -> None:
        """Another function of the same kind; a type's name or a cast is no value."""
        name = ast.unparse(node.func)
        if name in CALLED and node.args:
            other = CALLED[name]
            self.note(
                node, f"{other}({ast.unparse(node.args[0])})" if other in ("", "list")
                else ast.Call(ast.Name(other), node.args, node.keywords),
            )  # fmt: skip
        if name in ("TypeVar", "cast", "getLogger"):
            return
        self.visit(node.func)
        for argument in node.args:
            self.visit(argument)
        for keyword in node.keywords:
            if keyword.arg not in EQUAL_ANYWAY:
                self.visit(keyword.value)

    def visit_Return(self, node: ast.Return) -> None:
        """None, or what is empty, is returned."""
        if node.value is not None and self.returns:
            stated = ast.unparse(self.returns[-1]) if self.returns[-1] is not None else ""
            empty = EMPTY.get(stated.split("[")[0], "None")
            if ast.unparse(node.value) != empty and stated != "bool":
                self.note(node.value, empty)
            self.generic_visit(node)

    def visit_Break(self, node: ast.Break) -> None:
        """The loop goes on."""
        self.note(node, "continue")

    def visit_Continue(self, node: ast.Continue) -> None:
        """The loop ends."""
        self.note(node, "break")

"""The modules of the page's script: how they join into one function, and the types of its data."""

from __future__ import annotations

import re
import types
from pathlib import Path
from typing import (
    Any,
    Literal,
    NotRequired,
    Union,
    get_args,
    get_origin,
    get_type_hints,
    is_typeddict,
)

import pytest

from cyclechart.sound.spectra import Zone
from cyclechart.sound.voice_tables import Drift, Noise, Tremor, Voice
from cyclechart.write.webpage import html, schema
from cyclechart.write.webpage.html import SCRIPTS, page_script

STATIC = Path(html.__file__).parent / "static"
MODULES = {name: (STATIC / name).read_text("utf-8") for name in SCRIPTS}
TYPES = (STATIC / "schema.js").read_text("utf-8")
TOP = re.compile(r"^(?:export )?(?:async )?(?:function\*?|class|const|let) (\w+)", re.MULTILINE)
EXPORT = re.compile(r"^export (?:async )?(?:function\*?|class|const) (\w+)", re.MULTILINE)
IMPORT = re.compile(r"^import \{([^}]*)\} from \"\./([^\"]+)\";$", re.MULTILINE)


def test_every_module_is_in_the_page() -> None:
    assert {path.name for path in STATIC.glob("*.js")} == {*SCRIPTS, "schema.js"}


@pytest.mark.parametrize("name", SCRIPTS)
def test_a_module_imports_what_those_before_it_export(name: str) -> None:
    before = SCRIPTS[: SCRIPTS.index(name)]
    found = IMPORT.findall(MODULES[name])
    assert len(found) == len(re.findall(r"^import\b", MODULES[name], re.MULTILINE))
    for names, module in found:
        assert module in before
        exported = re.findall(
            r"^export .*?(?:function\*?|class|const) (\w+)", MODULES[module], re.M
        )
        assert {one.strip() for one in names.split(",") if one.strip()} <= set(exported)


def test_names_are_unique_across_modules() -> None:
    """They share one function, in which a second function of one name would replace the first."""
    names = [name for text in MODULES.values() for name in TOP.findall(text)]
    assert len(names) > 100
    assert sorted(names) == sorted(set(names))


def test_the_script_is_one_function_without_modules_and_comments() -> None:
    script = page_script()
    assert script.startswith('"use strict";(()=>{\n')
    assert script.endswith("})();\n")
    assert not re.search(r"^\s*(?:import|export|//|/\*\*[^/]*$|\* )", script, re.MULTILINE)
    names = [name for text in MODULES.values() for name in TOP.findall(text)]
    assert TOP.findall(script) == names


def test_only_whole_lines_of_comments_are_removed() -> None:
    """A line of code that begins with a comment stays, and so does what follows it."""
    text = '/** @type {A} */ call();\n/**\n * A.\n */\nexport const a = "//b"; // c\n  // d\ne();\n'
    assert html._joined(text) == '/** @type {A} */ call();\nconst a = "//b"; // c\ne();\n'


# --- types ---


def typedefs() -> dict[str, dict[str, str] | str]:
    """The typedefs of schema.js: a type, or the types of its properties ("?": an optional one)."""
    found: dict[str, dict[str, str] | str] = {}
    for comment in re.findall(r"/\*\*(.*?)\*/", TYPES, re.DOTALL):
        kind, name = re.search(r"@typedef \{(.*)\} (\w+)", comment).groups()  # type: ignore[union-attr]
        if kind != "object":
            found[name] = kind
            continue
        properties = re.findall(r"@property \{(.*)\} (\[?)(\w+)\]?", comment)
        found[name] = {key + ("?" if optional else ""): of for of, optional, key in properties}
    return found


TABLES = (Zone, Noise, Tremor, Drift, Voice)
"""The dataclasses of a voice, which the page is given as plain data."""
ALIASES: tuple[tuple[Any, str], ...] = (
    (schema.Curve, "Curve"),
    (schema.ToneEvent, "ToneEvent"),
    (schema.StrokeEvent, "StrokeEvent"),
    (schema.Speaker, "Speaker"),
)
NAMES = {float: "number", int: "number", str: "string", bool: "boolean", type(None): "null"}


def in_script(kind: Any, *, named: bool = True) -> str:
    """The script's type for a type of Python's; ``named``: an alias by its name."""
    for alias, name in ALIASES:
        if named and kind == alias:
            return name
    args = get_args(kind)
    match get_origin(kind):
        case None:
            return NAMES.get(kind) or kind.__name__
        case origin if origin is list or (origin is tuple and args[-1] is Ellipsis):
            return f"{in_script(args[0])}[]"
        case origin if origin is tuple:
            return f"[{', '.join(map(in_script, args))}]"
        case origin if origin is dict:
            of = "Voice" if args[1] is object else in_script(args[1])
            return f"Record<{in_script(args[0])}, {of}>"
        case origin if origin is Literal:
            return " | ".join(f'"{one}"' for one in args)
        case origin if origin in (Union, types.UnionType):
            return " | ".join(map(in_script, args))
    raise AssertionError(f"no type of the script for {kind}")


def properties(kind: Any) -> dict[str, str]:
    found: dict[str, str] = {}
    for key, of in get_type_hints(kind, include_extras=True).items():
        if get_origin(of) is NotRequired:
            found[key + "?"] = in_script(get_args(of)[0])
        else:
            found[key] = in_script(of)
    return found


def test_schema_py_and_schema_js_agree() -> None:
    dicts = {name: kind for name, kind in vars(schema).items() if is_typeddict(kind)}
    dicts["PageData"] = dicts.pop("WholePageData")
    tables = {kind.__name__: kind for kind in TABLES}
    wanted: dict[str, dict[str, str] | str] = {
        name: properties(kind) for name, kind in {**dicts, **tables}.items()
    }
    wanted |= {name: in_script(alias, named=False) for alias, name in ALIASES}
    assert typedefs() == wanted

"""What each key of a piece means, by the mapping that it stands in."""

from __future__ import annotations

from functools import cache
from importlib.resources import files
from typing import NamedTuple

import yaml


class KeyHelp(NamedTuple):
    """What a key means, in a sentence, and an example."""

    meaning: str
    example: str


@cache
def key_help() -> dict[str, dict[str, KeyHelp]]:
    """Return the keys of each mapping with their help, in the order that they are offered in."""
    text = files("cyclechart.editor").joinpath("key_help.yaml").read_text("utf-8")
    data = yaml.load(text, yaml.BaseLoader)
    return {
        where: {key: KeyHelp(*help_) for key, help_ in keys.items()} for where, keys in data.items()
    }

"""One field of a form, and how the texts of fields become the words of the quick form."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Mapping

import msgspec

Texts = Mapping[str, str]


class Field(msgspec.Struct, frozen=True):
    """One value to be asked.

    ``words``: its text as words of the quick form; ``unit``: what a number alone is taken in; ``default``: what the field
    begins with; ``last``: what the last similar entry had; ``about``: the tank whose hazard it meets; ``leads``: its words
    stand first; ``suggest``: what is offered; ``long``: several lines. Fields of one ``group`` make their words together, by
    ``together``, which gets the texts of those that are filled, by key.
    """

    key: str
    label: str
    words: Callable[[str], list[str]]
    placeholder: str = ""
    choices: tuple[str, ...] = ()
    default: str = ""
    last: str = ""
    unit: str = ""
    about: str | None = None
    leads: bool = False
    suggest: tuple[str, ...] = ()
    long: bool = False
    group: str = ""
    together: Callable[[Texts], list[str]] | None = None
    rank: int = 2


def keyed(key: str) -> Callable[[str], list[str]]:
    """``key=text``."""
    return lambda text: [f"{key}={text}"]


def several(text: str) -> list[str]:
    """Several ``name=amount`` parted by semicolons."""
    return [part.strip() for part in text.split(";") if part.strip()]


def words_of(fields: Iterable[Field], texts: Texts) -> list[str]:
    """The words of the filled fields, in their order; those of a group stand where its first filled field does."""
    filled = {f.key: (f, with_unit(texts[f.key].strip(), f.unit)) for f in fields if texts.get(f.key, "").strip()}
    words: list[str] = []
    done: set[str] = set()
    for field, text in filled.values():
        if field.together is None:
            words += field.words(text)
        elif field.group not in done:
            done.add(field.group)
            words += field.together({k: t for k, (f, t) in filled.items() if f.group == field.group})
    return words


def with_unit(text: str, unit: str) -> str:
    """A number alone is taken in the unit that stands beside the field; anything else says its own."""
    return f"{text} {unit}" if unit and re.fullmatch(r"[0-9]+([.,][0-9]+)?", text) else text

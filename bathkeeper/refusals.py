"""What refusals have in common: a person's text made fit to stand in a sentence, and what may have been meant."""

from __future__ import annotations

import difflib
from collections.abc import Iterable


def shorten(text: str) -> str:
    """User text in a message: one line, no control signs, not endless."""
    plain = "".join(c if c.isprintable() else " " for c in text).strip()
    return plain if len(plain) <= 60 else plain[:57] + "…"


def joined(clauses: Iterable[str]) -> str:
    """Clauses and sentences in one line, parted by semicolons; only the caller ends it."""
    return "; ".join(c.rstrip().rstrip(".") for c in clauses)


def near(word: str, known: Iterable[str]) -> str:
    """``; did you mean x?`` when something close is known, else ``; there are ...``."""
    names = list(known)
    close = difflib.get_close_matches(word.casefold(), [n.casefold() for n in names], 2, 0.6)
    shown = [n for n in names if n.casefold() in close]
    return f"; did you mean {' or '.join(shown)}?" if shown else f"; there are {', '.join(names)}"

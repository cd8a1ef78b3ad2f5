"""Runs named in words: by id, by the short id that lists print, ``last``, or ``last-10`` for the latest ten plated."""

from __future__ import annotations

import re

from bathkeeper.phrases.words import Form, PhraseError, not_empty
from bathkeeper.refusals import shorten

LEAST_SIGNS = 6
_LAST = re.compile(r"last(?:[ -]?([1-9][0-9]{0,2}))?", re.IGNORECASE)


def loads(form: Form, key: str, text: str) -> list[str]:
    """The ids behind ``run=`` or ``runs=``, several by commas; oldest first where ``last-N`` names them.

    Where the vocabulary knows of no runs, ids are taken as they stand.

    Raises:
        PhraseError: nothing behind it, no such run or several, or one named twice.
    """
    words = [w.strip() for w in not_empty(key, text).split(",") if w.strip()]
    if not words:
        raise PhraseError(f"{key}= has no id behind it; write for example {key}=last, or the id that `show` prints")
    ids = [i for w in words for i in _meant(form, key, w)]
    twice = next((i for i in ids if ids.count(i) > 1), None)
    if twice is not None:
        raise PhraseError(f"{key}: {twice} is there twice; name each load once")
    return ids


def one_load(form: Form, key: str, text: str) -> str:
    """The id of a single run. Raises PhraseError."""
    ids = loads(form, key, text)
    if len(ids) > 1:
        raise PhraseError(f"{key}: {len(ids)} runs are named; write one of them, and the others in entries of their own")
    return ids[0]


def _meant(form: Form, key: str, word: str) -> list[str]:
    known = form.vocabulary.runs
    last = _LAST.fullmatch(word)
    if last is not None:
        plated = [i for i, charged in known.items() if charged]
        count = int(last[1] or 1)
        if len(plated) < count:
            raise PhraseError(f"{key}: {word} asks for {count} plated runs, and {len(plated) or 'none'} are on record")
        return plated[-count:]
    start = form.start or {}
    if not known or word in known or word in (start.get("run"), *(start.get("runs") or ())):
        return [word]  # a correction may keep what the entry says, be it that the run is not in this book
    found = [i for i in known if len(word) >= LEAST_SIGNS and (i.startswith(word) or i.endswith(word))]
    if len(found) == 1:
        return found
    right = "give more of the id" if found else "write the id that `show` prints, at least six signs, or `last`"
    raise PhraseError(f"{key}: {len(found) or 'no'} {'runs have' if found else 'run has'} the id `{shorten(word)}`; {right}")

"""A correction in words: withdraws an entry, or gives its fields anew where the words say so."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from datetime import UTC, datetime
from typing import Any

from bathkeeper.entries import EntryError, parse
from bathkeeper.moments import moment
from bathkeeper.phrases.run import in_line_order
from bathkeeper.phrases.words import Form, PhraseError, not_empty, option

EXAMPLE = 'correction ID withdraw reason="logged twice", or correction ID reason="misread" zinc=31g/L'
_LISTS = {"values": "of", "items": "reagent", "reagents": "reagent", "steps": "tank"}
LONG_AGO = datetime(1, 1, 2, tzinfo=UTC)  # no "now" for a moment that was: it has to be written out
_HEAD = ("kind", "id", "at", "schema")


def compose_correction(
    form: Form, words: list[str], original: Mapping[str, Any] | None, composers: Mapping[str, Callable[[Form, list[str]], None]]
) -> None:
    """``ID withdraw reason="…"`` or ``ID reason="…"`` and words of the entry's own kind.

    Raises:
        PhraseError: also when the entry is not known here, or what the words make of it cannot be.
    """
    if not words or option(words[0]) is not None:
        raise PhraseError(f"which entry is corrected? Write its id first, for example {EXAMPLE}")
    form.fields["corrects"] = words.pop(0)
    rest, reason = [], ""
    moved: dict[str, Any] = {}
    for word in words:
        key, text = option(word) or ("", "")
        if key == "reason":
            reason = not_empty("reason", text)
        elif key in ("when", "at"):
            moved["at"] = _moment(text, form.prefs.date_order)
            form.understood.append(f"when {moved['at']}")
        elif key == "tank" and (original or {}).get("kind") != "tank":
            moved["tank"] = _other_tank(form, original, text)
            form.understood.append(f"tank {moved['tank']}")
        elif not (key == "by" and form.common(key, text)):
            rest.append(word)
    if not reason:
        raise PhraseError(f'a correction says why; write reason="…", for example {EXAMPLE}')
    form.fields["reason"] = reason
    if [w.casefold() for w in rest] == ["withdraw"]:
        form.fields["withdraw"] = True
        form.understood.append(f"withdraws {form.fields['corrects']}")
        return
    if not rest and not moved:
        raise PhraseError(f"a correction withdraws the entry or says what is right; write for example {EXAMPLE}")
    if original is None:
        raise PhraseError(f"there is no entry {form.fields['corrects']} to correct; `show` lists the entries with their ids")
    kind = str(original.get("kind", ""))
    if kind not in composers:
        raise PhraseError(f"an entry of kind `{kind}` cannot be corrected in words; withdraw it and log it anew")
    inner = Form(form.vocabulary, start=original)
    if rest:
        composers[kind](inner, rest)
    replacement = {**_laid_over(form, original, inner.fields), **moved}
    typed = {k: v for k, v in dict(original.get("typed") or {}).items() if k not in inner.typed}
    if typed or inner.typed:
        replacement["typed"] = {**typed, **inner.typed}
    try:
        parse({"at": original.get("at"), **replacement, "kind": kind, "id": "not-logged-yet"})
    except EntryError as problem:
        raise PhraseError(f"what the correction makes of the entry cannot be: {problem}") from None
    form.fields["replacement"] = replacement
    form.understood += inner.understood


def _moment(text: str, order: str | None) -> str:
    """The time that the entry really belongs to."""
    try:
        return moment(not_empty("when", text), LONG_AGO, order=order).isoformat()
    except ValueError as problem:
        raise PhraseError(f"when: {problem}") from None


def _other_tank(form: Form, original: Mapping[str, Any] | None, text: str) -> str:
    if not (original or {}).get("tank"):
        raise PhraseError("tank: this entry is not about one tank; withdraw it and log it anew where it belongs")
    return form.vocabulary.tank(not_empty("tank", text)).name


def _laid_over(form: Form, original: Mapping[str, Any], new: Mapping[str, Any]) -> dict[str, Any]:
    """The original's fields with the new ones over them; lists of values, items and steps go by their names."""
    made: dict[str, Any] = {k: v for k, v in original.items() if k not in _HEAD and k != "typed"}
    for name, value in new.items():
        if name in _LISTS:
            by = _LISTS[name]
            rows = {row[by]: row for row in made.get(name) or ()}
            rows.update({row[by]: row for row in value})
            made[name] = in_line_order(form, list(rows.values())) if name == "steps" else list(rows.values())
        elif name == "parts":
            made[name] = _parts(list(made.get(name) or ()), value)
        elif isinstance(value, dict) and isinstance(made.get(name), dict) and name != "body":
            made[name] = {**made[name], **value}
        else:
            made[name] = value
    if new.get("all"):
        made.pop("volume_l", None)
    if "volume_l" in new and original.get("all"):
        made.pop("all", None)
    return made


def _parts(before: list[dict[str, Any]], new: list[dict[str, Any]]) -> list[dict[str, Any]]:
    """One part corrects the one part there was; otherwise parts go by their description, and one that is new is added."""
    if len(before) == 1 and len(new) == 1:
        said = {k: v for k, v in new[0].items() if k != "description" or v != "load"}
        return [{**before[0], **said}]
    if any(p["description"] == "load" for p in new) and before:
        raise PhraseError("this run had several parts; name the one that is corrected before its area or count")
    rows = {p["description"]: p for p in before}
    for part in new:
        rows[part["description"]] = {**rows.get(part["description"], {}), **part}
    return list(rows.values())

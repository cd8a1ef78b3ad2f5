"""What a form's texts amount to: an echo or refusal for each field, the entry, what it would change, what of it is unlikely."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from datetime import datetime
from typing import Any

from bathkeeper.entries import EntryError
from bathkeeper.moments import moment
from bathkeeper.phrases import Composed, PhraseError, Vocabulary, compose
from bathkeeper.tui.desk import Desk
from bathkeeper.tui.field import Field, words_of
from bathkeeper.tui.waste_said import in_form
from bathkeeper.workshop import NotFound


@dataclass(frozen=True)
class Checked:
    """``raw``: the entry, None while something is refused; ``refused`` and ``echo`` by field; ``trouble`` of the whole form;
    ``pending``: what it would change is still being worked out."""

    raw: dict[str, Any] | None = None
    echo: dict[str, str] = field(default_factory=dict)
    refused: dict[str, str] = field(default_factory=dict)
    trouble: str = ""
    changes: tuple[str, ...] = ()
    doubts: tuple[str, ...] = ()
    pending: bool = False


def check(kind: str, fields: Sequence[Field], texts: Mapping[str, str], vocabulary: Vocabulary, now: datetime) -> Checked:
    """Composes the entry; a field is refused when the form is understood, or refused otherwise, without it."""
    refused: dict[str, str] = {}
    at = now
    try:
        at = moment(texts.get("when", ""), now, order=vocabulary.prefs.date_order)
    except ValueError as problem:
        refused["when"] = str(problem)
    filled = [f for f in fields if texts.get(f.key, "").strip() and f.key not in ("when", "reason")]
    made: Composed | None = None
    trouble = ""
    while made is None and not trouble:
        made, trouble = _composed(kind, filled, texts, vocabulary, at)
        if made is None:
            whole = trouble.startswith(f"{kind}: ")  # of the entry as a whole: not of the name that every refusal goes with
            asked = [f for f in filled if not f.choices and not (whole and f.group == "head")]
            asked.sort(key=lambda f: f.leads)  # a name is seldom what is wrong
            culprit = next((f for f in asked if _is_culprit(kind, f, trouble, filled, texts, vocabulary, at)), None)
            if culprit is not None:
                refused[culprit.key] = trouble
                filled, trouble = _without(filled, culprit), ""
    if kind == "container":
        asked_keys = {f.key for f in fields}
        refused = {key: in_form(text, asked_keys) for key, text in refused.items()}
        trouble = in_form(trouble, asked_keys) if trouble else ""
    if made is None:
        return Checked(refused=refused, trouble=trouble)
    return Checked(None if refused else made.raw, _echoes(kind, filled, texts, vocabulary, at, made), refused)


def _is_culprit(
    kind: str, one: Field, trouble: str, filled: Sequence[Field], texts: Mapping[str, str], vocabulary: Vocabulary, at: datetime
) -> bool:
    """Whether a refusal is about a field: without it the form is understood, or the refusal names it and is then another one.
    (Without a field that the entry needs it is refused as well, but for that.)"""
    made, other = _composed(kind, _without(filled, one), texts, vocabulary, at)
    if made is not None:
        return True
    said = _plain(trouble.partition("; write")[0])
    names = (one.key.rpartition(":")[2].partition("#")[0], one.label, one.about or "", texts[one.key].strip()[:20])
    return other != trouble and (one.long or any(_plain(name) in said for name in names if name.strip()))


def _plain(text: str) -> str:
    return text.casefold().replace("_", " ").replace("-", " ")


def _composed(
    kind: str, filled: Sequence[Field], texts: Mapping[str, str], vocabulary: Vocabulary, at: datetime
) -> tuple[Composed | None, str]:
    try:
        return compose(kind, words_of(filled, texts), vocabulary, at), ""
    except PhraseError as problem:
        return None, str(problem)


def _without(filled: Sequence[Field], one: Field) -> list[Field]:
    return [f for f in filled if f.key != one.key]


def _echoes(
    kind: str, filled: Sequence[Field], texts: Mapping[str, str], vocabulary: Vocabulary, at: datetime, made: Composed
) -> dict[str, str]:
    """What was understood of each field: the lines that go when it goes."""
    told = {texts[f.key] for f in filled if f.group == "head" and f.choices}  # chosen, so that no echo is needed
    said = [line for line in made.understood if not line.startswith("through ") and line not in told]
    echo: dict[str, str] = {}
    alone: list[Field] = []
    for one in filled:
        rest, _ = _composed(kind, _without(filled, one), texts, vocabulary, at)
        if rest is None:
            alone.append(one)
            continue
        own = [line for line in said if line not in rest.understood]
        if own:
            echo[one.key] = "; ".join(own)
    left = [line for line in said if line not in "; ".join(echo.values())]
    for one in alone:
        if not one.choices and not one.leads and left:
            echo[one.key] = "; ".join(left) if len(alone) == 1 else left.pop(0)
    return echo


def foresee(desk: Desk, checked: Checked) -> Checked:
    """The same with what the entry would change and what of it is unlikely. Nothing is written."""
    raw = checked.raw
    if raw is None or not desk.is_open:
        return checked
    try:
        changes = desk.ask(lambda w: w.preview(raw))
        doubts = desk.ask(lambda w: w.doubts_about(raw, desk.clock()))
    except (EntryError, NotFound) as problem:
        return Checked(None, checked.echo, checked.refused, str(problem))
    return Checked(raw, checked.echo, checked.refused, "", tuple(changes), tuple(doubts))


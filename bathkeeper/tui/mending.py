"""A correction from a form: what was not touched stays as the entry had it, to the last digit."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import datetime
from typing import Any

import msgspec

from bathkeeper.catalogue.loader import plain_name
from bathkeeper.tui.checking import Checked
from bathkeeper.tui.field import Field, Texts
from bathkeeper.tui.fields import OTHER, typed_keys
from bathkeeper.tui.run_fields import PART, part_key

LISTS = {"values": "of", "items": "reagent", "steps": "tank"}
CARRIED = ("by", "plan", "step", "confirms", "run", "runs", "spread")
"""What forms do not ask of every kind, and a correction therefore leaves alone."""


def mended(
    checked: Checked, original: Mapping[str, Any], fields: Sequence[Field], began: Texts, texts: Texts, at: datetime
) -> Checked:
    """``checked`` with the correction as its entry; ``began``: the texts that the form was filled with."""
    if checked.raw is None:
        return checked
    reason = texts.get("reason", "")
    if not reason.strip():
        return Checked(
            None, checked.echo, {"reason": "say why it is corrected, for example: misread the burette"}, checked.trouble
        )
    replacement = kept(checked.raw, original, fields, began, texts)
    if _same(replacement, original):
        return Checked(None, checked.echo, {}, "nothing differs from the entry as it is; change what was wrong, or leave")
    raw = {
        "kind": "correction",
        "at": at.isoformat(),
        "corrects": original["id"],
        "reason": reason.strip(),
        "replacement": replacement,
    }
    return Checked(raw, checked.echo)


def kept(
    raw: Mapping[str, Any], original: Mapping[str, Any], fields: Sequence[Field], began: Texts, texts: Texts
) -> dict[str, Any]:
    """The entry that the form tells of, with the original's own values wherever the text is as it was."""
    original = msgspec.json.decode(msgspec.json.encode(original))  # lists as lists, to be compared
    same = {f.key for f in fields if texts.get(f.key, "").strip() == began.get(f.key, "").strip()}
    asked = {f.key for f in fields}
    made = {k: v for k, v in raw.items() if k != "typed"}
    for name in CARRIED:
        if name not in asked and name in original:
            made[name] = original[name]
    if "when" in same:
        made.pop("at", None)  # a correction acts at the time of what it corrects
    for name in list(made):
        field = "place" if name == "order" else name
        if field in same and name in original:
            made[name] = original[name]
        elif field in same and field in asked:
            del made[name]  # filled in by the form itself, such as the metal of an anode known by its name
    for name, by in LISTS.items():
        if name in made or name in original:
            made[name] = _rows(name, by, list(made.get(name) or ()), list(original.get(name) or ()), same, asked)
            if not made[name]:
                del made[name]
    for name in ("contents", "units", "papers"):
        if name in made:
            before = original.get(name) or {}
            made[name] = {k: before[k] if f"{name}:{k}" in same and k in before else v for k, v in made[name].items()}
    if "parts" in made:
        made["parts"] = _parts(list(made["parts"]), list(original.get("parts") or ()), same)
    typed = _typed(raw, original, fields, same)
    return {**made, **({"typed": typed} if typed else {})}


def _rows(
    name: str, by: str, rows: list[dict[str, Any]], before: list[dict[str, Any]], same: set[str], asked: set[str]
) -> list[dict[str, Any]]:
    old = {row[by]: row for row in before}
    made = []
    for row in rows:
        keys = {k for k in asked if _is_of(k, name, row[by])}
        if name == "steps":
            keys |= {"supply", "dummy"}
            same_shape = len(row.get("branches", ())) == len(old.get(row[by], {}).get("branches", ()))
        else:
            same_shape = True
        untouched = bool(keys) and keys <= same and same_shape
        made.append(old[row[by]] if untouched and row[by] in old else row)
    told = {row[by] for row in made}
    lost = [r for r in before if r[by] not in told and not any(_is_of(k, name, r[by]) for k in asked)]
    made += lost
    if {r[by] for r in made} == set(old):
        made.sort(key=lambda row: list(old).index(row[by]))
    return made


def _is_of(key: str, name: str, row: str) -> bool:
    return key == f"{name}:{row}" or (name == "steps" and key.startswith(f"branch:{row}:"))


def _parts(parts: list[dict[str, Any]], before: list[dict[str, Any]], same: set[str]) -> list[dict[str, Any]]:
    made = []
    for number, part in enumerate(parts, start=1):
        untouched = number <= len(before) and all(part_key(name, number) in same for name in PART)
        made.append(before[number - 1] if untouched else part)
    return made


def _typed(raw: Mapping[str, Any], original: Mapping[str, Any], fields: Sequence[Field], same: set[str]) -> dict[str, str]:
    """What was typed: of fields that were touched as typed now, of the others as it was."""
    now, before = dict(raw.get("typed") or {}), dict(original.get("typed") or {})
    untouched = {plain_name(w) for f in fields if f.key in same for w in words_in(str(raw.get("kind")), f)}

    def is_untouched(key: str) -> bool:
        return plain_name(key) in untouched or plain_name(key.partition("@")[0]) in untouched

    return {k: t for k, t in before.items() if is_untouched(k)} | {k: t for k, t in now.items() if not is_untouched(k)}


def words_in(kind: str, field: Field) -> tuple[str, ...]:
    """The words under which an entry keeps what was typed into a field."""
    head, _, rest = field.key.partition(":")
    if rest and head != "branch":
        return (rest.replace("_", " ") if rest != OTHER else "",)
    name = head.partition("#")[0]
    return (PART[name][0],) if kind == "run" and name in PART else typed_keys(kind, name)


def _same(replacement: Mapping[str, Any], original: Mapping[str, Any]) -> bool:
    original = msgspec.json.decode(msgspec.json.encode(original))
    hidden = ("id", "schema", "typed", "at")
    one, other = ({k: v for k, v in e.items() if k not in hidden} for e in (replacement, original))
    return one == other and replacement.get("at", original["at"]) == original["at"]


"""The quick form: words that a person types -> the plain entry that :func:`bathkeeper.entries.parse` takes.

Used by the command line and by the forms of the app alike. Nothing here reads a clock or a file: the moment is an argument.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from bathkeeper.entries import KINDS, EntryError, parse
from bathkeeper.phrases import correction, equipment, keeping, reading, run, shop, solution, treatment, waste
from bathkeeper.phrases.words import Form, PhraseError, TankWord, Vocabulary, near

__all__ = ["EXAMPLES", "Composed", "PhraseError", "TankWord", "Vocabulary", "compose", "examples_of"]

COMPOSERS: dict[str, Callable[[Form, list[str]], None]] = {
    "reading": reading.compose_reading,
    "run": run.compose_run,
    "addition": solution.compose_addition,
    "make_up": solution.compose_make_up,
    "removal": solution.compose_removal,
    "anode": equipment.compose_anode,
    "treatment": treatment.compose_treatment,
    "calibration": equipment.compose_calibration,
    "remark": equipment.compose_remark,
    "tank": shop.compose_tank,
    "workshop": shop.compose_workshop,
    "definition": shop.compose_definition,
    "container": waste.compose_container,
    "stock": keeping.compose_stock,
    "plan": keeping.compose_plan,
    "snooze": keeping.compose_snooze,
}

EXAMPLES: dict[str, str] = {
    "reading": reading.EXAMPLE,
    "run": 'run "mixed brackets" area=3.2dm2 electrolyte=6.5A*45min pickle=2min',
    "addition": solution.ADDITION,
    "make_up": solution.MAKE_UP,
    "removal": solution.REMOVAL,
    "anode": equipment.ANODE,
    "treatment": treatment.TREATMENT,
    "calibration": equipment.CALIBRATION,
    "remark": equipment.REMARK,
    "tank": shop.TANK,
    "workshop": shop.WORKSHOP,
    "definition": shop.DEFINITION,
    "container": waste.CONTAINER,
    "stock": keeping.STOCK,
    "plan": keeping.PLAN,
    "snooze": keeping.SNOOZE,
    "correction": 'correction ID withdraw reason="logged twice"',
}
"""One line of each form, for help and for refusals."""


def examples_of(kind: str = "") -> list[str]:
    """The lines that help shows: of a kind its own (of a container one for each thing done to it), else one of every kind."""
    kind = kind.replace("-", "_")
    if kind == "container":
        return [*waste.EXAMPLES.values(), *waste.MORE_EXAMPLES]
    return [EXAMPLES[kind]] if kind in EXAMPLES else list(EXAMPLES.values())


@dataclass(frozen=True)
class Composed:
    """``raw``: kind, at, fields and typed, without an id; ``understood``: short lines such as ``zinc 32 g/L``."""

    raw: dict[str, Any]
    understood: list[str]


def compose(
    kind: str, words: Sequence[str], vocabulary: Vocabulary, at: datetime, original: Mapping[str, Any] | None = None
) -> Composed:
    """Words of one entry, as a shell would hand them over, as a plain entry.

    ``original``: the entry that a ``correction`` names, as plain values (``entries.to_plain``); its fields stand where the
    words say nothing new. ``at`` has to carry its offset.

    Raises:
        PhraseError: what was wrong, and what would be right.
    """
    if kind.replace("-", "_") in KINDS:
        kind = kind.replace("-", "_")
    if at.tzinfo is None:
        raise PhraseError(f"{at.isoformat()} has no offset from UTC; an entry's moment needs one, as in {at.isoformat()}+01:00")
    form = Form(vocabulary, at=at)
    if kind == "correction":
        correction.compose_correction(form, list(words), original, COMPOSERS)
    elif kind in COMPOSERS:
        COMPOSERS[kind](form, list(words))
    else:
        raise PhraseError(f"there is no form for `{kind}`{near(kind, [*COMPOSERS, 'correction'])}")
    raw: dict[str, Any] = {"kind": kind, "at": at.isoformat(), **form.fields}
    if form.typed:
        raw["typed"] = form.typed
    try:
        parse({**raw, "id": "not-logged-yet"})
    except EntryError as problem:
        example = waste.EXAMPLES.get(str(raw.get("action")), EXAMPLES[kind]) if kind == "container" else EXAMPLES[kind]
        raise PhraseError(f"{problem}; write for example {example}") from None
    return Composed(raw, form.understood)

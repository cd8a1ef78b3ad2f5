"""The workshop's settings as a plain table, and the entry that changes some of them and keeps the others."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from bathkeeper.entries import EntryError, Workshop, to_plain

HIDDEN = ("id", "at", "schema", "by", "typed")
HELP: Mapping[str, str] = {
    "name": "what the workshop is called",
    "gallon": "which gallon a bare `gal` means: us or imperial",
    "ounce": "which ounce a bare `oz` means: avoirdupois, troy or fluid",
    "decimal_comma": "whether 1,500 is one and a half",
    "date_order": "how a date such as 3/4/2026 is read: dmy or mdy; dates are shown as 2026-04-03",
    "units": "the unit that a kind of value is shown in",
    "country": "whose rules hold",
    "region": "the part of the country, where its rules differ",
    "keeper": "household or business: waste rules differ",
    "scale_resolution_g": "the step of the scale that parts, anodes and doses are weighed on",
    "embrittlement_rule": "the rule set for baking strong parts",
    "currency": "what prices are in, such as EUR",
    "address": "where the workshop is, for papers of waste",
    "phone": "for papers of waste and labels",
    "email": "for papers of waste",
    "site_code": "the number or code that an authority gave these premises, if any",
    "industry_code": "the code of the trade (SIC, NACE, NAICS), if any",
    "note": "anything else",
}
"""A line of help for each setting."""


def settings_of(entry: Workshop | None) -> dict[str, Any]:
    """Every setting by its name in the `workshop` entry; None where nothing is said."""
    plain = to_plain(entry) if entry is not None else {}
    names = [name for name in Workshop.__struct_fields__ if name not in (*HIDDEN, "note")] + ["note"]
    return {name: plain.get(name, {} if name == "units" else None) for name in names}


def changed(entry: Workshop | None, settings: Mapping[str, Any], typed: Mapping[str, str]) -> dict[str, Any]:
    """A plain `workshop` entry without moment: the settings named as given (None takes one back), all others as they are.
    ``typed``: the new ones as they were typed.

    Raises:
        EntryError: no such setting; says which there are.
    """
    before = settings_of(entry)
    unknown = [name for name in settings if name not in before]
    if unknown:
        raise EntryError(f"there is no setting `{unknown[0]}`; there are {', '.join(before)}")
    before_typed = entry.typed if entry is not None else {}
    said = {k: t for k, t in before_typed.items() if not any(name.startswith(k) for name in settings)} | dict(typed)
    kept = {name: value for name, value in {**before, **settings}.items() if value not in (None, "", {})}
    return {"kind": "workshop", **kept, **({"typed": said} if said else {})}

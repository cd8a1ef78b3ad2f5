"""What the form of a container begins with: its name, what is done, and of a hand-over what is known already."""

from __future__ import annotations

import re
from collections.abc import Sequence

from bathkeeper.ledger import HandOver, Held
from bathkeeper.phrases import spoken

RECEIPT_ONLY = (
    "container", "action", "reference", "receipt", "receipt_at", "papers:received_by", "papers:refused", "note", "when",
)  # fmt: skip
"""What is asked once the receipt of an earlier hand-over has come."""
CARRIED_ON = ("carrier", "carrier_registration", "vehicle", "destination", "permit")
"""What a hand-over most likely has in common with the last one."""


def begin_of(action: str, held: Held | None, handed: Sequence[HandOver] = ()) -> dict[str, str]:
    """The texts by field, of which every one can be changed; ``handed``: all hand-overs, oldest first."""
    begin = {"action": action, **({"container": held.container} if held is not None else {})}
    if held is None:
        return begin
    if action == "labelled":
        begin |= {"codes": ", ".join(held.codes), "hazards": ", ".join(held.hazards)}
    elif action == "moved":
        begin |= {"all": "yes"}
    elif action == "handed over":
        begin |= {"all": "yes", "codes": ", ".join(held.codes), "hazards": ", ".join(held.hazards)}
        begin |= {"physical_form": held.physical_form or "", "colour": held.colour or ""}
        if handed:
            last = handed[-1]
            begin |= {"to": last.to, "reference": next_reference(last.reference or "", [h.reference or "" for h in handed])}
            begin |= {f"papers:{n}": spoken.field_text(n, last.papers[n]) for n in CARRIED_ON if n in last.papers}
    return {key: text for key, text in begin.items() if text}


def begin_receipt(handed: HandOver) -> dict[str, str]:
    """The form of a receipt that came later."""
    return {"action": "handed over", "container": handed.container, "reference": handed.reference or ""}


def next_reference(last: str, taken: Sequence[str]) -> str:
    """The reference after the last one, ``LS-2026-01`` -> ``LS-2026-02``; nothing where it ends in no number."""
    found = re.search(r"([0-9]{1,9})$", last, re.ASCII)
    if found is None:
        return ""
    number, digits = int(found[1]), found[1]
    for step in range(1, len(taken) + 2):
        made = f"{last[: found.start()]}{number + step:0{len(digits)}d}"
        if made not in taken:
            return made
    return ""

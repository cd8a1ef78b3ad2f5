"""What the form of a container begins with: its name, what is done, and what its label says."""

from __future__ import annotations

from bathkeeper.ledger import HandOver, Held

RECEIPT_ONLY = (
    "container", "action", "reference", "of", "receipt", "receipt_at", "papers:received_by", "papers:refused", "note", "when",
)  # fmt: skip
"""What is asked once the receipt of an earlier hand-over has come."""


def begin_of(action: str, held: Held | None) -> dict[str, str]:
    """The texts by field, each of which can be changed. Only what is on record of this container stands there: to whom, how
    much and under which number a hand-over went is for the keeper to say, since Ctrl+S would make a fact of a guess."""
    begin = {"action": action, **({"container": held.container} if held is not None else {})}
    if held is not None and action in ("labelled", "handed over"):
        begin |= {"codes": ", ".join(held.codes), "hazards": ", ".join(held.hazards)}
    if held is not None and action == "handed over":
        begin |= {"physical_form": held.physical_form or "", "colour": held.colour or ""}
    if action == "moved":
        begin |= {"all": "yes"}  # nothing is moved before it is said where to
    return {key: text for key, text in begin.items() if text}


def begin_receipt(handed: HandOver) -> dict[str, str]:
    """The form of a receipt that came later; a hand-over without a reference goes by its entry."""
    which = {"reference": handed.reference} if handed.reference else {"of": handed.entry}
    return {"action": "handed over", "container": handed.container, **which}

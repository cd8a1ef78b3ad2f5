"""Refusals of a container's entry in the words of its form: its fields, where the quick form speaks of key=value."""

from __future__ import annotations

from collections.abc import Collection

KIND = "container: "
RECEIPT = "Write what the receipt is called (receipt), or why the load was refused; its day is today unless another is given."
OUT_OF_A_TANK = "is taken out of it, so that"
LIQUID = (
    "Liquid of a tank is logged as something taken out of that tank, where to: this container, so that the tank's litres fall "
    "as well. Leave the tank empty for liquid that came from none."
)
OF_FIELDS: tuple[tuple[str, str], ...] = (
    ("say how much was handed over", "Say how much was handed over: all of it, litres or weight. A receipt is logged with r."),
    ("say to whom", "Say to whom it was handed over (F4 offers who took something before)."),
    ("say how much in one way", "Say how much in one way only: all of it, litres or weight."),
    ("say what was put in", "Choose what went in."),
    ("say how much was put in", "Say how much went in: litres, weight or pieces."),
    ("say where it was moved to", "Say where to (F4 offers containers, tanks and other places)."),
    ("to the sewer only", "To the sewer only with the consent's reference."),
    ("say what was checked", "Answer at least one point: lid, label, tray or sound."),
    ("a test needs", "Write at least one value that was measured."),
    ("say what was done", "Say how it was treated (F4 offers words)."),
    ("which container", "Give the container a name first."),
    ("of= names", "Which hand-over it is of is asked for a receipt or a refusal alone: leave it empty."),
)
"""How a refusal begins -> what the form says instead."""


def in_form(refusal: str, asked: Collection[str]) -> str:
    """A refusal as the form says it; ``asked``: the keys of its fields. What is not known here loses its example alone."""
    said = refusal.removeprefix(KIND)
    if said.startswith("say how much was handed over") and "all" not in asked:
        return RECEIPT
    if OUT_OF_A_TANK in said:
        return LIQUID
    for beginning, words in OF_FIELDS:
        if said.startswith(beginning):
            return words
    plain = said.partition("; write for example")[0]
    return plain[:1].upper() + plain[1:] + ("" if plain.endswith((".", "?", "!")) else ".")

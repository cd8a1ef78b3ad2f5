"""The use cases of waste: containers, the account of litres and grams, rule set and candidates, plan, hand-overs and papers."""

from __future__ import annotations

from bathkeeper.ledger.asking import Ledger
from bathkeeper.ledger.shapes import Check, HandOver, Held, MissingGrams, WasteStatus

__all__ = ["Check", "HandOver", "Held", "Ledger", "MissingGrams", "WasteStatus"]

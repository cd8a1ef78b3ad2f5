"""Small made-up workshops."""

from __future__ import annotations

from itertools import count

from bathkeeper.catalogue.loader import load
from bathkeeper.entries import parse
from bathkeeper.safety.groups import shop_of

LINE = [
    ("degreaser", "degrease", "alkaline-degreaser"),
    ("rust-removal", "rust removal", "electrolytic-rust-removal"),
    ("rinse-1", "rinse", "running-rinse"),
    ("pickle", "pickle", "bisulfate-pickle"),
    ("rinse-2", "rinse", "running-rinse"),
    ("electrolyte", "plate", "zinc-nickel-chloride-potassium"),
    ("rinse-3", "rinse", "still-rinse"),
    ("acid-dip", "acid dip", "nitric-dip"),
    ("rinse-4", "rinse", "running-rinse"),
    ("passivate", "passivate", "trivalent-passivate-coloured"),
]


class Diary:
    """Entries a minute apart, in the order told."""

    def __init__(self, line=LINE):
        self._minutes = count()
        self.entries = []
        for order, (tank, role, recipe) in enumerate(line):
            self.tell("tank", tank=tank, role=role, order=order, **({"recipe": recipe} if recipe else {}))

    def tell(self, kind, **fields):
        n = next(self._minutes)
        entry = parse({"id": f"entry-{n:06d}", "kind": kind, "at": f"2024-05-01T{n // 60:02d}:{n % 60:02d}:00+02:00", **fields})
        self.entries.append(entry)
        return entry

    def add(self, tank, reagent, amount=10.0, unit="g"):
        return self.tell("addition", tank=tank, items=[{"reagent": reagent, "amount": amount, "unit": unit}])

    def run(self, *tanks, parts=(), **step):
        return self.tell("run", steps=[{"tank": t, "minutes": 10, **step} for t in tanks], parts=list(parts))

    def shop(self, definitions=(), on_shelf=()):
        return shop_of(self.entries, load().with_definitions(definitions), on_shelf)

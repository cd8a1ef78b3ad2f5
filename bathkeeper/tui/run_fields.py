"""The fields of a run: as many parts as hang on the hooks, and for each tank its stay and charge, in one go or by branches."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, field
from typing import Any

from bathkeeper.phrases import PhraseError, TankWord, Vocabulary, spoken
from bathkeeper.tui.field import Field, Texts
from bathkeeper.tui.gathering import Facts
from bathkeeper.tui.plain import fit

PART = {
    "description": ("description", "parts", "mixed brackets", ""),
    "count": ("count", "count", "", ""),
    "area_dm2": ("area", "area", "", "dm2"),
    "property_class": ("class", "property class", "for example 10.9", ""),
    "strength_mpa": ("strength", "strength", "", "MPa"),
    "coating_stripped_g": ("stripped", "coating stripped", "", "g"),
    "safety_critical": ("safety_critical", "safety critical", "", ""),
}
"""Field of a part -> its word, label, example, unit."""
FIRST = ("description", "count", "area_dm2")
BRANCH = {"supply": "supply", "anodes": "anodes", "charge": "charge", "volts": "volts"}


@dataclass(frozen=True)
class Shape:
    """How many parts a run's form has, and how many branches each tank's step."""

    parts: int = 1
    branches: Mapping[str, int] = field(default_factory=dict)

    @classmethod
    def of(cls, plain: Mapping[str, Any]) -> Shape:
        """That of a run."""
        branches = {s["tank"]: len(s["branches"]) for s in plain.get("steps", ()) if s.get("branches")}
        return cls(max(len(plain.get("parts") or ()), 1), branches)

    @classmethod
    def typed(cls, texts: Texts) -> Shape:
        """That of a form whose texts are known."""
        parts, branches = 1, dict[str, int]()
        for key in texts:
            if key.startswith("branch:"):
                tank, _, number = key.removeprefix("branch:").rpartition(":")[0].rpartition(":")
                branches[tank] = max(branches.get(tank, 0), int(number))
            elif "#" in key and key.partition("#")[0] in PART and key.rpartition("#")[2].isdigit():
                parts = max(parts, int(key.rpartition("#")[2]))
        return cls(parts, branches)

    def with_parts(self, by: int) -> Shape:
        """One more or one less; one is the least."""
        return Shape(max(self.parts + by, 1), self.branches)

    def with_branches(self, tank: str, by: int) -> Shape:
        """One more or one less in a tank; none is the least."""
        count = max(self.branches.get(tank, 0) + by, 0)
        return Shape(self.parts, {**{t: n for t, n in self.branches.items() if t != tank}, **({tank: count} if count else {})})


def part_key(name: str, number: int) -> str:
    """The key of a part's field; the first part's has no number."""
    return name if number == 1 else f"{name}#{number}"


def part_fields(known: Facts, shape: Shape) -> Iterator[Field]:
    """Every part's fields: what, how many and how much first, the rest behind the steps."""
    last = list(known.last.get("parts") or ())
    for number in range(1, shape.parts + 1):
        before: Mapping[str, Any] = last[number - 1] if number <= len(last) else {}
        for name, (word, label, example, unit) in PART.items():
            key = part_key(name, number)
            first = name in FIRST
            said = _part_text(name, before, known.last if len(last) == 1 else {}, word)
            yield Field(
                key,
                label if shape.parts == 1 else f"{number} {label}",
                lambda text: [],
                f"last {said}" if said else example,
                choices=("", "yes") if name == "safety_critical" else (),
                default=said if first or known.keeps else "",
                last=said,
                unit=unit,
                suggest=known.names.get("description", ()) if name == "description" else (),
                group=f"part {number}",
                together=_part_words(number),
                rank=0 if first else 2,
            )


def _part_text(name: str, part: Mapping[str, Any], run: Mapping[str, Any], word: str) -> str:
    value = part.get(name)
    if value is None or value is False:
        return "1" if name == "count" and part else ""
    said = spoken.typed_text(run, word) if name != "description" else ""
    if name == "area_dm2" and part.get("spread") is not None and not said:
        return f"{spoken.number_text(value)}±{spoken.number_text(part['spread'])} dm2"
    return said or spoken.field_text(name, value)


def _part_words(number: int) -> Callable[[Texts], list[str]]:
    def words(texts: Texts) -> list[str]:
        said = {key.partition("#")[0]: text for key, text in texts.items()}
        made = [f"description={said['description']}"] if "description" in said else []
        if not made and number > 1:
            made = [f"description=part {number}"]
        return made + [f"{PART[name][0]}={text}" for name, text in said.items() if name != "description"]

    return words


def step_fields(known: Facts, shape: Shape) -> Iterator[Field]:
    """A field for each tank in line order, or four for each branch of its step."""
    before = {s["tank"]: s for s in known.last.get("steps", ())}
    steps = [t for t in in_order(known.vocabulary) if (t.in_service and t.role != "dry") or t.name in before]
    for tank in steps:
        step = before.get(tank.name, {})
        if shape.branches.get(tank.name):
            yield from _branches(tank, step, shape.branches[tank.name], known)
            continue
        passed = spoken.typed_text(known.last, tank.name) or spoken.step_text(step)
        example = "6.5A*45min or 4.9Ah" if tank.role in ("plate", "rust removal") else ""
        yield Field(
            f"steps:{tank.name}",
            tank.name,
            _step_words(tank.name),
            example,
            default=passed,
            last=passed,
            unit="min",
            about=tank.name,
            rank=1,
        )
    charged = [s for s in before.values() if s.get("charge")]
    supplies = {str(s.get("supply") or "") for s in charged}
    supply = supplies.pop() if len(supplies) == 1 else ""
    offered = known.names.get("supply", ())
    hint = f"last {supply}" if supply else ", ".join(offered[:2])
    yield Field("supply", "supply", lambda text: [f"supply={text}"], hint, default=supply, last=supply, suggest=offered, rank=2)
    dummy = "yes" if charged and all(s.get("dummy") for s in charged) else ""
    yield Field(
        "dummy", "dummy, no parts", lambda text: [f"dummy={text}"], choices=("", "yes"), last=dummy,
        default=dummy if known.keeps else "", rank=2,
    )  # fmt: skip


def _step_words(tank: str) -> Callable[[str], list[str]]:
    def words(text: str) -> list[str]:
        main, at, circumstances = text.partition("@")
        return [f"{tank}{at}{circumstances.strip()}={main.strip()}"]

    return words


def _branches(tank: TankWord, step: Mapping[str, Any], count: int, known: Facts) -> Iterator[Field]:
    told = list(step.get("branches") or ())
    for number in range(1, count + 1):
        branch: Mapping[str, Any] = told[number - 1] if number <= len(told) else {}
        plain = spoken.step_text(step) if number == 1 and not told else ""
        said = {
            "supply": str(branch.get("supply") or ""),
            "anodes": ",".join(branch.get("anodes") or ()),
            "charge": spoken.charge_text(branch["charge"], step.get("minutes")) if branch else plain,
            "volts": f"{spoken.number_text(branch['volts'])} V" if branch.get("volts") is not None else "",
        }
        hints = {"supply": ", ".join(known.names.get("supply", ())[:2]) or "bench-1", "anodes": ",".join(tank.anodes)}
        hints |= {"charge": "0.95A*45min", "volts": "3.2"}
        for name, label in BRANCH.items():
            yield Field(
                f"branch:{tank.name}:{number}:{name}",
                f"{fit(tank.name, 10)} {number} {label}",
                lambda text: [],
                hints[name],
                default=said[name],
                last=said[name],
                unit="V" if name == "volts" else "",
                about=tank.name,
                suggest=known.names.get("supply", ()) if name == "supply" else tuple(tank.anodes) if name == "anodes" else (),
                group=f"branch {tank.name} {number}",
                together=_branch_words(tank.name, number),
                rank=1,
            )


def _branch_words(tank: str, number: int) -> Callable[[Texts], list[str]]:
    def words(texts: Texts) -> list[str]:
        said = {key.rpartition(":")[2]: text for key, text in texts.items()}
        if "supply" not in said and "anodes" not in said:
            raise PhraseError(f"{tank} {number}: a branch needs its supply or its anodes, for example bench-1")
        supply = "." + said["supply"] if "supply" in said else ""
        anodes = ":" + said["anodes"].replace(" ", "") if "anodes" in said else ""
        volts = "@" + said["volts"].replace(" ", "") if "volts" in said else ""
        return [f"{tank}{supply}{anodes}{volts}={said.get('charge', '')}"]

    return words


def in_order(vocabulary: Vocabulary) -> list[TankWord]:
    """The tanks as they stand."""
    return sorted(vocabulary.tanks.values(), key=lambda t: t.place)

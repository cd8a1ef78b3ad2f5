"""Random small books of a four-tank line, for laws that must hold whatever a keeper writes."""

from __future__ import annotations

from datetime import timedelta
from typing import Any

from hypothesis import strategies as st

from bathkeeper.entries import AnyEntry, parse
from tests.estimate.helpers import BATH, CONTENTS, START, TWO_POINT

LINE = (
    ("pickle", "pickle", "bisulfate-pickle", 20.0),
    ("rinse-1", "rinse", "running-rinse", 20.0),
    ("bath", "plate", BATH, 40.0),
    ("rinse-2", "rinse", "still-rinse", 20.0),
)
NAMES = tuple(name for name, *_ in LINE)
BUSES = ("main", "second")

Raw = dict[str, Any]


def opening() -> list[Raw]:
    """The line described, filled and with its anodes."""
    raws: list[Raw] = []
    for order, (tank, role, recipe, litres) in enumerate(LINE, start=1):
        table = {"level_table": TWO_POINT} if tank == "bath" else {}
        raws.append(
            {"kind": "tank", "tank": tank, "role": role, "order": order, "recipe": recipe, "working_volume_l": litres, **table}
        )
    for tank, _, _, litres in LINE:
        raws.append({"kind": "make_up", "tank": tank, "volume_l": litres, "contents": CONTENTS if tank == "bath" else {}})
    raws.append(
        {
            "kind": "anode",
            "tank": "bath",
            "anode": "zinc-1",
            "action": "hung",
            "metal": "zinc",
            "mass_g": 4000.0,
            "area_dm2": 5.0,
        }
    )
    raws.append({"kind": "anode", "tank": "bath", "anode": "nickel-1", "action": "hung", "metal": "nickel", "mass_g": 1500.0})
    return raws


def amounts(low: float, high: float) -> st.SearchStrategy[float]:
    return st.floats(low, high).map(lambda x: round(x, 3))


def charges() -> st.SearchStrategy[Raw]:
    return st.one_of(
        st.builds(lambda x: {"charge_ah": x}, amounts(0.5, 8.0)),
        st.builds(lambda x: {"current_a": x}, amounts(1.0, 9.0)),
        st.builds(
            lambda a, b: {"stretches": [{"current_a": a, "minutes": 20.0}, {"current_a": b, "minutes": 25.0}]},
            amounts(1, 9),
            amounts(1, 9),
        ),
        st.builds(lambda a, b: {"ramp": {"from_a": a, "to_a": b, "minutes": 45.0}}, amounts(1, 9), amounts(1, 9)),
        st.builds(lambda a, b: {"counter": {"start_ah": a, "end_ah": b}}, amounts(0.0, 6.0), amounts(0.0, 6.0)),
    )


@st.composite
def runs(draw: st.DrawFn) -> Raw:
    tanks = draw(st.sampled_from([NAMES, NAMES[2:], ("bath",), ("pickle", "bath", "rinse-2"), NAMES[:3]]))
    steps: list[Raw] = []
    for tank in tanks:
        step: Raw = {"tank": tank, "minutes": 45.0 if tank == "bath" else 5.0}
        if tank == "bath" and draw(st.booleans()):
            branches = [{"charge": draw(charges()), "supply": "main", "anodes": ["zinc-1"]}]
            branches.append({"charge": {"charge_ah": 0.6}, "supply": "second", "anodes": ["nickel-1"]})
            step["branches"] = branches
        elif tank == "bath":
            step |= {"charge": draw(charges()), "supply": draw(st.sampled_from(BUSES)), "dummy": draw(st.booleans())}
        steps.append(step)
    run: Raw = {"kind": "run", "steps": steps}
    if draw(st.integers(0, 4)):
        run["parts"] = [{"description": "parts", "area_dm2": draw(amounts(0.5, 12.0))}]
    if not draw(st.integers(0, 4)):
        run |= {"mass_before_g": 900.0, "mass_after_g": 900.0 + draw(amounts(1.0, 12.0))}
    return run


@st.composite
def readings(draw: st.DrawFn) -> Raw:
    values: list[Raw] = []
    far = draw(st.sampled_from([1.0, 0.98, 1.4, 1.41, 1.42, 0.6]))  # off by much now and then, and then often by as much again
    lot = {"lot": draw(st.sampled_from(["A", "B"]))} if draw(st.booleans()) else {}
    kind = draw(st.sampled_from(["zinc", "zinc", "metals", "level", "ph", "rinse", "pickle", "difference"]))
    if kind == "metals":
        values = [
            {"of": "zinc", "value": round(33 * far, 2), "unit": "g/L", **lot},
            {"of": "nickel", "value": 24.0, "unit": "g/L", **lot},
        ]
    elif kind == "zinc":
        values = [{"of": "zinc", "value": round(33 * far, 2), "unit": "g/L", **lot}]
    elif kind == "difference":
        values = [{"of": "zinc", "value": 33.0, "unit": "g/L", "method": "zinc by difference"}]
        values.append({"of": "nickel", "value": round(24 * far, 2), "unit": "g/L", "method": "nickel photometer"})
    elif kind == "level":
        values = [{"of": "level", "value": round(400 * far, 1), "unit": "mm"}]
    elif kind == "ph":
        values = [{"of": "ph", "value": round(5.4 * far, 1), "unit": "pH"}]
    elif kind == "rinse":
        return {
            "kind": "reading",
            "tank": "rinse-2",
            "values": [{"of": "conductivity", "value": round(0.5 * far, 3), "unit": "mS/cm"}],
        }
    else:
        return {
            "kind": "reading",
            "tank": "pickle",
            "values": [{"of": "free_acid", "value": round(100 * far, 1), "unit": "g/L"}],
        }
    return {"kind": "reading", "tank": "bath", "values": values}


def others() -> st.SearchStrategy[Raw]:
    reagents = st.sampled_from(
        [
            ("bath", "nickel chloride hexahydrate", "g"),
            ("bath", "hydrochloric acid 37%", "mL"),
            ("bath", "water", "L"),
            ("pickle", "sodium bisulfate", "g"),
            ("rinse-2", "water", "L"),
            ("bath", "brightener", "mL"),
        ]
    )
    return st.one_of(
        st.builds(
            lambda r, x: {
                "kind": "addition",
                "tank": r[0],
                "items": [{"reagent": r[1], "amount": x / 100 if r[2] == "L" else x, "unit": r[2]}],
            },
            reagents,
            amounts(5, 150),
        ),
        st.builds(
            lambda tank, x, to: {"kind": "removal", "tank": tank, "volume_l": x, "to": to},
            st.sampled_from(NAMES[:3]),
            amounts(0.01, 12.0),
            st.sampled_from(["rinse-2", "drum", "sample"]),
        ),
        st.builds(
            lambda tank: {"kind": "removal", "tank": tank, "all": True, "to": "drum"},
            st.sampled_from(["pickle", "rinse-1", "bath"]),
        ),
        st.builds(
            lambda tank, c: {"kind": "make_up", "tank": tank, "volume_l": c},
            st.sampled_from(["pickle", "rinse-1", "rinse-2", "bath"]),
            amounts(15, 40),
        ),
        st.builds(
            lambda a, m: {"kind": "anode", "tank": "bath", "anode": "zinc-1", "action": a, "mass_g": m},
            st.sampled_from(["lifted", "hung", "weighed"]),
            amounts(3900, 4010),
        ),
        st.just({"kind": "anode", "tank": "bath", "anode": "nickel-1", "action": "retired"}),
        st.builds(
            lambda m: {"kind": "anode", "tank": "bath", "anode": "nickel-1", "action": "hung", "metal": "nickel", "mass_g": m},
            amounts(900, 1500),
        ),
        st.just({"kind": "remark", "text": "the lid was off"}),
    )


def wastes() -> st.SearchStrategy[Raw]:
    """What is done to containers, filled or not."""
    names = st.sampled_from(["drum", "drum", "tote"])

    def made(action: str, **fields: st.SearchStrategy[Any]) -> st.SearchStrategy[Raw]:
        return st.fixed_dictionaries({"kind": st.just("container"), "container": names, "action": st.just(action), **fields})

    soda = st.builds(lambda x: [{"reagent": "sodium hydroxide", "amount": x, "unit": "g"}], amounts(5, 900))
    tested = st.builds(
        lambda of, x: [{"of": of, "value": x, "unit": "L" if of == "volume" else "g/L"}],
        st.sampled_from(["volume", "zinc", "free acid", "lead"]),
        amounts(0.1, 40),
    )
    sent = {"to": st.just("the collection point"), "reference": st.just("paper-1")}
    return st.one_of(
        st.builds(
            lambda tank, x, to: {"kind": "removal", "tank": tank, **x, "to": to},
            st.sampled_from(NAMES),
            st.one_of(st.just({"all": True}), amounts(0.5, 30).map(lambda x: {"volume_l": x})),
            names,
        ),
        made("opened", form=st.just("drum"), volume_l=amounts(0.5, 10)),
        made("put in", what=st.sampled_from(["rags", "sludge", "filters"]), mass_kg=amounts(0.1, 3)),
        made("moved", to=st.sampled_from(["other", "bath", "rinse-2", "spill"]), volume_l=amounts(0.1, 20)),
        made("moved", to=st.sampled_from(["other", "rinse-2"]), all=st.just(True)),
        made("tested", values=tested),
        made("treated", treatment=st.just("neutralised"), items=soda),
        made("treated", treatment=st.just("left open"), volume_l=amounts(0.1, 5)),
        made("handed over", volume_l=amounts(0.5, 25), **sent),
        made("handed over", mass_kg=amounts(0.5, 25), **sent),
        made("handed over", all=st.just(True), **sent),
    )


def calibrations() -> st.SearchStrategy[Raw]:
    return st.builds(
        lambda what, r: {"kind": "calibration", "what": what[0], "name": what[1], "against": "a better one", "result": r},
        st.sampled_from([("supply", "main"), ("titrant lot", "A")]),
        amounts(0.95, 1.05),
    )


@st.composite
def books(draw: st.DrawFn, most: int = 22, calibrated: bool = True, wasted: bool = False) -> list[AnyEntry]:
    """An opened line and what happened on it afterwards, in the order of writing, with corrections and confirmations;
    ``wasted``: with containers of waste in it."""
    raws = opening()
    for number, raw in enumerate(raws):
        raw |= {"id": f"book-{number:05d}", "at": START + timedelta(minutes=number)}
    kinds = [runs(), readings(), readings(), readings(), others(), *([calibrations()] if calibrated else [])]
    kinds += [wastes(), wastes(), wastes()] if wasted else []
    happened = draw(st.lists(st.one_of(kinds), min_size=3, max_size=most))
    later: list[Raw] = []
    day = 1.0
    for number, raw in enumerate(happened):
        day += draw(amounts(0.0, 6.0))
        later.append({**raw, "id": f"book-{draw(st.integers(0, 99)):02d}-{number:05d}", "at": START + timedelta(days=day)})
    mended = draw(st.lists(st.sampled_from(later), max_size=3, unique_by=lambda r: r["id"]))
    return [parse(r) for r in [*raws, *later, *(draw(_afterthoughts(raw, n)) for n, raw in enumerate(mended))]]


@st.composite
def _afterthoughts(draw: st.DrawFn, raw: Raw, number: int) -> Raw:
    """A reading confirmed, or an entry withdrawn or replaced by another of its kind."""
    thought: Raw = {"id": f"book-later-{number:03d}", "at": raw["at"] + timedelta(days=draw(st.integers(0, 9)), hours=1)}
    if raw["kind"] == "reading" and draw(st.booleans()):
        return {"kind": "reading", "confirms": [raw["id"]], **thought}
    correction = {"kind": "correction", "corrects": raw["id"], **thought}
    if draw(st.booleans()):
        return {**correction, "reason": "never happened", "withdraw": True}
    fresh = draw({"reading": readings(), "run": runs()}.get(raw["kind"], st.just(raw)))
    body = {k: v for k, v in fresh.items() if k not in ("id", "at", "kind")}
    when = {"at": raw["at"] - timedelta(days=1)} if draw(st.booleans()) else {}
    return {**correction, "reason": "a slip", "replacement": {**body, **when}}

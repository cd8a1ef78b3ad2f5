"""What a form needs to know of the workshop before it can ask: words, the tank as it stands, what was said the last time."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from typing import Any

from bathkeeper.catalogue.own import OwnPart, all_of
from bathkeeper.catalogue.schema import Recipe
from bathkeeper.entries import DEFINABLE, RESERVED_PLACES, Container, Removal, Run, Treatment, Unknown, to_plain
from bathkeeper.estimate.view import TankView
from bathkeeper.headlines import headline
from bathkeeper.ledger import Ledger
from bathkeeper.phrases import Vocabulary
from bathkeeper.runs.library import known_parts
from bathkeeper.tui.toml_text import starting_point, toml
from bathkeeper.waste.content import SYMBOLS, may_hold
from bathkeeper.workshop import Workshop

RUNS = 12  # how many of the newest runs are offered
PARTS = 40  # how many of the keeper's own parts are offered


@dataclass(frozen=True)
class Facts:
    """``last``: the last similar entry, or the one that the form is about, as plain values; ``recent``: what was lately read in
    the tank or put into it, newest first; ``runs``: label -> id; ``names``: what is offered by field; ``rules``: known for
    baking; ``keeps``: the form begins with what ``last`` has; ``correcting``: ``last`` is the entry to be corrected;
    ``before``: what was done to a container -> the last such entry, of the same container where there is one."""

    vocabulary: Vocabulary
    view: TankView | None
    last: Mapping[str, Any] = field(default_factory=dict)
    recent: tuple[str, ...] = ()
    runs: Mapping[str, str] = field(default_factory=dict)
    names: Mapping[str, tuple[str, ...]] = field(default_factory=dict)
    rules: tuple[str, ...] = ()
    keeps: bool = False
    correcting: bool = False
    first_reagents: tuple[str, ...] = ("water",)
    before: Mapping[str, Mapping[str, Any]] = field(default_factory=dict)

    @property
    def recipe(self) -> Recipe | None:
        """That of the tank."""
        return self.vocabulary.catalogue.recipes.get(self.view.recipe or "") if self.view is not None else None

    @property
    def body(self) -> str:
        """The body of a definition as TOML."""
        return toml(self.last["body"]) if self.last.get("body") else ""

    def beside(self, of: str, name: str) -> str:
        """What stands beside a definition in the making: the keeper's own of that name, the catalogue's, or the fields there
        are."""
        return starting_point(self.vocabulary.catalogue, of, name)


def facts(workshop: Workshop, kind: str, tank: str | None, correct: str | None = None, container: str = "") -> Facts:
    """Gathers them. ``correct``: the id of the entry that is to be corrected; ``container``: of waste, that the form is about.

    Raises:
        NotFound: there is no such entry.
    """
    of_tank = None if kind in ("run", "calibration", "definition", "container") else tank
    entries = [e for e in workshop.entries(of_tank)[:400] if e.kind == kind and not isinstance(e, Unknown)]
    plain = [to_plain(e) for e in entries[: 400 if kind == "container" else 40]]  # checks of many drums fill the newest
    last: Mapping[str, Any] = plain[0] if plain else {}
    keeps = correct is not None
    if correct is not None:
        target = workshop.entry(correct)
        last = to_plain(target) if not isinstance(target, Unknown) else {}
        plain = [dict(last), *plain]
    elif kind == "tank":
        last, keeps = (last, True) if tank is not None else ({"order": _next_place(workshop)}, True)
    elif kind == "workshop":
        entry = workshop.world.workshop
        last, keeps = (to_plain(entry) if entry is not None else {}), True
    elif kind == "definition":
        last = {}
    read = [v["of"] for p in plain for v in p.get("values", ())] + [i["reagent"] for p in plain for i in p.get("items", ())]
    view = workshop.tank(tank) if tank is not None and tank in workshop.world.tanks else None
    everything = workshop.entries()
    runs = {_run_label(r): r.id for r in [e for e in everything if isinstance(e, Run)][:RUNS]}
    if last.get("run") and last["run"] not in runs.values():
        runs[f"{last['run'][-8:]}, not in force any more"] = str(last["run"])
    words = workshop.vocabulary
    if correct is not None and last.get("run"):  # what the entry says stays sayable, be the run in force or not
        words = replace(words, runs={str(last["run"]): False, **words.runs})
    return Facts(
        words,
        view,
        last,
        tuple(dict.fromkeys(read)),
        runs,
        _of_container(workshop, container or str(last.get("container") or "" if keeps else ""), everything)
        if kind == "container"
        else _names(workshop, kind, tank, everything),
        _rules(workshop) if kind == "workshop" else (),
        keeps,
        correct is not None,
        ("activated carbon", "hydrogen peroxide 30%", "zinc dust", "water") if kind == "treatment" else ("water",),
        _done_before(plain, container) if kind == "container" else {},
    )


def _done_before(newest_first: list[dict[str, Any]], container: str) -> dict[str, Mapping[str, Any]]:
    """By what was done the last entry, one of the container itself before those of others."""
    found: dict[str, Mapping[str, Any]] = {}
    for plain in sorted(newest_first, key=lambda p: p.get("container") != container):
        if plain.get("receipt") is None or plain.get("to") is not None:  # a receipt alone is no hand-over
            found.setdefault(str(plain["action"]), plain)
    return found


def _run_label(run: Run) -> str:
    return f"{run.at:%d %b %H:%M} {headline(run)}"[:60]


def _next_place(workshop: Workshop) -> int:
    return max((t.entry.place for t in workshop.world.tanks.values()), default=0) + 1


def _rules(workshop: Workshop) -> tuple[str, ...]:
    from bathkeeper.safety.loader import load

    own = [n for n, body in workshop.catalogue.own.get("limit", {}).items() if "bands" in body]
    return (*load().rules, *own)


def _names(workshop: Workshop, kind: str, tank: str | None, everything: list[Any]) -> dict[str, tuple[str, ...]]:
    catalogue, tanks = workshop.catalogue, list(workshop.world.tanks)
    if kind in ("removal", "treatment"):
        been = [e.to for e in everything if isinstance(e, (Removal, Treatment)) and e.to]
        places = [p for p in dict.fromkeys([*been, *_containers(workshop)]) if p not in tanks and p not in RESERVED_PLACES]
        if kind == "treatment":  # spent carbon goes into no tank
            return {"to": tuple(places)}
        return {"to": (*places, *(t for t in tanks if t != tank), *RESERVED_PLACES)}
    if kind == "anode":
        return {"metal": tuple(catalogue.metals)}
    if kind == "tank":
        return {"recipe": tuple(catalogue.recipes), "tank": tuple(tanks)}
    if kind == "definition":
        known = {"recipe": catalogue.recipes, "reagent": catalogue.reagents, "method": catalogue.methods}
        every = [n for of in DEFINABLE for n in {**known.get(of, {}), **catalogue.own.get(of, {})}]
        return {"name": tuple(dict.fromkeys(every))}
    supplies = list(catalogue.own.get("supply", {}))
    for run in [e for e in everything if isinstance(e, Run)][:40]:
        supplies += [s.supply for s in run.steps if s.supply]
        supplies += [b.supply for s in run.steps for b in s.branches if b.supply]
    if kind == "calibration":
        before = [e.name for e in everything if e.kind == "calibration" and not isinstance(e, Unknown)]
        return {"name": tuple(dict.fromkeys([*before, *supplies]))}
    if kind != "run":
        return {}
    own = known_parts(everything[::-1], all_of(catalogue.own, "part", OwnPart))
    return {"supply": tuple(dict.fromkeys(supplies)), "description": tuple(own)[:PARTS]}


def _containers(workshop: Workshop) -> list[str]:
    """Every container on record, those that hold something first, the newest of each first."""
    newest = list(workshop.world.containers.values())
    newest.reverse()
    return [s.name for s in sorted(newest, key=lambda s: s.empty)]


def _of_container(workshop: Workshop, name: str, everything: list[Any]) -> dict[str, tuple[str, ...]]:
    """What is offered in the form of a container: names, places, receivers; what is in this one, and codes that may fit it."""
    told = [e for e in everything if isinstance(e, Container)]
    tanks, others = list(workshop.world.tanks), _containers(workshop)
    state = workshop.world.containers.get(name)
    metals: list[str] = []
    codes: list[str] = []
    if state is not None and not state.empty:
        ledger = Ledger(workshop)
        stream = ledger.stream(name)
        metals = [m for m in SYMBOLS if may_hold(stream, m) and m in stream.amounts]
        codes = [*state.codes, *ledger.container(name).candidate_codes]
    return {
        "container": tuple(others),
        "tank": tuple(tanks),
        "place": tuple(dict.fromkeys(e.place for e in told if e.place)),
        "moved:to": (*(n for n in others if n != name), *tanks, *RESERVED_PLACES),
        "handed over:to": tuple(dict.fromkeys(e.to for e in told if e.action == "handed over" and e.to)),
        "reference": tuple(e.reference for e in told if e.hands_over and e.reference)[:1],
        "held": tuple(metals),
        "codes": tuple(dict.fromkeys(codes)),
        "hazards": state.hazards if state is not None else (),
    }

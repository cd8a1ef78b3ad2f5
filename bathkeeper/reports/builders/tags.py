"""What stands on the labels of tanks and containers: contents, first day, hazards to ask about, what to keep away."""

from __future__ import annotations

from collections.abc import Sequence

from bathkeeper.answers.shapes import NotFound
from bathkeeper.estimate.containers import ContainerState
from bathkeeper.estimate.state import TankState
from bathkeeper.ledger import Ledger
from bathkeeper.reports.builders.ground import Ground
from bathkeeper.reports.builders.waste_words import KIND_WORDS, producer_line
from bathkeeper.reports.labels import PICTOGRAMS, Label
from bathkeeper.waste.candidates import contents_in_words
from bathkeeper.waste.composition import composition
from bathkeeper.waste.stream import Stream

TOLD_FROM = {"H34": 0.1, "H35": 0.1, "H36": 0.1, "H317": 0.1, "H334": 0.1, "": 1.0}
"""% w/w (high end) from which a substance's statements are told: the general cut-offs. Status: memory; source: CLP Regulation
(EC) 1272/2008, annex I, table 1.1. The supplier's sheet is to be looked at."""

PICTURES = {
    "GHS02": ("H22", "H24", "H25", "H26"),
    "GHS03": ("H270", "H271", "H272"),
    "GHS05": ("H290", "H314", "H318"),
    "GHS06": ("H300", "H301", "H310", "H311", "H330", "H331"),
    "GHS07": ("H302", "H312", "H315", "H317", "H319", "H332", "H335", "H336"),
    "GHS08": ("H304", "H334", "H340", "H341", "H350", "H351", "H360", "H361", "H370", "H371", "H372", "H373"),
    "GHS09": ("H400", "H410", "H411"),
}
"""Pictograms by the beginnings of statements. Status: memory; source: CLP Regulation (EC) 1272/2008, annex I."""

DANGER = (
    "H270", "H271", "H300", "H301", "H304", "H310", "H311", "H314", "H318", "H330", "H331", "H334", "H340", "H350", "H360",
    "H370", "H372",
)  # fmt: skip
"""Statements whose signal word is danger (memory, as above)."""

CHECK = "Hazards reckoned from the logbook: check them against the suppliers' sheets."
NONE = "No hazard statement could be reckoned, which is no verdict: check the suppliers' sheets."
MOST_CAUTIONS = 3


def labels(ground: Ground, names: Sequence[str] = ()) -> list[Label]:
    """A label for each container and tank named; without names for all that hold something. Raises NotFound."""
    world = ground.world
    alive = [n for n, t in world.tanks.items() if t.alive]
    filled = [n for n, c in world.containers.items() if not c.empty]
    made = []
    for name in names or (*filled, *alive):
        if name in world.containers:
            made.append(_container(ground, world.containers[name]))
        elif name in world.tanks:
            made.append(_tank(ground, world.tanks[name]))
        else:
            known = ", ".join([*world.containers, *world.tanks]) or "none yet"
            raise NotFound(f"neither a container nor a tank is called `{name}`; there are {known}")
    return made


def _container(ground: Ground, state: ContainerState) -> Label:
    ledger = Ledger(ground.workshop)
    stream, held = ledger.stream(state.name, ground.at), ledger.container(state.name, ground.at)
    kinds = "; ".join(KIND_WORDS.get(k, k) for k in stream.kinds)
    contents = contents_in_words(stream)
    apart = dict.fromkeys(
        k.b if k.a == state.name else k.a
        for k in ledger.keep_apart(ground.at)
        if state.name in (k.a, k.b) and k.verdict == "never"
    )
    cautions = [f"Never together with {', '.join(apart)}."] if apart else []
    if not stream.complete:
        cautions.append("Something unknown is in it as well.")
    asked = dict.fromkeys(f"{p.hp} {p.title}" for p in held.properties if p.hp and p.verdict in ("likely", "possible"))
    if asked:
        cautions.append(f"Comes into question: {', '.join(asked)}.")
    if held.hazards or held.codes:
        cautions.append(f"As labelled in the book: {', '.join((*held.hazards, *held.codes))}.")
    named = "; ".join(dict.fromkeys(f"{o.name}: {o.note}" if o.name and o.note else o.name or o.note for o in stream.origins))
    kinds += f" ({named})" if kinds and named.strip("; ") else ""
    ways = dict.fromkeys(n for o in stream.origins for n in o.by)
    if ways:
        cautions.append(f"By way of {', '.join(ways)}: what was in it may be in here too.")
    words = f"Waste: {kinds}" + (f"; holds {contents}" if contents else "") if kinds else "Waste container, empty"
    return _label(ground, state.name, words, stream, cautions, opened=state.since or state.opened)


def _tank(ground: Ground, state: TankState) -> Label:
    title = state.recipe.title if state.recipe is not None else state.entry.recipe or "no recipe told"
    words = f"{state.entry.role}: {title}"
    if not state.alive:
        return Label(name=state.name, contents=f"{words}; empty", producer=producer_line(ground))
    stream = Ledger(ground.workshop).stream(state.name, ground.at)
    contents = contents_in_words(stream)
    told = state.recipe.cautions if state.recipe is not None else ()
    cautions = [c.text for c in told if c.when == "always"][:MOST_CAUTIONS]
    words += f"; holds {contents}" if contents else ""
    return _label(ground, state.name, words, stream, cautions, since=state.made_up)


def _label(ground: Ground, name: str, contents: str, stream: Stream, cautions: list[str], **days: object) -> Label:
    statements = _statements(stream)
    pictures = tuple(code for code in PICTOGRAMS if any(s.startswith(PICTURES.get(code, ())) for s in statements))
    word = "danger" if any(s.startswith(DANGER) for s in statements) else "warning" if statements else ""
    more = [CHECK if statements else NONE] if stream.origins else []
    dates = {n: d.astimezone().date() for n, d in days.items() if d is not None}  # type: ignore[attr-defined]
    return Label(
        name=name, contents=contents, word=word, pictograms=pictures, statements=statements,
        cautions=(*cautions, *more), producer=producer_line(ground), **dates,
    )  # fmt: skip


def _statements(stream: Stream) -> tuple[str, ...]:
    """Statements of the substances that lie above the general cut-offs at the high end of their range, in order of number."""
    found = set()
    for part in composition(stream).parts:
        for hazard in part.substance.hazards:
            code = hazard.split(" ")[0]
            cut = next(v for k, v in TOLD_FROM.items() if code.startswith(k))
            if part.percent.high >= cut:
                found.add(code)
    return tuple(sorted(found, key=lambda c: (c.startswith("EUH"), c)))

"""What a tank wants after a rest, before its first load: level, warmth, crystals stirred in, readings, anodes, a panel."""

from __future__ import annotations

from datetime import datetime

from bathkeeper.advice.jar import told
from bathkeeper.advice.resting import BORIC_SOURCE, crystals
from bathkeeper.advice.steps import Advised, step
from bathkeeper.catalogue.loader import Catalogue
from bathkeeper.estimate.state import Z95, TankState
from bathkeeper.findings import Because
from bathkeeper.units.numerals import figures

LEVEL_OFF = 0.01  # of the working volume: nearer to the mark than this is at the mark [practice]
WARM_UP_C = 40.0  # to which a bath with crystals is warmed where its recipe works colder [practice]
STIR_MIN = 60.0  # for crystals to go back [practice]
PRACTICE = ("practice",)


def woken(state: TankState, catalogue: Catalogue, at: datetime, room_c: float) -> tuple[list[Advised], list[str]]:
    """(items, lines) for one tank; nothing for one without a recipe."""
    recipe = state.recipe
    if recipe is None or recipe.role == "dry":
        return [], []
    if not state.alive:
        return [step("check", f"{state.name} {state.why_empty}: make it up before it is needed")], []
    lines: list[str] = []
    items = [
        step("check", "look before switching anything on: label, leaks, level, what lies on bottom and surface; air the room",
             because=Because(text="acid vapour and hydrogen gather under lids", sources=PRACTICE),
             caution="Goggles and gloves before the lid comes off.")
    ]  # fmt: skip
    past = _past_its_life(state, at)
    if past is not None:
        return [*items, past], lines
    if recipe.role == "rinse":
        items.append(step("check", "fresh water in the last rinses; a rinse after plating may go on as drag-out rinse"))
        return items, lines
    items += _level(state)
    items += _warm(state, room_c)
    items += _crystals(state, room_c)
    items += _readings(state)
    if recipe.role == "plate":
        items += _plating(state)
        lines.append("Dose by the readings only, water first: an estimate that rested for weeks has grown wide.")
    return items, lines


def _past_its_life(state: TankState, at: datetime) -> Advised | None:
    assert state.recipe is not None
    life = state.recipe.life
    if state.recipe.role != "passivate" or life is None or life.days is None or state.made_up is None:
        return None
    age = (at - state.made_up).total_seconds() / 86_400
    if age <= life.days:
        return None
    because = Because(
        text=f"{age:.0f} days since its make-up, of the usual {life.days:g}",
        entries=(state.make_up_entry,) if state.make_up_entry else (),
        sources=(f"{life.status} {life.source}".strip(),),
    )
    return step("check", f"make this passivate up fresh: it is {age:.0f} days old of the usual {life.days:g}; the old one to a "
                "labelled container, for your local authority or a contractor to say", because=because)  # fmt: skip


def _level(state: TankState) -> list[Advised]:
    missing = state.working_volume_l - state.volume_l
    sd = state.gauss.variance("volume") ** 0.5
    items = [
        step("measure", f"level, before anything is hung: {state.volume_l:.1f} ± {Z95 * sd:.1f} L are expected", of="level",
             because=Because(text="far below what evaporation explains is a leak: look under the tank", sources=PRACTICE))
    ]  # fmt: skip
    if state.working_volume_l and missing > LEVEL_OFF * state.working_volume_l:
        items.append(
            step("add", "water up to the mark, by the level just read", reagent="water", amount=round(missing, 1), unit="L",
                 because=Because(text=f"{state.working_volume_l:g} L at the mark, {state.volume_l:.1f} L by the estimate",
                                 formula="mark - volume", sources=PRACTICE))
        )  # fmt: skip
    return items


def _warm(state: TankState, room_c: float) -> list[Advised]:
    assert state.recipe is not None
    window = state.recipe.indicators.get("temperature")
    target = window.target if window is not None else None
    if window is None or target is None or target <= room_c:
        return []
    crystals_there = (
        "Crystals around a heater make it burn through: lift it clear of the bottom first."
        if "boric acid" in state.species
        else ""
    )
    return [
        step("check", f"warm to {target:g} degC, slowly, stirring; heater on only when it is covered, and stay with it",
             because=Because(text=f"window {_edges(window.low, window.high)} degC",
                             sources=(f"{window.status} {window.source}".strip(),)),
             caution=crystals_there),
        step("measure", "temperature in the middle of the bath", of="temperature"),
    ]  # fmt: skip


def _edges(low: float | None, high: float | None) -> str:
    return f"{low:g} to {high:g}" if low is not None and high is not None else f"{low or high:g}"


def _crystals(state: TankState, room_c: float) -> list[Advised]:
    assert state.recipe is not None
    fallen = crystals(state, room_c)
    if fallen is None or fallen.content_g_l <= 0:
        return []
    window = state.recipe.indicators.get("temperature")
    target = window.target if window is not None and window.target is not None else room_c
    lies = (
        f"at {room_c:g} degC some {told(fallen.grams)} g lie on the bottom, and a clear sample would read "
        f"{fallen.soluble_g_l:.0f} g/L of {fallen.content_g_l:.0f}"
        if fallen.grams > 0
        else f"all {fallen.content_g_l:.0f} g/L should be dissolved at {room_c:g} degC; look all the same"
    )
    because = Because(text=lies, formula="(content - solubility) x V", sources=(BORIC_SOURCE,))
    warm = max(target, WARM_UP_C) if fallen.grams > 0 else target
    items = [
        step(
            "check",
            f"do not add boric acid to the cold bath: {lies}; the analysis of a cold clear liquid reads low",
            because=because,
        )
    ]
    if fallen.grams > 0:
        items.append(
            step(
                "check", f"stir the crystals back in at about {warm:g} degC, scraping the bottom with plastic", because=because
            )
        )
        items.append(step("wait", "stirring, until the bottom is clear", amount=STIR_MIN, unit="min"))
    return items


def _readings(state: TankState) -> list[Advised]:
    """What the recipe wants read, and what decides a side tank, warm and stirred."""
    assert state.recipe is not None
    wanted = [n for n in state.recipe.readings if n != "level"]
    decides = [n for n in wanted if n in state.species and state.species[n].kind in ("acid", "alkali")]
    items = []
    for name in dict.fromkeys([*(n for n in wanted if n == "ph"), *decides, *wanted]):
        title = "pH" if name == "ph" else name
        expected = ""
        if name in state.species:
            value, sd = state.concentration(name)
            half = Z95 * sd
            expected = f", expected {figures(value, half)} ± {figures(half, half)} {state.species[name].unit}"
        seen = state.seen.get(name)
        items.append(
            step("measure", f"{title} of the warm, stirred bath{expected}", of=name,
                 because=Because(text="what idle loss, evaporation and dust have done shows only here",
                                 entries=(seen.entry,) if seen is not None else (), sources=PRACTICE))
        )  # fmt: skip
    return items


def _plating(state: TankState) -> list[Advised]:
    assert state.recipe is not None
    out = [n for n, a in state.anodes.items() if not a.hung and not a.retired]
    hung = [n for n, a in state.anodes.items() if a.hung and not a.retired]
    items = []
    if hung:
        items.append(
            step("measure", f"lift {', '.join(hung)}, which hung all the while: brush, weigh, log; loose metal is skimmed off",
                 of=f"anode:{hung[0]}",
                 because=Because(text="what they lost is in the bath, and on them may be cemented metal",
                                 entries=tuple(state.anodes[n].entry for n in hung), sources=PRACTICE))
        )  # fmt: skip
    if out:
        items.append(
            step("check", f"brush {', '.join(out)}, weigh, and hang when pH and level are right; bars and hooks bright",
                 because=Because(text="a skin of oxide on anode and bar takes volts",
                                 entries=tuple(state.anodes[n].entry for n in out), sources=PRACTICE))
        )  # fmt: skip
    if any(s.kind == "additive" for s in state.recipe.species.values()):
        items.append(
            step("measure", "a Hull cell or bent panel; additives go in by what it shows, in halves", of="panel",
                 because=Because(text="additives age in the bath by ways that no counter tells", sources=PRACTICE))
        )  # fmt: skip
    items.append(
        step("plate", "the first load is scrap with a panel beside it, at the middle of the current window; parts only when it "
             "looks as it should", amount=1.0, unit="Ah",
             because=Because(text="the first racks after a rest are the ones that fail", sources=PRACTICE),
             caution="Hydrogen comes off while current flows: air the room, no flame.")
    )  # fmt: skip
    return items

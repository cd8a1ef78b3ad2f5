"""Lay-up and wake-up: what each tank of the line wants before it rests and before it works again, from the state it is in."""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass
from datetime import datetime

from bathkeeper.advice.anodes import anode_advice
from bathkeeper.advice.jar import told
from bathkeeper.advice.resting import (
    BORIC_SOURCE,
    FROST_SOURCE,
    crystals,
    displaced_l,
    evaporates_l,
    freezes_c,
)
from bathkeeper.advice.steps import Advice, Advised, Purpose, numbered, step
from bathkeeper.advice.waking import woken
from bathkeeper.catalogue.loader import Catalogue
from bathkeeper.estimate.state import TankState
from bathkeeper.estimate.usage import Usage
from bathkeeper.estimate.wear import idle_anodes, pass_time
from bathkeeper.estimate.world import World
from bathkeeper.findings import Because

__all__ = ["Checklist", "lay_up", "wake_up"]

COLD_C = 5.0  # what an unheated room comes to in winter, where nobody says [practice]
LONG_DAYS = 14.0  # from which nickel anodes are lifted too, and the bath is filtered [practice]
LONGEST_DAYS = 3650.0
NO_USE = Usage(0.0, 0.0, 0.0, 0.0, 0.0, 0.0, "nothing")
LEVEL_OFF = 0.01  # of the working volume: nearer to the mark than this is at the mark [practice]
FROST_MARGIN_C = 3.0  # between the coldest and the first ice, below which frost is spoken of [practice]
HEATED = ("plate", "degrease", "pickle", "passivate", "rust removal", "seal")
PRACTICE = ("practice",)


@dataclass(frozen=True)
class Checklist:
    """What one tank wants, in order; each item with its reason and source. ``lines``: what else there is to know."""

    tank: str
    role: str
    purpose: Purpose
    items: tuple[Advised, ...]
    lines: tuple[str, ...] = ()

    @property
    def advice(self) -> Advice:
        """The same as a plan that can be accepted."""
        return Advice(self.tank, self.purpose, self.items, self.lines)


def lay_up(
    world: World, at: datetime, days: float, *, coldest_c: float = COLD_C, shelf: Collection[str] = ()
) -> list[Checklist]:
    """What to do before the line rests for so many days, tank by tank in process order.

    ``coldest_c``: how cold the room gets; ``shelf``: reagents at hand, whose acid is preferred for telling amounts.

    Raises:
        ValueError: a rest that is not above 0 and up to ten years, or a room colder or warmer than any room.
    """
    if not 0 < days <= LONGEST_DAYS:
        raise ValueError(f"a line rests for more than 0 and up to {LONGEST_DAYS:g} days, got {days:g}")
    if not -40 <= coldest_c <= 45:
        raise ValueError(f"a room is between -40 and 45 degC, got {coldest_c:g}; give how cold it gets, such as 5")
    found = []
    for state in world.line():
        now = pass_time(state, at) if state.alive else state
        if now.alive and now.recipe is not None:
            found.append(_laid_up(now, world.catalogue, at, days, coldest_c, shelf))
    return found


def wake_up(world: World, at: datetime, *, room_c: float = 15.0) -> list[Checklist]:
    """What to do before the first load after a rest, tank by tank in process order. ``room_c``: how cold the baths are now.

    Raises:
        ValueError: a room colder or warmer than any room.
    """
    if not -40 <= room_c <= 45:
        raise ValueError(f"a room is between -40 and 45 degC, got {room_c:g}; give how cold the baths are, such as 10")
    found = []
    for state in world.line():
        now = pass_time(state, at) if state.alive else state
        items, lines = woken(now, world.catalogue, at, room_c)
        if items:
            found.append(Checklist(state.name, state.entry.role, "wake up", numbered(items), tuple(lines)))
    return found


def _laid_up(
    state: TankState, catalogue: Catalogue, at: datetime, days: float, coldest_c: float, shelf: Collection[str]
) -> Checklist:
    assert state.recipe is not None
    items: list[Advised] = []
    lines: list[str] = []
    if state.recipe.role == "rinse":
        items += _rinse(state, days)
    else:
        items += _before_leaving(state)
        items += _anodes(state, catalogue, at, days, shelf)
        items += _power(state)
        items += _age(state, at, days)
        if state.recipe.role == "plate" and days >= LONG_DAYS:
            items.append(
                step("check", "filter while it is still warm; what settles in the rest makes rough deposits",
                     because=Because(text="particles settle and grow", sources=PRACTICE))
            )  # fmt: skip
        items += _level(state, days)
        items += _cold(state, coldest_c)
        items += _lid(state)
    items += _frost(state, catalogue, coldest_c)
    items.append(_label(state, at, days))
    if state.recipe.role == "plate":
        lines.append("The first load after the rest is scrap with a panel beside it: see the wake-up list.")
    return Checklist(state.name, state.recipe.role, "lay up", numbered(items), tuple(lines))


def _before_leaving(state: TankState) -> list[Advised]:
    """Readings that the wake-up is compared with: what the recipe wants read, once more."""
    assert state.recipe is not None
    wanted = [n for n in state.recipe.readings if n != "level"]
    first = [n for n in wanted if n == "ph" or n in state.species][:3]
    if not first:
        return []
    because = Because(
        text="The wake-up is compared with what is read now; without it a leak or idle loss does not show.",
        entries=tuple(dict.fromkeys(state.seen[n].entry for n in first if n in state.seen)),
        sources=PRACTICE,
    )
    names = ["pH" if n == "ph" else n for n in first]
    return [step("measure", f"read {', '.join(names)} before leaving it", of=first[0], because=because)]


def _anodes(state: TankState, catalogue: Catalogue, at: datetime, days: float, shelf: Collection[str]) -> list[Advised]:
    """Anodes that go on dissolving come out in any rest, others in a long one."""
    assert state.recipe is not None
    hung = [n for n, a in state.anodes.items() if a.hung and not a.retired]
    if not hung:
        return []
    wearing = {t.anode_metal for t in state.recipe.wear if t.exposure == "anode_dm2_day"}
    idle = [n for m in wearing if m is not None for n in idle_anodes(state, m)]
    advice = anode_advice(state, catalogue, NO_USE, at, shelf)
    loss = advice.idle if advice is not None else None
    items: list[Advised] = []
    if idle and loss is not None:
        times = days / 7.0
        left = min(sum(state.gauss.value(f"anode:{n}") for n in idle), times * loss.loss_g.value)
        part = left / loss.loss_g.value if loss.loss_g.value > 0 else 0.0
        text = (
            f"left hanging, {loss.area_dm2:.1f} dm2 of {loss.metal} would lose about {left:.0f} g in {days:.0f} days "
            f"({part * loss.loss_g.low:.0f} to {part * loss.loss_g.high:.0f})"
        )
        if loss.acid is not None and loss.acid_most_ml is not None and loss.acid_most_ml > 0:
            text += f" and use up to {part * loss.acid_most_ml:.0f} mL of {loss.acid}"
        if part * loss.cemented_g > 0.5:
            text += f"; about {told(part * loss.cemented_g)} g of the nobler metal would plate out on it"
        because = Because(
            text=text,
            entries=tuple(state.anodes[n].entry for n in idle),
            formula="rate x area x days; acid: electrons x g / M",
            sources=_rate_sources(state),
        )
        mark = displaced_l(state, idle, catalogue.metals)
        items.append(
            step("check", f"lift {', '.join(idle)}: {text}. The mark falls by {mark:.2f} L: their own volume, no evaporation",
                 because=because, caution="Gloves: the solution runs off them.")
        )  # fmt: skip
        items += [_weigh(n) for n in idle]
    others = [n for n in hung if n not in idle]
    if others and days >= LONG_DAYS:
        items.append(
            step("check", f"lift {', '.join(others)}, rinse over the bath; bags wet in a lidded box, for dried ones crack",
                 because=Because(text="nothing is gained by leaving them, and hooks corrode at the line", sources=PRACTICE))
        )  # fmt: skip
        items += [_weigh(n) for n in others]
    elif others:
        items.append(
            step("check", f"{', '.join(others)} may stay, off the bar: on one bar with another metal they make a cell",
                 because=Because(text="two metals joined in one bath are a battery", sources=PRACTICE))
        )  # fmt: skip
    return items


def _rate_sources(state: TankState) -> tuple[str, ...]:
    assert state.recipe is not None
    found = [p for n, p in state.recipe.parameters.items() if n.startswith("idle_")]
    return tuple(f"{p.title}, before this workshop taught better: {p.status} {p.source}".strip() for p in found)


def _weigh(anode: str) -> Advised:
    return step("measure", f"brush {anode} outside the bath, rinse, dry and weigh it; log it as lifted and weighed",
                of=f"anode:{anode}",
                because=Because(text="two weighings around a rest tell what it lost; loose and cemented metal hides it",
                                sources=PRACTICE))  # fmt: skip


def _power(state: TankState) -> list[Advised]:
    assert state.recipe is not None
    items = []
    if state.recipe.electrode is not None:
        items.append(
            step("check", "current off and the supply unplugged, not only switched off",
                 because=Because(text="a small leakage current dissolves anodes and corrodes bars", sources=PRACTICE))
        )  # fmt: skip
    window = state.recipe.indicators.get("temperature")
    if window is not None and window.target is not None and window.target > 28 and state.recipe.role in HEATED:
        items.append(
            step("check", "heater off and unplugged; take it out when it is cold, or crystals and sludge bury it",
                 because=Because(text=f"it works at {window.target:g} degC",
                                 sources=(f"{window.status} {window.source}".strip(),)),
                 caution="A heater that the level leaves bare can set the tank on fire: never leave it on.")
        )  # fmt: skip
    return items


def _age(state: TankState, at: datetime, days: float) -> list[Advised]:
    """Whether a bath will be past its life when the line wakes."""
    assert state.recipe is not None
    life = state.recipe.life
    if life is None or life.days is None or state.made_up is None:
        return []
    age = (at - state.made_up).total_seconds() / 86_400
    if age + days <= life.days:
        return []
    because = Because(
        text=f"{age:.0f} days old now, {age + days:.0f} at the wake-up, of the usual {life.days:g}",
        entries=(state.make_up_entry,) if state.make_up_entry else (),
        sources=(f"{life.status} {life.source}".strip(),),
    )
    return [
        step("check", f"this bath will be {age + days:.0f} days old, past its usual {life.days:g}: plan a fresh one for the "
             "wake-up; the old one to a labelled container, and then whoever takes it by your local authority's rules",
             because=because)
    ]  # fmt: skip


def _level(state: TankState, days: float) -> list[Advised]:
    items = []
    missing = state.working_volume_l - state.volume_l
    gone = evaporates_l(state, days)
    out = ", anodes out," if state.recipe is not None and state.recipe.electrode is not None else ""
    open_tank = (
        f"; without a lid about {gone.value:.1f} L more would go ({gone.low:.1f} to {gone.high:.1f})"
        if gone is not None and gone.value > 0.05
        else ""
    )
    because = Because(
        text=f"{state.volume_l:.1f} L are in it by the estimate, {state.working_volume_l:g} L at the mark{open_tank}",
        entries=tuple(s.entry for n, s in state.seen.items() if n in ("volume", "level")),
        formula="mark - volume; evaporation: rate x surface x days",
        sources=PRACTICE,
    )
    if state.working_volume_l and missing > LEVEL_OFF * state.working_volume_l:
        items.append(
            step("add", f"water up to the mark{out} so that nothing dries on at the rim{open_tank}", because=because,
                 reagent="water", amount=round(missing, 1), unit="L")
        )  # fmt: skip
    else:
        items.append(step("check", f"see that the level{out} is at the mark{open_tank}", because=because))
    return items


def _cold(state: TankState, coldest_c: float) -> list[Advised]:
    """Crystals in the cold: boric acid, soda."""
    items = []
    fallen = crystals(state, coldest_c)
    if fallen is not None and fallen.grams > 0:
        because = Because(
            text=f"of {fallen.content_g_l:.0f} g/L about {fallen.soluble_g_l:.0f} g/L stay dissolved at {coldest_c:g} degC",
            formula="(content - solubility) x V; a litre of bath holds about 0.9 kg of water",
            sources=(BORIC_SOURCE,),
        )
        items.append(
            step("check", f"leave the crystals in: at {coldest_c:g} degC about {told(fallen.grams)} g of boric acid fall out. "
                 "They belong to the bath and dissolve again when it is warm; lift intake, air pipe and heater off the bottom",
                 because=because)
        )  # fmt: skip
    if "carbonate" in state.species:
        content, _ = state.concentration("carbonate")
        if content > 30 and coldest_c <= 5:
            items.append(
                step("check", f"with {content:.0f} g/L carbonate soda may crystallise below 5 degC: fish it out cold, "
                     "and the bath is the better for it",
                     because=Because(text="sodium carbonate is far less soluble in the cold", sources=("memory",)),
                     caution="Caustic: gloves, goggles.")
            )  # fmt: skip
    return items


def _lid(state: TankState) -> list[Advised]:
    assert state.recipe is not None
    role = state.recipe.role
    fumes = "hydrochloric" in state.recipe.name
    why = {
        "pickle": "no part left in it, lid on" + (": its vapour rusts everything in the room" if fumes else ""),
        "acid dip": "no part left in it, lid on",
        "passivate": "fish out fallen parts (each gives iron as long as it lies there), lid on",
        "degrease": "skim the oil off, lid on: air makes carbonate of the caustic",
        "seal": "lid on: it dries to a skin that does not dissolve again",
    }.get(role, "bars and hooks off and rinsed, lid on, against dust, rust and evaporation")
    gas = any(t.name == "zinc generator" for t in state.recipe.wear)
    caution = "Zinc baskets out first: they make hydrogen as long as they stand in it, and a lid would hold it." if gas else ""
    if role in ("pickle", "acid dip"):
        caution = "Not gas-tight: metal that was overlooked makes hydrogen."
    return [step("check", why, because=Because(text=why, sources=PRACTICE), caution=caution)]


def _rinse(state: TankState, days: float) -> list[Advised]:
    """What stands in a rinse: used as top-up where it can be, else kept as what it is."""
    holds = [
        (n, state.concentration(n)[0] * state.volume_l)
        for n, s in state.species.items()
        if s.kind in ("metal", "contaminant") and state.concentration(n)[0] * state.volume_l > 0.05
    ]
    text = ", ".join(f"{told(g)} g {n}" for n, g in sorted(holds, key=lambda h: -h[1])[:4])
    because = Because(
        text=f"by the estimate {text or 'next to nothing'} in {state.volume_l:.0f} L",
        entries=(state.make_up_entry,) if state.make_up_entry else (),
        sources=PRACTICE,
    )
    what = f"it holds {text}: " if text else "it holds next to nothing by the estimate: "
    return [
        step("check", what + "top the bath before it up with it as far as there is room; what is left stays under a lid or "
             "goes to a labelled container, never straight into the drain: your local authority says where"
             " it may go in the end",
             because=because),
    ]  # fmt: skip


def _frost(state: TankState, catalogue: Catalogue, coldest_c: float) -> list[Advised]:
    assert state.recipe is not None
    ice = freezes_c(state, catalogue.metals)
    film = state.recipe.role in ("passivate", "seal")
    if coldest_c - FROST_MARGIN_C > ice and not (film and coldest_c < 5):
        return []
    because = Because(
        text=f"first ice near {ice:.0f} degC by what is dissolved in it; the room may come to {coldest_c:g} degC",
        formula="1.86 K for each mol of particles in a kg of water",
        sources=(FROST_SOURCE, "that frost spoils sealers and organic additives: practice, the maker's sheet rules"),
    )
    spoils = "; frost spoils it for good where it holds silica, polymer or organics" if film else ""
    return [
        step("check", f"keep it from frost: it may begin to freeze near {ice:.0f} degC; ice bursts a full tank, a third of the "
             f"height free or the tank carried into a warmer room{spoils}", because=because)
    ]  # fmt: skip


def _label(state: TankState, at: datetime, days: float) -> Advised:
    assert state.recipe is not None
    metals = [n for n, s in state.species.items() if s.kind in ("metal", "acid", "alkali") and state.concentration(n)[0] > 0.05]
    what = f"{state.recipe.title or state.recipe.name}" + (f" ({', '.join(metals)})" if metals else "")
    return step(
        "check",
        f"label: {state.name}, {what}, {state.volume_l:.0f} L, laid up {at:%d %b %Y} for {days:.0f} days, who to ask; locked "
        "away from children, animals and food",
        because=Because(text="whoever finds the tank must know what it is", sources=PRACTICE),
    )

"""What is asked before more is taken out than is there, more is put in than fits, or a container's name may be a slip."""

from __future__ import annotations

from collections.abc import Iterator
from difflib import get_close_matches

from bathkeeper.entries import RESERVED_PLACES, AnyEntry, Container, Removal, Treatment
from bathkeeper.estimate.wasting import TOO_MUCH
from bathkeeper.estimate.world import World
from bathkeeper.refusals import near, shorten
from bathkeeper.safety.groups import reagent_groups
from bathkeeper.units.numerals import figures

TAKES = ("moved", "handed over")
BEGINS = ("opened", "put in")
LARGEST_L = 1000.0  # an IBC: no vessel of waste in a small workshop holds more [practice]
HEAVIEST_KG_L = 2.0  # sludge and salts; nothing that is put into a drum here weighs more [practice]
FULL = 1.05  # a drum takes a little more than is printed on it [practice]


def filling_doubts(entry: AnyEntry, world: World) -> list[str]:
    """Clauses about litres and kilograms that cannot be so; ``world`` stands at the moment of the entry, before it."""
    asked = (_name, _chemicals, _more_than_there, _more_than_fits, _other_size)
    return [doubt for ask in asked for doubt in ask(entry, world)]


def _name(entry: AnyEntry, world: World) -> Iterator[str]:
    """Something done to a container that is not there; a new one whose name is nearly that of another."""
    known = world.containers
    later = isinstance(entry, Container) and entry.action == "handed over" and not entry.hands_over
    if isinstance(entry, Container) and entry.action not in BEGINS and entry.container not in known and not later:
        yield f"no container was called {shorten(entry.container)} by then" + (near(entry.container, known) if known else "")
        return
    new = entry.to if isinstance(entry, (Removal, Container)) else None
    if isinstance(entry, Container) and entry.action in BEGINS:
        new = entry.container
    if new is None or new in known or new in world.tanks or new in RESERVED_PLACES:
        return
    if isinstance(entry, Container) and entry.action not in ("moved", *BEGINS):
        return  # handed over: `to` names a person or a place
    if alike := [name for name in known if name.casefold() == new.casefold()]:
        yield f"{shorten(new)} would be a new container beside {shorten(alike[0])}"
    elif not any(c.isdigit() for c in new) and (close := get_close_matches(new, list(known), 1, 0.85)):
        yield f"{shorten(new)} would be a new container beside {shorten(close[0])}"


def _chemicals(entry: AnyEntry, world: World) -> Iterator[str]:
    """A left-over chemical that no catalogue and no list of hazards knows, but nearly."""
    if not isinstance(entry, Container) or entry.action != "put in":
        return
    catalogue = world.catalogue
    known = [n for r in catalogue.reagents.values() for n in (r.name, *r.aliases)]
    for item in entry.items:
        if item.reagent in known or reagent_groups(item.reagent, catalogue):
            continue
        close = get_close_matches(item.reagent.casefold(), known, 1, 0.8)
        if close:
            yield f"{shorten(item.reagent)} is not in the catalogue, so that nothing is known of its dangers; {close[0]} is"


def _other_size(entry: AnyEntry, world: World) -> Iterator[str]:
    held = world.containers.get(entry.container) if isinstance(entry, Container) and entry.action == "opened" else None
    if isinstance(entry, Container) and held is not None and entry.size_l is not None:
        if held.size_l is not None and held.size_l != entry.size_l:
            yield f"{shorten(held.name)} is on record with {figures(held.size_l)} L, not {figures(entry.size_l)} L"
        elif held.volume_l > FULL * entry.size_l:
            yield f"{shorten(held.name)} holds {figures(held.volume_l)} L, more than {figures(entry.size_l)} L"


def _more_than_there(entry: AnyEntry, world: World) -> Iterator[str]:
    if isinstance(entry, Removal):
        yield from _more_than_in_tank(entry, world)
        return
    held = world.containers.get(entry.container) if isinstance(entry, Container) and entry.action in TAKES else None
    if not isinstance(entry, Container) or held is None:
        return
    if entry.action == "handed over" and not entry.hands_over:
        return  # the receipt or the refusal of a consignment that has left
    if held.empty:
        yield f"{shorten(held.name)} is empty by the book: log first what went in"
        return
    if entry.all:
        return
    for told, there, unit in ((entry.volume_l, held.volume_l, "L"), (entry.mass_kg, held.mass_kg, "kg")):
        if told is None:
            continue
        if told > TOO_MUCH * there + 0.05:
            yield f"{figures(told)} {unit} is more than {shorten(held.name)} holds (about {figures(there)} {unit})"
        return  # with both told the litres count, as in the estimate


def _more_than_in_tank(entry: Removal, world: World) -> Iterator[str]:
    tank = world.tanks.get(entry.tank)
    if tank is None:
        return
    if not tank.alive:
        yield f"{shorten(tank.name)} held nothing by the book then: log its make_up first"
    elif entry.volume_l is not None and entry.volume_l > TOO_MUCH * tank.volume_l + 0.05:
        yield f"{figures(entry.volume_l)} L is more than {shorten(tank.name)} holds (about {figures(tank.volume_l)} L)"


def _more_than_fits(entry: AnyEntry, world: World) -> Iterator[str]:
    name, litres, kg = _poured(entry, world)
    held = world.containers.get(name)
    size = held.size_l if held is not None else None
    if isinstance(entry, Container) and entry.action == "opened":
        size = entry.size_l or size
    if name in world.tanks or name in RESERVED_PLACES:
        return
    after = litres + (held.volume_l if held is not None else 0.0)
    weight = kg + (held.solids_kg if held is not None else 0.0)
    if size is not None and litres > 0 and after > FULL * size:
        yield f"it would make {figures(after)} L in {shorten(name)}, which takes {figures(size)} L"
    elif size is None and litres > 0 and after > LARGEST_L:
        yield f"it would make {figures(after)} L in {shorten(name)}; no size of it is on record, and even an IBC takes " + (
            f"{figures(LARGEST_L)} L"
        )
    if kg > 0 and weight > HEAVIEST_KG_L * (size or LARGEST_L):
        yield f"it would make {figures(weight)} kg of solids in {shorten(name)}" + (
            f", which takes {figures(size)} L" if size is not None else "; no vessel of waste in a workshop takes as much"
        )


def _poured(entry: AnyEntry, world: World) -> tuple[str, float, float]:
    """Into what the entry pours, how many litres, and how many kilograms of solids."""
    if isinstance(entry, Container) and entry.action in BEGINS:
        litres = sum(i.amount / (1.0 if i.unit == "L" else 1000.0) for i in entry.items if i.unit != "g")
        kg = sum(i.amount / 1000.0 for i in entry.items if i.unit == "g")
        return entry.container, litres + (entry.volume_l or 0.0), kg + (entry.mass_kg or 0.0)
    if isinstance(entry, Treatment) and entry.to is not None:
        return entry.to, 0.0, (entry.mass_g or 0.0) / 1000.0
    if isinstance(entry, Container) and entry.action == "moved" and entry.container in world.containers:
        there = world.containers[entry.container].volume_l
        return entry.to or "", there if entry.all or entry.volume_l is None else min(entry.volume_l, there), 0.0
    if isinstance(entry, Removal) and entry.to is not None and entry.tank in world.tanks:
        there = world.tanks[entry.tank].volume_l
        return entry.to, there if entry.volume_l is None else min(entry.volume_l, there), 0.0
    return "", 0.0, 0.0

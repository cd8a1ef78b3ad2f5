"""The history of one bath: its lives, readings, additions and anodes, a control chart of each content, what it has taught."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field

from bathkeeper.answers.shapes import NotFound
from bathkeeper.catalogue.loader import CatalogueError, load
from bathkeeper.catalogue.schema import Species, Window
from bathkeeper.entries import Addition, Anode, AnyEntry, MakeUp, Reading, Removal, Treatment, Unknown, Value, tanks_of
from bathkeeper.estimate.fold import Fold
from bathkeeper.estimate.learned import learned
from bathkeeper.estimate.state import Z95, Life, Point, TankState
from bathkeeper.estimate.world import first_descriptions
from bathkeeper.findings import Estimate
from bathkeeper.headlines import item_words, what
from bathkeeper.reports.builders.ground import WHERE_LIMITS_COME_FROM, Ground, corrections, report
from bathkeeper.reports.model import (
    BandPoint,
    Cell,
    Chart,
    Column,
    Event,
    Fact,
    Facts,
    Heading,
    Paragraph,
    Piece,
    Report,
    SignatureLine,
    Table,
)
from bathkeeper.reports.model import Reading as Dot

MOST_CHARTS = 10


@dataclass
class _Trails:
    """What was believed along the way: the points of every life, and the readings that were set aside, as (entry, of)."""

    points: list[Point] = field(default_factory=list)
    doubtful: set[tuple[str, str]] = field(default_factory=set)


def bath(ground: Ground, tank: str) -> Report:
    """The history of a tank in the ground's period. Raises NotFound."""
    state = ground.world.tanks.get(tank)
    if state is None:
        raise NotFound(f"no tank is called `{tank}`; there are {', '.join(ground.world.tanks) or 'none yet'}")
    mine = [e for e in ground.entries if not isinstance(e, Unknown) and tank in tanks_of(e) and ground.within(e.at)]
    trails = _trails(ground, state)
    pieces: list[Piece] = [
        _facts(ground, state),
        Heading("Lives of the bath"),
        _lives(ground, state),
        Heading("Contents"),
        *_charts(ground, state, mine, trails),
        Heading("What was read"),
        _readings(ground, mine, trails),
        Heading("What was put in, taken out and treated"),
        _done(ground, mine),
        _anodes(ground, mine),
        Heading("What the bath has taught"),
        *_taught(ground, state),
        Heading("Corrections"),
    ]
    mended = list(corrections(ground, lambda entry: tank in tanks_of(entry)))
    pieces += mended or [Paragraph("No entry of this tank was corrected or withdrawn in the period.")]
    pieces.append(SignatureLine("Looked over by"))
    return report(
        ground, f"Bath history: {tank}", pieces, notes=(WHERE_LIMITS_COME_FROM,),
        subtitle=f"{state.entry.role}{', recipe ' + state.entry.recipe if state.entry.recipe else ''}",
    )  # fmt: skip


def _facts(ground: Ground, state: TankState) -> Facts:
    counters = state.counters
    pairs = [
        Fact("Role", state.entry.role),
        Fact("Recipe", state.recipe.title if state.recipe is not None else state.entry.recipe or "none"),
        ground.fact("Working volume", state.entry.working_volume_l, "L"),
        Fact("Made up", state.made_up) if state.alive else Fact("State", f"empty; it {state.why_empty}"),
    ]
    if state.alive:
        half = Z95 * max(state.gauss.variance("volume"), 0.0) ** 0.5
        litres = Estimate(state.volume_l, max(state.volume_l - half, 0.0), state.volume_l + half, "L")
        pairs += [
            ground.fact("Volume now", litres, "L"),
            ground.fact("Charge since make-up", counters.charge_ah, "Ah"),
            ground.fact("Area since make-up", counters.area_dm2, "dm2"),
            Fact("Runs since make-up", counters.runs),
        ]
    return Facts(tuple(pairs), title="The tank")


def _lives(ground: Ground, state: TankState) -> Table:
    lives = list(state.lives)
    if state.alive and state.made_up is not None:
        lives.append(Life(state.made_up, None, state.flows, state.counters))
    rows: list[tuple[Cell, ...]] = []
    for number, life in enumerate(lives, start=1):
        if life.start > ground.at or (life.end is not None and ground.since is not None and life.end < ground.since):
            continue
        put_in = sum(life.flows.get(c, {}).get("volume", 0.0) for c in ("make-up", "addition"))
        rows.append((
            number, life.start, life.end, "emptied" if life.end is not None else "in use", ground.number(put_in, "L"),
            ground.number(life.counters.charge_ah, "Ah"), ground.number(life.counters.area_dm2, "dm2"), life.counters.runs,
        ))  # fmt: skip
    return Table(
        name="lives",
        title="From each make-up to its dump",
        columns=(
            Column("number", "Life", kind="number", decimals=0),
            Column("made_up", "Made up", kind="moment"),
            Column("emptied", "Emptied", kind="moment"),
            Column("state", "State"),
            ground.column("put_in", "Put in", "L", decimals=1),
            ground.column("charge", "Charge", "Ah", decimals=0),
            ground.column("area", "Area", "dm2", decimals=0),
            Column("runs", "Runs", kind="number", decimals=0),
        ),
        rows=tuple(rows),
        empty="The tank has no make-up on record in this period.",
    )


# -- charts ------------------------------------------------------------------------------------------------------------


def _trails(ground: Ground, state: TankState) -> _Trails:
    made = _Trails(list(state.trail), _doubts(state))
    if any(life.end is not None and ground.within(life.end) for life in state.lives):
        fold = Fold(load())  # trails of lives that ended are kept nowhere: the book is read once more
        fold.take(ground.entries, first_descriptions(ground.workshop.entries()[::-1]))
        earlier: list[Point] = []
        for _, before, after in fold.retold():
            was, now = before.tanks.get(state.name), after.tanks.get(state.name)
            if was is not None and now is not None and was.alive and was.made_up != now.made_up:
                earlier += _of_species(was, state)
                made.doubtful |= _doubts(was)
        made.points = [*earlier, *made.points]
    if state.alive and list(state.species):
        pairs = [state.concentration(s) for s in state.species]
        values, deviations = tuple(p[0] for p in pairs), tuple(p[1] for p in pairs)
        made.points.append(Point(state.now, state.counters.charge_ah, state.volume_l, values, deviations))
    made.points = [p for p in made.points if ground.within(p.at)]
    return made


def _of_species(was: TankState, state: TankState) -> list[Point]:
    """Points of a life whose recipe told the same species; another recipe's cannot be put on one chart."""
    return list(was.trail) if list(was.species) == list(state.species) else []


def _doubts(state: TankState) -> set[tuple[str, str]]:
    return {(d.entry, d.of) for d in state.doubts.values()}


def _charts(ground: Ground, state: TankState, mine: list[AnyEntry], trails: _Trails) -> Iterator[Piece]:
    main = _main(state)
    drawn = 0
    for place, (name, species) in enumerate(state.species.items()):
        if name not in main or drawn == MOST_CHARTS:
            continue
        dots = _dots(ground, mine, name, species.unit, trails)
        if trails.points or dots:
            drawn += 1
            events = _events(ground, mine, name)
            yield _chart(ground, f"content_{place + 1}", species.title or name, species.unit, species, dots, events, [
                _band(ground, p, place, species.unit) for p in trails.points
            ])  # fmt: skip
    ph = _dots(ground, mine, "ph", "pH", trails)
    window = state.recipe.indicators.get("ph") if state.recipe is not None else None
    if ph:
        drawn += 1
        yield _chart(ground, "ph", "pH", "pH", window, ph, _events(ground, mine, "ph"), [])
    if not drawn:
        yield Paragraph("Nothing was believed or read of its contents in this period.")


def _main(state: TankState) -> Mapping[str, Species]:
    """Species with a window of the tank's own recipe; what others drag in is told by the readings."""
    own = state.recipe.species if state.recipe is not None else {}
    return {n: s for n, s in own.items() if n in state.species and (s.low is not None or s.high is not None)}


def _chart(
    ground: Ground, name: str, title: str, unit: str, window: Window | None, dots: list[Dot], events: tuple[Event, ...],
    band: list[BandPoint],
) -> Chart:  # fmt: skip
    edges = {n: ground.number(getattr(window, n), unit) for n in EDGES} if window is not None else {}
    return Chart(
        name=name,
        title=title,
        unit="" if unit == "pH" else ground.unit(unit),
        estimate=tuple(band),
        readings=tuple(dots),
        events=events,
        caption=(
            "The line is what was believed, the band its 95 % interval; hollow points are readings in doubt."
            if band
            else "Readings only: pH is read, not reckoned. Hollow points are readings in doubt."
        ),
        **edges,
    )


EDGES = ("low", "target", "high", "give_up_low", "give_up_high")


def _band(ground: Ground, point: Point, place: int, unit: str) -> BandPoint:
    value, half = point.values[place], Z95 * point.deviations[place]
    told = ground.estimate(Estimate(value, max(value - half, 0.0), value + half, unit))
    assert told is not None
    return BandPoint(point.at, told.value, told.low, told.high)


def _dots(ground: Ground, mine: list[AnyEntry], of: str, unit: str, trails: _Trails) -> list[Dot]:
    found = []
    for entry in mine:
        for told in entry.values if isinstance(entry, Reading) else ():
            value = _in(told, unit)
            if told.of.replace("_", " ").casefold() != of.casefold() or value is None:
                continue
            spread = told.spread / 1000 if told.spread and told.unit == "mg/L" != unit else told.spread
            doubtful = any(e == entry.id and o.casefold() == of.casefold() for e, o in trails.doubtful)
            low, high = ground.number(value - (spread or 0.0), unit), ground.number(value + (spread or 0.0), unit)
            half = abs((high or 0.0) - (low or 0.0)) / 2 if spread is not None else None
            found.append(Dot(entry.at, ground.number(value, unit) or 0.0, half, doubtful, "in doubt" if doubtful else ""))
    return found


def _in(told: Value, unit: str) -> float | None:
    if told.value is None or told.unit == unit:
        return told.value
    return told.value / 1000 if (told.unit, unit) == ("mg/L", "g/L") else None


def _events(ground: Ground, mine: list[AnyEntry], of: str) -> tuple[Event, ...]:
    """New lives and treatments, and the additions that this content (or the pH) answers to."""
    found = []
    for entry in mine:
        if isinstance(entry, MakeUp):
            found.append(Event(entry.at, "new life", "made up"))
        elif isinstance(entry, Addition) and any(_answers(ground, i.reagent, of) for i in entry.items):
            found.append(Event(entry.at, "addition", item_words(entry.items, ground.prefs)))
        elif isinstance(entry, Treatment):
            found.append(Event(entry.at, "other", entry.what))
    return tuple(found)


def _answers(ground: Ground, name: str, of: str) -> bool:
    try:
        reagent = ground.world.catalogue.reagent(name)
    except CatalogueError:
        return True  # nobody knows what it brings
    return reagent.acid_equivalents != 0 if of == "ph" else of in reagent.brings or reagent.additive == of


# -- tables ------------------------------------------------------------------------------------------------------------


def _readings(ground: Ground, mine: list[AnyEntry], trails: _Trails) -> Table:
    rows: list[tuple[Cell, ...]] = []
    for entry in mine:
        for told in entry.values if isinstance(entry, Reading) else ():
            doubt = (entry.id, told.of.replace("_", " ")) in trails.doubtful or (entry.id, told.of) in trails.doubtful
            value = ground.number(told.value, told.unit) if told.value is not None else None
            unit = "" if told.unit in ("verdict", "pH") else ground.unit(told.unit)
            rows.append((
                entry.at, ground.id(entry.id), "pH" if told.of == "ph" else told.of.replace("_", " "), value, unit,
                "; ".join(w for w in (told.word or "", told.method or "", "in doubt" if doubt else "") if w), entry.note or "",
            ))  # fmt: skip
    return Table(
        name="readings",
        title="Readings",
        columns=(
            Column("at", "When", kind="moment"),
            Column("entry", "Entry"),
            Column("of", "Of"),
            Column("value", "Read", kind="number"),
            Column("unit", "Unit"),
            Column("how", "How"),
            Column("note", "Note"),
        ),
        rows=tuple(rows),
        empty="Nothing was read in this period.",
    )


def _done(ground: Ground, mine: list[AnyEntry]) -> Table:
    kinds = {"make_up": "made up", "addition": "added", "removal": "taken out", "treatment": "treated"}
    rows = tuple(
        (e.at, ground.id(e.id), kinds[e.kind], what(e, ground.prefs), e.by or "")
        for e in mine
        if isinstance(e, (MakeUp, Addition, Removal, Treatment))
    )
    return Table(
        name="done",
        title="Make-ups, additions, removals, treatments",
        columns=(
            Column("at", "When", kind="moment"), Column("entry", "Entry"), Column("kind", "What was done"),
            Column("what", "What and how much"), Column("by", "By"),
        ),
        rows=rows,
        empty="Nothing was put in or taken out in this period.",
    )  # fmt: skip


def _anodes(ground: Ground, mine: list[AnyEntry]) -> Table:
    rows = tuple(
        (e.at, ground.id(e.id), e.anode, e.metal or "", e.action, ground.number(e.mass_g, "g"), e.note or "")
        for e in mine
        if isinstance(e, Anode)
    )
    return Table(
        name="anodes",
        title="Anodes",
        columns=(
            Column("at", "When", kind="moment"), Column("entry", "Entry"), Column("anode", "Anode"), Column("metal", "Metal"),
            Column("action", "What"), ground.column("mass", "Weight", "g"), Column("note", "Note"),
        ),
        rows=rows,
        empty="No anode was hung, weighed or lifted in this period.",
    )  # fmt: skip


def _taught(ground: Ground, state: TankState) -> Iterator[Piece]:
    known = learned(state)
    rows: list[tuple[Cell, ...]] = []
    for one in known.values():
        if not one.assumed:
            now = ground.estimate(Estimate(one.value, one.low, one.high, one.unit))
            before = ground.estimate(Estimate(one.prior["value"], one.prior["low"], one.prior["high"], one.unit))
            rows.append((one.title, now, before, ground.unit(one.unit)))
    yield Table(
        name="taught",
        title="Learned from the entries",
        columns=(
            Column("what", "What"), Column("now", "Believed now", kind="estimate"),
            Column("before", "Assumed before", kind="estimate"), Column("unit", "Unit"),
        ),
        rows=tuple(rows),
        empty="Nothing yet beyond what the recipe assumes.",
    )  # fmt: skip
    assumed = [one.title for one in known.values() if one.assumed]
    if assumed:
        yield Paragraph(f"Still as the recipe assumes, not measured here: {', '.join(assumed)}.")

"""The use cases: opens a book, keeps the estimate current, answers the command line and the app alike."""

from __future__ import annotations

import contextlib
from collections.abc import Iterable, Mapping, Sequence
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import TYPE_CHECKING, Any

import msgspec

from bathkeeper import checkpoints
from bathkeeper.answers.differences import changes
from bathkeeper.answers.reasons import why_content, why_learned
from bathkeeper.answers.settings import changed, settings_of
from bathkeeper.answers.shapes import History, Logged, NotFound, Status, by_id
from bathkeeper.answers.trends import Trend, TrendPoint, trend_of
from bathkeeper.answers.weighing import weighing_words
from bathkeeper.catalogue.loader import Catalogue, CatalogueError, load
from bathkeeper.catalogue.schema import Recipe, Template
from bathkeeper.due.gathering import advised
from bathkeeper.due.ranking import due
from bathkeeper.due.safety import bake_findings, hazards_of
from bathkeeper.due.snoozed import put_off
from bathkeeper.entries import Addition, AnyEntry, Correction, Run, Unknown, asked_of, of_waste, parse, tanks_of
from bathkeeper.estimate.fold import Fold, at_moment
from bathkeeper.estimate.learned import efficiencies_of
from bathkeeper.estimate.state import TankState
from bathkeeper.estimate.view import TankView, tank_view
from bathkeeper.estimate.world import World, first_descriptions
from bathkeeper.findings import Because, Finding, Problem
from bathkeeper.ids import new_id
from bathkeeper.logbook.book import Book, BookError
from bathkeeper.logbook.corrections import resolve
from bathkeeper.plausible import implausible
from bathkeeper.safety.groups import Vessel, shop_of
from bathkeeper.safety.meeting import matrix
from bathkeeper.safety.schema import Verdict
from bathkeeper.showing import habits_of
from bathkeeper.units.numerals import Preferences

if TYPE_CHECKING:
    from bathkeeper.phrases import Vocabulary


class Workshop:
    """One book with its estimate. Not safe to share between threads without a lock of one's own."""

    def __init__(self, book: Book) -> None:
        self.book = book
        self._fold = Fold(load())
        self._effective: list[AnyEntry | Unknown] = []
        self._waiting: list[Problem] = []
        self._world: World | None = None
        self._covered = 0
        self._take_up()

    @classmethod
    def open(cls, path: Path, *, create: bool = False) -> Workshop:
        """Opens a book.

        Raises:
            BookError: there is none, or it is not a book.
        """
        return cls(Book.open(path, create=create))

    @classmethod
    def new(cls, path: Path, name: str, template: str | None = None, at: datetime | None = None) -> Workshop:
        """Makes a book at a place where there is none, with a named workshop in it and a template's tanks, if one is named.

        Raises:
            BookError: there is something at that place already, or it cannot be written.
            CatalogueError: no such template. EntryError: the name cannot be. No book was made.
        """
        moment = at or now()
        raw = {"kind": "workshop", "at": moment, "name": name}
        parse({"id": new_id(), **raw})
        known = load().templates
        if template is not None and template not in known:
            raise CatalogueError(f"no template `{template}`; there are {', '.join(known)}")
        if path.exists():
            raise BookError(
                "There is a book already",
                f"{path} is left alone. Go on with it as it is, or name a file that does not exist yet to make another.",
            )
        workshop = cls.open(path, create=True)
        if template is None:
            workshop.log(raw)
        else:
            workshop.lay_out(name, template, moment)
        return workshop

    # -- what is there -------------------------------------------------------------------------------------------------

    @property
    def world(self) -> World:
        """The workshop after the last entry."""
        assert self._world is not None
        return self._world

    @property
    def catalogue(self) -> Catalogue:
        """The catalogue with this book's own definitions over it."""
        return self.world.catalogue

    @property
    def name(self) -> str:
        entry = self.world.workshop
        return entry.name if entry is not None else self.book.path.name

    @property
    def preferences(self) -> Preferences:
        """How this keeper writes numbers and units."""
        return habits_of(self.world.workshop)

    def settings(self) -> dict[str, Any]:
        """Every setting of the workshop by its name in the `workshop` entry; None where nothing is said."""
        return settings_of(self.world.workshop)

    @property
    def vocabulary(self) -> Vocabulary:
        """The words that a quick form may use here."""
        from bathkeeper.phrases import Vocabulary  # an eighth of the start-up, and only logging needs it

        tanks = _in_order(self.world)
        anodes = {t.name: {name: info.metal for name, info in t.anodes.items() if not info.retired} for t in tanks}
        runs = [e for e in self._effective if isinstance(e, Run)]
        return Vocabulary.of(self.catalogue, self.world.workshop, [t.entry for t in tanks], anodes, runs)

    @property
    def is_empty(self) -> bool:
        return not self.world.tanks

    @property
    def problems(self) -> list[Problem]:
        """Everything that could not be used: lines of the book, corrections that wait, entries the fold could not apply."""
        return [*self.book.problems, *self._waiting, *self.world.problems]

    def refresh(self) -> bool:
        """Takes up what another program appended. True when anything is new."""
        if not self.book.refresh():
            return False
        self._take_up()
        return True

    def take_up(self) -> None:
        """Takes up what was appended to the book past this workshop, as imports and merges do; no news to ``refresh``."""
        self._take_up()

    def status(
        self, at: datetime | None = None, tank: str | None = None, *, more: Iterable[Finding] = (), snoozed: bool = False
    ) -> Status:
        """Every tank (or the one named), what is due, and what could not be used; ``at``: from the entries up to that moment.

        Tanks are in process order. ``more``: findings that are worked out elsewhere (the forecast's, which takes longer than
        a status may); ``snoozed``: also what the keeper put off.

        Raises:
            NotFound: no tank of that name; says which there are.
        """
        moment = at or now()
        world = self.at(moment)
        states = _in_order(world) if tank is None else [self._state(world, tank)]
        views = [tank_view(s, world.catalogue.metals) for s in states]
        known = [e for e in self._effective if e.at <= moment]
        return Status(
            book=str(self.book.path),
            workshop=self.name,
            as_of=moment,
            tanks=views,
            due=due(
                views,
                {n: s.recipe for n, s in world.tanks.items()},
                world.calibrations.values(),
                self.safety(moment, meetings=False),
                moment,
                [*advised(world, views, known, moment), *more],
                () if snoozed else put_off(known, moment),
            ),
            problems=self.problems,
        )

    def safety(self, at: datetime | None = None, *, meetings: bool = True) -> list[Finding]:
        """Everything to be careful of in this workshop as it stands: hazards, bakes and their clock, what must not meet."""
        moment = at or now()
        world = self.at(moment)
        known = [e for e in self._effective if e.at <= moment]
        dangers = hazards_of(known, world.catalogue, efficiencies_of(world.tanks), _waste(world) if meetings else None)
        return [*bake_findings(known, world.catalogue, moment), *dangers]

    def must_not_meet(self, at: datetime | None = None) -> dict[str, dict[str, Verdict | None]]:
        """Every pair of this workshop's tanks, containers of waste and reagents by name, each way: ``never``, ``with care``,
        or None where nothing is known of the two."""
        moment = at or now()
        world = self.at(moment)
        shop = shop_of([e for e in self._effective if e.at <= moment], world.catalogue)
        return matrix([*shop.vessels, *_waste(world)])

    def at(self, moment: datetime) -> World:
        """The workshop at a moment, from the entries whose ``at`` is not later, whenever they were recorded."""
        if not self._effective or self._effective[-1].at <= moment:
            return at_moment(self.world, moment)
        past = [e for e in self._effective if e.at <= moment]
        world = Fold(load()).take(past, first_descriptions(self._effective))
        return at_moment(world, moment)

    def tank(self, name: str, at: datetime | None = None) -> TankView:
        """One tank's view.

        Raises:
            NotFound: no tank of that name; says which there are.
        """
        world = self.at(at or now())
        return tank_view(self._state(world, name), world.catalogue.metals)

    def recipe(self, tank: str) -> Recipe | None:
        return self._state(self.world, tank).recipe

    def entries(self, tank: str | None = None, at: datetime | None = None) -> list[AnyEntry | Unknown]:
        """Entries in force (corrections applied), newest first; of one tank if named; ``at``: those up to that moment."""
        found = [e for e in self._effective if (tank is None or tank in tanks_of(e)) and (at is None or e.at <= at)]
        return list(reversed(found))

    def entry(self, id: str) -> AnyEntry | Unknown:
        """An entry in force by its id, or by an unambiguous beginning or end of it (six signs or more).

        Raises:
            NotFound: none, or several.
        """
        return by_id(id, self._effective)

    def corrected(self) -> set[str]:
        """The ids of entries in force that no longer say what was logged."""
        every = {e.id: e for e in self.book.entries()}
        aimed_at = {e.corrects for e in every.values() if isinstance(e, Correction)}
        return {e.id for e in self._effective if e.id in aimed_at and e != every.get(e.id)}

    def history(self, id: str) -> History:
        """An entry of any kind by its id as in :meth:`entry`, withdrawn ones and corrections too, with what became of it.

        Raises:
            NotFound: none, or several.
        """
        every = self.book.entries()
        logged = by_id(id, every)
        corrections = tuple(e for e in every if isinstance(e, Correction) and e.corrects == logged.id)
        # a correction is never among the effective entries: it is in force unless it was corrected in turn
        standing = logged if isinstance(logged, Correction) and not corrections else None
        in_force = next((e for e in self._effective if e.id == logged.id), standing)
        return History(logged=logged, line=self.book.line_of(logged.id), corrections=corrections, in_force=in_force)

    def trend(self, tank: str, of: str, at: datetime | None = None) -> Trend:
        """How a species went through the present life of a tank.

        Raises:
            NotFound: no such tank, or it does not track that species.
        """
        state = self._state(self.at(at or now()), tank)
        if of not in state.species:
            raise NotFound(f"{tank} does not track `{of}`; it tracks {', '.join(state.species) or 'nothing'}")
        return trend_of(state, of, self._effective)

    def why(self, id: str, at: datetime | None = None) -> tuple[str, Because]:
        """(what, because) of a due item by its id, or of a content as ``tank.species``.

        Raises:
            NotFound: neither; says what can be asked.
        """
        status = self.status(at)
        for finding in status.due:
            if finding.id == id:
                return finding.what, finding.because
        tank, _, subject = id.partition(".")
        view = next((v for v in status.tanks if v.tank == tank), None)
        subject = subject.replace("_", " ") if view is not None and subject.replace("_", " ") in view.species else subject
        if view is not None and subject in {**view.species, **view.ratios}:
            return why_content(view, self.recipe(view.tank), subject, self._effective, status.as_of)
        if view is not None and subject in view.learned:
            return why_learned(view, subject)
        known = ", ".join(f.id for f in status.due) or "nothing is due"
        raise NotFound(f"nothing is called `{id}`. Due: {known}. Also tank.species, such as electrolyte.zinc")

    # -- writing -------------------------------------------------------------------------------------------------------

    def preview(self, raw: Mapping[str, Any]) -> list[str]:
        """What logging an entry would change, in lines such as ``electrolyte: zinc 31.2 -> 34.0 g/L``; nothing is written.

        Raises:
            EntryError: the entry cannot be.
        """
        entry = parse({"id": new_id(), **raw})
        before = self.world
        after = self._fold.take(_sorted([*self._effective, entry]))
        self._world = self._fold.take(self._effective)
        return [*changes(before, after, max(entry.at, self._latest())), *weighing_words(before, after, entry)]

    def doubts_about(self, raw: Mapping[str, Any], at: datetime | None = None) -> list[str]:
        """What can be but hardly is about an entry (or about what a correction puts in its place); nothing is written.

        ``at``: the moment of asking, against which a date in the future is told; now when not given.

        Raises:
            EntryError: the entry cannot be. NotFound: a correction of an entry, or a receipt of a hand-over, that is not here.
        """
        entry, moment = parse({"id": new_id(), **raw}), at or now()
        others: list[AnyEntry | Unknown] = self._effective
        shaken: list[str] = []
        if isinstance(entry, Correction):
            target, mended = self.entry(entry.corrects), entry
            others = [e for e in others if e.id != target.id]
            if entry.replacement is not None:
                entry = parse({"kind": target.kind, "at": target.at, **entry.replacement, "id": target.id})
            if of_waste(target):
                from bathkeeper.answers.asked import papers_shaken_by

                shaken = papers_shaken_by(self._fold, target.id, others, entry if entry is not mended else None, self.world)
            if entry is mended:
                self._fold.take(self._effective)
                return [*shaken, *implausible(entry, {}, {}, moment)]
        if asked_of(entry):
            from bathkeeper.answers.asked import before, waste_doubts  # the waste rooms, which no status needs

            here = self.at(entry.at) if others is self._effective else before(self._fold, others, entry)
            world = self._fold.take(self._effective)
            return [*waste_doubts(entry, here, world), *shaken, *implausible(entry, world.tanks, world.tanks, moment)]
        if not isinstance(entry, Addition):
            return implausible(entry, self.world.tanks, self.world.tanks, moment)
        past = [e for e in others if e.at <= entry.at]
        fold = self._fold if len(past) == len(self._effective) else Fold(load())
        firsts = first_descriptions(self._effective)
        without = at_moment(fold.take(past, firsts), entry.at)
        after = at_moment(fold.take([*past, entry], firsts), entry.at)
        self._world = self._fold.take(self._effective)
        return implausible(entry, without.tanks, after.tanks, moment)

    def cautions_of(self, tank: str) -> list[str]:
        """The usual cautions of a tank's recipe. Raises NotFound."""
        recipe = self.recipe(tank)
        return [] if recipe is None else [c.text for c in recipe.cautions]

    def cautions_about(self, raw: Mapping[str, Any]) -> list[str]:
        """The usual cautions for what an entry tells of: those of its tanks' recipes for the occasion, and its reagents' own.

        Raises:
            EntryError: the entry cannot be.
        """
        entry = parse({"id": new_id(), **raw})
        found: list[str] = []
        for name in self.world.tanks:
            recipe = self.world.tanks[name].recipe
            if name in tanks_of(entry) and recipe is not None:
                found += [c.text for c in recipe.cautions if c.when == entry.kind]
        for item in (*getattr(entry, "items", ()), *getattr(entry, "reagents", ())):
            with contextlib.suppress(CatalogueError):
                found += self.catalogue.reagent(item.reagent).cautions
        return list(dict.fromkeys(found))

    def log(self, raw: Mapping[str, Any]) -> Logged:
        """Appends an entry to the book.

        Raises:
            EntryError: the entry cannot be.
            BookError: the book cannot be written; nothing was.
        """
        entry = parse({"id": new_id(), **raw})
        before = self.world
        self.book.append(entry)
        self._take_up()
        told = changes(before, self.world, max(entry.at, self._latest()))
        return Logged(entry=entry, changes=[*told, *weighing_words(before, self.world, entry)])

    def log_all(self, raws: Sequence[Mapping[str, Any]]) -> list[AnyEntry]:
        """Appends several entries at once, all or none. Raises as :meth:`log`."""
        made = [parse({"id": new_id(), **raw}) for raw in raws]
        self.book.append_many(made)
        self._take_up()
        return made

    def correct(self, id: str, reason: str, replacement: Mapping[str, Any] | None, at: datetime | None = None) -> Logged:
        """Withdraws an entry (no replacement) or puts another in its place and time.

        Raises:
            NotFound, EntryError, BookError.
        """
        target = self.entry(id)
        raw: dict[str, Any] = {"kind": "correction", "at": at or now(), "corrects": target.id, "reason": reason}
        if replacement is None:
            raw["withdraw"] = True
        else:
            body = {k: v for k, v in replacement.items() if k not in ("id", "schema")}
            parse({"at": target.at, **body, "id": target.id})  # refused now rather than found wanting later
            raw["replacement"] = msgspec.to_builtins(body)
        return self.log(raw)

    def change_settings(
        self, settings: Mapping[str, Any], at: datetime | None = None, typed: Mapping[str, str] | None = None
    ) -> Logged:
        """Logs the workshop's settings anew: those named as given (None takes one back), all others as they are.

        Raises:
            EntryError: no such setting, or it cannot be. BookError: the book cannot be written; nothing was.
        """
        raw = {"name": self.name, **changed(self.world.workshop, settings, typed or {})}
        return self.log({**raw, "at": at or now()})

    def undo(self, at: datetime | None = None) -> Logged:
        """Withdraws the entry that was logged last and is still in force.

        Raises:
            NotFound: there is nothing to take back.
        """
        last = self.last_logged()
        if last is None:
            raise NotFound("there is nothing to take back: the book has no entries")
        return self.correct(last.id, "undone", None, at)

    def last_logged(self) -> AnyEntry | None:
        """The entry that :meth:`undo` would withdraw: of those in force the one logged last, whatever its time."""
        logged = [e for e in self._effective if not isinstance(e, (Unknown, Correction))]
        return max(logged, key=lambda e: self.book.line_of(e.id) or 0, default=None)

    def lay_out(self, name: str, template: str, at: datetime | None = None) -> list[AnyEntry]:
        """Names the workshop and sets up a template's tanks; no make-ups, those are logged.

        Raises:
            CatalogueError: no such template; says which there are.
        """
        plan = self._template(template)
        moment = at or now()
        raws: list[dict[str, Any]] = [{"kind": "workshop", "at": moment, "name": name}]
        for number, place in enumerate(plan.places, start=1):
            raw = {
                "kind": "tank",
                "at": moment + timedelta(milliseconds=number),
                "tank": place.tank,
                "role": place.role,
                "order": number,
            }
            if place.recipe is not None:
                raw["recipe"] = place.recipe
            if place.working_volume_l is not None:
                raw["working_volume_l"] = place.working_volume_l
            raws.append(raw)
        return self.log_all(raws)

    # -- inside --------------------------------------------------------------------------------------------------------

    def _take_up(self) -> None:
        self._effective, self._waiting = resolve(self.book.entries())
        if self._world is None:
            self._covered = checkpoints.restore(self._fold, self.book.path, self._effective)
        self._world = self._fold.take(self._effective)
        if len(self._effective) - self._covered >= checkpoints.WORTH_KEEPING:
            checkpoints.keep(self._fold, self.book.path, self._effective)
            self._covered = len(self._effective)

    def _latest(self) -> datetime:
        return self._effective[-1].at if self._effective else now()

    def _state(self, world: World, name: str) -> TankState:
        state = world.tanks.get(name)
        if state is None:
            raise NotFound(f"no tank is called `{name}`; there are {', '.join(world.tanks) or 'none yet'}")
        return state

    def _template(self, name: str) -> Template:
        template = self.catalogue.templates.get(name)
        if template is None:
            raise CatalogueError(f"no template `{name}`; there are {', '.join(self.catalogue.templates)}")
        return template

def now() -> datetime:
    """The moment, with its offset."""
    return datetime.now(UTC).astimezone()


def _waste(world: World) -> Sequence[Vessel]:
    """The containers of waste as vessels; what they hold is looked into only where there are any."""
    if not world.containers:
        return ()
    from bathkeeper.answers.dangers import container_vessels

    return container_vessels(world)


def _sorted(entries: Sequence[AnyEntry | Unknown]) -> list[AnyEntry | Unknown]:
    effective, _ = resolve(entries)
    return effective


def _in_order(world: World) -> list[TankState]:
    return sorted(world.tanks.values(), key=lambda t: (t.entry.place, t.entry.at, t.name))


__all__ = ["History", "Logged", "NotFound", "Status", "Trend", "TrendPoint", "Workshop", "now"]

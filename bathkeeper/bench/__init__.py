"""The use cases at the bench: areas, setting the run, walking the line, what became of it."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from contextlib import suppress
from datetime import datetime
from typing import TYPE_CHECKING, Any

import msgspec

from bathkeeper.answers.shapes import Logged, NotFound
from bathkeeper.bench.walk import Fed, Walk
from bathkeeper.entries import Run, Unknown
from bathkeeper.logbook.live import MovedOn
from bathkeeper.runs.line_plan import parts_of, plan_line
from bathkeeper.runs.live import LinePlan, LiveError, LiveRun, PlannedBranch, Tick
from bathkeeper.runs.oven import bake_of

if TYPE_CHECKING:
    from bathkeeper.runs.history import Again, Comparison, PastRun
    from bathkeeper.runs.library import KnownPart
    from bathkeeper.runs.parts import PartArea
    from bathkeeper.runs.setting import Setting

__all__ = ["Bench", "Fed", "LinePlan", "LiveError", "LiveRun", "MovedOn", "Tick"]


class Bench(Walk):
    """The bench of one workshop: ``Bench(workshop)``; :class:`~bathkeeper.bench.walk.Walk` has the live run."""

    # -- parts and current ---------------------------------------------------------------------------------------------

    def parts(self, text: str) -> list[PartArea]:
        """Areas of the parts in words. Raises PartError, which says what would be right."""
        from bathkeeper.runs.parts import understand_parts

        return understand_parts(text, self.workshop.preferences, self.workshop.catalogue, self.known_parts())

    def known_parts(self) -> dict[str, KnownPart]:
        """The keeper's own parts, learned from runs and definitions, newest first."""
        from bathkeeper.catalogue.own import OwnPart, all_of
        from bathkeeper.runs.library import known_parts

        return known_parts(self.workshop.entries()[::-1], all_of(self.workshop.catalogue.own, "part", OwnPart))

    def setting(
        self,
        tank: str | None = None,
        *,
        parts: str | None = None,
        area_dm2: float | None = None,
        density_a_dm2: float | None = None,
        current_a: float | None = None,
        thickness_um: float | None = None,
        minutes: float | None = None,
        worst_spot: float | None = None,
        supplies: Sequence[str] = (),
        thread_position: str = "g",
        temperature_c: float | None = None,
        at: datetime | None = None,
    ) -> Setting:
        """How to set a load: current, branches, reach, time or thickness, cautions (see ``runs/setting.py``).

        ``parts`` in words or ``area_dm2``; without either the current stays open. ``tank`` may be left out where there is one
        plating tank.

        Raises:
            LiveError: which tank is not clear. NotFound: no such tank. PartError, SettingError: what would be right.
        """
        return self._setting(
            tank,
            self._load(parts, area_dm2),
            at,
            density_a_dm2=density_a_dm2,
            current_a=current_a,
            thickness_um=thickness_um,
            minutes=minutes,
            worst_spot=worst_spot,
            supplies=tuple(supplies),
            thread_position=thread_position,
            temperature_c=temperature_c,
        )

    # -- the plan ------------------------------------------------------------------------------------------------------

    def line_plan(
        self,
        kind: str = "plate",
        *,
        parts: str | None = None,
        area_dm2: float | None = None,
        like: str | None = None,
        tank: str | None = None,
        minutes: float | None = None,
        current_a: float | None = None,
        branches: Sequence[PlannedBranch] = (),
        setting: Setting | None = None,
    ) -> LinePlan:
        """The steps of a run to come.

        Args:
            kind: ``plate``, ``rust removal`` or ``dummy``.
            parts, area_dm2: the load in words, or its area alone; without either that of ``like``.
            like: a run to do again, by id, or ``last``.
            tank: the tank with current, where there are several.
            minutes, current_a, branches: for that tank.
            setting: as from :meth:`setting`; its currents and minutes hold where none are given here.

        Raises:
            LiveError, NotFound, PartError: what was wrong, and what would be right.
        """
        past = self._past()
        model = self._like(like, past) if like is not None else None
        load = self._load(parts, area_dm2, model)
        world = self.workshop.world
        tanks = sorted(world.tanks.values(), key=lambda t: (t.entry.place, t.entry.at, t.name))
        rule = world.workshop.embrittlement_rule if world.workshop is not None else None
        bake = bake_of(load, rule, world.catalogue.own) if kind == "plate" else None

        def planned(of: Setting | None, minutes: float | None) -> LinePlan:
            given = current_a is not None or bool(branches)
            amperes, fed = (current_a, tuple(branches)) if given or of is None else _currents(of)
            return plan_line(
                kind,
                [t.entry for t in tanks],
                {t.name: t.recipe for t in tanks},
                past,
                parts=load,
                like=model,
                tank=tank,
                minutes=minutes,
                current_a=amperes,
                current_from="asked" if given else "set for this load",
                branches=fed,
                bake=bake,
            )

        plan = planned(setting, minutes if minutes is not None or setting is None else setting.stay_minutes)
        if setting is None and kind == "plate" and plan.area_dm2:
            bare = [s for s in plan.steps if s.role == "plate" and s.current_a is None and not s.branches]
            if len(bare) == 1:
                # no run and nobody said a current: the middle of the recipe's window, as `setting` has it
                with suppress(ValueError):
                    return planned(self._setting(bare[0].tank, load, None), minutes)
        return plan

    # -- what was done -------------------------------------------------------------------------------------------------

    def runs(
        self,
        search: str = "",
        *,
        tank: str | None = None,
        result: str | None = None,
        defect: str | None = None,
        since: datetime | None = None,
        until: datetime | None = None,
    ) -> list[PastRun]:
        """Runs that fit, newest first."""
        from bathkeeper.runs.history import past_runs
        from bathkeeper.runs.history import search as find

        found = past_runs(self.workshop.entries(), self.workshop.world, tank)
        return find(found, search, tank=tank, result=result, defect=defect, since=since, until=until)

    def outcome(self, run_id: str) -> PastRun:
        """A run with what became of it. Raises NotFound."""
        run = self._run_entry(run_id)
        return next(r for r in self.runs() if r.id == run.id)

    def note_outcome(
        self,
        run_id: str,
        at: datetime | None = None,
        *,
        result: str | None = None,
        defect: str | None = None,
        rejects: int | None = None,
        photos: Sequence[str] = (),
        text: str = "",
    ) -> Logged:
        """Logs what became of a run. Raises NotFound, EntryError, LiveError (nothing said), BookError."""
        run = self._run_entry(run_id)
        said = {"result": result, "defect": defect, "rejects": rejects, "photos": list(photos) or None}
        told = {name: value for name, value in said.items() if value is not None}
        if not told and not text:
            raise LiveError("nothing was said; say a result, a defect, rejects, photos or a text")
        words = text or ", ".join(f"{n} {v if not isinstance(v, list) else ', '.join(v)}" for n, v in told.items())
        return self.workshop.log({"kind": "remark", "at": at or self.clock.wall(), "run": run.id, "text": words, **told})

    def repeat_run(
        self, run_id: str, at: datetime | None = None, *, area_dm2: float | None = None, parts: str | None = None
    ) -> Again:
        """A run once more as a plain entry ready for ``workshop.log``, with what was scaled. ``run_id`` may be ``last``.

        Raises:
            NotFound: no such run. AgainError, PartError: it cannot be repeated as asked.
        """
        from bathkeeper.runs.history import again

        run = self._like(run_id, self._past())
        load = self._load(parts, None) if parts is not None else None
        return again(run, at=at or self.clock.wall(), area_dm2=area_dm2, parts=load)

    def compare(self, tank: str | None = None, *, of: str | None = None) -> Comparison:
        """Good runs of a tank against bad ones, or against those with one defect."""
        from bathkeeper.runs.history import compare

        name = tank or self._plating_tank()
        return compare(self.runs(tank=name), name, of)

    # -- inside --------------------------------------------------------------------------------------------------------

    def _setting(self, tank: str | None, load: Sequence[Mapping[str, Any]], at: datetime | None, **asked: Any) -> Setting:
        from bathkeeper.entries import Part
        from bathkeeper.runs.history import past_runs
        from bathkeeper.runs.setting import Wish, set_run

        moment = at or self.clock.wall()
        world = self.workshop.at(moment)
        name = tank or self._plating_tank()
        if name not in world.tanks:
            raise NotFound(f"no tank is called `{name}`; there are {', '.join(world.tanks) or 'none yet'}")
        area = float(sum(p.get("area_dm2") or 0.0 for p in load)) or None
        spreads = [p["spread"] for p in load if p.get("spread") is not None]
        wish = Wish(
            area_dm2=area,
            # one way of reckoning for all of a load's parts errs the same way for all of them
            area_spread_dm2=sum(spreads) if spreads and area is not None else None,
            parts=tuple(msgspec.convert(p, Part) for p in load),
            **asked,
        )
        entries = self.workshop.entries(at=moment)
        return set_run(
            world.tanks[name],
            world.catalogue,
            wish,
            self._past(moment),
            history=past_runs(entries, world, name),
            rule=world.workshop.embrittlement_rule if world.workshop is not None else None,
        )

    def _load(self, parts: str | None, area_dm2: float | None, like: Run | None = None) -> list[dict[str, Any]]:
        """The load as plain fields of an entry's parts."""
        if parts is not None and area_dm2 is not None:
            raise LiveError("give either the parts in words or the area of the whole load, not both")
        if area_dm2 is not None:
            if not 0 < area_dm2 <= 1e6:
                raise LiveError(f"an area of {area_dm2:g} dm2 cannot be; give the area of the whole load, above zero")
            name = like.parts[0].description if like is not None and len(like.parts) == 1 else "load"
            return [{"description": name, "area_dm2": area_dm2}]
        if parts is not None:
            return [_as_part(p) for p in self.parts(parts)]
        return [] if like is None else parts_of(like)

    def _past(self, at: datetime | None = None) -> list[Run]:
        """Runs in force, oldest first."""
        return [e for e in reversed(self.workshop.entries(at=at)) if isinstance(e, Run)]

    def _like(self, id: str, past: Sequence[Run]) -> Run:
        if id.casefold() != "last":
            return self._run_entry(id)
        if not past:
            raise NotFound("there is no run in the book yet to do again; plan one with parts")
        plates = {t.name for t in self.workshop.world.tanks.values() if t.entry.role == "plate"}
        real = [r for r in past if not any(s.dummy for s in r.steps)]
        plated = [r for r in real if any(s.tank in plates for s in r.steps)]
        return (plated or real or list(past))[-1]

    def _run_entry(self, id: str) -> Run:
        entry = self.workshop.entry(id)
        if not isinstance(entry, Run):
            kind = entry.kind if not isinstance(entry, Unknown) else "entry of a kind not known here"
            raise NotFound(f"{id} is a {kind}, not a run; `bathkeeper run list` shows the runs")
        return entry

    def _plating_tank(self) -> str:
        plates = [t for t in self.workshop.world.line() if t.entry.role == "plate"]
        if len(plates) != 1:
            names = ", ".join(t.name for t in plates)
            raise LiveError(f"which tank? There are {names}" if plates else "there is no plating tank in this workshop yet")
        return plates[0].name


def _as_part(part: PartArea) -> dict[str, Any]:
    """An area understood from words as an entry's part, with what is known of its strength."""
    made: dict[str, Any] = {"description": part.title, "count": part.count, "area_dm2": round(part.area_dm2, 6)}
    if part.spread:
        made["spread"] = round(part.half_dm2, 6)
    told = {n: getattr(part, n) for n in ("property_class", "strength_mpa", "safety_critical")}
    return made | {n: v for n, v in told.items() if v}


def _currents(setting: Setting) -> tuple[float | None, tuple[PlannedBranch, ...]]:
    """Current, or currents by supply, that a setting asks for."""
    named = [b for b in setting.branches if b.supply]
    if len(named) > 1:
        made = (PlannedBranch(supply=b.supply, anodes=tuple(b.anodes), current_a=_rounded(b.current_a)) for b in named)
        return None, tuple(made)
    whole = _rounded(setting.current_a.value) if setting.current_a is not None else None
    if len(named) == 1:  # one supply for all: which anodes hang on it says nothing that the book does not know
        return None, (PlannedBranch(supply=named[0].supply, current_a=whole),)
    return whole, ()


def _rounded(amperes: float | None) -> float | None:
    """To what a person sets on a knob."""
    return None if amperes is None else float(f"{amperes:.3g}")

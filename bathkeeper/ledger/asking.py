"""Questions about one workshop's waste. Nothing is written here: entries of waste are logged like any other."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from datetime import datetime
from typing import Any

import msgspec

from bathkeeper.accounts.grams import Grams, grams
from bathkeeper.accounts.grams import between as grams_between
from bathkeeper.accounts.litres import Litres, between, litres
from bathkeeper.accounts.shelf import shelf
from bathkeeper.answers.shapes import NotFound
from bathkeeper.catalogue.own import all_of
from bathkeeper.catalogue.own_waste import WasteLimit
from bathkeeper.entries import Container
from bathkeeper.estimate.containers import ContainerState, Handed
from bathkeeper.estimate.world import World
from bathkeeper.findings import Estimate
from bathkeeper.headlines import item_words
from bathkeeper.ledger.checks import checklist
from bathkeeper.ledger.missing import missing_grams
from bathkeeper.ledger.record import known_of, with_told
from bathkeeper.ledger.second_road import second_road
from bathkeeper.ledger.shapes import HandOver, Held, MissingGrams, WasteStatus
from bathkeeper.refusals import shorten
from bathkeeper.waste.allowing import AllowanceUse, taken, use_of
from bathkeeper.waste.base_need import BaseNeed, base_need
from bathkeeper.waste.candidates import candidate_line, candidates
from bathkeeper.waste.comparing import Compared, compare
from bathkeeper.waste.disposal import DisposalPlan, disposal_plan
from bathkeeper.waste.generated import size_of_generator
from bathkeeper.waste.limits import GeneratorSize, Storage, hand_over_papers, retention, storage
from bathkeeper.waste.loader import FALLBACK
from bathkeeper.waste.meeting_streams import KeepApart, meeting_of, stream_groups
from bathkeeper.waste.picking import ask_first, rule_set_for
from bathkeeper.waste.properties import properties
from bathkeeper.waste.schema import Candidate, Property, RuleSet
from bathkeeper.waste.stream import Stream
from bathkeeper.waste.streams import stream_handed, stream_of, stream_of_tank
from bathkeeper.waste.treatment_data import note_lines, treatment_notes
from bathkeeper.waste.treatment_sums import bases_on_shelf
from bathkeeper.workshop import Workshop, now


class Ledger:
    """The waste of one workshop, at any moment."""

    def __init__(self, workshop: Workshop) -> None:
        self.workshop = workshop

    # -- rules ---------------------------------------------------------------------------------------------------------

    def rules(self) -> RuleSet:
        """The rule set of the country and region that the workshop's settings name; ``chosen`` says how it was picked."""
        entry = self.workshop.world.workshop
        return rule_set_for(entry.country if entry is not None else None, entry.region if entry is not None else None)

    def ask_first(self) -> str:
        """Whom to ask before anything is done, under which rule set of which date; stands under every page on waste."""
        return ask_first(self.rules())

    def own_limits(self) -> list[WasteLimit]:
        """What the local authority told this keeper; it wins over the rule set."""
        return list(all_of(self.workshop.catalogue.own, "waste limit", WasteLimit).values())

    @property
    def keeper(self) -> str:
        """``household``, ``business`` or nothing, as the settings say."""
        entry = self.workshop.world.workshop
        return (entry.keeper or "") if entry is not None else ""

    def generator(self, at: datetime | None = None) -> GeneratorSize | None:
        """The size of this generator by what its containers took in; None where the rule set knows no such size."""
        if self.rules().system != "us":
            return None
        moment = at or now()
        return size_of_generator(self.workshop.at(moment).containers.values(), moment)

    # -- what there is -------------------------------------------------------------------------------------------------

    def status(self, at: datetime | None = None) -> WasteStatus:
        """Everything of waste at one moment."""
        moment = at or now()
        world = self.workshop.at(moment)
        rules = self.rules()
        return WasteStatus(
            book=str(self.workshop.book.path),
            workshop=self.workshop.name,
            as_of=moment,
            rule_set=rules.name,
            rule_set_title=rules.title,
            rule_set_date=rules.date,
            rule_set_chosen=rules.chosen,
            generator=self.generator(moment),
            keeper=self.keeper,
            containers=tuple(self._held(state, rules, moment) for state in world.containers.values()),
            handed_over=tuple(self._handed(world, rules, moment)),
            account=litres(world),
            unaccounted_g=missing_grams(grams(world)),
            ask_first=ask_first(rules),
            allowances=tuple(self._uses(world, moment)),
        )

    def containers(self, at: datetime | None = None) -> list[Held]:
        """Every container on record, the empty ones too, in the order in which they came."""
        moment, rules = at or now(), self.rules()
        return [self._held(state, rules, moment) for state in self.workshop.at(moment).containers.values()]

    def container(self, name: str, at: datetime | None = None) -> Held:
        """One container. Raises NotFound."""
        moment = at or now()
        return self._held(self._state(self.workshop.at(moment), name), self.rules(), moment)

    def hand_overs(self, at: datetime | None = None) -> list[HandOver]:
        """Everything that was handed over, oldest first."""
        moment = at or now()
        return self._handed(self.workshop.at(moment), self.rules(), moment)

    def stream(self, name: str, at: datetime | None = None) -> Stream:
        """What a container holds, or what a tank would give if it were dumped now. Raises NotFound."""
        return self._stream(self.workshop.at(at or now()), name)

    def candidates(self, name: str, at: datetime | None = None) -> tuple[Candidate, ...]:
        """Codes that come into question for a container, or for a tank if it were dumped now; none where nothing is in it.
        Raises NotFound."""
        return self._candidates(self.stream(name, at), self.rules())

    def properties(self, name: str, at: datetime | None = None) -> tuple[Property, ...]:
        """Hazardous properties that come into question; none under a rule set that does not count by them. Raises NotFound."""
        stream = self.stream(name, at)
        return properties(stream) if self.rules().system != "us" and not stream.empty else ()

    def account(self, since: datetime | None = None, until: datetime | None = None) -> Litres:
        """Where every litre went, from the beginning of the book or of a period."""
        after = litres(self.workshop.at(until or now()))
        return after if since is None else between(litres(self.workshop.at(since)), after, since)

    def grams(self, until: datetime | None = None, since: datetime | None = None) -> dict[str, Grams]:
        """Where every gram of each species went, from the beginning of the book or of a period."""
        after = grams(self.workshop.at(until or now()))
        return after if since is None else grams_between(grams(self.workshop.at(since)), after)

    def missing(
        self, until: datetime | None = None, since: datetime | None = None, *, every: bool = False
    ) -> tuple[MissingGrams, ...]:
        """What is unaccounted for of each metal (``every``: of each species), from the beginning of the book or of a period."""
        return missing_grams(self.grams(until, since), every=every)

    def compared(self, name: str, at: datetime | None = None) -> tuple[Compared, ...]:
        """What a container holds beside discharge limits, for comparison only. Raises NotFound."""
        return compare(self.stream(name, at), self.rules(), self.own_limits())

    # -- what must be kept apart ---------------------------------------------------------------------------------------

    def keep_apart(self, at: datetime | None = None, tank: str | None = None) -> list[KeepApart]:
        """Pairs of containers whose contents must not meet, or only with care; the worst first. ``tank``: a tank that might be
        dumped is compared too."""
        world = self.workshop.at(at or now())
        streams = [stream_of(s) for s in world.containers.values() if not s.empty]
        if tank is not None and tank in world.tanks and world.tanks[tank].alive:
            streams.append(stream_of_tank(world.tanks[tank]))
        groups = {s.name: stream_groups(s, self.workshop.catalogue) for s in streams}
        found = [
            k
            for i, a in enumerate(streams)
            for b in streams[i + 1 :]
            for k in meeting_of(a, b, groups[a.name], groups[b.name])
            if k.verdict != "keep apart"
        ]
        return sorted(found, key=lambda k: (k.verdict != "never", k.a, k.b))

    # -- the plan ------------------------------------------------------------------------------------------------------

    def base_need(self, name: str, at: datetime | None = None, ph: float = 9.5) -> BaseNeed:
        """The base that a container's content takes on paper; of a spent pickle by both roads. Raises NotFound, ValueError."""
        moment = at or now()
        world = self.workshop.at(moment)
        road = second_road(world, world.containers.get(name), self.workshop.entries(at=moment)[::-1])
        return base_need(
            self.stream(name, moment), ph, iron_charge=road.per_iron, acid_made_up_mol=road.made_up,
            acid_dragged_out_mol=road.dragged_out, base_put_in_mol=road.put_in,
        )  # fmt: skip

    def plan(self, name: str, at: datetime | None = None, ph: float = 9.5) -> DisposalPlan:
        """The disposal plan of a container: arithmetic for understanding; it ends with the authority.

        Raises:
            NotFound: no such container. ValueError: a pH outside 0 to 14.
        """
        moment = at or now()
        rules, stream = self.rules(), self.stream(name, moment)
        world = self.workshop.at(moment)
        uses = [u for u in self._uses(world, moment) if not u.containers or name in u.containers]
        use = min(uses, key=lambda u: (not u.containers, u.amount / u.per_days), default=None)
        found = self._candidates(stream, rules)
        apart = [k for k in self.keep_apart(moment, name) if name in (k.a, k.b)]
        plan = disposal_plan(
            stream,
            rule_set_title=rules.title,
            rule_set_date=rules.date,
            authority=self._authority(name),
            candidates=[candidate_line(c) for c in found],
            must_not_touch=[f"{k.b if k.a == name else k.a}: {k.gives} ({k.verdict}). {k.text}" for k in apart],
            keeper=self.keeper,
            treatment=note_lines(treatment_notes(rules.name)),
            allowance_l_per_month=use.monthly if use is not None and use.unit == "L" else None,
            use=use,
            shelf=bases_on_shelf(shelf(self.workshop.entries(at=moment)[::-1], world.catalogue, moment), world.catalogue),
            now=moment,
            need=self.base_need(name, moment, ph),
            known=known_of(world, name, stream, found, rules, moment),
        )
        return with_told(plan, world.containers.get(name))

    # -- inside --------------------------------------------------------------------------------------------------------

    def _uses(self, world: World, moment: datetime) -> Iterator[AllowanceUse]:
        """Every allowance of the keeper's, with what is used of it."""
        handed = taken(h for state in world.containers.values() for h in state.handed)
        for name, limit in all_of(self.workshop.catalogue.own, "waste limit", WasteLimit).items():
            if limit.what == "allowance":
                yield use_of(name, limit, handed, moment)

    def _authority(self, container: str) -> str:
        told = [w.authority for w in self.own_limits() if w.authority and (not w.containers or container in w.containers)]
        return told[0] if told else ""

    def _state(self, world: World, name: str) -> ContainerState:
        state = world.containers.get(name)
        if state is None:
            known = ", ".join(world.containers) or "none yet"
            raise NotFound(f"no container is called `{shorten(name)}`; there are {known}")
        return state

    def _stream(self, world: World, name: str) -> Stream:
        tank = world.tanks.get(name)
        if tank is not None and name not in world.containers:
            if not tank.alive:
                raise NotFound(f"the tank `{name}` has no make-up on record: what is in it nobody knows")
            return stream_of_tank(tank)
        return stream_of(self._state(world, name))

    def _candidates(self, stream: Stream, rules: RuleSet) -> tuple[Candidate, ...]:
        return candidates(stream, rules, self.keeper or None) if not stream.empty else ()  # type: ignore[arg-type]

    def _held(self, state: ContainerState, rules: RuleSet, moment: datetime) -> Held:
        stream = stream_of(state)
        found = self._candidates(stream, rules)
        kept = self._storage(state, rules, moment)
        concentrations = {n: c for n in stream.amounts if (c := stream.concentration(n)) is not None}
        return Held(
            container=state.name,
            opened=state.opened,
            since=state.since,
            form=state.form,
            size_l=state.size_l,
            place=state.place,
            why=state.why,
            physical_form=state.physical_form,
            colour=state.colour,
            volume_l=stream.volume_l,
            mass_kg=stream.mass_kg,
            solids_kg=state.solids_kg,
            pieces=state.pieces,
            kinds=stream.kinds,
            origins=stream.origins,
            contents=concentrations,
            amounts=dict(stream.amounts),
            ph=stream.ph,
            complete=state.complete,
            storage=kept,
            storage_days_left=kept.left_days,
            candidates=found,
            candidate_codes=tuple(dict.fromkeys(c.code for c in found if c.code)),
            properties=properties(stream) if rules.system != "us" and not state.empty else (),
            codes=state.codes,
            hazards=state.hazards,
            checks=checklist(state),
            entries=stream.entries,
            treated=tuple(self._treated(t) for t in state.treatments),
        )

    def _treated(self, done: Container) -> str:
        put = item_words(done.items, self.workshop.preferences)
        return f"{done.at.astimezone():%Y-%m-%d} {done.treatment or 'treated'}{f': {put}' if put else ''}"

    def _storage(self, state: ContainerState, rules: RuleSet, moment: datetime) -> Storage:
        if state.empty:
            return Storage(
                stood_days=None, limit_days=None, left_days=None, level=None, by=None, text="", starts="", status="practice",
                source="",
            )  # fmt: skip
        size = self.generator(moment)
        of, passed = (size.storage_of, size.clock_since) if size is not None else ("", None)
        return storage(state.since, moment, rules, self.own_limits(), state.name, of, passed)

    def _handed(self, world: World, rules: RuleSet, moment: datetime) -> list[HandOver]:
        found = [h for state in world.containers.values() for h in state.handed]
        return [_hand_over(h, rules, self.keeper) for h in sorted(found, key=lambda h: (h.at, h.entry))]


def _hand_over(handed: Handed, rules: RuleSet, keeper: str) -> HandOver:
    stream = stream_handed(handed)
    told: Mapping[str, Any] = msgspec.to_builtins(handed.papers) if handed.papers is not None else {}
    litres_told: Estimate | None = stream.volume_l
    return HandOver(
        entry=handed.entry,
        at=handed.at,
        container=handed.container,
        to=handed.to,
        litres=litres_told,
        mass_kg=handed.weighed_kg if handed.weighed_kg is not None else (stream.mass_kg.value if stream.mass_kg else None),
        weighed=handed.weighed_kg is not None,
        amounts=dict(stream.amounts),
        kinds=stream.kinds,
        origins=stream.origins,
        codes=handed.codes,
        hazards=handed.hazards,
        why=handed.why,
        physical_form=handed.physical_form,
        colour=handed.colour,
        papers=dict(told),
        reference=handed.reference,
        receipt=handed.receipt,
        receipt_at=handed.receipt_at,
        complete=handed.complete,
        refused=handed.refused,
        refused_at=handed.refused_at,
        on_record=handed.on_record,
        stood_days=(handed.at - handed.since).total_seconds() / 86_400 if handed.since is not None else None,
        retention=retention(hand_over_papers(rules, keeper), handed.at, unsure=rules.name == FALLBACK),
    )

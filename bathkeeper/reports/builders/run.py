"""The certificate of one run: parts, steps in order, the deposit as an average with its spread, the bake."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import timedelta

from bathkeeper.answers.shapes import NotFound
from bathkeeper.catalogue.setting import setting_defaults
from bathkeeper.entries import AnyEntry, Part, Reading, Remark, Run, Step, Treatment, Unknown
from bathkeeper.estimate.charges import UNNAMED_SUPPLY, plating_of
from bathkeeper.estimate.state import Z95, TankState
from bathkeeper.findings import Estimate
from bathkeeper.headlines import charge_text, what
from bathkeeper.reports.builders.ground import WHERE_LIMITS_COME_FROM, Ground, corrections, report
from bathkeeper.reports.model import Caution, Cell, Column, Fact, Facts, Heading, Paragraph, Piece, Report, SignatureLine, Table
from bathkeeper.runs.keeper_limits import window_here
from bathkeeper.runs.past import PastRun, past_runs
from bathkeeper.runs.thickness import deposit_here, rate_here
from bathkeeper.safety.baking import bake_record, order_faults
from bathkeeper.safety.embrittlement import SEVERITY, Bake, bake
from bathkeeper.safety.loader import own_rule
from bathkeeper.safety.schema import SafetyError

LAST = "last"
AREA_SPREAD = 0.2  # of an area told without a spread, 95 % [practice]
NO_BAKE_CLAIM = "A bake on record says what the oven did. It does not say that the parts are free of hydrogen."


def run_certificate(ground: Ground, run_id: str) -> Report:
    """The certificate of a run, by its id or ``last``. Raises NotFound."""
    run = _run(ground, run_id)
    past = next(r for r in past_runs(ground.entries, ground.world) if r.id == run.id)
    told = [e for e in ground.entries if _of_run(e, run.id) and e.id != run.id]
    pieces: list[Piece] = [
        Facts(
            (
                Fact("Run", ground.id(run.id)),
                Fact("When", run.at),
                Fact("By", run.by or "not told"),
                ground.fact("Area of the load", past.area_dm2, "dm2"),
                Fact("Outcome", _outcome(past)),
                Fact("Rejects", past.rejects, "pieces"),
                Fact("Note", run.note or "none"),
            )
        ),
        _parts(ground, run),
        _steps(ground, run),
        Heading("Deposit"),
        *_deposits(ground, run),
        Heading("Bake against hydrogen"),
        *_bake(ground, run, told),
        Heading("What was said of it later"),
        _later(ground, told),
        Heading("Corrections"),
    ]
    mended = list(corrections(ground, lambda entry: _of_run(entry, run.id)))
    pieces += mended or [Paragraph("Neither the run nor anything said of it was corrected or withdrawn.")]
    pieces += [SignatureLine("Run by"), SignatureLine("Looked over by")]
    return report(
        ground, f"Run certificate: {run.at.astimezone():%Y-%m-%d %H:%M}", pieces, of_period=False, subtitle=past.title,
        notes=(WHERE_LIMITS_COME_FROM, "A record of what was done and what was reckoned; it warrants nothing of the parts."),
    )  # fmt: skip


def _run(ground: Ground, run_id: str) -> Run:
    runs = [e for e in ground.entries if isinstance(e, Run)]
    if run_id.casefold() == LAST:
        if not runs:
            raise NotFound("there is no run in the book yet; log one, or name another report")
        return runs[-1]
    entry = ground.workshop.entry(run_id)
    if not isinstance(entry, Run):
        raise NotFound(f"{run_id} is a {entry.kind}, not a run; `bathkeeper run list` shows the runs")
    if entry.at > ground.at:
        raise NotFound(f"{run_id} was run later than the moment that is asked about")
    return entry


def _of_run(entry: AnyEntry | Unknown, run: str) -> bool:
    if isinstance(entry, Reading):
        return entry.run == run or run in entry.runs
    return entry.id == run or (isinstance(entry, (Remark, Treatment)) and entry.run == run)


def _outcome(past: PastRun) -> str:
    good = {True: "good", False: "not good", None: "nothing said yet"}[past.good]
    defect = f"defect: {past.defect.replace('_', ' ')}" if past.defect else ""
    said = past.result if past.result and past.result != good else ""
    return "; ".join(w for w in (good, said, defect) if w)


def _parts(ground: Ground, run: Run) -> Table:
    rows: list[tuple[Cell, ...]] = []
    for p in run.parts:
        area = None
        if p.area_dm2 is not None:
            half = p.spread or 0.0
            area = ground.estimate(Estimate(p.area_dm2, max(p.area_dm2 - half, 0.0), p.area_dm2 + half, "dm2"))
        strength = ", ".join(
            w for w in (
                f"class {p.property_class}" if p.property_class else "", f"{p.strength_mpa:g} MPa" if p.strength_mpa else "",
                "safety-critical" if p.safety_critical else "",
            ) if w
        )  # fmt: skip
        rows.append((p.description, p.count, area, strength or "not told"))
    return Table(
        name="parts",
        title="Parts",
        columns=(
            Column("part", "Part"), Column("count", "Pieces", kind="number", decimals=0),
            ground.column("area", "Area, all", "dm2", "estimate"), Column("strength", "Strength"),
        ),
        rows=tuple(rows),
        empty="No parts are named.",
    )  # fmt: skip


def _steps(ground: Ground, run: Run) -> Table:
    rows: list[tuple[Cell, ...]] = []
    for number, step in enumerate(run.steps, start=1):
        state = ground.world.tanks.get(step.tank)
        plating = plating_of(step, run.area_dm2, ground.world.catalogue.spreads)[0]
        charge = plating.read_ah or None
        minutes = plating.minutes
        current = charge * 60 / minutes if charge and minutes else None
        density = current / run.area_dm2 if current and run.area_dm2 else None
        how = charge_text(step.charge, step.minutes, ground.prefs) if step.charge is not None else ""
        rows.append((
            number, step.tank, state.entry.role if state is not None else "not known", minutes,
            ground.number(charge, "Ah"), ground.number(current, "A"), ground.number(density, "A/dm2"),
            ground.number(step.temperature_c, "degC"), ", ".join(w for w in (how, _supplies(step)) if w),
        ))  # fmt: skip
    return Table(
        name="steps",
        title="Steps in their order",
        columns=(
            Column("number", "", kind="number", decimals=0), Column("tank", "Tank"), Column("role", "Role"),
            Column("minutes", "Time", "min", "number"), ground.column("charge", "Charge", "Ah", decimals=2),
            ground.column("current", "Mean current", "A", decimals=2),
            ground.column("density", "Per area", "A/dm2", decimals=2),
            ground.column("temperature", "Temperature", "degC", decimals=1), Column("how", "As told; supply"),
        ),
        rows=tuple(rows),
        caption="Charge as the instruments told it. The run's moment is the only time of day on record; steps follow in order.",
    )  # fmt: skip


def _supplies(step: Step) -> str:
    names = [step.supply or "", *(b.supply or "" for b in step.branches)]
    dummy = ["dummy plating"] if step.dummy else []
    return ", ".join([*dict.fromkeys(n for n in names if n), *dummy])


# -- deposit -----------------------------------------------------------------------------------------------------------


def _deposits(ground: Ground, run: Run) -> Iterator[Piece]:
    world = ground.workshop.at(run.at)
    found = False
    for step in run.steps:
        state = world.tanks.get(step.tank)
        if state is not None and not step.dummy and (step.charge is not None or step.branches):
            for piece in _deposit(ground, run, step, state):
                found = True
                yield piece
    if not found:
        yield Paragraph("No step of this run laid a deposit that can be reckoned.")
    else:
        yield Paragraph(
            "The thickness is an average over the whole area. Edges get more, recesses and holes less: a thin spot is thinner "
            "than the average says. Measure where it matters."
        )


def _deposit(ground: Ground, run: Run, step: Step, state: TankState) -> Iterator[Piece]:
    catalogue = ground.world.catalogue
    plating, variance, remarks = plating_of(step, run.area_dm2, catalogue.spreads)
    charge, minutes, area = plating.read_ah, plating.minutes, run.area_dm2
    density = charge * 60 / minutes / area if minutes and area and charge else None
    deposit = deposit_here(state, catalogue.metals, density, step.temperature_c)
    if deposit is None or charge <= 0:
        return
    pairs = [Fact("Tank", step.tank), Fact("Deposit, by estimate", deposit.title)]
    for metal, share in deposit.fractions.items():
        half = Z95 * max(state.gauss.variance_of(share), 0.0) ** 0.5
        value = Estimate(share.value, max(share.value - half, 0.0), min(share.value + half, 1.0), "fraction")
        pairs.append(ground.fact(f"{metal} in it, by weight", value, "fraction"))
    pairs.append(ground.fact("Cathode efficiency, as believed", deposit.efficiency, "fraction"))
    grams = deposit.g_per_ah.value * charge
    relative = (max(state.gauss.variance_of(deposit.g_per_ah), 0.0) / deposit.g_per_ah.value**2 + variance) ** 0.5 * Z95
    laid = Estimate(grams, grams * max(1 - relative, 0.0), grams * (1 + relative), "g")
    pairs.append(ground.fact("Metal laid down, by estimate", laid, "g"))
    if density is not None and minutes and area:
        spreads = sum(p.spread or AREA_SPREAD * (p.area_dm2 or 0.0) for p in run.parts)
        shares = {b.supply: b.charge_ah / charge for b in plating.branches if b.supply != UNNAMED_SUPPLY}
        average = rate_here(state, catalogue, deposit, density, spreads / area, shares).thickness(minutes)
        factor, status = _thin_spot(ground, state)
        thin = Estimate(average.value * factor, average.low * factor, average.high * factor, "um")
        pairs += [
            ground.fact("Thickness, average", average, "um"),
            ground.fact(f"Thin spot, taken as {factor:g} of it ({status})", thin, "um"),
        ]
    else:
        pairs.append(Fact("Thickness", "cannot be reckoned: it needs the area and the time"))
    yield Facts(tuple(pairs), title=f"Laid down in {step.tank}")
    if remarks:
        yield Paragraph("; ".join(remarks))


def _thin_spot(ground: Ground, state: TankState) -> tuple[float, str]:
    """(thinnest spot over average, its status): the keeper's own limit, else the default for the kind of bath."""
    own = window_here(state, ground.world.catalogue, "worst spot", None, "fraction")
    told = next((v for v in (own.target, own.low, own.high) if v is not None), None) if own is not None else None
    if own is not None and told is not None and 0 < told <= 1:
        return told, own.status
    alkaline = state.recipe is not None and any(s.kind == "alkali" for s in state.recipe.species.values())
    default = setting_defaults().worst_spot["alkaline" if alkaline else "usual"]
    return default.value, default.status


# -- bake --------------------------------------------------------------------------------------------------------------


def _bake(ground: Ground, run: Run, told: list[AnyEntry | Unknown]) -> Iterator[Piece]:
    soaks = [e for e in told if isinstance(e, Treatment) and e.what == "bake"]
    strong = [p for p in run.parts if p.property_class or p.strength_mpa or p.safety_critical]
    entry = ground.world.workshop
    rule = entry.embrittlement_rule if entry is not None else None
    asked = _asked(ground, strong, rule)
    if isinstance(asked, Bake):
        yield _rule_facts(ground, asked)
    else:
        yield Paragraph(asked)
    yield Table(
        name="bake",
        title="In the oven",
        columns=(
            Column("entry", "Entry"), Column("start", "In", kind="moment"), Column("end", "Out", kind="moment"),
            Column("hours", "Time", "h", "number", decimals=2), ground.column("heat", "Temperature", "degC", decimals=0),
            Column("after", "After plating", "h", "number", decimals=2),
        ),
        rows=tuple(
            (
                ground.id(e.id), e.at, e.at + timedelta(minutes=e.minutes or 0.0), (e.minutes or 0.0) / 60,
                ground.number(e.temperature_c, "degC"), (e.at - run.at).total_seconds() / 3600,
            )
            for e in soaks
        ),
        empty="No bake is on record for this run.",
    )  # fmt: skip
    yield from _faults(ground, run, soaks, asked if isinstance(asked, Bake) else None)
    if soaks or isinstance(asked, Bake):
        yield Caution(NO_BAKE_CLAIM, "common practice")


def _asked(ground: Ground, strong: list[Part], rule: str | None) -> Bake | str:
    if not strong:
        return "No part has a strength on record, so no rule was looked up."
    if rule is None:
        return "No rule for baking is named in the settings, so none was looked up: name yours."
    bodies = ground.world.catalogue.own.get("limit", {})
    try:
        own = {rule: own_rule(rule, bodies[rule])} if "bands" in bodies.get(rule, {}) else {}
        told = [
            bake(
                rule=rule, strength_mpa=p.strength_mpa, property_class=p.property_class, safety_critical=p.safety_critical,
                own=own,
            )
            for p in strong
        ]  # fmt: skip
    except SafetyError as problem:
        return f"The rule could not be looked up: {problem}"
    return max(told, key=lambda b: (SEVERITY.index(b.needed), b.hours or 0.0))


def _rule_facts(ground: Ground, asked: Bake) -> Facts:
    heat = None
    if asked.temperature_c is not None:
        low, high = asked.temperature_c
        heat = f"{ground.text(low, 'degC')} to {ground.text(high, 'degC')}"
    return Facts(
        (
            Fact("Rule", f"{asked.rule}, {asked.edition}"),
            Fact("It asks for a bake", asked.needed),
            Fact("Hours at least", asked.hours, "h"),
            Fact("At", heat),
            Fact("Begun within", asked.start_within_h, "h"),
            Fact("Why", asked.why),
            Fact("Read from", f"{asked.status}: {asked.source}"),
        ),
        title="What the rule says of these parts",
    )


def _faults(ground: Ground, run: Run, soaks: list[Treatment], asked: Bake | None) -> Iterator[Piece]:
    roles = [ground.world.tanks[s.tank].entry.role for s in run.steps if s.tank in ground.world.tanks]
    needed = asked is not None and asked.needed == "yes"
    found = order_faults([*roles, *(["bake"] if soaks else [])], bake_needed=needed)
    if asked is not None and asked.needed == "no verdict":
        yield Paragraph("On these parts there is no verdict from this program: a qualified plater has to judge them.")
    elif asked is not None and soaks:
        spans = [(e.temperature_c or 0.0, e.at, e.at + timedelta(minutes=e.minutes or 0.0)) for e in soaks]
        record = bake_record(spans, asked, end_of_plating=run.at)
        found += record.faults
        wanted = f" of the {record.hours_wanted:g} h asked" if record.hours_wanted is not None else ""
        late = any(f.subject == "bake-late" for f in record.faults)
        timing = "" if asked.start_within_h is None else "; begun too late" if late else "; begun in time, by the run's moment"
        yield Paragraph(f"At temperature without a break: {record.hours_unbroken:.3g} h{wanted}{timing}.")
    for fault in found:
        yield Caution(f"{fault.what}: {fault.why}", f"{fault.status}: {fault.source or 'common practice'}")


def _later(ground: Ground, told: list[AnyEntry | Unknown]) -> Table:
    rows = tuple(
        (e.at, ground.id(e.id), e.kind, what(e, ground.prefs))
        for e in told
    )
    return Table(
        name="later",
        title="Readings, remarks and treatments",
        columns=(Column("at", "When", kind="moment"), Column("entry", "Entry"), Column("kind", "Kind"), Column("what", "What")),
        rows=rows,
        empty="Nothing was logged about this run afterwards.",
    )

"""Findings about waste: how long it stands, its label and tray, receipts and papers, litres that nobody can account for."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from datetime import datetime, timedelta

from bathkeeper.accounts.litres import RUN_OFF, unaccounted_now
from bathkeeper.catalogue.own import all_of
from bathkeeper.catalogue.own_waste import WasteLimit
from bathkeeper.due.allowances import allowance_findings
from bathkeeper.estimate.containers import ContainerState, Handed
from bathkeeper.estimate.state import TankState
from bathkeeper.estimate.world import World
from bathkeeper.findings import Because, Finding, Level
from bathkeeper.units.numerals import figures
from bathkeeper.waste.generated import size_of_generator
from bathkeeper.waste.limits import GeneratorSize, retention, storage
from bathkeeper.waste.loader import FALLBACK
from bathkeeper.waste.picking import ask_first, rule_set_for
from bathkeeper.waste.schema import RuleSet

LOOK_DAYS = 31.0  # how often containers are looked over, where no rule says more often [practice]
LABEL_DAYS = 1.0  # how soon a filled container bears its label [practice]
RECEIPT_DAYS = 30.0  # after which a receipt that has not come is asked for [practice]
PAPER_YEARS = 3.0  # papers of waste are kept where no rule set says for how long [practice]
UNREAD = "no rule set that holds here says how long; three years is a simple rule, six if unsure"
WORTH_ASKING_L = 10.0
METALS = ("zinc", "nickel", "chromium", "copper", "cadmium", "cobalt")
MISSING_SHARE = 0.02  # of the working volume: less may be the make-up mark [practice]
SHORTCOMINGS = {
    "lid": ("close the lid of {}", "open waste gives off gas, spills, and takes in what it must not meet"),
    "label": ("label {}", "nobody can tell what it holds, and an unlabelled container is often refused"),
    "tray": ("put {} on a tray that holds all of it", "a leak then stays where it is"),
    "sound": ("look after {}: it is not sound", "it may leak; pour nothing into it and ask how it is to be repacked"),
}


def waste_findings(world: World, now: datetime) -> Iterator[Finding]:
    """Everything of waste that is due in a workshop brought to ``now``."""
    for state in world.tanks.values():
        yield from _unaccounted(state)
    filled = [c for c in world.containers.values() if not c.empty]
    handed = [h for c in world.containers.values() for h in c.handed]
    ran_off = world.places.get(RUN_OFF, {})
    if not (filled or handed or ran_off):
        return
    entry = world.workshop
    rules = rule_set_for(entry.country if entry is not None else None, entry.region if entry is not None else None)
    own = list(all_of(world.catalogue.own, "waste limit", WasteLimit).values())
    if ran_off.get("volume", 0.0) >= WORTH_ASKING_L and not any(w.what == "discharge" for w in own):
        yield _ran_off(ran_off, rules, [t.name for t in world.tanks.values() if t.entry.role == "rinse"])
    size = size_of_generator(world.containers.values(), now) if rules.system == "us" else None
    for container in filled:
        yield from _storage(container, rules, own, now, size)
        yield from _checks(container, now)
    yield from allowance_findings(world, all_of(world.catalogue.own, "waste limit", WasteLimit), now, ask_first(rules))
    yield from _receipts(handed, now)
    yield from _papers(handed, rules, (entry.keeper or "") if entry is not None else "")


def _ran_off(ran_off: Mapping[str, float], rules: RuleSet, rinses: Sequence[str]) -> Finding:
    """Rinse water that ran off somewhere: whether it may, the authority says; a consent on record ends the question."""
    metals = [f"{figures(g, 0.01)} g {n[5:]}" for n, g in ran_off.items() if n[5:] in METALS and g > 0.005]
    carried = f", with about {', '.join(metals)} in it" if metals else ""
    return Finding(
        id="workshop.runoff.rinse",
        tank="workshop",
        what=f"ask whether rinse water may run off: {figures(ran_off['volume'], 1)} L so far{carried}",
        why="water that a trade has used often needs a consent even when it looks clean; no limit of yours is on record "
        "(definition \"waste limit\", what = \"discharge\")",
        level="later",
        because=Because(
            text=ask_first(rules),
            formula="water run through the running rinses, load by load, with what the loads dragged in",
            sources=(f"running rinses here: {', '.join(rinses)}",),
        ),
    )


def _storage(
    state: ContainerState, rules: RuleSet, own: Sequence[WasteLimit], now: datetime, size: GeneratorSize | None
) -> Iterator[Finding]:
    of, passed = (size.storage_of, size.clock_since) if size is not None else ("", None)
    told = storage(state.since, now, rules, own, state.name, of, passed)
    if told.level not in ("now", "soon") or told.left_days is None:
        return
    left = told.left_days
    over = f"{figures(-left, 1)} days over" if left < 0 else f"{figures(left, 1)} days left"
    yield Finding(
        id=f"{state.name}.storage.age",
        tank=state.name,
        what=f"have {state.name} taken away: {over}",
        why=f"it has stood {figures(told.stood_days or 0.0, 1)} days; {told.told}",
        level=told.level,
        by=told.by,
        because=Because(
            text=f"{told.text}. {ask_first(rules)}",
            entries=tuple(f.entry for f in state.fills[:1]),
            formula=f"days since {told.starts}" if told.starts and not told.own else "days since the first of it came",
            sources=(told.source,) if told.source else (),
        ),
    )


def _checks(state: ContainerState, now: datetime) -> Iterator[Finding]:
    for point, (what, why) in SHORTCOMINGS.items():
        told = state.checks.get(point)
        if told is not None and not told[0]:
            yield _check(state, point, what.format(state.name), why, "now" if point in ("lid", "sound") else "soon", told[2])
    since = state.since or now
    if "label" not in state.checks and state.labelled is None and now - since > timedelta(days=LABEL_DAYS):
        what, why = SHORTCOMINGS["label"]
        yield _check(state, "label", what.format(state.name), why, "soon", state.fills[0].entry)
    looked = max((at for _, at, _ in state.checks.values()), default=None)
    last = looked or max(since, state.opened or since)  # what was moved may be older than its vessel
    if now - last > timedelta(days=LOOK_DAYS):
        days = (now - last).total_seconds() / 86_400
        yield _check(
            state, "look", f"look over {state.name}: lid, label, tray, leaks",
            f"nobody has for {days:.0f} days", "later", state.fills[-1].entry,
        )  # fmt: skip


def _check(state: ContainerState, point: str, what: str, why: str, level: Level, entry: str) -> Finding:
    return Finding(
        id=f"{state.name}.check.{point}",
        tank=state.name,
        what=what,
        why=why,
        level=level,
        because=Because(
            text=why,
            entries=(entry,),
            formula="the latest answer to each point of the checklist",
            sources=("checklist: common practice; a rule set may ask for more",),
        ),
    )


def _receipts(handed: Sequence[Handed], now: datetime) -> Iterator[Finding]:
    for one in handed:
        if one.receipt is not None or one.refused is not None or now - one.at <= timedelta(days=RECEIPT_DAYS):
            continue
        name = one.reference or f"{one.container}, handed over {one.at:%d %b %Y}"
        yield Finding(
            id=f"{one.container}.receipt.{one.reference or one.entry[-8:]}",
            tank=one.container,
            what=f"ask {one.to or 'the receiver'} for the receipt of {name}",
            why=f"{one.container} was handed over {one.at:%d %b %Y}; no receipt is on record",
            level="soon",
            because=Because(
                text="Without a receipt there is no proof of where it went.",
                entries=(one.entry,),
                formula=f"{RECEIPT_DAYS:.0f} days since the hand-over",
                sources=(f"{RECEIPT_DAYS:.0f} days: common practice",),
            ),
        )


def _papers(handed: Sequence[Handed], rules: RuleSet, keeper: str) -> Iterator[Finding]:
    """One finding for all papers: until when the oldest are to be kept."""
    if not handed:
        return
    first = min(handed, key=lambda h: (h.at, h.entry))
    papers = [p for p in rules.papers if p.keep_years is not None and (p.keeper is None or not keeper or p.keeper == keeper)]
    kept = [k for k in retention(papers, first.at, unsure=rules.name == FALLBACK) if k.until is not None]
    longest = max(kept, key=lambda k: k.until or first.at, default=None)
    until = longest.until if longest is not None else first.at + timedelta(days=365.25 * PAPER_YEARS)
    read = (longest.paper.citation or longest.paper.source) if longest is not None else ""
    source = read or f"{PAPER_YEARS:.0f} years as a simple rule: common practice"
    name = first.reference or f"{first.container}, handed over {first.at:%d %b %Y},"
    more = f" and {len(handed) - 1} later ones" if len(handed) > 1 else ""
    yield Finding(
        id="workshop.retention.papers",
        tank="workshop",
        what=f"keep the papers of {name}{more} until {until:%d %b %Y} at least",
        why=longest.text if longest is not None else UNREAD,
        level="later",
        by=until,
        because=Because(text=ask_first(rules), entries=tuple(h.entry for h in handed[:5]), sources=(source,)),
    )


def _unaccounted(state: TankState) -> Iterator[Finding]:
    if not state.alive:
        return
    arose = unaccounted_now(state)
    least = max(MISSING_SHARE * state.working_volume_l, 0.3)
    if arose.litres.low <= least:
        return
    found = max(arose.found, key=lambda f: f.litres, default=None)
    when = f"; {figures(found.litres, 0.1)} L of it were found missing on {found.at:%d %b %Y}" if found is not None else ""
    low, value, high = (figures(v, 0.1) for v in (arose.litres.low, arose.litres.value, arose.litres.high))
    yield Finding(
        id=f"{state.name}.unaccounted.volume",
        tank=state.name,
        what=f"find out where {value} L ({low} to {high}) of {state.name} went",
        why=f"more than evaporation explains{when}: a leak, a spill, or a removal that was not logged",
        level="soon",
        because=Because(
            text="The level fell faster than this tank's evaporation, learned from its own levels, can explain.",
            entries=tuple(f.entry for f in sorted(arose.found, key=lambda f: -f.litres)[:3]),
            formula="put in = there + evaporated + taken out + unaccounted",
            sources=("2 % of the working volume may be the make-up mark: common practice",),
        ),
    )

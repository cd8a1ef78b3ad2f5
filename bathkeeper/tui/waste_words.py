"""What the screens of waste say: a container in two lines, in full as rows, hand-overs; every state a word beside its sign."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from datetime import datetime

from rich.cells import cell_len
from textual.content import Content

from bathkeeper.entries import Container, Unknown
from bathkeeper.findings import Because, Estimate
from bathkeeper.headlines import sentence
from bathkeeper.ledger import Check, HandOver, Held, Ledger
from bathkeeper.ledger.record import looks_said
from bathkeeper.showing import shown, shown_day
from bathkeeper.tui.advice_rows import BAD, GOOD, MUTED, WARN, Row, heading
from bathkeeper.tui.plain import clean, fit, join, pad
from bathkeeper.tui.widgets.bar import between
from bathkeeper.units.numerals import Preferences, figures
from bathkeeper.waste.limits import Storage
from bathkeeper.waste.meeting_streams import KeepApart
from bathkeeper.waste.picking import mark
from bathkeeper.waste.saying import way_said
from bathkeeper.waste.schema import Candidate, Property

STANDS = {"now": ("!!", "past its time", BAD), "soon": ("!", "hand over soon", WARN), "later": ("✓", "within its time", GOOD)}
EMPTY_STATE = ("·", "empty", MUTED)
UNKNOWN_STATE = ("?", "no limit known", WARN)
ANSWERS = {"yes": ("✓", MUTED), "no": ("✗", BAD), "not looked at": ("?", WARN)}
VERDICTS = {
    "never": ("X", "must never meet", BAD), "with care": ("o", "only with care", WARN), "keep apart": ("·", "keep apart", ""),
}  # fmt: skip
SURE = {"likely": ("!", WARN), "possible": ("?", WARN), "ask": ("?", ""), "measure": ("?", WARN)}
SOLIDS_SPREAD = 0.05  # of kilograms of solids: to how many figures they are told [practice]
EVERY_ENTRY = 40  # the newest of a container's entries that its page tells


@dataclass(frozen=True)
class Look:
    """A container with all that is told of it; ``told``: its entries as (id, when, sentence), the newest first; ``beside``:
    the names of all containers."""

    held: Held
    apart: Sequence[KeepApart] = ()
    told: Sequence[tuple[str, datetime, str]] = ()
    handed: Sequence[HandOver] = ()
    ask_first: str = ""
    beside: Sequence[str] = ()
    prefs: Preferences = field(default_factory=Preferences)


def look_at(ledger: Ledger, name: str, at: datetime) -> Look:
    """Everything of one container. Raises NotFound."""
    prefs = ledger.workshop.preferences
    found = [
        (e.id, e.at, sentence(e, prefs).removeprefix("container: "))
        for e in ledger.workshop.entries(at=at)
        if not isinstance(e, Unknown) and (_about(e, name) or getattr(e, "to", None) == name)
    ]
    status = ledger.status(at)
    return Look(
        held=ledger.container(name, at),
        apart=[k for k in ledger.keep_apart(at) if name in (k.a, k.b)],
        told=found[:EVERY_ENTRY],
        handed=[h for h in status.handed_over if h.container == name],
        ask_first=status.ask_first,
        beside=[c.container for c in status.containers],
        prefs=prefs,
    )


def _about(entry: object, name: str) -> bool:
    return isinstance(entry, Container) and entry.container == name


# -- one container in short --------------------------------------------------------------------------------------------


def state_of(held: Held) -> tuple[str, str, str]:
    """Sign, word and style of how long it stands."""
    if held.empty:
        return EMPTY_STATE
    return STANDS[held.storage.level] if held.storage.level is not None else UNKNOWN_STATE


def attention(held: Held) -> bool:
    """Whether something about it wants looking at now: its time, a point of the checklist that is not as it should be, or a
    label that nobody has put on it."""
    wanting = any(c.answer == "no" or (c.point == "label" and c.answer != "yes") for c in held.checks)
    return not held.empty and (held.storage.level in ("now", "soon") or wanting)


def amount_words(held: Held, prefs: Preferences, *, short: bool = False) -> str:
    """``19.4 L (18.9 to 20)``, else kilograms, else pieces; nothing when it is empty. Liquid with solids in it tells both."""
    if short and held.volume_l is not None and held.solids_kg > 0:
        return f"{shown(held.volume_l.value, 'L', prefs, held.volume_l.spread)} + {_solids(held, prefs)}"
    parts = []
    if held.volume_l is not None:
        parts.append(range_words(held.volume_l, prefs))
    if held.mass_kg is not None and (not short or held.volume_l is None):
        parts.append(range_words(held.mass_kg, prefs, "kg"))
    if held.pieces and not (short and parts):
        parts.append(f"{held.pieces} pieces")
    return ", ".join(parts) or ("" if held.empty else "amount not known")


def _solids(held: Held, prefs: Preferences) -> str:
    return f"{shown(held.solids_kg, 'kg', prefs, SOLIDS_SPREAD * held.solids_kg)} solid"


def range_words(amount: Estimate, prefs: Preferences, unit: str = "") -> str:
    """``19.4 L (18.9 to 20.0)`` in the workshop's own unit; the range is left out where there is none."""
    unit = unit or amount.unit
    middle = shown(amount.value, unit, prefs, amount.spread)
    if amount.spread <= 1e-9 * max(abs(amount.value), 1e-9):
        return middle
    low, high = (shown(v, unit, prefs, amount.spread).split(" ")[0] for v in (amount.low, amount.high))
    return f"{middle} ({low} to {high})" if low != high else middle


def stood_words(storage: Storage) -> str:
    """``71 of 365 days``: of a limit, the days that count against it, which may begin on another day than the container's."""
    if storage.limit_days is not None and storage.counted_days is not None:
        return f"{storage.counted_days:.0f} of {storage.limit_days:.0f} days"
    return f"{storage.stood_days:.0f} days" if storage.stood_days is not None else ""


def kinds_words(held: Held) -> str:
    """``bath of pickle``, ``rags, filters``."""
    if held.empty:
        return "empty"
    tanks = list(dict.fromkeys(o.tank for o in held.origins if o.tank and o.what in ("bath", "rinse water")))
    of = f" of {tanks[0]}" if len(tanks) == 1 else f" of {len(tanks)} tanks" if tanks else ""
    return ", ".join(held.kinds) + of


def checks_parts(checks: Sequence[Check]) -> list[tuple[object, str]]:
    """``lid ✓ label ✓ tray ✗ sound ?``; the sign tells it, the colour helps."""
    parts: list[tuple[object, str]] = []
    for check in checks:
        sign, style = ANSWERS[check.answer]
        parts += [(" " if parts else "", ""), (f"{check.point} {sign}", style)]
    return parts


def codes_words(held: Held) -> str:
    """The codes on its label, or those that may fit it."""
    if held.codes:
        return f"label says {', '.join(held.codes)}"
    if held.candidate_codes:
        return f"may be {', '.join(held.candidate_codes[:2])}" + (" …" if len(held.candidate_codes) > 2 else "")
    return "" if held.empty else "no code suggests itself"


def name_width(names: Iterable[str], width: int) -> int:
    """Room for the longest name, within a third of the line."""
    return min(max((cell_len(clean(n)) for n in names), default=8) + 2, max(width // 3 - 8, 14))


def container_lines(held: Held, prefs: Preferences, width: int, name_w: int = 16) -> Content:
    """Two lines: sign, name, what it is, how much, how long it stands; then checklist, codes, and the place where it fits."""
    sign, word, style = state_of(held)
    stood = stood_words(held.storage)
    amount_w, stood_w, word_w = 22, 16 if stood else 0, 16 if width >= 96 or not stood else 0
    kinds_w = max(width - 3 - amount_w - stood_w - word_w - name_w, 12)
    kinds = kinds_words(held)
    if cell_len(kinds) >= kinds_w and len(held.kinds) > 1:
        kinds = f"{held.kinds[0]} and {len(held.kinds) - 1} more"
    first: list[tuple[object, str] | str] = [
        (pad(sign, 3), style),
        (pad(held.container, name_w - 1) + " ", "bold"),
        (pad(kinds, kinds_w - 1) + " ", ""),
        (pad(_fitting(amount_words(held, prefs, short=True), amount_w - 1), amount_w), ""),
        (pad(stood, stood_w), style if held.storage.level in ("now", "soon") else MUTED),
        (pad(word if word_w else "", word_w), style),
    ]
    checks = checks_parts(held.checks) if not held.empty else []
    told = sum(len(str(text)) for text, _ in checks)
    urgent = f"{word}: " if not word_w and held.storage.level in ("now", "soon") else ""
    room = max(width - 3 - told - len(urgent) - 3, 0)
    codes, place = codes_words(held), clean(held.place or "")
    about = " · ".join(w for w in (codes, place) if w)
    if cell_len(about) > room and codes:  # its page tells the place
        about = codes
    gap = " · " if checks and about else ""
    return join([*first, "\n   ", (urgent, style), *checks, (gap + fit(about, room), MUTED)])


def _fitting(amount: str, width: int) -> str:
    """An amount without its range where the whole of it finds no room."""
    return amount if cell_len(amount) <= width else fit(amount.partition(" (")[0], width)


# -- one container in full ---------------------------------------------------------------------------------------------


def head_lines(look: Look, width: int) -> list[tuple[str, str]]:
    """(text, style): what it is, how much, how long it stands."""
    held = look.held
    vessel = " of ".join(w for w in (held.form or "", shown(held.size_l, "L", look.prefs) if held.size_l else "") if w)
    what = " · ".join(w for w in (held.container, kinds_words(held), vessel, held.place or "") if w)
    ph = f"pH {between(held.ph.low, held.ph.high)}" if held.ph is not None else ""
    amount = "; ".join(w for w in (amount_words(held, look.prefs), ph) if w)
    sign, word, style = state_of(held)
    lines = [(fit(what, width), "bold")]
    if not held.empty:
        lines.append((fit(amount, width), ""))
        if not held.complete:
            lines.append((fit("? something unknown went in as well: this is the least that is there", width), WARN))
        until = f", until {shown_day(held.storage.by)}" if held.storage.by is not None else ""
        since = f" since {shown_day(held.since)}" if held.since is not None else ""
        lines.append((fit(f"{sign} {word}: {stood_words(held.storage) or 'first day not known'}{since}{until}", width), style))
    else:
        lines.append((f"{sign} {word}", style))
    return lines


def rows_of(look: Look) -> list[Row]:
    """Its page: contents, origins, what must not touch it, codes, properties, checklist, hand-overs, entries, whom to ask."""
    held = look.held
    found: list[Row] = []
    if not held.empty:
        found += [heading("What it holds (95 % ranges)"), *_contents(look)]
        found += [heading("Where it came from"), *_origins(look), *_told_of(held)]
        found += [heading("What must not touch it"), *(_apart(k, held.container) for k in look.apart)]
        if not look.apart:
            text = "Of what stands in the others nothing is known that must not meet it; keep them apart all the same."
            found.append(Row(text, MUTED, "·"))
        found.append(heading("Codes that may fit it: candidates, whoever takes it decides"))
        found += [_candidate(c) for c in held.candidates]
        if held.properties:
            found += [heading("Hazardous properties that come into question"), *(_property(p) for p in held.properties)]
        found += [heading("How long it may stand"), _storage(held)]
    found += [heading("Label and checklist"), *_label(held), *(_check(c) for c in held.checks)]
    if look.handed:
        found += [heading("Handed over"), *(handed_row(h, look.prefs) for h in reversed(look.handed))]
    found += [heading("What was done, newest first (Enter: the entry)")]
    found += [Row(f"{shown_day(at)}  {text}", "", "·", leads=("entry", id)) for id, at, text in look.told]
    if not look.told:
        found.append(Row("Nothing is on record.", MUTED, "·"))
    return [*found, heading("Before anything is done with it"), Row(look.ask_first, WARN, "▲")]


def _contents(look: Look) -> list[Row]:
    held, rows = look.held, []
    why = Because(text="A range in which it lies with 95 % chance, from the tanks that it came from.", entries=held.entries)
    for name, amount in sorted(held.amounts.items(), key=lambda p: -p[1].value):
        each = held.contents.get(name)
        strength = f"{range_words(each, look.prefs)}; " if each is not None else ""
        words = f"{name}: {strength}{range_words(amount, look.prefs)} in all"
        rows.append(Row(words, "", "·", why=(name, why)))
    if held.ph is not None:
        rows.append(Row(f"pH {range_words(held.ph, look.prefs).replace(' pH', '')}, measured", "", "·", why=("pH", why)))
    if held.solids_kg > 0:
        rows.append(Row(f"solids: {shown(held.solids_kg, 'kg', look.prefs)}", "", "·"))
    if not held.complete:
        rows.append(Row("Something went in of which nobody knows what it holds: what stands here is the least.", WARN, "?"))
    return rows or [Row("Nothing is known of its contents in numbers.", WARN, "?")]


def _origins(look: Look) -> list[Row]:
    rows = []
    for origin in look.held.origins:
        solid = shown(origin.mass_kg, "kg", look.prefs) if origin.mass_kg else ""
        amount = shown(origin.litres, "L", look.prefs) if origin.litres else solid
        where = f" of {origin.tank}" if origin.tank else ""
        what = f"{origin.name} ({origin.what})" if origin.name else origin.what
        more = "; ".join(w for w in (way_said(origin), f"noted: {origin.note}" if origin.note else "") if w)
        role = f" ({origin.role})" if origin.role and origin.role != origin.tank else ""
        words = " ".join(w for w in (shown_day(origin.at), f"{what}{where}{role}", amount) if w)
        rows.append(Row(words, "", "·", ((more, MUTED),) if more else (), leads=("entry", origin.entry)))
    return rows


def _told_of(held: Held) -> list[Row]:
    """Why it became waste and how it looks, which papers of a hand-over ask for."""
    why, looks = "; ".join(held.why), looks_said(held.physical_form, held.colour)
    rows = [Row(f"why it became waste: {why}", "", "·")] if why else []
    return [*rows, *([Row(f"form and colour: {looks}", "", "·")] if looks else [])]


def _apart(pair: KeepApart, name: str) -> Row:
    other = pair.b if pair.a == name else pair.a
    sign, word, style = VERDICTS[pair.verdict]
    because = Because(text=pair.text, sources=(f"{pair.status}: {pair.source or 'common practice'}",))
    return Row(f"{other}: {word}, gives {pair.gives}", style, sign, ((pair.text, MUTED),), (f"{name} and {other}", because))


def _candidate(candidate: Candidate) -> Row:
    title = f"{candidate.code}  {candidate.title}" if candidate.code else candidate.title
    status = mark(candidate.status)
    because = Because(
        text=f"{candidate.why}. {candidate.note}".strip(),
        sources=(f"{candidate.status}: {candidate.source or 'common practice'}",),
    )
    more = ((candidate.why, MUTED), (" ".join(w for w in (candidate.note, status) if w), WARN if status else MUTED))
    return Row(title, "bold", "?", more, (title, because))


def _property(prop: Property) -> Row:
    sign, style = SURE[prop.verdict]
    word = {"ask": "only a test or the supplier's sheet decides", "measure": "measure first"}.get(prop.verdict, prop.verdict)
    title = f"{prop.hp} {prop.title}".strip()
    status = mark(prop.status)
    because = Because(text="\n".join([prop.why, *prop.assumed]), sources=(f"{prop.status}: {prop.source}",))
    return Row(f"{title}: {word}", style, sign, ((f"{prop.why} {status}".strip(), MUTED),), (title, because))


def _storage(held: Held) -> Row:
    sign, word, style = state_of(held)
    storage = held.storage
    starts = f" It counts from: {storage.starts}." if storage.starts else ""
    whose = f"{storage.status}: {storage.source or 'common practice'}" if not storage.own else storage.source
    because = Because(text=storage.text + "." + starts, sources=(whose,))
    text = f"{storage.told}.{starts}"
    return Row(f"{word}: {stood_words(storage) or 'first day not known'}", style, sign, ((text, MUTED),), ("How long", because))


def _label(held: Held) -> list[Row]:
    told = [f"codes {', '.join(held.codes)}"] if held.codes else []
    told += [f"hazards {', '.join(held.hazards)}"] if held.hazards else []
    if told:
        return [Row(f"the label says: {'; '.join(told)}", "", "✓")]
    return [Row("nothing on record of what its label says: l logs it", WARN, "?")]


def _check(check: Check) -> Row:
    sign, style = ANSWERS[check.answer]
    when = f", {shown_day(check.at)}" if check.at is not None else ""
    leads = ("entry", check.entry) if check.entry is not None else None
    style = "" if check.answer == "yes" else style
    return Row(f"{check.point}: {check.answer}{when}", style, sign, ((check.question, MUTED),), leads=leads)


# -- hand-overs --------------------------------------------------------------------------------------------------------


def handed_row(handed: HandOver, prefs: Preferences) -> Row:
    """Who got how much of what, by which paper, and whether its receipt has come."""
    amounts = [range_words(handed.litres, prefs)] if handed.litres is not None else []
    if handed.mass_kg is not None:
        amounts.append(f"{shown(handed.mass_kg, 'kg', prefs)} {'weighed' if handed.weighed else 'estimated'}")
    what = ", ".join(handed.kinds) or "waste"
    text = f"{shown_day(handed.at)}  {handed.container} to {handed.to}: {what}, {', '.join(amounts) or 'amount not known'}"
    if handed.refused is not None:
        when = f" {shown_day(handed.refused_at)}" if handed.refused_at is not None else ""
        sign, style = "!", WARN
        receipt = (f"refused{when}: {handed.refused}; not handed over: it stayed in {handed.container} or came back", WARN)
    elif handed.receipt is not None:
        when = f" of {shown_day(handed.receipt_at)}" if handed.receipt_at is not None else ""
        sign, style, receipt = "✓", "", (f"receipt {handed.receipt}{when}", GOOD)
    else:
        sign, style, receipt = "?", "", ("no receipt yet: r logs it once it has come", WARN)
    codes = f"codes told: {', '.join(handed.codes)}" if handed.codes else "no codes told"
    paper = f"reference {handed.reference}" if handed.reference else "no reference"
    about = (f"{handed.container} to {handed.to}", _papers(handed))
    more = [(f"{paper}; {codes}", MUTED), receipt]
    if not handed.on_record:
        more.append(("what went in is not on record", WARN))
    return Row(text, style, sign, tuple(more), about)


def _papers(handed: HandOver) -> Because:
    why, looks = "; ".join(handed.why), looks_said(handed.physical_form, handed.colour)
    lines = [*([f"why it became waste: {why}"] if why else []), *([f"form and colour: {looks}"] if looks else [])]
    lines += [f"{name.replace('_', ' ')}: {_yes(told)}" for name, told in handed.papers.items()]
    lines += [f"stood {handed.stood_days:.0f} days before"] if handed.stood_days is not None else []
    if not handed.on_record:
        lines.append("what went in is not on record: log it at its time, so that the papers and the book agree")
    elif not handed.complete:
        lines.append("something unknown was in it as well")
    lines += [f"{name}: {figures(e.value, e.spread)} {e.unit} ({between(e.low, e.high)})" for name, e in handed.amounts.items()]
    kept = [
        f"{k.paper.name}: {k.text}" + (f", that is until {shown_day(k.until)}" if k.until is not None else "")
        + (f" {mark(k.paper.status)}" if mark(k.paper.status) else "")
        for k in handed.retention
    ]  # fmt: skip
    text = "\n".join([*lines, *(["", "Papers to keep:"] if kept else []), *kept])
    sources = tuple(dict.fromkeys(f"{k.paper.citation}, {k.paper.edition}: {k.paper.source}" for k in handed.retention))
    return Because(text=text, entries=(handed.entry,), sources=sources)


def _yes(told: str | bool) -> str:
    return told if isinstance(told, str) else "yes" if told else "no"

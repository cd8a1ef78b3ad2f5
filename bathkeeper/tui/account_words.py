"""Where every litre went, in words: a few lines below the containers, and a page of its own with what is unaccounted for."""

from __future__ import annotations

from collections.abc import Sequence

from textual.content import Content

from bathkeeper.accounts.litres import Litres
from bathkeeper.findings import Because, Estimate
from bathkeeper.ledger import MissingGrams
from bathkeeper.ledger.missing import missing_said, stands_out
from bathkeeper.showing import shown, shown_day
from bathkeeper.tui.advice_rows import GOOD, MUTED, WARN, Row, heading
from bathkeeper.tui.plain import fit, join, pad
from bathkeeper.units.numerals import Preferences

ALWAYS = (
    ("in tanks", "in_tanks_l"),
    ("in containers", "in_containers_l"),
    ("evaporated", "evaporated_l"),
    ("on parts", "on_parts_l"),
    ("run off", "run_off_l"),
    ("handed over", "handed_over_l"),
    ("lost", "lost_l"),
)
"""Where litres are or went, told even when it is nothing."""
SELDOM = (("to sewer", "to_sewer_l"), ("samples", "samples_l"), ("place not said", "not_said_l"), ("otherwise", "other_l"))
MEANS = {
    "in_tanks_l": "stands in the tanks now",
    "in_containers_l": "stands in containers of waste now",
    "evaporated_l": "went into the air, as learned from levels",
    "on_parts_l": "left on parts and racks, or was rinsed off them",
    "run_off_l": "rinse water that ran through and off",
    "handed_over_l": "handed over to someone allowed to take it",
    "lost_l": "spilled",
    "to_sewer_l": "to the sewer, each time under a consent",
    "samples_l": "taken as samples",
    "not_said_l": "taken out, and nobody said where to",
    "other_l": "by wear terms of the keeper's own",
}
BAR = 24


def litre(value: float, prefs: Preferences) -> str:
    """A sum of litres, to a tenth below a hundred, else whole; never a minus before nothing."""
    step = 0.1 if abs(value) < 100 else 1.0
    return shown(round(value / step) * step + 0.0, "L", prefs, step)


def parts_of(account: Litres) -> list[tuple[str, str, float]]:
    """(word, field, litres) of where litres are; what is seldom only where there is some."""
    found = [(word, name, float(getattr(account, name))) for word, name in ALWAYS]
    return found + [(w, n, v) for w, n in SELDOM if abs(v := float(getattr(account, n))) >= 0.05]


def unaccounted(account: Litres) -> tuple[str, str, str]:
    """Sign, word and style: whether what is missing lies within what is not known anyway."""
    missing = account.unaccounted_l
    if missing.low > 0:
        return "!", "more is missing than the spread explains", WARN
    if missing.high < 0:
        return "!", "more is there than the entries tell", WARN
    return "✓", "within its spread", GOOD


def with_spread_l(missing: Estimate, prefs: Preferences) -> str:
    """``0.3 ± 5.4 L``."""
    half = missing.spread
    number = shown(missing.value, "L", prefs, min(half, 0.5))
    spread = shown(half, "L", prefs, half)
    value, _, unit = number.partition(" ")
    return f"{value} ± {spread.partition(' ')[0]} {unit}".rstrip()


def came_in(account: Litres, prefs: Preferences) -> str:
    """What was put in, by where."""
    into = [(account.into_tanks_l, "into tanks"), (account.into_containers_l, "into containers"),
            (account.run_through_l, "rinse water run through")]  # fmt: skip
    told = ", ".join(f"{litre(v, prefs)} {w}" for v, w in into if abs(v) >= 0.05)
    return f"{litre(account.put_in_l, prefs)} came in" + (f": {told}" if told else "")


def metals_line(missing: Sequence[MissingGrams], prefs: Preferences, width: int) -> tuple[str, str]:
    """(text, style): the metal of which the most is missing, and how many more are; nothing where none is."""
    if not missing:
        return "", ""
    clear = stands_out(missing[0])
    more = f"; {len(missing) - 1} more: 2" if len(missing) > 1 else ""
    said = f"{'!' if clear else '✓'} unaccounted for {missing_said(missing[0], prefs, 1)}"
    return fit(said, width - len(more)) + more, WARN if clear else GOOD


def account_lines(account: Litres, missing: Sequence[MissingGrams], prefs: Preferences, width: int) -> Content:
    """The account in a few lines: what came in, where it is, what is missing and where that arose."""
    lines: list[list[tuple[object, str] | str]] = [[("Where every litre went  ", "bold"), (came_in(account, prefs), MUTED)]]
    if len("Where every litre went  ") + len(came_in(account, prefs)) > width:
        lines = [[("Where every litre went  ", "bold"), (litre(account.put_in_l, prefs) + " came in", MUTED)]]
    cell = 25
    columns = max(width // cell, 1)
    told = parts_of(account)
    for start in range(0, len(told), columns):
        line: list[tuple[object, str] | str] = []
        for word, _, value in told[start : start + columns]:
            line += [(pad(word, 14) + " ", MUTED), pad(litre(value, prefs), 8, "right"), "  "]
        lines.append(line)
    sign, word, style = unaccounted(account)
    lines.append([(f"{sign} unaccounted for {with_spread_l(account.unaccounted_l, prefs)}, {word}", style)])
    metals = metals_line(missing, prefs, width)
    lines += [[metals]] if metals[0] else []
    return join([join(["\n" if number else "", *line]) for number, line in enumerate(lines)])


def account_rows(
    account: Litres, missing_g: Sequence[MissingGrams], prefs: Preferences, ask_first: str
) -> list[Row]:  # fmt: skip
    """The page: in, out, what is missing and what found it; Enter on a finding leads to its entry."""
    rows = [heading("What came in"), Row(came_in(account, prefs), "", "·"), heading("Where it is, or went")]
    most = max((abs(v) for _, n, v in parts_of(account) if n != "run_off_l"), default=0.0) or 1.0
    for word, name, value in parts_of(account):
        full = min(round(abs(value) / most * BAR), BAR)
        beyond = "›" if abs(value) > most else ""
        text = f"{pad(word, 15)}{pad(litre(value, prefs), 9, 'right')}  {'█' * full}{beyond}"
        rows.append(Row(text, "", "·", ((MEANS[name], MUTED),)))
    sign, word, style = unaccounted(account)
    because = Because(
        text="What came in, less where it is or went. The spread is that of levels, drag-out and evaporation in each tank, so "
        "that a loss within it is not known to be one. Read the levels, and the spread grows small.",
        formula="into tanks + into containers + run through - in tanks - in containers - evaporated - on parts - run off - "
        "handed over - samples - to sewer - lost - not said",
        entries=tuple(dict.fromkeys(f.entry for a in account.arose for f in a.found)),
    )
    said = f"{with_spread_l(account.unaccounted_l, prefs)}: {word}"
    rows += [heading("Unaccounted for"), Row(said, style, sign, why=("Unaccounted for", because))]
    for arose in account.arose:
        sure = arose.litres.low > 0 or arose.litres.high < 0
        text = f"{arose.vessel}: {with_spread_l(arose.litres, prefs)}{'' if sure else ', within its spread'}"
        rows.append(Row(text, WARN if sure else "", "!" if sure else "·"))
        for found in sorted(arose.found, key=lambda f: -abs(f.litres))[:3]:
            more = "missing" if found.litres > 0 else "more than expected"
            told = f"   {shown_day(found.at)}: a reading found {shown(abs(found.litres), 'L', prefs, 0.05)} {more}"
            rows.append(Row(told, MUTED, "", leads=("entry", found.entry)))
    if not account.arose:
        rows.append(Row("No vessel stands out.", MUTED, "·"))
    rows += [heading("Metals unaccounted for"), *_metal_rows(missing_g, prefs)]
    return [*rows, heading("Before anything is done with waste"), Row(ask_first, WARN, "▲")]


def _metal_rows(missing: Sequence[MissingGrams], prefs: Preferences) -> list[Row]:
    """Each metal that is missing, or there in excess, with the readings that found what its spread does not explain."""
    rows: list[Row] = []
    for one in missing:
        because = Because(
            text="What make-ups, doses and anodes brought, less what is there, was laid down, dragged out or taken away. The "
            "spread is that of all of these and of the readings, so that within it nothing need have gone.",
            formula="put in + from anodes + by wear - in tanks - in containers - laid down - on parts - run off - handed over "
            "- samples - to sewer - lost - not said",
            entries=tuple(dict.fromkeys(f.entry for a in one.arose for f in a.found)),
        )
        clear = stands_out(one)
        about = (f"{one.species} unaccounted for", because)
        rows.append(Row(missing_said(one, prefs), WARN if clear else "", "!" if clear else "·", why=about))
        for arose in (a for a in one.arose if a.beyond_spread):
            for found in sorted(arose.found, key=lambda f: -abs(f.grams))[:3]:
                more = "missing" if found.grams > 0 else "more than expected"
                grams = shown(abs(found.grams), arose.grams.unit, prefs, max(abs(found.grams) * 0.05, 0.05))
                told = f"   {shown_day(found.at)}, {arose.vessel}: a reading found {grams} {more}"
                rows.append(Row(told, MUTED, "", leads=("entry", found.entry)))
    return rows or [Row("No reading found any metal missing.", MUTED, "·")]

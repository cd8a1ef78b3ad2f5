"""Codes that come into question for a stream, likeliest first, with their reasons in words: candidates, never a final code."""

from __future__ import annotations

from collections.abc import Iterator

import msgspec

from bathkeeper.refusals import shorten
from bathkeeper.waste.by_test import Side, taken_back
from bathkeeper.waste.candidates_us import federal
from bathkeeper.waste.content import SYMBOLS, equivalents, holds, may_hold, metal, said
from bathkeeper.waste.loader import WasteData, load
from bathkeeper.waste.picking import mark
from bathkeeper.waste.saying import sentences
from bathkeeper.waste.schema import ENTRY_WORDS, Candidate, Code, Keeper, Mapped, RuleSet
from bathkeeper.waste.stream import Stream

ACIDS = ("11 01 05*", "11 01 06*", "06 01 01*", "06 01 02*", "06 01 05*", "06 01 06*", "20 01 14*")
ALKALIS = ("11 01 07*", "06 02 04*", "06 02 05*", "20 01 15*")
"""Entries of the list of waste that name an acid or a base."""
_RANK = {"first": 0, "also": 1, "question": 2}
WORTH_SAYING_MG_L = 0.01  # in a list of contents; every limit is compared whatever there is
UNKNOWN_TOO = "something unknown went in as well: this rests on the known part alone"


def candidates(stream: Stream, rules: RuleSet, keeper: Keeper | None = None) -> tuple[Candidate, ...]:
    """The waste codes that come into question under a rule set, likeliest first; never empty.

    A row without a code says what is wanting, or that none suggests itself, which is no verdict. Codes of the household route
    come only for ``keeper`` ``household``. Mirror entries ask for an assessment.
    """
    if rules.system == "us":
        found = list(federal(stream, rules))
    elif rules.system == "list of waste":
        found = list(_listed(stream, load(), keeper))
    else:
        found = [_nowhere(stream, rules)]
    found.sort(key=lambda c: _RANK[c.strength])
    return tuple(_with_doubt(c, stream) for c in found)


def contents_in_words(stream: Stream, most: int = 5) -> str:
    """The metals, acids and alkalis that it may hold, with their numbers, the largest first: ``zinc 35 g/L (32-38), ...``."""
    rows: list[tuple[float, str]] = []
    for name in SYMBOLS:
        c = metal(stream, name)
        if c is not None and may_hold(stream, name) and (c.value >= WORTH_SAYING_MG_L or c.high >= 100 * WORTH_SAYING_MG_L):
            rows.append((c.value, f"{name} {said(c)}"))
    for key, species in stream.species.items():
        if key == "total alkali" and "free alkali" in stream.amounts:
            continue  # the same caustic once more, with its carbonate
        c = stream.concentration(key)
        if species.kind in ("acid", "alkali") and c is not None and c.high > 0:
            as_what = f" as {shorten(species.formula)}" if species.formula else ""
            rows.append((c.value * 1e3, f"{shorten(key)} {said(c)}{as_what}"))
    rows.sort(key=lambda r: -r[0])
    return ", ".join(text for _, text in rows[:most])


def _listed(stream: Stream, data: WasteData, keeper: Keeper | None) -> Iterator[Candidate]:
    given: set[str] = set()
    rows = [row for row in data.mapped if _fits(row, stream, keeper)]
    acid_counts = any(c == "acid" for c in _corrosive_kinds(stream))
    for row in sorted(rows, key=lambda r: _RANK[r.strength]):
        code = data.codes[row.code]
        if code.code in given or code.never:
            continue
        if row.code == "11 01 06*" and "passivate" in row.roles and stream.species and not acid_counts and stream.ph is None:
            continue  # nothing of an acid is known of it
        given.add(code.code)
        yield _of_list(code, row, stream)
    if not given:
        yield Candidate(
            code="", title="no entry suggests itself", strength="question", status="practice", source="",
            why="neither the kind of waste nor the tank that it came from is known to these rules",
            note="tell what kind of waste it is and from which tank, and ask the authority or a licensed contractor",
        )  # fmt: skip


def _corrosive_kinds(stream: Stream) -> tuple[str, ...]:
    found = [k for k in ("acid", "alkali") if equivalents(stream, k) is not None]
    if stream.ph is not None and stream.ph.low <= 2:
        found.append("acid")
    return tuple(found)


def _fits(row: Mapped, stream: Stream, keeper: Keeper | None) -> bool:
    if row.keeper is not None and row.keeper != keeper:
        return False
    matching = [o for o in stream.origins if o.what in row.kinds and (not row.roles or o.role in row.roles)]
    return bool(matching) and (not row.holds or any(holds(stream, what) for what in row.holds))


def _of_list(code: Code, row: Mapped, stream: Stream) -> Candidate:
    contents = contents_in_words(stream)
    side: Side | None = "acid" if code.code in ACIDS else "alkali" if code.code in ALKALIS else None
    back = taken_back(stream, side) if side is not None else ""
    notes = [w for w in (row.note, back) if w]
    if code.entry == "MH":
        pair = f" (the pair is {code.pair})" if code.pair else ""
        notes.insert(0, f"mirror entry: assess by the hazardous properties{pair}")
    elif code.entry == "MN":
        notes.insert(0, f"mirror entry: assess by the hazardous properties (the pair is {code.pair})")
    notes.append("which tank goes with which code is our reading: the contractor or the authority confirms")
    return Candidate(
        code=code.code,
        title=code.title,
        why=row.why + (f"; it holds {contents}" if contents else "; its contents are not known in numbers"),
        strength="question" if back else row.strength,
        status="memory" if row.status == "memory" else code.status,
        source=f"{code.citation} ({code.edition}): {code.source}",
        entry=code.entry,
        note="; ".join(notes),
    )


def _nowhere(stream: Stream, rules: RuleSet) -> Candidate:
    contents = contents_in_words(stream)
    return Candidate(
        code="",
        title="no list of codes for this place",
        why=f"{rules.chosen or rules.title}" + (f"; it holds {contents}" if contents else ""),
        strength="question",
        status="practice",
        source="",
        note="ask the local authority or a licensed contractor which codes hold with you",
    )


def _with_doubt(c: Candidate, stream: Stream) -> Candidate:
    if stream.complete:
        return c
    return msgspec.structs.replace(c, note=f"{c.note}; {UNKNOWN_TOO}" if c.note else UNKNOWN_TOO)


def candidate_line(c: Candidate) -> str:
    """A candidate in one line of sentences: its code, what that is, why, the type of the entry, what is to be asked."""
    doubt = mark(c.status)
    note = " ".join(w for w in (c.note, doubt) if w)
    kind = "" if note.startswith("mirror entry") else entry_words(c)
    return sentences(f"{f'{c.code}: ' if c.code else ''}{c.title}", c.why, kind, note)


def entry_words(c: Candidate) -> str:
    """The type of its entry in words; empty where there is none."""
    return ENTRY_WORDS[c.entry] if c.entry is not None else ""

"""A run that was, in words: one row for a list, and what is known of it."""

from __future__ import annotations

from textual.content import Content

from bathkeeper.runs.past import PastRun
from bathkeeper.showing import shown
from bathkeeper.tui.plain import fit, join, pad
from bathkeeper.units.numerals import Preferences, figures

VERDICTS = {True: ("✓", "good", "$text-success"), False: ("!!", "bad", "$text-error"), None: ("·", "not said", "")}
WIDTHS = (10, 13, 9, 12, 5)
"""Cells of day, verdict, area, density, minutes; the parts get the rest."""


def verdict(run: PastRun) -> tuple[str, str]:
    """(sign and word of what came of it, style)."""
    sign, word, style = VERDICTS[run.good]
    if run.good is False:
        word = run.defect or (f"{run.rejects} rejects" if run.rejects else word)
    return f"{sign:<2} {word}", style


def columns(width: int) -> str:
    """The heads of a list's columns."""
    day, said, area, density, minutes = WIDTHS
    room = max(width - sum(WIDTHS), 10)
    return f"{'day':<{day}}{'came out':<{said}}{'parts':<{room}}{'area':>{area}}{'density':>{density}}{'min':>{minutes}}"


def row(run: PastRun, width: int, prefs: Preferences) -> Content:
    """A run in one line."""
    day, said, area, density, minutes = WIDTHS
    room = max(width - sum(WIDTHS), 10)
    word, style = verdict(run)
    dense = shown(float(f"{run.density_a_dm2:.3g}"), "A/dm2", prefs) if run.density_a_dm2 else ""
    return join(
        [
            (f"{run.at:%d %b %y}".ljust(day), "$foreground-muted"),
            (pad(fit(word, said - 1), said), style),
            (pad(fit(run.title, room - 1), room), "bold"),
            pad(shown(run.area_dm2, "dm2", prefs) if run.area_dm2 else "", area, "right"),
            pad(dense, density, "right"),
            pad(f"{run.minutes:g}" if run.minutes else "", minutes, "right"),
        ]
    )


def details(run: PastRun, prefs: Preferences) -> Content:
    """What is known of a run and of its bath then."""
    word, style = verdict(run)
    ratios = [f"{name.replace('_', ' ')} {100 * value:.3g} %" for name, value in run.ratios.items()]
    electric = [
        shown(run.current_a, "A", prefs) if run.current_a else "",
        shown(run.charge_ah, "Ah", prefs) if run.charge_ah else "",
        shown(float(f"{run.density_a_dm2:.3g}"), "A/dm2", prefs) if run.density_a_dm2 else "",
        f"{figures(run.minutes)} min" if run.minutes else "",
        shown(run.temperature_c, "degC", prefs) if run.temperature_c is not None else "",
    ]
    then = [
        *ratios,
        f"pH {figures(run.ph)}" if run.ph is not None else "",
        f"bath {run.age_days:.0f} d old" if run.age_days is not None else "",
        f"{shown(run.since_additive_ah, 'Ah', prefs)} since an additive" if run.since_additive_ah is not None else "",
    ]
    found = [
        shown(run.thickness_um, "um", prefs) if run.thickness_um is not None else "",
        f"{figures(run.deposit_g)} g deposited" if run.deposit_g is not None else "",
        f"{run.rejects} refused" if run.rejects is not None else "",
        f"photo {', '.join(run.photos)}" if run.photos else "",
        run.words,
    ]
    lines: list[Content | tuple[object, str] | str] = [(word, f"bold {style}".strip()), f"  {run.title}"]
    result = run.result if run.result and run.result.casefold() not in ("good", "bad") else ""
    if result:
        lines.append(f"  ({result})")
    for name, told in ((run.tank, electric), ("then", then), ("found", found)):
        said = " · ".join(t for t in told if t)
        if said:
            lines += ["\n", (f"{name}: ", "$foreground-muted"), said]
    return join(lines)

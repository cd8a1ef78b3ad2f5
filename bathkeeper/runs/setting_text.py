"""A setting in words, and as plain values for JSON."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import msgspec

from bathkeeper.catalogue.own import EDGES
from bathkeeper.catalogue.schema import Window
from bathkeeper.findings import Estimate
from bathkeeper.runs.past import PastRun
from bathkeeper.showing import shown, shown_age, shown_between, shown_day, shown_window
from bathkeeper.units.numerals import Preferences, figures

if TYPE_CHECKING:
    from bathkeeper.runs.setting import Setting


def lines(setting: Setting, prefs: Preferences) -> list[str]:
    """What to set, then cautions, then what went well before. Sources are in ``because``; statuses stand here."""
    said = [
        *_current(setting, prefs),
        *_branches(setting, prefs),
        *_time(setting, prefs),
        *(a.note for a in setting.anodes if a.within is not False),
        *_temperature(setting, prefs),
        *(f"thread {f.thread or 'of an inch size'} ({f.part}): {f.text}" for f in setting.fit),
        *(f"caution: {c}" for c in setting.cautions),
        *setting.notes,
        *(_good(r, prefs) for r in setting.last_good),
    ]
    return [s for s in said if s]


def _current(setting: Setting, prefs: Preferences) -> list[str]:
    window, density, current = setting.density, setting.density_a_dm2, setting.current_a
    told = _edges_text(window, prefs)
    made = []
    if current is not None:
        text = f"current: {shown(current.value, 'A', prefs)}"
        if setting.area_dm2 is not None and density is not None:
            area = shown(setting.area_dm2, "dm2", prefs, setting.area_spread_dm2)
            spread = f" ± {shown(setting.area_spread_dm2, 'dm2', prefs)}" if setting.area_spread_dm2 else ""
            text += f" for {area}{spread} at {shown(density, 'A/dm2', prefs)}"
        if window is not None and current.low < current.high:
            text += f"; its window {shown(current.low, 'A', prefs)} to {shown(current.high, 'A', prefs)}"
        made.append(text)
    elif density is not None:
        made.append(f"current density: {shown(density, 'A/dm2', prefs)}")
    if told and window is not None:
        made.append(f"window of the current density: {told} ({window.status})")
    if setting.current_spread_a is not None:
        spread_a = setting.current_spread_a
        made.append(f"what is not known of the area makes ± {shown(spread_a, 'A', prefs, spread_a)} of that current")
    return made


def _edges_text(window: Window | None, prefs: Preferences) -> str:
    if window is None:
        return ""
    low, high = (shown(v, "A/dm2", prefs) if v is not None else None for v in (window.low, window.high))
    if low and high:
        return f"{low} to {high}"
    return f"from {low}" if low else f"up to {high}" if high else ""


def _branches(setting: Setting, prefs: Preferences) -> list[str]:
    made = []
    for b in setting.branches if len(setting.branches) > 1 or setting.reach.get(setting.branches[0].supply) else ():
        name = b.supply or "supply"
        if b.current_a is None or b.share is None:
            made.append(f"{name}: {b.why}" if b.why else "")
            continue
        on_it = f" on {b.metal} ({', '.join(b.anodes)})" if b.metal and b.anodes else f" on {b.metal}" if b.metal else ""
        part = f", {100 * b.share:.3g} % of the current" if len(setting.branches) > 1 else ""
        reach = f"; reaches {shown(b.reach_a, 'A', prefs)}: {'yes' if b.reaches else 'no'}" if b.reach_a is not None else ""
        made.append(f"{name}: {shown(b.current_a, 'A', prefs)}{on_it}{part}{reach}")
    if setting.largest_load_dm2 is not None:
        low = setting.largest_load_low_dm2
        more = f", {shown(low, 'dm2', prefs)} at the low edge of the window" if low is not None else ""
        made.append(f"largest load for the supplies: {shown(setting.largest_load_dm2, 'dm2', prefs)}{more}")
    if setting.shares_text:
        made.append(f"anodes: {setting.shares_text}")
    return made


def _time(setting: Setting, prefs: Preferences) -> list[str]:
    made = []
    worst = setting.worst_spot
    if setting.minutes is not None and setting.wish.thickness_um is not None and worst is not None:
        wanted = shown(setting.wish.thickness_um, "um", prefs)
        made.append(f"time for {wanted} on average: {_interval(setting.minutes, prefs)}")
        if setting.minutes_worst is not None:
            made.append(f"time for {wanted} at the worst spot too: {_interval(setting.minutes_worst, prefs)}")
    if setting.wish.minutes is not None and setting.thickness_um is not None:
        made.append(f"after {figures(setting.wish.minutes)} min: {_interval(setting.thickness_um, prefs)} on average")
    if setting.thickness_worst_um is not None and worst is not None:
        made.append(
            f"worst spot then about {_interval(setting.thickness_worst_um, prefs)}: {worst.factor:g} of the average "
            f"({worst.status})"
        )
    if setting.charge_ah is not None:
        grams = f", {shown(setting.deposit_g.value, 'g', prefs)} of {setting.deposit.title}" if (
            setting.deposit_g is not None and setting.deposit is not None
        ) else ""  # fmt: skip
        made.append(f"charge: {shown(setting.charge_ah, 'Ah', prefs)}{grams}")
    return made


def _interval(x: Estimate, prefs: Preferences) -> str:
    unit = shown(x.value, x.unit, prefs, x.spread)
    return f"{unit} ({shown_between(x.low, x.high, x.unit, prefs)})"


def _temperature(setting: Setting, prefs: Preferences) -> list[str]:
    told = setting.temperature
    edges = {e: v for e in ("low", "high") if told.window is not None and (v := getattr(told.window, e)) is not None}
    if not edges and told.last_c is None:
        return []
    window = f"{shown_window(edges, 'degC', prefs)} {prefs.shown.get('temperature', '°C')}" if edges else ""
    last = ""
    if told.last_c is not None:
        age = f", {shown_age(told.age_days)} ago" if told.age_days else ""
        last = f"last {shown(told.last_c, 'degC', prefs)}{age}"
    return ["temperature: " + "; ".join(t for t in (window, last or "none on record") if t)]


def _good(run: PastRun, prefs: Preferences) -> str:
    word = "good" if run.good else "nothing bad said"
    told = [
        shown(run.area_dm2, "dm2", prefs) if run.area_dm2 else "",
        shown(run.density_a_dm2, "A/dm2", prefs) if run.density_a_dm2 else "",
        f"{figures(run.minutes)} min" if run.minutes else "",
        shown(run.temperature_c, "degC", prefs) if run.temperature_c is not None else "",
    ]
    return f"before ({word}), {shown_day(run.at)}, {run.title}: {', '.join(t for t in told if t) or 'no figures'}"


def plain(setting: Setting) -> dict[str, Any]:
    """As JSON values, units in the keys; intervals as value, low, high."""
    wish = setting.wish
    held = setting.holding
    temperature = setting.temperature
    return {
        "tank": setting.tank,
        "role": setting.role,
        "recipe": setting.recipe,
        "area_dm2": wish.area_dm2,
        "area_spread_dm2": setting.area_spread_dm2,
        "density_window_a_dm2": _window(setting.density),
        "density_a_dm2": setting.density_a_dm2,
        "density_state": setting.standing,
        "current_a": _estimate(setting.current_a),
        "current_spread_a": setting.current_spread_a,
        "branches": [
            {
                "supply": b.supply, "anodes": list(b.anodes), "metal": b.metal, "current_a": b.current_a, "share": b.share,
                "reach_a": b.reach_a, "reaches": b.reaches, "largest_load_dm2": b.largest_load_dm2, "why": b.why,
            }
            for b in setting.branches
        ],
        "reach_a": dict(setting.reach),
        "largest_load_dm2": setting.largest_load_dm2,
        "largest_load_low_dm2": setting.largest_load_low_dm2,
        "balance": None if held is None else {
            "shares": {m: _estimate(s) for m, s in held.shares.items()},
            "shares_sum": _estimate(held.total),
            "case": held.case,
            "text": held.text,
            "to_be_added_g_per_100ah": dict(held.unfed),
            "base_net_g_per_100ah": held.base_net_g,
            "drag_out_l_per_ah": held.drag_out_l_per_ah,
        },
        "wanted_thickness_um": wish.thickness_um,
        "wanted_minutes": wish.minutes,
        "minutes": _estimate(setting.minutes),
        "minutes_worst": _estimate(setting.minutes_worst),
        "thickness_um": _estimate(setting.thickness_um),
        "thickness_worst_um": _estimate(setting.thickness_worst_um),
        "worst_spot": None if setting.worst_spot is None else {
            "factor": setting.worst_spot.factor, "status": setting.worst_spot.status, "source": setting.worst_spot.source,
        },
        "charge_ah": setting.charge_ah,
        "deposit_g": _estimate(setting.deposit_g),
        "deposit": None if setting.deposit is None else {
            "title": setting.deposit.title,
            "fractions": {m: w.value for m, w in setting.deposit.fractions.items()},
            "g_per_ah": setting.deposit.g_per_ah.value,
            "density_g_cm3": setting.deposit.density_g_cm3,
            "efficiency": _estimate(setting.deposit.efficiency),
        },
        "anodes": [
            {
                "metal": a.metal, "anodes": list(a.anodes), "area_dm2": a.area_dm2, "current_a": a.current_a,
                "density_a_dm2": a.density_a_dm2, "limit_a_dm2": _window(a.limit), "within": a.within,
                "largest_load_dm2": a.largest_load_dm2, "note": a.note,
            }
            for a in setting.anodes
        ],
        "temperature_c": {
            "window": _window(temperature.window),
            "last": temperature.last_c,
            "at": temperature.at.isoformat() if temperature.at is not None else None,
            "age_days": temperature.age_days,
            "state": temperature.standing,
        },
        "fit": [
            {"part": f.part, "thread": f.thread, "fits": f.fits, "largest_um": f.largest_um, "text": f.text, "source": f.source}
            for f in setting.fit
        ],
        "last_good": [
            {
                "id": r.id, "at": r.at.isoformat(), "title": r.title, "good": r.good, "area_dm2": r.area_dm2,
                "density_a_dm2": r.density_a_dm2, "minutes": r.minutes, "temperature_c": r.temperature_c,
            }
            for r in setting.last_good
        ],
        "cautions": list(setting.cautions),
        "notes": list(setting.notes),
        "because": msgspec.to_builtins(setting.because),
    }  # fmt: skip


def _estimate(x: Estimate | None) -> dict[str, float | str] | None:
    return None if x is None else {"value": x.value, "low": x.low, "high": x.high, "unit": x.unit}


def _window(window: Window | None) -> dict[str, Any] | None:
    if window is None:
        return None
    edges = {e: v for e in EDGES if (v := getattr(window, e)) is not None}
    return {**edges, "status": window.status, "source": window.source}

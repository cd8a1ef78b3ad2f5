"""A plan's amounts as steps in an order that cannot hurt, with the cautions where they are needed.

What is taken out goes first, then water (acid always into water), boric acid only into a warm bath, salts dissolved apart,
halves with a measurement between where the dose is large or the estimate wide, water to the mark, additives last, pH by a jar
test.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass

from bathkeeper.advice.bringing import Means
from bathkeeper.advice.steps import Advised, Purpose, step
from bathkeeper.advice.wanted import Mix, Task, Wish, mixed
from bathkeeper.catalogue.schema import Recipe
from bathkeeper.findings import Because

LARGE_PART = 0.5  # of a window's width that one dose may cross before it is given in halves [practice]
SALT_ROOM_L_PER_G = 0.0005  # room that dissolved salts take, about; the book counts none [practice]
ROOM_COUNTS = 0.005  # of the level, from which that room is kept free until the end
FORMULA = "low <= [m (1 - b/V) + sum(a r)] / V_after <= high; a = purity x mass fraction of what counts"
WASTE = (
    "It is waste with metal in it: a labelled container with lid, never a drain; what becomes of it is for the local authority "
    "or a waste contractor to say."
)


@dataclass(frozen=True)
class Setting:
    """What the order of steps has to know beside the amounts. ``temperature_c``: last read, ``warm_c``: least for boric acid;
    ``wide``: species whose estimate is wide against the window; ``why``: the reason of a means in words."""

    recipe: Recipe
    purpose: Purpose
    temperature_c: float | None
    wide: frozenset[str]
    why: Callable[[Means, float], str]
    entries: tuple[str, ...]


def ordered(task: Task, mix: Mix, setting: Setting) -> list[Advised]:
    """The steps of a plan, not yet numbered."""
    recipe, make_up = setting.recipe, setting.purpose == "make up"
    used = mix.used(task)
    water = next((a for m, a in used if m.kind == "water"), 0.0)
    rinse = [(m, a) for m, a in used if m.kind == "rinse"]
    reagents = sorted(((m, a) for m, a in used if m.kind == "reagent"), key=lambda p: _rank(p[0], recipe))
    early = [(m, a) for m, a in reagents if not _additive(m)]
    late = [(m, a) for m, a in reagents if _additive(m)]
    steps: list[Advised] = []
    if early or late:
        steps.append(step("check", "filter and stirring on, no parts in the tank", caution=_cautions(recipe, make_up)))
    if mix.out_l > 0:
        steps.append(
            step(
                "remove", "taken out first: everything falls by the same share",
                because=_because(task, setting, f"{mix.out_l / task.volume_l:.1%} of {task.volume_l:.4g} L", []),
                amount=mix.out_l, unit="L", caution=" ".join([WASTE, *_said(recipe, "removal")]),
            )
        )  # fmt: skip
    reserve = _reserve(task, water, early, recipe if make_up else None)
    first = round(water - reserve, 9)
    for means, litres in rinse:
        steps.append(
            step(
                "remove", f"poured from {means.name} into this tank in the place of water: what was dragged out comes back",
                because=_because(task, setting, "the drag-out rinse as water", [means]), of=means.name, amount=litres, unit="L",
                caution="Only if it is clear and nothing else was rinsed in it.",
            )
        )  # fmt: skip
    if first > 0:
        words = "water first, before anything is dosed: the level is low, so what is read is higher than it will be"
        words += _read_high(task)
        if make_up:
            words = next((s.why for s in recipe.make_up if s.reagent == "water"), "water first")
        elif mix.out_l > 0:
            words = "water in its place, before anything is dosed"
        steps.append(_water(task, setting, first, words))
    steps += _boric_check(early, setting)
    halves, wholes = _halved(task, early, setting)
    for means, amount in wholes:
        steps.append(_add(task, setting, means, amount, ""))
    if halves:
        for means, amount, _ in halves:
            steps.append(_add(task, setting, means, amount, "first half: "))
        steps.append(step("wait", "stir until all is dissolved and even", amount=30.0, unit="min"))
        for name in _watched(task, [m for m, _, _ in halves]):
            steps.append(step("measure", f"{name} before the second half: give it only if it is still wanted", of=name))
        for means, _, amount in halves:
            steps.append(_add(task, setting, means, amount, "second half, if still wanted: "))
    if reserve > 0:
        steps.append(_water(task, setting, reserve, "up to the mark: so much by the book, less by what the salts take of room"))
    for means, amount in late:
        half = _half(amount, means.grid)
        if half > 0 and not make_up:
            steps.append(_add(task, setting, means, half, "last of all, first half: "))
            steps.append(step("measure", f"a panel before the rest of the {means.name}", of="panel"))
            steps.append(_add(task, setting, means, round(amount - half, 9), "second half, if the panel wants it: "))
        else:
            steps.append(_add(task, setting, means, amount, "last of all: "))
    steps += _afterwards(task, used, mix, setting)
    return steps


def _afterwards(task: Task, used: Sequence[tuple[Means, float]], mix: Mix, setting: Setting) -> list[Advised]:
    if not used and mix.out_l <= 0:
        return []
    steps = [step("wait", "stir, and let the level come to rest at the mark", amount=30.0, unit="min")]
    watched = _watched(task, [m for m, _ in used if m.kind == "reagent" and not _additive(m)])
    for name in watched or [w.name for w in task.wishes if w.out and not w.is_ratio and w.kind not in ("additive",)][:1]:
        steps.append(step("measure", f"{name}, to see that the plan did what it should", of=name))
    if "ph" in setting.recipe.indicators:
        window = setting.recipe.indicators["ph"]
        edges = " to ".join(f"{v:g}" for v in (window.low, window.high) if v is not None)
        steps.append(
            step(
                "measure",
                f"pH ({edges}); where it is off, a jar test: so much for 100 mL, scaled up, given in quarters. "
                "No pH dose is told without one",
                of="ph",
            )
        )
    return steps


def _read_high(task: Task) -> str:
    """What a reading at the low level becomes at the full one, for the metals and what is out."""
    told = []
    for w in task.wishes:
        if w.is_ratio or w.kind in ("contaminant", "additive"):
            continue
        now, then = w.value(task.volume_l, task.masses), w.value(max(task.level_l, task.volume_l), task.masses)
        if w.kind in ("metal", "acid", "alkali") or w.standing(now) != w.standing(then):
            told.append(f"{w.title} {now:.3g} reads {then:.3g} {w.unit} at {task.level_l:.4g} L")
    return f" ({', '.join(told[:3])})" if told else ""


def _rank(means: Means, recipe: Recipe) -> tuple[int, int, str]:
    """Acid before salts (into plain water), boric acid first of the solids, then the order of the make-up, additives last."""
    native = [s.reagent for s in recipe.make_up]
    place = native.index(means.name) if means.name in native else len(native)
    reagent = means.reagent
    assert reagent is not None
    if reagent.form == "additive":
        return 4, place, means.name
    if reagent.formula == "H3BO3":
        return 0, place, means.name
    if reagent.acid_equivalents and means.name not in native:
        return 3, place, means.name
    return 2, place, means.name


def _additive(means: Means) -> bool:
    return means.reagent is not None and means.reagent.form == "additive"


def _reserve(task: Task, water: float, early: Sequence[tuple[Means, float]], made_up: Recipe | None) -> float:
    """Litres of the water that wait until the salts are in."""
    if water <= 0 or not early:
        return 0.0
    solids = sum(a for m, a in early if m.unit == "g")
    room = solids * SALT_ROOM_L_PER_G
    if made_up is not None:
        first = next((s.amount_ml_l for s in made_up.make_up if s.reagent == "water" and s.amount_ml_l), 600.0)
        room = max(water - first / 1000 * task.level_l, room)
    elif room < ROOM_COUNTS * task.level_l:
        return 0.0
    return min(round(round(room / task.grid_l) * task.grid_l, 9), water)


def _halved(
    task: Task, early: Sequence[tuple[Means, float]], setting: Setting
) -> tuple[list[tuple[Means, float, float]], list[tuple[Means, float]]]:
    """(means, first half, second half) of what is given in halves, and the rest."""
    halves, wholes = [], []
    for means, amount in early:
        half = _half(amount, means.grid)
        split = half > 0 and setting.purpose != "make up" and _large(task, means, amount, setting)
        if split:
            halves.append((means, half, round(amount - half, 9)))
        else:
            wholes.append((means, amount))
    return halves, wholes


def _large(task: Task, means: Means, amount: float, setting: Setting) -> bool:
    for wish in task.wishes:
        per = means.per_unit.get(wish.name, 0.0)
        if wish.is_ratio or per <= 0:
            continue
        change = per * amount / max(task.level_l, 1e-9)
        width = wish.side(True) + wish.side(False)
        if change > LARGE_PART * width or (wish.name in setting.wide and change > 0.1 * width):
            return True
    return False


def _half(amount: float, grid: float) -> float:
    return round(int(amount / grid + 1e-6) // 2 * grid, 9)


def _boric_check(early: Iterable[tuple[Means, float]], setting: Setting) -> list[Advised]:
    if setting.purpose == "make up" or not any(m.reagent is not None and m.reagent.formula == "H3BO3" for m, _ in early):
        return []
    window = setting.recipe.indicators.get("temperature")
    warm = window.low if window is not None and window.low is not None else 25.0
    warm = max(warm, 25.0)
    told = f"bath at {warm:g} degC or warmer and no crystals on the bottom: a cold clear bath reads low in boric acid"
    cold = setting.temperature_c is not None and setting.temperature_c < warm
    caution = "Never boric acid into a cold bath: it falls out again."
    if cold:
        return [
            step("wait", f"warm the bath up first (last read {setting.temperature_c:.3g} degC): {told}", caution=caution),
            step("measure", "boric acid again when warm: part of what is missing may have been crystals", of="boric acid"),
        ]
    return [step("check", told, caution=caution)]


def _add(task: Task, setting: Setting, means: Means, amount: float, part: str) -> Advised:
    assert means.reagent is not None
    reagent, cautions = means.reagent, list(means.reagent.cautions)
    how = ""
    if reagent.acid_equivalents > 0 and reagent.form == "liquid":
        how = "; slowly, into the stirred bath"
        if not any("into water" in c for c in cautions):
            cautions.append("Acid into water, never water into acid.")
    elif reagent.acid_equivalents < 0 and reagent.form == "solid":
        how = "; small portions into the cold bath, stirring: it heats"
    elif reagent.form == "solid":
        how = "; dissolved apart in warm bath liquid or water from the tank, then stirred in"
    return step(
        "add", f"{part}{setting.why(means, amount)}{how}",
        because=_because(task, setting, reagent.title or means.name, [means]),
        reagent=means.name, amount=round(amount, 9), unit=means.unit, caution=" ".join(cautions),
    )  # fmt: skip


def _water(task: Task, setting: Setting, litres: float, words: str) -> Advised:
    quality = setting.recipe.water
    kind = f"; water quality: {quality}" if quality else ""
    because = _because(task, setting, f"V - b + w + sum(v r) = {task.level_l:g} L", [])
    return step("add", words + kind, because=because, reagent="water", amount=round(litres, 9), unit="L")


def _because(task: Task, setting: Setting, text: str, means: Sequence[Means]) -> Because:
    touched = {s for m in means for s in m.per_unit}
    windows = [w.source for w in task.wishes if w.name in touched or (w.is_ratio and touched & {*w.parts, *w.whole})]
    return Because(
        text=text, entries=setting.entries, formula=FORMULA, sources=(*(s for m in means for s in m.sources), *windows)
    )


def _watched(task: Task, means: Sequence[Means]) -> list[str]:
    """What to measure after these: the species out of their windows that they bring most of, one for each."""
    found: dict[str, None] = {}
    for m in means:
        gains = {
            w.name: m.per_unit.get(w.name, 0.0) / w.side(True) for w in task.wishes if not w.is_ratio and w.kind != "additive"
        }
        rising = {n: g for n, g in gains.items() if g > 0}
        out = {n: g for n, g in rising.items() if any(w.name == n and w.out for w in task.wishes)}
        chosen = out or rising
        if chosen:
            found[max(chosen, key=lambda n: chosen[n])] = None
    return list(found)


def _cautions(recipe: Recipe, make_up: bool) -> str:
    return " ".join([*_said(recipe, "make_up" if make_up else "addition")])


def _said(recipe: Recipe, when: str) -> list[str]:
    return [c.text for c in recipe.cautions if c.when == when]


def effect_words(task: Task, mix: Mix) -> list[str]:
    """What the plan does to every species and ratio, one short line each."""
    volume, masses = mixed(task, mix)
    lines = []
    for wish in task.wishes:
        before, after = wish.value(task.volume_l, task.masses), wish.value(volume, masses)
        lines.append(f"{wish.title} {before:.3g} -> {after:.3g} {wish.unit}".rstrip())
    return lines


def main_species(task: Task, means: Means) -> Wish | None:
    """The species that a means is mostly for: of those it brings, the one out of its window, else the one it moves most."""
    names = _watched(task, [means]) if not _additive(means) else list(means.per_unit)
    return next((w for w in task.wishes if names and w.name == names[0]), None)

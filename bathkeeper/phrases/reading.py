"""A reading in words: species, pH, level, density, verdicts, each with its own spread and method where that is said."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping
from typing import Any

from bathkeeper.catalogue.loader import plain_name
from bathkeeper.catalogue.schema import Species
from bathkeeper.phrases.loads import loads
from bathkeeper.phrases.plans import does_a_step
from bathkeeper.phrases.words import Form, PhraseError, a_name, keyed, match, near, not_empty, option
from bathkeeper.refusals import shorten
from bathkeeper.units.door import UnitError, figures, number, understand_spread

EXAMPLE = "reading electrolyte zinc=32g/L pH=5.4"
# what is read -> kinds of value that it can be, in the units that entries keep
QUANTITIES: dict[str, tuple[str, ...]] = {
    "ph": ("ph",),
    "temperature": ("temperature",),
    "level": ("volume", "length"),
    "volume": ("volume",),
    "density": ("gravity",),
    "voltage": ("voltage",),
    "conductivity": ("conductivity",),
    "current": ("current",),
    "mass": ("mass",),
    "deposit_mass": ("mass",),
    "thickness": ("thickness",),
}
ALIASES = {
    "temp": "temperature",
    "sg": "density",
    "gravity": "density",
    "specific gravity": "density",
    "baume": "density",
    "volts": "voltage",
    "cell voltage": "voltage",
    "color": "colour",
    "hull cell": "panel",
    "water break": "water-break",
}
_BAND = re.compile(r"(\d+(?:[.,]\d+)?)\s*[-–]\s*(\d+(?:[.,]\d+)?)")  # a strip between two colours: 5-5.5
OPTIONS = ("method", "lot", "spread", "confirms", "run", "runs", "plan", "step", "note", "by")
SCALE = ("before", "after")


def compose_reading(form: Form, words: list[str]) -> None:
    """``electrolyte zinc=32g/L±0.5@edta pH=5.4 method=… lot=…``, or ``run=ID thickness=8um``, or of loads weighed together
    ``runs=ID,ID before=2310g after=2345g``. Raises PhraseError."""
    tank = _where(form, words)
    weighings = [w for w in words if (match((option(w) or ("",))[0], SCALE))]
    words = [w for w in words if w not in weighings]
    said = [keyed(w, "zinc=32g/L") for w in words]
    options = {k: v for k, v in ((match(key, OPTIONS), text) for key, text in said) if k}
    readings = [(key, text) for key, text in said if not match(key, OPTIONS)]
    density = next((text for key, text in readings if _named(form, tank, key) == "density"), None)
    values = [read_value(form, tank, key, text, density) for key, text in readings]
    if weighings:
        values.append(
            _gain(form, weighings, of_run="run" in options or "runs" in options or bool((form.start or {}).get("run")))
        )
    seen = [v["of"] for v in values]
    if len(set(seen)) < len(seen):
        twice = next(of for of in seen if seen.count(of) > 1)
        raise PhraseError(f"{twice} is there twice; log two readings, or write the one that holds")
    _apply(form, values, options)
    if values:
        form.fields["values"] = values
    if not values and "confirms" not in options and form.start is None:
        raise PhraseError(f"a reading needs at least one value; write for example {EXAMPLE}")


def _where(form: Form, words: list[str]) -> str | None:
    run = next((option(w) for w in words if (option(w) or ("", ""))[0] in ("run", "runs")), None)
    confirms = any((option(w) or ("", ""))[0] == "confirms" for w in words)
    no_tank = not words or not (option(words[0]) is None or form.names_tank(words[0]))
    if (run or confirms or (form.start or {}).get("run") or (form.start or {}).get("runs")) and no_tank:
        return (form.start or {}).get("tank")
    return form.leading_tank(words, EXAMPLE).name


def _verdicts(form: Form) -> list[str]:
    return list(dict.fromkeys(of for m in form.vocabulary.catalogue.methods.values() if m.unit == "verdict" for of in m.of))


def _all_names(form: Form, tank: str | None) -> Mapping[str, Species | None]:
    """Species first of this tank, then of any: a rinse holds what its neighbours hold."""
    known: dict[str, Species | None] = dict(form.vocabulary.species(tank)) if tank else {}
    for name, species in form.vocabulary.all_species.items():
        known.setdefault(name, species)
    metals = form.vocabulary.catalogue.metals
    fixed = {*QUANTITIES, *_verdicts(form)}
    for method in form.vocabulary.catalogue.methods.values():
        for of in method.of:
            if of != "any species" and of not in fixed and "_" not in of:
                known.setdefault(of, None)
    for metal in metals:
        known.setdefault(metal, None)
    return known


def _named(form: Form, tank: str | None, key: str) -> str:
    """The name under which a reading is kept. Raises PhraseError with the near misses."""
    plain = plain_name(key)
    found = match(ALIASES.get(plain, key), [*QUANTITIES, *_verdicts(form)])
    if found:
        return found
    share = re.fullmatch(r"(deposit )?(\S+?)( share)?", plain)
    if share and (share[1] is None) != (share[3] is None):
        metal = form.vocabulary.metal(share[2])
        if metal is not None:
            return f"deposit_{metal.name}" if share[1] else f"{metal.name}_share"
    species = _all_names(form, tank)
    name = match(key, species)
    metal = form.vocabulary.metal(key)
    if name is None and metal is not None:
        name = metal.name
    if name is None:
        of_tank = list(form.vocabulary.species(tank)) if tank else []
        names = [*of_tank, "pH", *list(QUANTITIES)[1:], *_verdicts(form)]
        raise PhraseError(
            f"there is nothing called `{shorten(key)}` to read{near(key, [*names, *species])}"
            if _close(key, species)
            else f"there is nothing called `{shorten(key)}` to read{near(key, names)}"
        )
    return name


def _close(key: str, names: Iterable[str]) -> bool:
    return near(key, names).startswith("; did")


def read_value(form: Form, tank: str | None, key: str, text: str, density_text: str | None = None) -> dict[str, Any]:
    """One value of a reading, such as ``zinc`` with ``32g/L±0.5@edta``, by its name. Raises PhraseError."""
    of = _named(form, tank, key)
    not_empty(key, text)
    if of in _verdicts(form):
        form.typed[key] = text
        form.understood.append(f"{of}: {text}")
        return {"of": of, "unit": "verdict", "word": text}
    main, at, method = text.rpartition("@")
    if not at:
        main, method = text, ""
    context: dict[str, float | None] = {}
    percent = (of.startswith("deposit_") and of != "deposit_mass") or of.endswith("_share")
    if of in QUANTITIES:
        kinds = QUANTITIES[of]
    elif percent:
        if "%" not in main:
            raise PhraseError(f"{key}: `{shorten(main)}` has no percent sign; write for example {key}=13.2%")
        kinds = ("fraction",)
    else:
        kinds, context = species_kind(form, tank, of, density_text)
    if of == "ph" and (band := _BAND.fullmatch(main.strip())):
        low, high = sorted(number(t, form.prefs) for t in band.groups())
        main = f"{(low + high) / 2:g}±{max((high - low) / 2, 0.05):g}"
    understood, spread = form.quantity(key, main, kinds, **context)
    form.typed[key] = text
    factor = 100.0 if understood.kind == "fraction" else 1.0
    value: dict[str, Any] = {"of": of, "value": _tidied(understood.value * factor), "unit": "%" if percent else understood.unit}
    if spread is not None:
        value["spread"] = _tidied(spread * factor)
    if method:
        value["method"] = form.vocabulary.method(method.strip(), of).name
    said = understood.echo if understood.kind == "ph" else f"{of} {understood.echo}"
    form.understood.append(
        said + (f" ± {figures(value['spread'])}" if spread is not None else "") + (f", by {value['method']}" if method else "")
    )
    return value


def _tidied(value: float) -> float:
    return float(f"{value:.12g}")


def species_kind(
    form: Form, tank: str | None, of: str, density_text: str | None
) -> tuple[tuple[str, ...], dict[str, float | None]]:
    """Kinds of unit that the species is counted in, and the chemistry that turns mol/L, N and % w/w into g/L."""
    own = form.vocabulary.species(tank) if tank else {}
    species = own.get(of) or form.vocabulary.all_species.get(of)
    if species is not None and species.unit == "mL/L":
        return ("additive",), {}
    metal = form.vocabulary.metal(of)
    formula = metal.symbol if metal is not None else (own[of].formula if of in own else "")
    context: dict[str, float | None] = {}
    if formula:
        from bathkeeper.chemistry.formulas import molar_mass  # brings periodictable, which a plain g/L does not need

        context["molar_mass_g_mol"] = molar_mass(formula)
    per_mol = species.equivalents if species is not None and species.equivalents else (metal.electrons if metal else None)
    if per_mol:
        context["equivalents_per_mol"] = float(per_mol)
    if density_text:
        context["density_g_ml"] = form.quantity("density", density_text.partition("@")[0], "gravity")[0].value
    return ("concentration",), context


def _apply(form: Form, values: list[dict[str, Any]], options: Mapping[str, str]) -> None:
    """Options that stand for the whole reading: method and lot go to the values that the method measures."""
    numbers = [v for v in values if v["unit"] != "verdict"]
    meant = numbers
    if "method" in options:
        single = values[0]["of"] if len(values) == 1 else None
        chosen = form.vocabulary.method(options["method"], single)
        name, of = chosen.name, chosen.of
        meant = [v for v in values if _measures(form, of, v["of"]) and "method" not in v]
        if not meant:
            raise PhraseError(f"method: {name} measures {', '.join(of)}, and none of these is read here")
        for value in meant:
            value["method"] = name
        form.understood.append(f"method {name} for {', '.join(v['of'] for v in meant)}")
    if "lot" in options:
        for value in meant:
            value["lot"] = a_name("lot", options["lot"])
    if "spread" in options:
        _spread_for_all(form, numbers, options["spread"])
    if "confirms" in options:
        words = [w.strip() for w in options["confirms"].split(",") if w.strip()]
        form.fields["confirms"] = True if [w.casefold() for w in words] in (["true"], ["yes"]) else words
        form.understood.append(
            "confirms " + (", ".join(words) if isinstance(form.fields["confirms"], list) else "this reading")
        )
        if not words:
            raise PhraseError(
                "confirms= has nothing behind it; write the id of the doubtful reading, or confirms=true for this one"
            )
    if "run" in options or "runs" in options:
        _of_runs(form, options)
    for key in ("note", "by"):
        if key in options:
            form.common(key, options[key])
    for key in ("plan", "step"):
        if key in options:
            does_a_step(form, key, options[key])


def _of_runs(form: Form, options: Mapping[str, str]) -> None:
    """``run=ID``, or several that were weighed together: ``runs=ID,ID`` or ``runs=last-10`` (``run=`` takes the same)."""
    if "run" in options and "runs" in options:
        raise PhraseError("run= and runs= are the same said twice; write all ids behind one, as in runs=ID,ID")
    key = "runs" if "runs" in options else "run"
    ids = loads(form, key, options[key])
    form.fields["run" if len(ids) == 1 else "runs"] = ids[0] if len(ids) == 1 else ids
    if len(ids) > 1:
        form.understood.append(f"{len(ids)} loads together")


def _gain(form: Form, words: list[str], of_run: bool) -> dict[str, Any]:
    """What loads gained on the scale, from their masses ``before`` and ``after``."""
    told = {match(k, SCALE): (k, text) for k, text in (keyed(w, "before=2310g") for w in words)}
    if len(words) != 2 or len(told) != 2:
        raise PhraseError(
            "a gain needs the mass before and after plating, once each; write for example before=2310g after=2345g"
        )
    if not of_run:
        raise PhraseError("before= and after= belong to plated loads; say which, as in run=ID or runs=ID,ID")
    masses: dict[str, float] = {}
    for name, (key, text) in told.items():
        value, spread = form.quantity(key, text, "mass")
        if spread is not None:
            raise PhraseError(f"{key}: a spread cannot be kept here; write deposit_mass=35g±1 for what the loads gained")
        masses[str(name)] = value.value
    gain = masses["after"] - masses["before"]
    if gain < 0:
        raise PhraseError(
            f"the loads weigh {figures(-gain)} g less after plating than before; are the two the right way round?"
        )
    form.understood.append(f"gained {figures(gain)} g")
    return {"of": "deposit_mass", "value": _tidied(gain), "unit": "g"}


def _measures(form: Form, of: tuple[str, ...], name: str) -> bool:
    if any(plain_name(o) == plain_name(name) for o in of):
        return True
    species = (
        name not in QUANTITIES
        and name not in _verdicts(form)
        and not name.endswith("_share")
        and not name.startswith("deposit_")
    )
    return "any species" in of and species


def _spread_for_all(form: Form, numbers: list[dict[str, Any]], text: str) -> None:
    relative = text.strip().endswith("%") and not any(v["unit"] == "%" for v in numbers)
    if len(numbers) != 1 and not relative:
        raise PhraseError("spread: it is not clear to which value it belongs; write it behind the value, as in zinc=32g/L±0.5")
    for value in numbers:
        try:
            if relative:
                share = understand_spread(text, "1 L", "volume", form.prefs)
                value["spread"] = _tidied(abs(value["value"]) * share)
            else:
                typed = next(t for k, t in form.typed.items() if k not in OPTIONS)
                kinds = {
                    "g/L": "concentration",
                    "mL/L": "additive",
                    "L": "volume",
                    "mm": "length",
                    "pH": "ph",
                    "degC": "temperature",
                    "g/cm3": "gravity",
                    "V": "voltage",
                    "mS/cm": "conductivity",
                    "%": "fraction",
                    "um": "thickness",
                    "A": "current",
                    "g": "mass",
                }
                kind = kinds[value["unit"]]
                of = typed.partition("@")[0]
                spread = understand_spread(text, of, kind, form.prefs)
                value["spread"] = _tidied(spread * (100.0 if kind == "fraction" else 1.0))
        except UnitError as problem:
            raise PhraseError(f"spread: {problem}") from problem
        form.understood.append(f"{value['of']} ± {figures(value['spread'])} {value['unit']}")

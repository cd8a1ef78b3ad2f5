"""The registry is whole: each calculator and input has its help, each example runs, and none needs a clock or a file."""

from __future__ import annotations

import json
import shlex

import pytest

from bathkeeper.calculators.given import Given
from bathkeeper.calculators.model import CalcError, Calculator
from bathkeeper.calculators.registry import CALCULATORS, ask, calculator, command_line
from bathkeeper.catalogue.loader import load
from bathkeeper.units.door import KINDS, Preferences

ASKED_FOR = {
    "area": "area_dm2 low high each_cm2", "current": "current_a density_a_dm2",
    "deposit": "charge_ah current_a minutes mass_g thickness_um efficiency",
    "add": "amount_g brings", "dilute": "swap_l fraction",
    "titrate": "concentration_g_l factor_g_l_per_ml spread_g_l", "density": "sg baume concentration_g_l",
    "jar": "equivalents amount_ml amount_g", "hull": "density_a_dm2", "rinse": "ratio water_per_drag_in concentration_g_l",
    "anodes": "net_bath_g deposit_g anode_loss_g acid_mol balance_share", "neutralise": "equivalents base_g co2_l heat_kj",
    "bake": "needed hours temperature_c start_within_h", "hydrogen": "litres_25c air_m3_for_1_percent", "convert": "value",
    "thread": "fits largest_um",
}  # fmt: skip

every = pytest.mark.parametrize("one", CALCULATORS.values(), ids=lambda c: c.name)


def test_all_are_there_with_their_keys() -> None:
    assert set(CALCULATORS) == set(ASKED_FOR)
    for name, keys in ASKED_FOR.items():
        assert set(keys.split()) <= set(CALCULATORS[name].keys), name


@every
def test_has_its_words(one: Calculator) -> None:
    assert one.title and one.help.endswith(".") and one.examples
    names = [i.name for i in one.inputs]
    assert len(set(names)) == len(names)
    for i in one.inputs:
        assert i.label and i.example and i.help.rstrip().endswith("."), i.name
        assert not (i.required and i.default), i.name
        kinds = (i.kind,) if isinstance(i.kind, str) else i.kind
        assert all(k in KINDS or k in ("number", "count", "text", "choice", "metal density") for k in kinds), i.name
        assert i.kind != "choice" or i.choices


@every
def test_examples_run_as_they_stand(one: Calculator) -> None:
    for example in one.examples:
        found = ask(one, example)
        assert any(v is not None for v in found.values.values())
        assert found.lines and found.formula and found.sources and found.inputs_understood
        assert set(found.values) == set(one.keys)
        json.dumps(found.values, allow_nan=False)


@every
def test_each_input_s_own_example_can_be_read(one: Calculator) -> None:
    for i in one.inputs:
        for text in (i.example, i.default):
            if text and i.kind not in ("text", "choice"):
                assert Given(one, {i.name: text}, Preferences(), load()).value(i.name) >= 0.0, i.name
            elif text:
                assert Given(one, {i.name: text}, Preferences(), load()).text(i.name) == text


def test_unknown_names_are_told_what_there_is() -> None:
    with pytest.raises(CalcError, match="did you mean dilute"):
        calculator("dilut")
    with pytest.raises(CalcError, match="there are area, current"):
        calculator("zzz")


@every
def test_command_lines_can_be_pasted(one: Calculator) -> None:
    for example in one.examples:
        words = shlex.split(command_line(one, example))
        assert words[:3] == ["bathkeeper", "calc", one.name]
        flat = [t for text in example.values() for t in ((text,) if isinstance(text, str) else text)]
        assert [w for w in words[3:] if not w.startswith("--")] == flat


def test_asking_twice_says_the_same() -> None:
    for one in CALCULATORS.values():
        assert ask(one, one.examples[0]) == ask(one, one.examples[0])

"""Whatever is typed into whatever input: an answer of finite numbers, or one sentence; never anything else."""

from __future__ import annotations

import json

from hypothesis import given, settings
from hypothesis import strategies as st

from bathkeeper.calculators.model import CalcError
from bathkeeper.calculators.registry import CALCULATORS, ask
from bathkeeper.units.numerals import Preferences

POOL = sorted(
    {i.example for c in CALCULATORS.values() for i in c.inputs}
    | {t for c in CALCULATORS.values() for e in c.examples for v in e.values() for t in ((v,) if isinstance(v, str) else v)}
    | {"0", "-1", "1e15 g", "1e-15 L", "999999 A", "1e5 min", "100%", "0.0001%", "1 gal", "1 oz", "1,500 L", "nan", "inf", "",
       "tin(IV)", "hydrochloric acid", "zinc 0.1M", "sodium bisulfate 100g/L", "12.9", "ISO 4042", "yes", "M36x1000 bolt"}
)  # fmt: skip


@st.composite
def questions(draw: st.DrawFn) -> tuple[str, dict[str, str | tuple[str, ...]]]:
    """A calculator with one of its examples, some inputs put in, taken out or overwritten."""
    one = draw(st.sampled_from(list(CALCULATORS.values())))
    texts: dict[str, str | tuple[str, ...]] = dict(draw(st.sampled_from(one.examples)))
    for name in draw(st.lists(st.sampled_from([i.name for i in one.inputs]), max_size=4)):
        text = draw(st.one_of(st.sampled_from(POOL), st.text(max_size=30), st.none()))
        if text is None:
            texts.pop(name, None)
        else:
            texts[name] = text
    return one.name, texts


@settings(max_examples=400, deadline=None)
@given(questions(), st.sampled_from([None, "us", "imperial"]), st.sampled_from([None, True, False]))
def test_an_answer_or_a_sentence(
    question: tuple[str, dict[str, str | tuple[str, ...]]], gallon: None, comma: bool | None
) -> None:
    name, texts = question
    try:
        found = ask(CALCULATORS[name], texts, Preferences(gallon=gallon, decimal_comma=comma))
    except CalcError as problem:
        said = str(problem)
        assert said and "\n" not in said and len(said) < 1500
        assert said.isprintable()
    else:
        json.dumps(found.values, allow_nan=False)
        assert found.lines or found.open
        assert all(line.isprintable() for line in (*found.lines, *found.inputs_understood, *found.cautions))

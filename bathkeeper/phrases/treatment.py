"""Treatments in words: carbon, peroxide, zinc dust, a dummy, a filter, a bake."""

from __future__ import annotations

from typing import Any

from bathkeeper.phrases.loads import one_load
from bathkeeper.phrases.plans import does_a_step
from bathkeeper.phrases.solution import item
from bathkeeper.phrases.words import Form, PhraseError, a_name, option

TREATMENT = 'treatment electrolyte carbon "activated carbon=40 g"'


def compose_treatment(form: Form, words: list[str]) -> None:
    """``electrolyte dummy charge=5Ah``, ``electrolyte carbon "activated carbon=40 g" mass=60g to=drum-5``, ``run=ID bake
    time=8h temperature=200C``. Raises PhraseError."""
    if words and (option(words[0]) is None or form.names_tank(words[0])):
        form.leading_tank(words, TREATMENT)
    items: list[dict[str, Any]] = []
    for word in words:
        key, text = option(word, last=True) or (word, "")
        if not option(word, last=True):
            form.fields["what"] = a_name("what", word)
            form.understood.append(word)
        elif key == "run":
            form.fields["run"] = one_load(form, key, text)
        elif key == "what":
            form.fields["what"] = a_name("what", text)
        elif key == "charge":
            form.put("charge_ah", key, text, "charge")
        elif key in ("time", "minutes"):
            form.put("minutes", key, text, "time")
        elif key == "temperature":
            form.put("temperature_c", key, text, "temperature")
        elif key == "mass":
            form.put("mass_g", key, text, "mass")
        elif key == "to":
            form.fields["to"] = a_name("to", text)
            form.understood.append(f"spent mass to {text}")
        elif not (form.common(key, text) or does_a_step(form, key, text)):
            items.append(item(form, form.vocabulary.reagent(key), key, text))
    if items:
        form.fields["items"] = items
    if form.start is None and "what" not in form.fields:
        raise PhraseError(f"a treatment: what was done? Write for example {TREATMENT}")

"""Which step of which accepted plan an entry does, in words: ``plan=ID step=2``."""

from __future__ import annotations

from bathkeeper.phrases.words import Form, PhraseError, not_empty
from bathkeeper.refusals import shorten
from bathkeeper.units.door import UnitError, number


def does_a_step(form: Form, key: str, text: str) -> bool:
    """Takes ``plan=`` (the id of an accepted plan, or its end) and ``step=``. Raises PhraseError."""
    if key == "plan":
        form.fields["plan"] = not_empty(key, text)
    elif key == "step":
        try:
            value = number(not_empty(key, text), form.prefs)
        except UnitError as problem:
            raise PhraseError(f"step: {problem}") from problem
        if value < 1 or value != int(value):
            raise PhraseError(f"step: `{shorten(text)}` is no step of a plan; write its number, for example step=2")
        form.fields["step"] = int(value)
    else:
        return False
    form.understood.append(f"{key} {text.strip()}")
    return True

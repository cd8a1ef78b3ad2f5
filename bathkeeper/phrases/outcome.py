"""What became of a run, in words: result, defect, rejects, photos; said with the run itself or by a later remark."""

from __future__ import annotations

from pathlib import PureWindowsPath

from bathkeeper.catalogue.defects import canonical, load_defects
from bathkeeper.phrases.words import Form, PhraseError, a_name, near, not_empty
from bathkeeper.refusals import shorten
from bathkeeper.units.door import UnitError, number

OUTCOME_KEYS = ("result", "defect", "rejects", "photo")


def outcome(form: Form, key: str, text: str) -> bool:
    """Takes ``result=good``, ``defect=dull``, ``rejects=2`` or ``photo=IMG_0412.jpg`` (several: by commas, or said again).

    A defect may be any of the catalogue's words for it; one of the keeper's own is kept as written and said to be unknown.

    Raises:
        PhraseError: what was wrong, and what would be right.
    """
    if key == "result":
        form.say("result", key, text)
    elif key == "defect":
        _defect(form, text)
    elif key == "rejects":
        form.fields["rejects"] = _pieces(form, text)
        form.understood.append(f"rejects: {form.fields['rejects']}")
        form.typed[key] = text
    elif key in ("photo", "photos"):
        _photos(form, text)
    else:
        return False
    return True


def _defect(form: Form, text: str) -> None:
    word = a_name("defect", not_empty("defect", text))
    name = canonical(word)
    known = load_defects().get(name)
    form.fields["defect"] = known.name if known is not None else word
    form.typed["defect"] = text
    if known is not None:
        form.understood.append(f"defect: {known.title}")
    else:
        words = [w for d in load_defects().values() for w in (d.name, *d.aliases)]
        guess = near(word, words)
        hint = guess if guess.startswith("; did") else ""
        form.understood.append(f"defect: {word} (a word of your own, not in the catalogue of defects{hint})")


def _pieces(form: Form, text: str) -> int:
    try:
        count = number(not_empty("rejects", text), form.prefs)
    except UnitError as problem:
        raise PhraseError(f"rejects: {problem}") from problem
    if count < 0 or count != int(count):
        raise PhraseError(f"rejects: `{shorten(text)}` is not a whole number from 0 up; write for example rejects=2")
    return int(count)


def _photos(form: Form, text: str) -> None:
    """File names only: a book does not hold pictures, and a folder of this machine means nothing on another."""
    names = list(form.fields.get("photos", ()))
    for word in (w.strip() for w in not_empty("photo", text).split(",")):
        name = PureWindowsPath(word).name  # takes both kinds of slash
        if not name:
            raise PhraseError(f"photo: `{shorten(text)}` has no file name; write for example photo=IMG_0412.jpg")
        if name not in names:
            names.append(a_name("photo", name))
    form.fields["photos"] = names
    form.typed["photo"] = ", ".join(names)
    form.understood.append(f"photo {', '.join(names)}" + (" (kept by its file name)" if "/" in text or "\\" in text else ""))

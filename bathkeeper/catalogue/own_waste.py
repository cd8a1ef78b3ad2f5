"""What the local authority told this keeper about waste: a consent, a permit, an allowance. It wins over any rule set."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date
from typing import Annotated, Any, Literal

import msgspec
from msgspec import Meta

Positive = Annotated[float, Meta(gt=0, le=1e9)]
NotNegative = Annotated[float, Meta(ge=0, le=1e9)]


EXAMPLES: dict[str, str] = {
    "allowance": """definition "waste limit" council 'what="allowance"' 'volume_l=5' 'per_days=30' 'authority="the council"'""",
    "storage": """definition "waste limit" lease 'what="storage"' 'days=180' 'reference="lease"'""",
    "discharge": (
        """definition "waste limit" zinc 'what="discharge"' 'of="zinc"' 'mg_l=5' 'reference="consent 12"' """
        """'authority="the water company"'"""
    ),
    "elsewhere": """definition "waste limit" lock-up 'what="elsewhere"' 'containers=["drum-1"]' 'since="2027-05-01"'""",
    "far": """definition "waste limit" road 'what="far"' 'about="the contractor lies 400 km away"'""",
}
"""A limit of each kind as it is logged."""
TELLS = {"volume_l": "allowance", "mass_kg": "allowance", "days": "storage", "of": "discharge", "mg_l": "discharge",
         "low": "discharge", "high": "discharge", "since": "elsewhere"}  # fmt: skip
"""By which field a limit shows what kind it is, where it does not say so."""
NAMES = {
    "allowance": "an allowance", "storage": "a storage limit", "discharge": "a discharge limit",
    "elsewhere": "waste that stands elsewhere", "far": "waste that travels far",
}  # fmt: skip
"""How each kind is called in a sentence."""


class WasteLimit(msgspec.Struct, frozen=True, kw_only=True, forbid_unknown_fields=True, omit_defaults=True):
    """One local limit.

    ``allowance``: how much is taken, ``volume_l`` or ``mass_kg`` in ``per_days`` (a month when not told). ``storage``: ``days``
    that waste may stand. ``discharge``: mg/L (or pH ``low``/``high``) of ``of`` in the paper ``reference``, to compare with.
    ``elsewhere``: the ``containers`` stand at another place of yours than where the waste was made, from the day ``since``
    (``2027-05-01``) if told. ``far``: whoever takes it lies 200 miles (322 km) or more away. These two choose among the limits
    of the rule set. ``containers``: those that it is about, all when none is named. ``reference`` and ``authority`` say whose
    word it is.
    """

    what: Literal["allowance", "storage", "discharge", "elsewhere", "far"]
    authority: str = ""
    reference: str = ""
    volume_l: Positive | None = None
    mass_kg: Positive | None = None
    per_days: Positive = 30.0
    days: Positive | None = None
    of: str = ""
    mg_l: NotNegative | None = None
    low: NotNegative | None = None
    high: NotNegative | None = None
    since: str = ""
    containers: tuple[str, ...] = ()
    about: str = ""

    def __post_init__(self) -> None:
        if missing := wanting(msgspec.structs.asdict(self)):
            raise ValueError(missing)
        if self.what == "allowance" and self.volume_l is not None and self.mass_kg is not None:
            raise ValueError("an allowance is in litres or in kilograms: give either volume_l or mass_kg")
        if self.since:
            _a_day(self.since, self.what)
        if self.what == "discharge":
            if self.of.casefold() == "ph":
                if self.mg_l is not None:
                    raise ValueError("a pH limit has `low` or `high`, not mg_l")
            elif self.low is not None or self.high is not None:
                raise ValueError(f"a discharge limit of {self.of} needs mg_l; `low` and `high` are those of a pH")

    @property
    def since_day(self) -> date | None:
        """The day on which the containers came to the other place; None where it is not told."""
        return date.fromisoformat(self.since) if self.since else None


def wanting(told: Mapping[str, Any]) -> str:
    """What a limit still has to say, all of it in one sentence; empty where nothing is wanting."""
    given = {name for name, value in told.items() if value not in (None, "", ())}
    what = told.get("what") or next((kind for name, kind in TELLS.items() if name in given), "")
    missing = [] if "what" in given else [f"`what`{f' ({what}, by what stands there)' if what else ''}"]
    if what == "allowance" and not given & {"volume_l", "mass_kg"}:
        missing.append("volume_l or mass_kg")
    if what == "storage" and "days" not in given:
        missing.append("the days that waste may stand (`days`)")
    if what == "discharge":
        missing += ["`of` (such as zinc or ph)"] if "of" not in given else []
        acid = str(told.get("of") or "").casefold() == "ph" or ("of" not in given and bool(given & {"low", "high"}))
        if acid and not given & {"low", "high", "mg_l"}:
            missing.append("`low` or `high`")
        elif not acid and not given & {"mg_l", "low", "high"}:
            missing.append("mg_l")
        missing += ["the `reference` of the paper that sets it"] if "reference" not in given else []
    if not missing:
        return ""
    name = NAMES.get(str(what), "a waste limit")
    kinds = "" if what else f" (one of {', '.join(EXAMPLES)})"
    return f"{name} needs {_listed(missing)}{kinds}; write for example {EXAMPLES.get(str(what), EXAMPLES['allowance'])}"


def _listed(parts: list[str]) -> str:
    return " and ".join([", ".join(parts[:-1]), parts[-1]] if len(parts) > 1 else parts)


def _a_day(text: str, what: str) -> None:
    if what != "elsewhere":
        raise ValueError('since belongs to what = "elsewhere": the day on which the containers came there')
    try:
        date.fromisoformat(text)
    except ValueError:
        raise ValueError("since is a day such as 2027-05-01") from None

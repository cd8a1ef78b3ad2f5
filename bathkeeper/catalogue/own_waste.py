"""What the local authority told this keeper about waste: a consent, a permit, an allowance. It wins over any rule set."""

from __future__ import annotations

from datetime import date
from typing import Annotated, Literal

import msgspec
from msgspec import Meta

Positive = Annotated[float, Meta(gt=0, le=1e9)]
NotNegative = Annotated[float, Meta(ge=0, le=1e9)]


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
        if self.what == "allowance" and (self.volume_l is None) == (self.mass_kg is None):
            raise ValueError("an allowance needs either volume_l or mass_kg, for example volume_l = 5 with per_days = 30")
        if self.what == "storage" and self.days is None:
            raise ValueError("a storage limit needs the days that waste may stand, for example days = 180")
        if self.since:
            _a_day(self.since, self.what)
        if self.what == "discharge":
            if not self.of or not self.reference:
                raise ValueError("a discharge limit needs `of` (such as zinc or ph) and the `reference` that sets it")
            if self.of.casefold() == "ph":
                if self.mg_l is not None or (self.low is None and self.high is None):
                    raise ValueError("a pH limit has `low` or `high`, not mg_l")
            elif self.mg_l is None or self.low is not None or self.high is not None:
                raise ValueError(f"a discharge limit of {self.of} needs mg_l")

    @property
    def since_day(self) -> date | None:
        """The day on which the containers came to the other place; None where it is not told."""
        return date.fromisoformat(self.since) if self.since else None


def _a_day(text: str, what: str) -> None:
    if what != "elsewhere":
        raise ValueError('since belongs to what = "elsewhere": the day on which the containers came there')
    try:
        date.fromisoformat(text)
    except ValueError:
        raise ValueError("since is a day such as 2027-05-01") from None

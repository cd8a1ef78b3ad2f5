"""What is done to a container of waste: opened, filled with solids, moved, checked, labelled, tested, treated, handed over.

Solution gets into a container by a removal that names it in ``to``; a container need not be opened before.
"""

from __future__ import annotations

from typing import Annotated

import msgspec
from msgspec import Meta

from bathkeeper.entries.base import Entry
from bathkeeper.entries.pieces import Item, Value
from bathkeeper.entries.words import RESERVED_PLACES, ContainerAction, Moment, Name, Positive, WasteKind, Words

BELONGS: dict[str, tuple[ContainerAction, ...]] = {
    "what": ("opened", "put in"),
    "form": ("opened",),
    "size_l": ("opened",),
    "place": ("opened",),
    "volume_l": ("opened", "put in", "moved", "treated", "handed over"),
    "mass_kg": ("opened", "put in", "moved", "handed over"),
    "pieces": ("put in",),
    "why": ("opened", "put in", "handed over"),
    "physical_form": ("opened", "put in", "tested", "handed over"),
    "colour": ("opened", "put in", "tested", "handed over"),
    "tank": ("put in",),
    "all": ("moved", "handed over"),
    "to": ("moved", "handed over"),
    "consent": ("moved",),
    "lid": ("checked",),
    "label": ("checked",),
    "tray": ("checked",),
    "sound": ("checked",),
    "codes": ("labelled", "handed over"),
    "hazards": ("labelled", "handed over"),
    "values": ("tested",),
    "by_lab": ("tested",),
    "treatment": ("treated",),
    "items": ("treated", "put in"),
    "papers": ("handed over",),
    "reference": ("handed over",),
    "receipt": ("handed over",),
    "of": ("handed over",),
}
"""Which field belongs to which action; any other is refused."""


class Papers(msgspec.Struct, frozen=True, kw_only=True, forbid_unknown_fields=True, omit_defaults=True):
    """What papers of a hand-over ask beside the contents: who carried it by which registration, where it went under which
    permit and recovery or disposal code, its transport particulars, and whether the load was refused."""

    carrier: Words | None = None
    carrier_registration: Words | None = None
    vehicle: Words | None = None
    destination: Words | None = None
    permit: Words | None = None
    treatment_code: Words | None = None
    un_number: Words | None = None
    shipping_name: Words | None = None
    transport_class: Words | None = None
    packing_group: Words | None = None
    pops: bool | None = None
    hierarchy: bool | None = None
    weighed: bool | None = None
    signed_by: Words | None = None
    received_by: Words | None = None
    refused: Words | None = None


class Container(Entry, frozen=True, kw_only=True, tag="container"):
    """One thing done to a container of waste.

    ``opened``: what it is (``form``, ``size_l``, ``place``) and, of old waste, what is in it already. ``put in``: solids or
    liquid that came by no removal (rags, a filter, sludge, empty packaging), from a ``tank`` if named; left-over chemicals by
    their names (``items``), of which the catalogue may know nothing. ``moved``: some or
    ``all`` of it ``to`` another container, a tank, or a reserved place. ``checked``: lid closed, label on, standing in a tray,
    sound. ``tested``: readings. ``treated``: what was done, with what was put in (``items``) and ``volume_l`` of water driven
    off. ``why``: why it became waste; ``physical_form`` (liquid, sludge, powder ...) and ``colour``: how the waste itself
    looks, where ``form`` is the vessel's.

    ``handed over``: to someone allowed to take it, with the paper's ``reference``; ``receipt`` once it has come, or
    ``papers.refused`` where the load was refused. Both may come later by an entry of its own with no amount, which names the
    hand-over by its reference, by its entry (``of``), or by the container alone where one waits there.
    """

    container: Name
    action: ContainerAction
    what: WasteKind | None = None
    form: Name | None = None
    size_l: Positive | None = None
    place: Name | None = None
    volume_l: Positive | None = None
    mass_kg: Positive | None = None
    spread: Positive | None = None
    all: bool = False
    pieces: Annotated[int, Meta(ge=1, le=100_000)] | None = None
    why: Words | None = None
    physical_form: Name | None = None
    colour: Name | None = None
    tank: Name | None = None
    to: Name | None = None
    consent: Name | None = None
    lid: bool | None = None
    label: bool | None = None
    tray: bool | None = None
    sound: bool | None = None
    codes: tuple[Name, ...] = ()
    hazards: tuple[Name, ...] = ()
    values: tuple[Value, ...] = ()
    by_lab: Name | None = None
    treatment: Name | None = None
    items: tuple[Item, ...] = ()
    papers: Papers | None = None
    reference: Name | None = None
    receipt: Name | None = None
    receipt_at: Moment | None = None
    of: Name | None = None

    @property
    def hands_over(self) -> bool:
        """Whether it hands something over itself, and is no receipt or refusal of an earlier hand-over."""
        return self.action == "handed over" and (self.all or self.volume_l is not None or self.mass_kg is not None)

    def __post_init__(self) -> None:
        Entry.__post_init__(self)
        if self.container in RESERVED_PLACES:
            raise ValueError(f"`{self.container}` is a reserved place ({', '.join(RESERVED_PLACES)}); give another name")
        for name, actions in BELONGS.items():
            told = getattr(self, name)
            if told is not None and told != () and (name, told) != ("all", False) and self.action not in actions:
                raise ValueError(f"{name} does not belong to `{self.action}`; it belongs to {' or '.join(actions)}")
        _CHECKS.get(self.action, _nothing)(self)


def _nothing(_: Container) -> None:
    pass


def _opened(entry: Container) -> None:
    if (entry.why or entry.physical_form or entry.colour) and entry.volume_l is None and entry.mass_kg is None:
        raise ValueError("why, physical_form and colour tell of what is in it already: say how much, for example volume=20L")


def _put_in(entry: Container) -> None:
    if entry.what is None:
        raise ValueError("say what was put in, for example what=rags")
    amounts = entry.volume_l is not None or entry.mass_kg is not None or entry.pieces is not None
    if not amounts and not entry.items:
        raise ValueError("say how much was put in, for example mass=1.2kg, volume=5L or pieces=3")
    if amounts and entry.items:
        raise ValueError("say how much in one way: by the name of each chemical, or volume, mass and pieces of all")


def _moved(entry: Container) -> None:
    if entry.to is None:
        raise ValueError("say where it was moved to, for example to=drum-2")
    if entry.to == entry.container:
        raise ValueError("a container cannot be emptied into itself")
    if entry.to == "sewer" and not entry.consent:
        raise ValueError("to the sewer only with the reference of the consent that allows it (`consent`)")
    _one_amount(entry)


def _one_amount(entry: Container) -> None:
    given = [entry.all, entry.volume_l is not None, entry.mass_kg is not None]
    if sum(given) != 1:
        raise ValueError("say how much in one way: all, volume or mass")


def _checked(entry: Container) -> None:
    if all(v is None for v in (entry.lid, entry.label, entry.tray, entry.sound)):
        raise ValueError("say what was checked: lid=yes, label=yes, tray=yes or sound=yes")


def _tested(entry: Container) -> None:
    if not entry.values:
        raise ValueError("a test needs at least one value, for example pH=1.5 or nickel=110mg/L")


def _treated(entry: Container) -> None:
    if entry.treatment is None:
        raise ValueError("say what was done, for example treatment=neutralised")


def _handed_over(entry: Container) -> None:
    later = entry.receipt is not None or (entry.papers is not None and entry.papers.refused is not None)
    if not entry.hands_over and not later:
        raise ValueError(
            "say how much was handed over: all, volume or mass; or receipt= (or refused=) for what came later of an earlier one"
        )
    if entry.hands_over and entry.of is not None:
        raise ValueError("of= names the hand-over that a receipt or a refusal is for; a hand-over itself does without")
    if entry.hands_over and entry.to is None:
        raise ValueError("say to whom it was handed over, for example to=\"county collection point\"")
    if entry.all and (entry.volume_l is not None):
        raise ValueError("say how much in one way: all or volume; mass is what the scale said")


_CHECKS = {
    "opened": _opened,
    "put in": _put_in,
    "moved": _moved,
    "checked": _checked,
    "tested": _tested,
    "treated": _treated,
    "handed over": _handed_over,
}

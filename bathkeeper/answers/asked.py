"""Everything that is asked about an entry of waste before it is written."""

from __future__ import annotations

from collections.abc import Sequence

from bathkeeper.answers.allowing import allowance_doubts
from bathkeeper.answers.coding import code_doubts
from bathkeeper.answers.consenting import consent_doubts
from bathkeeper.answers.filling import filling_doubts
from bathkeeper.answers.handing import handing_doubts, papers_shaken
from bathkeeper.answers.limiting import limit_doubts
from bathkeeper.answers.mixing import mixing_doubts
from bathkeeper.answers.placing import place_doubts
from bathkeeper.answers.tested import ph_doubts
from bathkeeper.entries import AnyEntry, Unknown
from bathkeeper.estimate.fold import Fold, at_moment
from bathkeeper.estimate.world import World, first_descriptions

Entries = Sequence[AnyEntry | Unknown]
ASKED = (filling_doubts, ph_doubts, allowance_doubts, code_doubts, consent_doubts, limit_doubts, place_doubts)


def waste_doubts(entry: AnyEntry, world: World, latest: World) -> list[str]:
    """What is unlikely or dangerous about it; ``world`` stands at its moment, without it; ``latest`` after the last entry.

    Raises:
        NotFound: it is a receipt or a refusal of a hand-over that there is not.
    """
    return [
        *mixing_doubts(entry, world),
        *handing_doubts(entry, world, latest),
        *(doubt for asked in ASKED for doubt in asked(entry, world)),
    ]


def before(fold: Fold, others: Entries, entry: AnyEntry) -> World:
    """The workshop at an entry's moment from the others before it, in their order: as it was for an entry that is put right.

    The ``fold`` stands there afterwards."""
    past = [e for e in others if (e.at, e.id) < entry.order]
    return at_moment(fold.take(past, first_descriptions(others)), entry.at)


def papers_shaken_by(fold: Fold, mended: str, others: Entries, instead: AnyEntry | None, world: World) -> list[str]:
    """What a correction changes in hand-overs of which somebody else holds a paper.

    ``mended``: the id of the entry that it withdraws or puts ``instead`` in its place; ``others``: all that stay; ``world``:
    the workshop as it stands. The ``fold`` stands behind the correction afterwards.
    """
    if not any(c.handed for c in world.containers.values()):
        return []
    entries = sorted([*others, *([instead] if instead is not None else [])], key=lambda e: (e.at, e.id))
    return papers_shaken(world, fold.take(entries), mended)

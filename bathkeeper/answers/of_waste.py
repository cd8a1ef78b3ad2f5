"""Everything that is asked before an entry about waste is written."""

from __future__ import annotations

from bathkeeper.answers.allowing import allowance_doubts
from bathkeeper.answers.coding import code_doubts
from bathkeeper.answers.consenting import consent_doubts
from bathkeeper.answers.filling import filling_doubts
from bathkeeper.answers.limiting import limit_doubts
from bathkeeper.answers.mixing import mixing_doubts
from bathkeeper.answers.placing import place_doubts
from bathkeeper.answers.tested import ph_doubts
from bathkeeper.entries import AnyEntry
from bathkeeper.estimate.world import World

ASKED = (
    mixing_doubts, filling_doubts, ph_doubts, allowance_doubts, code_doubts, consent_doubts, limit_doubts, place_doubts,
)  # fmt: skip


def waste_doubts(entry: AnyEntry, world: World) -> list[str]:
    """Clauses about what can be but hardly is; ``world`` stands at the moment of the entry, before it."""
    return [doubt for asked in ASKED for doubt in asked(entry, world)]

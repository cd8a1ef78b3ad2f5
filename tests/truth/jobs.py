"""The invented jobs, remarks and verdicts of Lantern Sluice Bench."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Any


@dataclass(frozen=True)
class Job:
    """A basket of like parts; ``area_dm2`` is the true middle of all of them together."""

    description: str
    count: int
    area_dm2: float
    pickle_min: float = 8.0
    rusty: bool = True
    fields: dict[str, Any] = field(default_factory=dict)


JOBS: tuple[Job, ...] = (
    Job("boat-shed door hinges", 4, 4.6),
    Job("garden-gate latches", 6, 3.8),
    Job("garden-gate strap hinges", 2, 5.2, pickle_min=10.0),
    Job("rowlock sockets", 8, 4.1),
    Job("mooring cleats, small", 6, 4.4),
    Job("sluice rack pawls", 4, 4.8, pickle_min=10.0),
    Job("lantern brackets", 3, 5.0),
    Job("loom heddle-bar hooks", 24, 3.6, pickle_min=7.0),
    Job("loom warp-beam ratchets", 2, 4.9),
    Job("loom tension weights hangers", 12, 3.5),
    Job("window stays and pins", 10, 3.9),
    Job("coach bolts M10 x 80", 18, 4.2, pickle_min=6.0, rusty=False),
    Job("hex bolts M8 x 30 with nuts", 24, 4.3, pickle_min=6.0, rusty=False),
    Job("washers M8 and M10", 90, 3.4, pickle_min=6.0, rusty=False),
    Job("slipway roller pins", 5, 4.0, fields={"property_class": "8.8"}),
    Job("shed-door bolts and keeps", 5, 4.7),
    Job("trellis anchors", 7, 4.5),
    Job("bench vice screws", 2, 3.7, rusty=False),
    Job("turnbuckles, awning", 6, 4.3),
    Job("cradle tie bolts M12", 6, 3.9, pickle_min=5.0, rusty=False, fields={"property_class": "10.9"}),
)

STRIPPED_RUNS = (56, 78, 118)

RESULTS = {
    12: "good",
    27: "thin in the corners",
    41: "good, even",
    55: "dull band at the top, stripped and done again",
    77: "blisters on two, stripped and done again",
    90: "good",
    104: "good after the new pickle",
    117: "patchy, stripped and done again",
    131: "colour a little pale",
}

REMARKS: dict[int, tuple[tuple[str, dict[str, Any]], ...]] = {
    6: (("Colour comes up evenly, iridescent yellow-green. Pleased.", {"tank": "passivate"}),),
    13: (("Oily film skimmed off with a paper towel.", {"tank": "degreaser"}),),
    20: (("Corners come out thin; next basket hung further apart.", {"tank": "electrolyte", "defect": "thin in recesses"}),),
    33: (("Filter cartridge rinsed, a spoonful of black sludge.", {"tank": "electrolyte"}),),
    47: (("Rust flakes on the bottom, siphoned off when next changed.", {"tank": "rust-removal"}),),
    52: (("Water beads on the second basket: wiped and dipped again.", {"tank": "degreaser", "defect": "water break"}),),
    61: (("A dull band along the top edge of the latches.", {"tank": "electrolyte", "defect": "dull"}),),
    92: (("Black film on the zinc brushed off before weighing.", {"tank": "electrolyte"}),),
    99: (("Small blisters on two sockets, both from the rustiest box.", {"tank": "electrolyte", "defect": "blisters"}),),
    108: (("Pickle takes clearly longer than in May.", {"tank": "pickle"}),),
    114: (("New pickle bites at once.", {"tank": "pickle"}),),
    121: (("Fresh passivate: colour back in forty seconds.", {"tank": "passivate"}),),
    131: (("Nickel cannot have doubled overnight; will titrate again next time.", {"tank": "electrolyte"}),),
    144: (("Burnt edges on the tie bolts, current set for a bigger basket.", {"tank": "electrolyte", "defect": "burnt"}),),
    158: (("Patchy colour after a long wait on the hook.", {"tank": "passivate", "defect": "patchy passivate"}),),
    170: (("Rinse 3 is faintly green.", {"tank": "rinse-3"}),),
    181: (("Tidied for winter; floor drain plugged, drums labelled.", {}),),
}

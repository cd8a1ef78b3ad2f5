"""Whether a coating fits on a bolt's thread; the safety room has the table, this asks it."""

from __future__ import annotations

from bathkeeper.calculators.given import Given
from bathkeeper.calculators.model import Answer, Calculator, Input
from bathkeeper.safety.threads import fit
from bathkeeper.units.door import figures


def _thread(given: Given) -> Answer:
    said = fit(given.text("thread"), given.text("position"), given.value("thickness"), given.value("length"))
    word = {True: "yes", False: "no", None: "not told by the table"}[said.fits]
    largest = f"at most {figures(said.largest_um)} \u00b5m by the table" if said.largest_um is not None else "no thickness fits"
    return Answer(
        values={"fits": said.fits, "largest_um": said.largest_um, "room_um": said.room_um, "why": said.why},
        lines=(f"fits: {word}", largest, said.why),
        formula="a thickness t on both flanks of a 60 degree thread takes 4 t of its clearance; 5 t and 6 t on longer threads",
        sources=(said.source,),
        cautions=("Coating is uneven: try a nut before the whole load.",),
    )


THREAD = Calculator(
    name="thread",
    title="Thread fit",
    help="Whether a coating thickness fits on an uncoated metric bolt thread, by the table of ISO 4042.",
    inputs=(
        Input("thread", "text", "thread", "The thread; its pitch where it is fine.", "M8", positional=True, required=True),
        Input("thickness", "thickness", "thickness", "Coating thickness.", "8um", required=True),
        Input(
            "position",
            "choice",
            "tolerance position",
            "Position of the uncoated thread, as in 6g.",
            "e",
            default="g",
            choices=("g", "f", "e"),
        ),
        Input("length", "number", "length", "Threaded length in diameters.", "8", default="5"),
    ),
    answer=_thread,
    keys={
        "fits": "whether it fits by the table",
        "largest_um": "thickest coating that fits, in \u00b5m",
        "room_um": "the thread's deviation, in \u00b5m",
        "why": "in words",
    },
    examples=({"thread": "M8", "thickness": "8um"}, {"thread": "M10", "thickness": "8um"}),
)

"""What a named rule says of the relief bake of a plated part; the safety room knows the rules, this asks it."""

from __future__ import annotations

from bathkeeper.calculators.given import Given
from bathkeeper.calculators.model import Answer, CalcError, Calculator, Input, Value
from bathkeeper.safety import embrittlement
from bathkeeper.units.door import figures

NEEDED: dict[str, bool | None] = {"yes": True, "no": False, "verify": None, "no verdict": None}
WORDS = {
    "yes": "needed",
    "no": "not asked for",
    "verify": "left to verification by whoever named the rule",
    "no verdict": "no verdict from us",
}
ASKED_BY = ("strength", "class", "hardness-hv", "hardness-hrc")


def _bake(given: Given) -> Answer:
    if not given.have(*ASKED_BY):
        raise CalcError(
            "strength is missing: give the strength, the property class or the hardness of the part; for example "
            "1040MPa, or class 10.9",
            "strength",
        )
    strength = given.maybe("strength")
    property_class = given.text("class") if given.has("class") else None
    if property_class is not None:
        given.note(f"class {embrittlement.fastener_class(property_class).name}")
    said = embrittlement.bake(
        rule=given.text("rule"),
        strength_mpa=strength,
        property_class=property_class,
        hardness_hv=given.maybe("hardness-hv"),
        hardness_hrc=given.maybe("hardness-hrc"),
        thickness_mm=given.maybe("thickness"),
        in_tension=_yes(given, "in-tension"),
        safety_critical=_yes(given, "safety-critical"),
    )
    given.note(f"rule {said.edition}, {said.date}")
    span: Value = list(said.temperature_c) if said.temperature_c is not None else None
    return Answer(
        values={
            "needed": NEEDED[said.needed],
            "hours": said.hours,
            "temperature_c": span,
            "start_within_h": said.start_within_h,
            "verdict": said.needed,
            "hours_if_hardest": said.hours_if_hardest,
            "withheld": said.verdict_withheld,
            "rule": said.edition,
            "why": said.why,
        },
        lines=(
            f"bake: {WORDS[said.needed]}, by {said.edition}",
            *(() if said.hours is None else (f"at least {figures(said.hours)} h",)),
            *(
                ()
                if said.hours_if_hardest is None
                else (f"at least {figures(said.hours_if_hardest)} h if the part is as hard as its class allows",)
            ),
            *(
                ()
                if said.temperature_c is None
                else (f"at {figures(said.temperature_c[0])} to {figures(said.temperature_c[1])} °C, of the part's core",)
            ),
            *(
                ()
                if said.start_within_h is None
                else (f"started within {figures(said.start_within_h)} h of the end of plating ({said.start_status})",)
            ),
            said.why,
        ),
        formula="the row of the named rule that the strength, class or hardness falls into",
        sources=(
            f"{said.edition}, {said.status}: {said.source or 'an editable default'}",
            *((f"start of the bake, {said.start_status}: {said.start_source}",) if said.start_source else ()),
        ),
        cautions=said.cautions,
    )


def _yes(given: Given, name: str) -> bool:
    return given.text(name) == "yes"


BAKE = Calculator(
    name="bake",
    title="Relief bake",
    help="What a rule that you name says of baking a plated steel part against hydrogen embrittlement.",
    inputs=(
        Input("rule", "text", "rule", "The rule set to go by.", "ASTM B850", required=True),
        Input("strength", "strength", "strength", "Tensile strength of the steel.", "1040MPa"),
        Input("class", "text", "property class", "Property class or grade of a fastener.", "10.9"),
        Input("hardness-hv", "number", "hardness HV", "Greatest Vickers hardness, specified or measured.", "350"),
        Input("hardness-hrc", "number", "hardness HRC", "Greatest Rockwell C hardness, specified or measured.", "36"),
        Input("thickness", "length", "thickness", "Greatest cross-section; only the older ISO route goes by it.", "20mm"),
        Input(
            "in-tension",
            "choice",
            "in tension",
            "Whether the part carries tension in use.",
            "no",
            default="yes",
            choices=("yes", "no"),
        ),
        Input(
            "safety-critical",
            "choice",
            "safety-critical",
            "Brake, suspension, lifting or pressure part.",
            "yes",
            default="no",
            choices=("yes", "no"),
        ),
    ),
    answer=_bake,
    keys={
        "needed": "whether a bake is asked for; None where the rule or we do not say",
        "hours": "least hours",
        "temperature_c": "low and high in °C",
        "start_within_h": "hours from the end of plating",
        "verdict": "yes, no, verify or no verdict",
        "hours_if_hardest": "least hours if as hard as the class allows",
        "withheld": "whether we decline, whatever the rule says",
        "rule": "the edition it rests on",
        "why": "the reason in words",
    },
    examples=({"strength": "1040MPa", "rule": "ASTM B850"}, {"class": "10.9", "rule": "ASTM B850"}),
)

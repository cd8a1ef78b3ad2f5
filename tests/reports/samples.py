"""Reports of an invented workshop that the tests of this room share."""

from __future__ import annotations

import math
from datetime import UTC, date, datetime, timedelta

from bathkeeper.findings import Estimate
from bathkeeper.reports.model import (
    BandPoint,
    Caution,
    Cell,
    Chart,
    Check,
    Checklist,
    Column,
    Corrected,
    Event,
    Fact,
    Facts,
    Heading,
    Paragraph,
    Reading,
    Report,
    SignatureLine,
    Table,
)

DAY = datetime(2026, 3, 2, 8, 0, tzinfo=UTC)
HOSTILE = (
    "=1+1", "+1", "-2", "@SUM(A1)", "\t=1", "\r=1", " =1", "'=1", '"=1', "**bold** __u__ --x--", "[red]x[/red]", "<b>bold</b>",
    "{nb} pages", "(unbalanced \\ )", "\x1b[31mred", "a\x00b", "line one\nline two", "abc\u202edef", "\ud800half", "␀",
)
SCRIPTS = {
    "latin": "Säurebad Ångström œuvre", "greek": "Νικέλιο διάλυμα", "cyrillic": "Раствор цинка", "arabic": "حمام الزنك",
    "hebrew": "אמבט אבץ", "thai": "อ่างชุบสังกะสี", "devanagari": "जस्ता स्नान", "cjk": "亜鉛めっき浴", "emoji": "🔥 acid",
}


def chart(days: int = 60) -> Chart:
    """Nickel in a bath over some weeks: falling with use, put right twice, one reading set aside."""
    points, readings = [], []
    for day in range(days):
        value = 28.0 - 0.09 * day + (2.0 if day > 25 else 0) + 0.2 * math.sin(day / 3)
        half = 0.5 + 0.02 * (day % 20)
        points.append(BandPoint(DAY + timedelta(days=day), value, value - half, value + half))
        if day % 9 == 4:
            doubtful = day == 31
            measured = value + (3.0 if doubtful else 0.3 * math.cos(day))
            note = "end point overrun" if doubtful else ""
            readings.append(Reading(DAY + timedelta(days=day), measured, 0.8, doubtful, note))
    return Chart(
        name="nickel", title="Nickel in the zinc-nickel tank", unit="g/L", estimate=tuple(points), readings=tuple(readings),
        low=24, target=27, high=30, give_up_low=21, give_up_high=34,
        events=(
            Event(DAY + timedelta(days=12), "addition", "150 mL of brightener"),
            Event(DAY + timedelta(days=26), "addition", "80 g of nickel sulfate"),
            Event(DAY + timedelta(days=44), "new life", "made up anew"),
            Event(DAY + timedelta(days=50), "other", "anodes changed"),
        ),
        caption="The band holds the true value 19 times of 20, if the recipe's model holds.",
    )


def log_rows(count: int) -> tuple[tuple[Cell, ...], ...]:
    """Numbered rows of a log."""
    return tuple(
        (
            DAY + timedelta(hours=7 * n), f"row-{n:04d} rack of brackets", 12.5 + n,
            Estimate(n / 7, n / 7 - 0.4, n / 7 + 0.4, "g"),
        )
        for n in range(count)
    )


LOG = (
    Column("at", "When", kind="moment"), Column("what", "What"), Column("charge", "Charge", "Ah", "number", decimals=1),
    Column("metal", "Metal laid down", "g", "estimate"),
)


def log_table(count: int) -> Table:
    """A long table with a total."""
    return Table(name="log", title="Runs", columns=LOG, rows=log_rows(count), total=("Total", "", 12.5 * count, None))


def whole() -> Report:
    """One of every piece."""
    return Report(
        title="Bath report: zinc-nickel tank", subtitle="For the yearly look at the line", workshop="Hill Shed Plating",
        period=(DAY, DAY + timedelta(days=60)), made_at=DAY + timedelta(days=61), as_of=DAY + timedelta(days=60),
        rule_set="workshop rules of 2026-01-15",
        sections=(
            Heading("What is in the tank"),
            Paragraph("The tank was in use on 41 of 60 days. What is shown below rests on the logbook of the line."),
            Facts(
                (
                    Fact("Tank", "zinc-nickel"), Fact("Level", Estimate(38.61, 37.9, 39.3, "L")),
                    Fact("Temperature", 34.5, "degC"),
                    Fact("Made up", date(2025, 11, 3)), Fact("Last reading", DAY), Fact("Iron", None, "g/L"),
                ),
                title="State",
            ),
            chart(),
            Heading("Runs", 2),
            log_table(12),
            Checklist(
                (
                    Check("Labels on all containers", "done", "2026-03-01"), Check("Spill tray empty", "not"),
                    Check("Extraction tested", "unknown"),
                ),
                title="On the day",
            ),
            Caution("Nickel salts can cause allergy by skin contact: gloves.", "common practice"),
            Corrected(
                entry="01JAB", at=DAY, logged="Added 1500 mL of brightener", stands="Added 150 mL of brightener",
                corrected_at=DAY + timedelta(days=1), by="the keeper", reason="a slip of the pen",
            ),
            SignatureLine("Handed over by", "Robin Fell"), SignatureLine("Received by"),
        ),
        notes=("Limits are set by the local authority; ask them, or a licensed contractor, before anything leaves the shed.",),
    )


def of(*pieces: object, title: str = "Report") -> Report:
    """A report of some pieces."""
    return Report(title=title, made_at=DAY, as_of=DAY, sections=pieces)  # type: ignore[arg-type]

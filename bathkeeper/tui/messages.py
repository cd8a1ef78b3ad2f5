"""Every message of the app's own: workers compute, these carry, handlers change the screen."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from textual.message import Message

from bathkeeper.answers.matrix import Grid
from bathkeeper.calculators.model import Answer, CalcError
from bathkeeper.catalogue.loader import Catalogue
from bathkeeper.counsel.dangers import Dangers
from bathkeeper.findings import Because
from bathkeeper.tui.ahead import Ahead
from bathkeeper.tui.checking import Checked
from bathkeeper.tui.desk import Snapshot
from bathkeeper.tui.gathering import Facts
from bathkeeper.units.numerals import Preferences
from bathkeeper.workshop import Trend


class BookShown(Message):
    """The book was opened or has changed: a fresh snapshot to draw."""

    def __init__(self, snapshot: Snapshot) -> None:
        super().__init__()
        self.snapshot = snapshot


class Failed(Message):
    """Something a person asked for could not be done; ``title`` in a few words, ``text`` says what would be right."""

    def __init__(self, title: str, text: str) -> None:
        super().__init__()
        self.title = title
        self.text = text


class Written(Message):
    """An entry is in the book: what it changed."""

    def __init__(self, what: str, changes: list[str]) -> None:
        super().__init__()
        self.what = what
        self.changes = changes


class WhyFound(Message):
    """The reasons that were asked for; ``confirm``: tank and entry of the doubtful reading that they are about."""

    def __init__(self, what: str, because: Because, entries: list[str], confirm: tuple[str, str] | None = None) -> None:
        super().__init__()
        self.what = what
        self.because = because
        self.entries = entries
        self.confirm = confirm


class TrendFound(Message):
    """A trend to plot, and what is expected after it."""

    def __init__(self, trend: Trend, ahead: Sequence[Ahead] = ()) -> None:
        super().__init__()
        self.trend = trend
        self.ahead = ahead


class EntriesFound(Message):
    """The newest entries as (id, when, kind, sentence), and how many there are in all."""

    def __init__(self, rows: list[tuple[str, str, str, str]], total: int) -> None:
        super().__init__()
        self.rows = rows
        self.total = total


class EntryFound(Message):
    """One entry, told in full."""

    def __init__(self, id: str, title: str, text: str, kind: str = "", tank: str | None = None) -> None:
        super().__init__()
        self.id = id
        self.title = title
        self.text = text
        self.kind = kind
        self.tank = tank


class UndoFound(Message):
    """The entry that undo would withdraw, told in a sentence; None when there is none. ``doubts``: what it would take along."""

    def __init__(self, id: str | None, sentence: str, doubts: Sequence[str] = (), question: str = "") -> None:
        super().__init__()
        self.id = id
        self.sentence = sentence
        self.doubts = tuple(doubts)
        self.question = question or "Take back the entry logged last?"


class SafetyFound(Message):
    """What can hurt here, and the grid of what must not meet."""

    def __init__(self, dangers: Dangers, grid: Grid) -> None:
        super().__init__()
        self.dangers = dangers
        self.findings = dangers.findings
        self.grid = grid


class HabitsFound(Message):
    """How the workshop writes numbers, and its catalogue."""

    def __init__(self, habits: tuple[Preferences, Catalogue]) -> None:
        super().__init__()
        self.habits = habits


class Answered(Message):
    """A calculator's answer, or why there is none; ``turn``: which keystroke it belongs to."""

    def __init__(self, turn: int, answer: Answer | None, problem: CalcError | None) -> None:
        super().__init__()
        self.turn = turn
        self.answer = answer
        self.problem = problem


class ReadingReady(Message):
    """An answer as an entry that can be logged, with what is unlikely about it."""

    def __init__(self, raw: dict[str, Any], doubts: list[str]) -> None:
        super().__init__()
        self.raw = raw
        self.doubts = doubts


class FormReady(Message):
    """What a form needs to know to ask its fields."""

    def __init__(self, facts: Facts) -> None:
        super().__init__()
        self.facts = facts


class FormChecked(Message):
    """What a form's texts amount to; ``turn``: which keystroke it belongs to, ``to_log``: the keeper wants it logged."""

    def __init__(self, checked: Checked, turn: int, to_log: bool) -> None:
        super().__init__()
        self.checked = checked
        self.turn = turn
        self.to_log = to_log


class FormLogged(Message):
    """The form's entry is in the book."""

    def __init__(self, changes: list[str]) -> None:
        super().__init__()
        self.changes = changes

"""The book on the desk: the app's one Workshop behind a lock, and the snapshot that every screen draws from."""

from __future__ import annotations

import threading
from collections.abc import Callable
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path
from typing import TypeVar

from bathkeeper.due.words import Standing, standing
from bathkeeper.estimate.view import TankView
from bathkeeper.findings import Finding, Problem
from bathkeeper.workshop import Status, Workshop

T = TypeVar("T")
Clock = Callable[[], datetime]


@dataclass(frozen=True)
class Snapshot:
    """Everything that screens show, at one moment. ``status`` is None where there is no book yet."""

    path: Path
    status: Status | None = None
    damage: Problem | None = None
    read_only: bool = False
    standings: dict[str, Standing] | None = None
    cautions: dict[str, tuple[tuple[str, str], ...]] | None = None
    titles: dict[str, str] | None = None

    @property
    def tanks(self) -> list[TankView]:
        return self.status.tanks if self.status is not None else []

    @property
    def due(self) -> list[Finding]:
        return self.status.due if self.status is not None else []

    @property
    def problems(self) -> list[Problem]:
        return self.status.problems if self.status is not None else []

    @property
    def name(self) -> str:
        return self.status.workshop if self.status is not None else self.path.name

    def tank(self, name: str) -> TankView | None:
        return next((t for t in self.tanks if t.tank == name), None)

    def standing(self, tank: str) -> Standing:
        return (self.standings or {}).get(tank, Standing(word="keep", level="keep"))

    def warnings(self, tank: str, *occasions: str) -> list[str]:
        """The cautions of the tank's recipe for the occasions named, and those that always hold, last."""
        known = (self.cautions or {}).get(tank, ())
        return [t for o in (*occasions, "always") for when, t in known if when == o]

    def title(self, tank: str) -> str:
        """The title of the tank's recipe, or nothing."""
        return (self.titles or {}).get(tank, "")


class Desk:
    """Opens a book and answers questions one at a time, from whichever thread they come."""

    def __init__(self, path: Path, clock: Clock, workshop: Workshop | None = None) -> None:
        self.path = path
        self.clock = clock
        self._workshop = workshop
        self._lock = threading.Lock()

    @property
    def is_open(self) -> bool:
        return self._workshop is not None

    def open(self, *, create: bool = False) -> bool:
        """Opens the book if there is one, or makes it; False when there is none.

        Raises:
            BookError: it cannot be opened or made.
        """
        with self._lock:
            if self._workshop is None and (create or self.path.exists()):
                self._workshop = Workshop.open(self.path, create=create)
            return self._workshop is not None

    def change_to(self, path: Path) -> None:
        """Lays another book on the desk. Raises BookError; the present one then stays."""
        with self._lock:
            workshop = Workshop.open(path)
            self._workshop, self.path = workshop, path

    def ask(self, question: Callable[[Workshop], T]) -> T:
        """Runs a question against the workshop, alone.

        Raises:
            RuntimeError: no book is open; and whatever the question raises.
        """
        with self._lock:
            if self._workshop is None:
                raise RuntimeError("no book is open")
            return question(self._workshop)

    def refresh(self) -> bool:
        """Takes up what others have written, or a book that has come to be. True when there is something new."""
        if not self.is_open:
            return self.open()
        return self.ask(lambda w: w.refresh())

    def snapshot(self) -> Snapshot:
        """What there is now."""
        if not self.is_open:
            return Snapshot(self.path)
        return self.ask(self._snapshot)

    def _snapshot(self, workshop: Workshop) -> Snapshot:
        status = workshop.status(self.clock())
        recipes = {v.tank: workshop.catalogue.recipes.get(v.recipe or "") for v in status.tanks}
        return Snapshot(
            path=self.path,
            status=status,
            damage=workshop.book.damage,
            read_only=workshop.book.read_only,
            standings={v.tank: standing(v, status.due) for v in status.tanks},
            cautions={t: tuple((c.when, c.text) for c in r.cautions) for t, r in recipes.items() if r is not None},
            titles={t: r.title for t, r in recipes.items() if r is not None},
        )

"""The palette: every action of the app in words, prefixed by topic, and only where it applies."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from functools import partial
from typing import TYPE_CHECKING, cast

from textual.command import DiscoveryHit, Hit, Hits, Provider
from textual.content import Content
from textual.screen import Screen

from bathkeeper.calculators.registry import CALCULATORS
from bathkeeper.tui.plain import fit, say
from bathkeeper.tui.screens.base import BookScreen
from bathkeeper.tui.screens.help import PAGES
from bathkeeper.tui.screens.run_live import LiveScreen

if TYPE_CHECKING:
    from bathkeeper.tui.app import BathkeeperApp

LOGS = {
    "run": "a run through the line (r, F2)",
    "reading": "a reading (m, F3)",
    "addition": "an addition (a, F4)",
    "removal": "something taken out (o, F5)",
    "make_up": "a make-up, a tank filled fresh (f, F6)",
    "anode": "an anode hung, weighed, lifted (n, F7)",
    "remark": "a remark (c, F9)",
    "treatment": "a treatment: carbon, filter, dummy, bake (t, F11)",
}
LIVE = {
    "next tank (Enter, F2)": "next",
    "pause, or go on (Space, F3)": "pause",
    "say current, counter, volts, temperature (c, F4)": "say",
    "repeat this step (r, F5)": "repeat",
    "skip the next step (s, F6)": "skip",
    "back to the tank before (b, F7)": "back",
    "a note (n, F8)": "note",
    "parts out of the tank (o, F9)": "out",
    "finish and write its entry (f, F10)": "finish",
    "abandon it (a, F12)": "abandon",
}
SET_UP = {
    "calibration": ("Log: a calibration", "An ammeter, scale, meter or titrant lot beside something better"),
    "tank": ("Set up: describe this tank anew", "Role, recipe, volumes, dip-stick table, in or out of service"),
    "definition": ("Set up: a definition of your own", "A recipe, reagent, method, supply, limit, rule, plan or part"),
}
PLACES = {
    "waste": ("Waste: containers, where every litre went (e)", "Age, checklist, candidates, plan, hand-over"),
    "safety": ("Safety: what can hurt here, what must not meet (h)", "By tank, the urgent first, each with its source"),
    "entries": ("Book: every entry (b)", "Newest first; any can be corrected or withdrawn"),
    "settings": ("Settings: units, dates, rules (g)", "Name, gallon, ounce, decimal comma, country, rule for baking"),
}


class BookCommands(Provider):
    """Log, go, undo, set up, help."""

    def _commands(self) -> Iterator[tuple[str, Callable[[], object], str]]:
        app = cast("BathkeeperApp", self.app)
        screen = app.screen_stack[-1] if not app.screen_stack[-1].is_modal else app.screen_stack[-2]
        snapshot = app.snapshot
        if snapshot.tanks:
            for kind, what in LOGS.items():
                yield f"Log: {what}", partial(app.action_log, kind), "Opens the form"
            if app.at_bench.seen.run is None:
                yield "Run: set one up and walk it by timer (p, F12)", app.open_bench, "Parts, current, time, then step by step"
            elif not isinstance(screen, LiveScreen):
                yield "Run: go on with the one under way (p, F12)", app.open_bench, "Its clock has not stopped"
            if isinstance(screen, LiveScreen):
                for name, act in LIVE.items():
                    yield f"Run: {name}", getattr(screen, f"action_{act}"), "Of the run that is under way"
            yield "Run: those that were (v, F10)", partial(app.action_go, "runs"), "Search, plate again, compare good with bad"
            for kind, (name, about) in SET_UP.items():
                if kind != "tank" or getattr(screen, "tank", None):
                    yield name, partial(app.action_log, kind), about
            yield "Book: import an old spreadsheet", app.open_import_sheet, "CSV or .xlsx; shown before anything is written"
            yield "Set up: a new tank", app.action_new_tank, "A vessel with a role, at a place in the line"
            yield "Log: undo the entry logged last (u, F8)", app.action_undo, "A correction withdraws it; asks first"
            yield from self._advice(getattr(screen, "tank", None))
            yield from self._waste(screen)
            yield from self._reports(getattr(screen, "tank", None), getattr(screen, "chosen", None))
            for view in snapshot.tanks:
                standing = snapshot.standing(view.tank)
                yield f"Tank: {view.tank}", partial(app.open_tank, view.tank), f"{standing.sign} {standing.word}"
            for finding in snapshot.due[:40]:
                yield f"Why: {finding.tank}: {finding.what}", partial(app.find_why, finding.id), finding.why
        else:
            yield "Book: set up a line from the template (l)", app.action_lay_out, "Asks only for the workshop's name"
        for place, (name, about) in PLACES.items():
            if snapshot.status is not None:
                yield name, partial(app.action_go, place), about
        yield "Calculators: all of them (k)", partial(app.action_go, "calculators"), "No book is needed"
        for one in CALCULATORS.values():
            yield f"Calculators: {one.title}", partial(app.open_calculator, one.name), one.help
        yield "Book: open the sample (s)", app.action_sample, "A copy of half a year of an invented workshop"
        if isinstance(screen, BookScreen):
            yield "Help: this screen (?, F1)", partial(app.show_help, screen.topic), "What it shows, and its keys"
        for topic in PAGES:
            yield f"Help: about a {topic}", partial(app.show_help, topic), "What it shows, and its keys"

    def _advice(self, tank: str | None) -> Iterator[tuple[str, Callable[[], object], str]]:
        """Plans and advice of the tank that the cursor is on, and the stock."""
        from bathkeeper.tui.advice_sections import SECTIONS
        from bathkeeper.tui.screens.advice import AdviceScreen
        from bathkeeper.tui.screens.plan import ABOUT, PlanScreen
        from bathkeeper.tui.screens.stock import StockScreen

        push = self.app.push_screen
        yield "Stock: what is on the shelf (y)", lambda: push(StockScreen()), "Amounts, lots, what runs out when"
        if tank is not None:
            for kind, about in ABOUT.items():
                yield f"Plan: {tank}: {about}", partial(_push, push, PlanScreen, tank, kind), "Steps, why, what comes of it"
            for section, title in SECTIONS.items():
                yield f"Advice: {tank}: {title.lower()}", partial(_push, push, AdviceScreen, tank, section), "With its numbers"

    def _waste(self, screen: Screen[object]) -> Iterator[tuple[str, Callable[[], object], str]]:
        """What is done to containers: to the one under the cursor where there is one, else to one that the form asks for."""
        from bathkeeper.tui.screens.containing import DOINGS, ContainingScreen
        from bathkeeper.tui.screens.entry_form import EntryForm

        app = cast("BathkeeperApp", self.app)
        if not isinstance(screen, ContainingScreen):
            yield "Log: something done to a container of waste", partial(app.push_screen, EntryForm("container", None)), "Form"
            return
        yield "Waste: a new container (n)", screen.action_new, "Opens the form"
        yield "Waste: a receipt that has come (r)", screen.action_receipt, "Of the hand-over that waits for it"
        held = screen.chosen
        if held is not None:
            yield f"Waste: {held.container}: plan for handing it over (p)", screen.action_plan, "Ends with the authority"
            for action, done in DOINGS.items():
                yield f"Waste: {held.container}: {done}", partial(screen.action_doing, action), "Opens the form"

    def _reports(self, tank: str | None, held: object) -> Iterator[tuple[str, Callable[[], object], str]]:
        """Every report there is; those of a bath and of a container begin with the one that the cursor is on."""
        from bathkeeper.ledger import Held
        from bathkeeper.reports.making import TITLES
        from bathkeeper.tui.screens.report import ReportScreen

        tanks = tuple(v.tank for v in cast("BathkeeperApp", self.app).snapshot.tanks)
        container = held.container if isinstance(held, Held) else ""
        for kind, title in TITLES.items():
            about = {"bath": tank or "", "run": "last", "statement": container}.get(kind, "")
            screen = partial(ReportScreen, kind, about, tanks)
            yield f"Write a report: {title}", partial(self._open, screen), "To a PDF, text, CSV or JSON file"

    def _open(self, screen: Callable[[], Screen[None]]) -> None:
        self.app.push_screen(screen())

    async def discover(self) -> Hits:
        for name, act, about in self._commands():
            # a plain string would be parsed as markup here, a Content is not
            yield DiscoveryHit(say(fit(name, 100)), act, text=fit(name, 100), help=say(fit(about, 100)))  # type: ignore[arg-type]

    async def search(self, query: str) -> Hits:
        matcher = self.matcher(query)
        for name, act, about in self._commands():
            line = fit(name, 100)
            score = matcher.match(line)
            if score > 0:
                yield Hit(score, Content(line), act, text=line, help=say(fit(about, 100)))  # type: ignore[arg-type]


def _push(push: Callable[[Screen[None]], object], screen: Callable[..., Screen[None]], *about: str) -> object:
    return push(screen(*about))

"""Help where you stand: what the screen shows, and its keys read off the real bindings."""

from __future__ import annotations

import re
from typing import ClassVar

from textual import on
from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import Horizontal, Vertical, VerticalScroll
from textual.content import Content
from textual.screen import ModalScreen, Screen
from textual.widgets import Button, Static

from bathkeeper.tui.plain import join

PAGES: dict[str, str] = {
    "line": (
        "The tanks in process order, each filled to its real level. Below each stands what it wants most:\n"
        "✓ keep: nothing is asked.  ! soon.  !! now.  · later.\n"
        "water: top up.  add: a content is low.  dilute: a content is high.  read: a reading is overdue.  "
        "read again: a reading is in doubt.  replace: the bath is past its life or given up.  clean: a contaminant is high.  "
        "change: rinse water is spent.  make up: no filling is on record.\n"
        "Below is what is due, most urgent first, each with its why; Enter shows the entries, the formula and the sources.\n"
        "Arrows go from tank to tank, Tab to what is due, Enter opens. With the mouse: click a tank or a line."
    ),
    "tank": (
        "Contents: each bar shows the window from its low to its high edge, ┼ is the target, ◆ the estimate, ▒ where it lies "
        "with 95 % chance. Enter on a line shows why.\n"
        "Trend: the estimate with its band, ● readings, × readings in doubt, ▲ additions; by date or by ampere-hours.\n"
        "Learned: what this bath has taught, and what is only assumed, with the experiment that would tell.\n"
        "To do: what is due of this tank, and its cautions."
    ),
    "form": (
        "Tab, Enter or arrow down goes to the next field, Shift+Tab or arrow up back. A number alone is taken in the unit "
        "beside the field; write another unit if you have one: 4.3 oz/usgal, 6.5A*45min, 100 F, 32 g/L±0.5. What was "
        "understood stands beside it; what it will change stands at the bottom.\n"
        "Ctrl+S or F10 logs the entry. Escape leaves the form; what was typed is kept for the next time.\n"
        "F6 takes over what the last entry of this kind had, in the fields that are still empty; F7 clears the form. F4 goes "
        "through what is offered for a field: destinations, recipes, supplies, names.\n"
        "A run: F2 adds another kind of parts, F5 a branch (a supply with anodes of its own) to the tank with the cursor; F3 "
        "and F9 take the last one away. A step may say its temperature: 6.5A*45min@35C.\n"
        "A definition: what is beside it is the catalogue's, or yours; F8 takes it over. based_on = \"…\" and what differs is "
        "enough. A correction: the form is filled as the entry is; say why, and only what you change changes."
    ),
    "run to come": (
        "Parts, one kind a line: 20x M8x30 hex bolt, 2x plate 100x60x2 mm, or a part known by its name (F4 goes through them). "
        "What was understood stands beside it. Or give the area alone; with neither, the load of the run that it is like.\n"
        "A wanted thickness gives the time, minutes give the thickness: on average, and at the thinnest spot. Below stands "
        "what to set: low, target and high of the window, each supply's part, reach, cautions, loads that went well. "
        "PageDown reads on; F9 shows formula and sources.\n"
        "Ctrl+S or F10 starts: the clock of the first tank begins when you press Enter there."
    ),
    "live run": (
        "The tank that the parts are in, the time left in it, and what comes next. ▶ running, !! over time (the bell rings, "
        "and again every minute), = paused, · waiting.\n"
        "Enter: the parts go into the next tank. Space stops clock and charge, and starts them again. o: out. s leaves "
        "the next step out, r begins this one again (minutes add up), b goes back a tank.\n"
        "c says what is shown: 6.5A, 12.4Ah (the supply's counter; at start and end), 3.2V, 35C, 41min. With several supplies "
        "put the name first: bench-1 6A bench-2 0.6A. ramp 7A: the current went there evenly.\n"
        "f writes one entry for the whole line. Escape goes to the line while the run goes on; so it does when the program is "
        "closed. Another window may watch and act; the one that is quicker wins, the other is told."
    ),
    "past runs": (
        "Runs, newest first; the one under the cursor is told below, with the bath as it was then. / searches parts, defects, "
        "tanks, days. Tab goes to the filters.\n"
        "a sets a run up again to be walked by timer; l logs it once more as done, with another area if you like: the currents "
        "follow. w says what came out. c compares good loads with bad ones; what differs need not be the cause."
    ),
    "safety": (
        "By tank: what can hurt in this workshop as it stands, the tank with the most urgent first. Enter or w shows why, and "
        "the source with its standing: seen, derived, memory or practice.\n"
        "What must not meet: each row and column is a tank, container or reagent of this workshop, numbered alike. X "
        "must never meet, o only with care, · nothing is known here of the pair, which is not the same as harmless.\n"
        "Substances (3): where each is, and what its harmonised hazard statements mean. First help (4): what to do first, and "
        "the hydrogen of the last runs with the fresh air that it needs.\n"
        "This does not replace safety data sheets, local rules or licensed practice."
    ),
    "waste": (
        "Containers of waste: what is in each and how much (95 % ranges), how long it has stood against its limit: ✓ within "
        "its time, ! hand over soon, !! past its time, ? no limit known. Below: the checklist (✓ yes, ✗ no, ? not looked at), "
        "what its label says or which codes may fit it, where it stands. Enter opens its page.\n"
        "One key opens the form of what is done, filled with the container: c check, l label, t test, m move, i put in, x "
        "treated, h hand over, n a new one. r: a receipt that came later. p: the plan for handing it over.\n"
        "The account tells where every litre went, and what is unaccounted for with its spread, litres and grams of metals "
        "(2 for the page, with what found it). 3 lists what was handed over, with papers and receipts. d writes the register "
        "of a period to a file.\n"
        "What your authority told you wins over the rules read: a definition of `waste limit` with what = \"storage\", "
        "\"allowance\" or \"discharge\"; what = \"elsewhere\" (with containers and since) and what = \"far\" (200 miles or "
        "more to whoever takes it) choose the limit of time that holds.\n"
        "Codes and properties are candidates and comparisons: the local authority or a licensed contractor decides."
    ),
    "container": (
        "One container: what it holds as ranges, where that came from, what must not touch it, codes that may fit it with "
        "their why, hazardous properties that come into question, how long it may stand, checklist, hand-overs, and every "
        "entry about it. What was written from memory says so.\n"
        "Enter or w shows what a row rests on with its source, or the entry that it tells of; F4 there corrects it. The other "
        "keys open the form of what is done to it; d writes its content statement to a file."
    ),
    "disposal": (
        "The plan for handing a container over: what it is, candidate codes, what must not touch it, the base it would take on "
        "paper, questions for the council or contractor, the record to hand over with it. The sums are for understanding; they "
        "are not leave to treat it or to let any of it go. h opens the form of the hand-over, F5 copies the plan."
    ),
    "entries": (
        "Every entry in force, newest first. Enter shows one in full, with what became of it. From there F4 corrects it in its "
        "own form and F8 withdraws it; the entry itself stays in the book. What was corrected says so."
    ),
    "plan": (
        "A plan for a tank, step by step. □ an offer or a step to do, ▶ the next, ✓ done. a writes the offer into the book; "
        "then Enter or Space ticks the step under the cursor off: Enter alone as planned, or what was really weighed (228 "
        "g; a note goes behind ;). Each step becomes an entry that names the plan.\n"
        "Below the steps: where every content will be, !! outside its window; what the plan was reckoned from; other ways. "
        "Where two limits conflict the plan says which, and offers the nearest there is.\n"
        "k: another kind of plan, n: a new offer from what the bath holds now, x: give the plan up with a reason."
    ),
    "old spreadsheet": (
        "Type where the file is (.csv or .xlsx) and press Enter. Each column is shown with what is taken from it; Enter or F2 "
        "changes that, F3 its unit, F5 the order of dates, F6 the decimal mark. What the sheet cannot tell is asked: F8.\n"
        "F4 shows row by row what would be written (✓) and what not (!!), with the reason; Ctrl+S writes it. A row is taken "
        "whole or not at all, and what was taken in before is not taken in again. The mapping is kept: the next sheet of this "
        "layout asks nothing."
    ),
    "stock": (
        "What is on the shelf, with its spread: bought and counted as logged, used as the additions say. !! out or nearly, "
        "! to be bought soon, ? never counted, ✓ enough. Below: lots, the last count against what the book had, use, price, "
        "cautions.\n"
        "b, c and x log what was bought, counted or thrown out, in one line: 5 kg price=32 lot=A17, or with another name "
        "before: zinc chloride=5 kg. Anodes: zinc anode=4 kg."
    ),
    "advice": (
        "About one tank, in sections: anodes (how long they last, whether their split holds the bath), acid (used against "
        "put in, what would explain a gap), signs (keep, refresh or replace, and by which rule), defects (likely causes in "
        "this bath, the cheapest test first), rest and wake-up lists. w shows what a row rests on, Enter goes on, p opens "
        "the plan.\n"
        "It defers to tests, sheets and local rules: nothing here decides."
    ),
    "calculators": "Questions that need no book. Enter opens one; every input takes any unit of its kind.",
    "calculator": (
        "The answer is worked out while you type. Needed inputs and defaults are told below the fields; F6 fills in an "
        "example, the next one each time. F9 (or w outside a field) shows the inputs as understood, the formula, the sources.\n"
        "A titration can go into the book: choose the tank at the end of the form, then Ctrl+S."
    ),
}
KEY_NAMES = {
    "question_mark": "?",
    "escape": "Esc",
    "left_square_bracket": "[",
    "right_square_bracket": "]",
    "comma": ",",
    "full_stop": ".",
    "ctrl+s": "Ctrl+S",
    "ctrl+q": "Ctrl+Q",
    "enter": "Enter",
    "space": "Space",
    "slash": "/",
    "pagedown": "PageDown",
    "pageup": "PageUp",
    "left": "←",
    "right": "→",
    "up": "↑",
    "down": "↓",
    "home": "Home",
    "end": "End",
}


def bindings_of(screen: Screen[object]) -> list[Binding]:
    """Every binding of our own that holds on a screen: its parts', its own, the app's; one key each."""
    found: list[Binding] = []
    for holder in (*getattr(screen, "parts", ()), type(screen), type(screen.app)):
        for cls in holder.__mro__:
            if cls.__module__.startswith("bathkeeper."):
                found += Binding.make_bindings(cls.__dict__.get("BINDINGS", ()))
    return [b for b in found if _holds(screen, b.action)]


def _holds(screen: Screen[object], action: str) -> bool:
    name, _, rest = action.removeprefix("app.").partition("(")
    parameters = (rest.rstrip(")").strip("'"),) if rest else ()
    return bool(screen.app.check_action(name, parameters)) and bool(screen.check_action(name, parameters))


def keys_of(screen: Screen[object]) -> list[tuple[str, str]]:
    """(keys, what they do) that hold on a screen, said once each, read off the bindings themselves."""
    found: dict[str, list[str]] = {}
    for binding in bindings_of(screen):
        name = KEY_NAMES.get(binding.key, binding.key.upper() if re.fullmatch(r"f\d+", binding.key) else binding.key)
        found.setdefault(binding.description, []).append(name)
    return [(" ".join(dict.fromkeys(keys)), what) for what, keys in found.items()]


class HelpScreen(ModalScreen[None]):
    """One page, closed with Escape."""

    CSS_PATH = ["modal.tcss"]
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("escape,q,question_mark,f1", "close", "Close", show=False),
        Binding("down", "scroll(1)", "Down", show=False),
        Binding("up", "scroll(-1)", "Up", show=False),
        Binding("pagedown", "scroll(8)", "Page down", show=False),
        Binding("pageup", "scroll(-8)", "Page up", show=False),
    ]

    def __init__(self, topic: str, screen: Screen[object]) -> None:
        super().__init__()
        self._topic = topic
        self.keys = keys_of(screen)

    def compose(self) -> ComposeResult:
        with Vertical(classes="box tall-box"):
            yield Static("Help", classes="box-title", markup=False)
            with VerticalScroll(id="page", can_focus=False):
                yield Static(self._page(), classes="box-words", markup=False)
            with Horizontal(classes="buttons"):
                yield Button("Close (Esc)", id="close", variant="primary")

    def _page(self) -> Content:
        width = max(len(keys) for keys, _ in self.keys)
        parts: list[tuple[str, str] | str] = [PAGES[self._topic], "\n\n", ("Keys\n", "bold")]
        for keys, what in self.keys:
            parts += [(f"{keys:<{width}}", "bold"), f"  {what}\n"]
        return join(parts)

    def on_mount(self) -> None:
        self.query_one("#close").focus()

    def action_scroll(self, by: int) -> None:
        self.query_one("#page").scroll_relative(y=by, animate=False)

    def action_close(self) -> None:
        self.dismiss(None)

    @on(Button.Pressed, "#close")
    def _close_pressed(self) -> None:
        self.dismiss(None)

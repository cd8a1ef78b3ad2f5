"""Stock: what is on the shelf and how sure that is, what runs out when; moves are logged in one line."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import datetime
from typing import TYPE_CHECKING, ClassVar

from textual import on
from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import VerticalScroll
from textual.content import Content
from textual.message import Message
from textual.widgets import OptionList, Static
from textual.widgets.option_list import Option

from bathkeeper.catalogue.loader import Catalogue
from bathkeeper.counsel import Counsel
from bathkeeper.tui import advised
from bathkeeper.tui.advice_rows import MUTED, WARN, Row, content_of
from bathkeeper.tui.advice_said import Stocked, stocked
from bathkeeper.tui.desk import Snapshot
from bathkeeper.tui.plain import clean, fit, join, pad, rows, say
from bathkeeper.tui.screens.ask_line import AskLine
from bathkeeper.tui.screens.base import BookScreen
from bathkeeper.tui.screens.tank import refill
from bathkeeper.tui.widgets.bar import with_spread
from bathkeeper.tui.widgets.keys import KeyLine
from bathkeeper.units.door import figures
from bathkeeper.units.numerals import Preferences

if TYPE_CHECKING:
    from bathkeeper.accounts.costs import Cost, Reorder
    from bathkeeper.accounts.shelf import Shelf

BIG = {"g": (1000.0, "kg"), "mL": (1000.0, "L")}
NOW_DAYS, SOON_DAYS = 7.0, 30.0
ABOUT = {
    "bought": ("Bought", "what came in", "5 kg price=32 lot=A17"),
    "counted": ("Counted", "what is really there now", "1.2 kg"),
    "discarded": ("Thrown out", "what is not there any more", "200 g"),
}


@dataclass(frozen=True)
class ShelfLook:
    """The shelf at a moment, what has to be bought, what a season cost."""

    at: datetime
    shelves: Mapping[str, Shelf] = field(default_factory=dict)
    reorder: Mapping[str, Reorder] = field(default_factory=dict)
    cost: Cost | None = None
    catalogue: Catalogue | None = None
    prefs: Preferences = Preferences()  # noqa: RUF009  frozen


class ShelfSeen(Message):
    """The shelf was looked at."""

    def __init__(self, look: ShelfLook) -> None:
        super().__init__()
        self.look = look


class StockLogged(Message):
    """An entry about the shelf is in the book."""

    def __init__(self, echo: str) -> None:
        super().__init__()
        self.echo = echo


class StockScreen(BookScreen):
    """``about``: the name that the cursor begins on."""

    topic = "stock"
    CSS_PATH = ["base.tcss", "stock.tcss"]
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("escape", "back", "Back"),
        Binding("b", "stocked('bought')", "Bought"),
        Binding("c", "stocked('counted')", "Counted"),
        Binding("x", "stocked('discarded')", "Thrown out"),
        Binding("w", "why", "Why"),
    ]

    def __init__(self, about: str = "") -> None:
        super().__init__()
        self._about = about.replace("_", " ")
        self.look: ShelfLook | None = None
        self._names: list[str] = []

    def compose(self) -> ComposeResult:
        yield from self.top()
        yield Static(id="heads", markup=False)
        yield OptionList(id="shelf", markup=False)
        with VerticalScroll(id="about", can_focus=False):
            yield Static(id="about-words", markup=False)
        yield KeyLine()

    async def on_mount(self) -> None:
        self.query_one("#shelf").focus()
        await self.show(self.keeper.snapshot)

    def heading(self, snapshot: Snapshot) -> str:
        return "Stock"

    async def show(self, snapshot: Snapshot) -> None:
        await super().show(snapshot)
        moment = self.keeper.clock()

        def question(counsel: Counsel) -> ShelfLook:
            return ShelfLook(
                moment, counsel.shelf(moment), {r.name: r for r in counsel.reorder(moment)}, counsel.cost(until=moment),
                counsel.workshop.catalogue, counsel.workshop.preferences,
            )  # fmt: skip

        advised.ask(self.keeper, question, ShelfSeen, to=self)

    def on_shelf_seen(self, message: ShelfSeen) -> None:
        self.look = message.look
        self._redraw()

    def on_refused(self, message: advised.Refused) -> None:
        self.notify(clean(message.text), severity="warning", markup=False, timeout=10)

    def on_resize(self) -> None:
        self.call_after_refresh(self._redraw)

    def _redraw(self) -> None:
        if not self.query("#shelf"):
            return
        width = max(self.size.width - 6, 40)
        where = self.query_one("#shelf", OptionList)
        self.query_one("#heads", Static).update(say(fit(head_line(width), self.size.width - 2), MUTED))
        if self.look is None:
            refill(where, [Option(say("Counting …"), disabled=True)])
            return
        look = self.look
        self._names = sorted(look.shelves, key=lambda n: (urgency(look.shelves[n], look.reorder.get(n)), n))
        options = [Option(shelf_line(look.shelves[n], look.reorder.get(n), width)) for n in self._names]
        nothing = "Nothing is on record: b logs what was bought, c what is counted, for example zinc chloride=5 kg."
        refill(where, options or [Option(say(nothing), disabled=True)])
        if self._about:
            found = next((i for i, n in enumerate(self._names) if self._about in (n, n.replace(" ", "_"))), None)
            if found is not None:
                where.highlighted = found
            self._about = ""
        self._show_about()

    @property
    def _chosen(self) -> Shelf | None:
        place = self.query_one("#shelf", OptionList).highlighted
        if self.look is None or place is None or place >= len(self._names):
            return None
        return self.look.shelves[self._names[place]]

    def _show_about(self) -> None:
        shelf, look = self._chosen, self.look
        if look is None:
            return
        width = self.size.width - 4
        lines = about_rows(shelf, look.reorder.get(shelf.name)) if shelf is not None else []
        lines += cost_rows(look.cost)
        self.query_one("#about-words", Static).update(rows([content_of(r, width) for r in lines]))
        self.query_one("#about").scroll_home(animate=False)

    @on(OptionList.OptionHighlighted, "#shelf")
    def _moved(self) -> None:
        self._show_about()

    @on(OptionList.OptionSelected, "#shelf")
    def action_why(self) -> None:
        """Why that much is believed to be there, and why it has to be bought."""
        shelf, look = self._chosen, self.look
        if shelf is None or look is None:
            return
        order = look.reorder.get(shelf.name)
        what = f"{shelf.title}: {amount_words(shelf)}"
        self.keeper.tell_why(what, order.because if order is not None else shelf.because)

    def action_stocked(self, action: str) -> None:
        """Asks in one line what was bought, counted or thrown out."""
        look, shelf = self.look, self._chosen
        if look is None or look.catalogue is None:
            return
        catalogue, kept = look.catalogue, {n: s.what for n, s in look.shelves.items()}
        own = (shelf.name, shelf.unit, shelf.what) if shelf is not None else None

        def understood(text: str) -> Stocked:
            return stocked(text, action, own, kept, catalogue, look.prefs)

        def told(text: str | None) -> None:
            if text is None:
                return
            said, moment = understood(text), self.keeper.clock()

            def do(counsel: Counsel) -> str:
                counsel.workshop.log({**said.raw, "at": moment})
                return said.echo

            advised.act(self.keeper, do, StockLogged, to=self)

        title, meaning, example = ABOUT[action]
        about = f"{title}: {meaning}. "
        about += f"A number alone is {shelf.title} in {shelf.unit}; " if shelf is not None else ""
        about += f"anything else by its name: zinc chloride={example}; zinc anode=4 kg."
        for caution in (shelf.cautions if shelf is not None and action == "bought" else ())[:1]:
            about += f"\n▲ {caution}"
        self.app.push_screen(
            AskLine(f"{title}: {shelf.title if shelf else 'what?'}", about, example, "Log it", lambda t: understood(t).echo),
            told,
        )

    def on_stock_logged(self, message: StockLogged) -> None:
        self.notify(clean(message.echo), title="Logged", markup=False)

    def action_back(self) -> None:
        self.dismiss(None)


def big(value: float, unit: str, spread: float | None = None) -> tuple[float, str]:
    """In kg or L from one of them on."""
    by, large = BIG.get(unit, (1.0, unit))
    return (value / by, large) if abs(value) >= by else (value, unit)


def amount_words(shelf: Shelf) -> str:
    """How much is there, with its spread."""
    if shelf.amount is None:
        return "never counted"
    value, unit = big(shelf.amount.value, shelf.unit)
    by = value / shelf.amount.value if shelf.amount.value else 1.0
    return with_spread(value, shelf.amount.low * by, shelf.amount.high * by, unit)


def urgency(shelf: Shelf, order: Reorder | None) -> int:
    """0 for what is out, then what runs out within a week, a month; what nobody counted; the rest."""
    if shelf.amount is not None and shelf.amount.value <= 0 and shelf.used > 0:
        return 0
    if order is not None:
        return 1 if order.days_left <= NOW_DAYS else 2 if order.days_left <= 2 * SOON_DAYS else 4
    return 3 if shelf.amount is None else 4


STATES = (("!!", "out: buy", "$text-error bold"), ("!!", "buy now", "$text-error bold"), ("!", "buy by", "$text-warning"),
          ("?", "count it", "$text-warning"), ("✓", "enough", "$text-success"))  # fmt: skip
NAME_MOST_W = 44  # wider, and the eye loses the line between a name and its amount
SIGN_W, AMOUNT_W, LASTS_W, STATE_W = 3, 17, 9, 14


def head_line(width: int) -> str:
    """What the columns are."""
    name_w = min(width - SIGN_W - AMOUNT_W - LASTS_W - STATE_W, NAME_MOST_W)
    return pad("   what", name_w + SIGN_W) + pad("on the shelf", AMOUNT_W) + pad("lasts", LASTS_W) + pad("", STATE_W)


def shelf_line(shelf: Shelf, order: Reorder | None, width: int) -> Content:
    """One thing on the shelf."""
    name_w = min(width - SIGN_W - AMOUNT_W - LASTS_W - STATE_W, NAME_MOST_W)
    rank = urgency(shelf, order)
    sign, word, style = STATES[rank]
    if rank == 2 and order is not None:
        word = f"buy by {order.by:%d %b}"
    lasts = f"{order.days_left:.0f} days" if order is not None else "–"
    return join(
        [(pad(sign, SIGN_W), style), (pad(shelf.title, name_w - 1) + " ", "bold"), pad(amount_words(shelf), AMOUNT_W),
         (pad(lasts, LASTS_W), MUTED), (pad(word, STATE_W), style)]
    )  # fmt: skip


def about_rows(shelf: Shelf, order: Reorder | None) -> list[Row]:
    """Lots, the last count with its drift, use, price, cautions."""
    told = [
        f"{word} {figures(big(v, shelf.unit)[0])} {big(v, shelf.unit)[1]}"
        for word, v in (("bought", shelf.bought), ("used", shelf.used), ("thrown out", shelf.discarded))
        if v > 0
    ]
    price = (
        f"; {shelf.price_per_unit * BIG.get(shelf.unit, (1.0, ''))[0]:.2f} per {BIG.get(shelf.unit, (1.0, shelf.unit))[1]}"
        if shelf.price_per_unit
        else ""
    )
    found = [Row(f"{shelf.title}: {', '.join(told) or 'nothing moved yet'}{price}", "bold", "·")]
    if order is not None:
        found.append(Row(f"uses {figures(order.per_day * 7)} {shelf.unit} a week; lasts {order.days_left:.0f} days", "", "·"))
    if shelf.amount is None:
        found.append(Row("used, but never bought or counted: nobody knows how much is left. c counts it.", WARN, "?"))
    if shelf.counts:
        last = shelf.counts[-1]
        value, unit = big(last.counted, shelf.unit)
        drift = ""
        if last.drift is not None:
            beyond = last.expected_spread is not None and abs(last.drift) > last.expected_spread
            way = "more" if last.drift >= 0 else "less"
            drift = f", {figures(abs(last.drift))} {shelf.unit} {way} than the book had" + (
                " (beyond its spread)" if beyond else ""
            )
        found.append(
            Row(
                f"counted {last.at:%d %b}: {figures(value)} {unit}{drift}",
                WARN if "beyond" in drift else "",
                "!" if "beyond" in drift else "·",
            )
        )
    for at, _, amount in shelf.short[-2:]:
        found.append(Row(f"{at:%d %b}: {figures(amount)} {shelf.unit} more was used than the book had; count it", WARN, "!"))
    left = [lot for lot in shelf.lots if lot.left > 0]
    if left:
        lots = "; ".join(
            f"{lot.name}: {figures(big(lot.left, shelf.unit)[0])} {big(lot.left, shelf.unit)[1]} "
            f"of {figures(big(lot.bought, shelf.unit)[0])}"
            for lot in left
        )
        found.append(Row(f"lots, oldest first: {lots}", "", "·"))
    found += [Row(caution, WARN, "▲") for caution in shelf.cautions]
    return found


def cost_rows(cost: Cost | None) -> list[Row]:
    """What the last season cost, by run and by area."""
    if cost is None or cost.total <= 0:
        return []
    each = [f"{v:.2f} {per}" for v, per in ((cost.per_run, "a run"), (cost.per_dm2, "a dm²")) if v is not None]
    without = f"; without a price: {', '.join(cost.unpriced)}" if cost.unpriced else ""
    return [
        Row(f"since {cost.since:%d %b}: {cost.total:.2f} in all{', ' + ', '.join(each) if each else ''}{without}", MUTED, "·")
    ]

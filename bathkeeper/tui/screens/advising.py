"""What screens with due items share: one key does something about the item under the cursor, one puts it off."""

from __future__ import annotations

from typing import ClassVar, cast

from textual.binding import Binding, BindingType
from textual.widgets import OptionList

from bathkeeper.counsel import Counsel
from bathkeeper.findings import Finding
from bathkeeper.tui import advised, messages
from bathkeeper.tui.advice_said import put_off
from bathkeeper.tui.plain import clean
from bathkeeper.tui.screens.ask_line import AskLine
from bathkeeper.tui.screens.base import BookScreen


class AdvisingScreen(BookScreen):
    """A screen of the book from which plans, advice and stock are one key away."""

    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("j", "do_it", "Do it"),
        Binding("z", "put_off", "Put off", show=False),  # beside Do it there is no room for it at 80 columns
        Binding("i", "advice", "Advice", show=False),
        Binding("y", "stock", "Stock", show=False),
    ]

    @property
    def due_item(self) -> Finding | None:
        """The due item under the cursor, or the most urgent one of the tank that the cursor is on."""
        due, tank = self.keeper.snapshot.due, self.advised_tank
        own = [f for f in due if f.tank == tank]
        for where, findings in (("#due", due), ("#todo-list", own)):
            for options in self.query(where).results(OptionList):
                if options.has_focus and options.highlighted is not None and options.highlighted < len(findings):
                    return findings[options.highlighted]
        return own[0] if own else None

    @property
    def advised_tank(self) -> str | None:
        """The tank that advice is about."""
        return cast("str | None", getattr(self, "tank", None))

    def action_do_it(self) -> None:
        """Opens what does something about the due item; without one, the tank's plan."""
        finding, tank = self.due_item, self.advised_tank
        if finding is not None:
            follow(self, finding)
        elif tank is not None and self._is_bath(tank):
            from bathkeeper.tui.screens.plan import PlanScreen

            self.app.push_screen(PlanScreen(tank))
        else:
            self.notify("Nothing is due here. Choose a tank, or a line of what is due.", markup=False)

    def action_put_off(self) -> None:
        """Asks until when and why the due item is put off."""
        finding = self.due_item
        if finding is None:
            self.notify("Nothing is due here that could be put off.", markup=False)
        else:
            ask_to_put_off(self, finding)

    def action_advice(self) -> None:
        """The advice of the tank."""
        from bathkeeper.tui.screens.advice import AdviceScreen

        tank = self.advised_tank
        if tank is not None and self._is_bath(tank):
            self.app.push_screen(AdviceScreen(tank))
        else:
            self.notify("Choose a tank first; advice is of a tank.", markup=False)

    def action_stock(self) -> None:
        """What is on the shelf."""
        from bathkeeper.tui.screens.stock import StockScreen

        if self.keeper.snapshot.status is not None:
            self.app.push_screen(StockScreen())

    def _is_bath(self, tank: str) -> bool:
        view = self.keeper.snapshot.tank(tank)
        return view is not None and view.role != "dry"

    def on_refused(self, message: advised.Refused) -> None:
        self.notify(clean(message.text), severity="warning", markup=False, timeout=10)


def follow(screen: BookScreen, finding: Finding) -> None:
    """Goes where a finding leads."""
    from bathkeeper.tui.screens.advice import AdviceScreen
    from bathkeeper.tui.screens.plan import PlanScreen
    from bathkeeper.tui.screens.stock import StockScreen

    keeper = screen.keeper
    view = keeper.snapshot.tank(finding.tank)
    way = advised.way_of(finding, view)
    if way.place == "stock":
        screen.app.push_screen(StockScreen(way.what))
    elif way.place == "log":
        keeper.push_screen(_form(way.what, finding.tank if view is not None else None))
    elif view is None or way.place == "why":
        keeper.find_why(finding.id)
    elif way.place == "plan":
        screen.app.push_screen(PlanScreen(finding.tank, way.what))  # type: ignore[arg-type]
    else:
        screen.app.push_screen(AdviceScreen(finding.tank, way.what))


def _form(kind: str, tank: str | None) -> BookScreen:
    from bathkeeper.tui.screens.entry_form import EntryForm

    return EntryForm(kind, tank)


def ask_to_put_off(screen: BookScreen, finding: Finding) -> None:
    """Asks until when and why, and writes the snooze."""
    keeper = screen.keeper

    def told(text: str | None) -> None:
        if text is None:
            return
        moment = keeper.clock()
        said = put_off(text, moment)

        def do(counsel: Counsel) -> list[str]:
            return list(counsel.snooze(finding.id, said.until, said.reason, moment).changes)

        advised.act(keeper, do, lambda _: messages.Written("Put off", [said.echo]), to=screen)

    def understood(text: str) -> str:
        return put_off(text, keeper.clock()).echo

    words = f"{finding.what}\nHow long and why: 14d waiting for the salts, or 2026-07-01 …; a reason alone is a week."
    screen.app.push_screen(
        AskLine(f"Put off: {finding.tank}", words, "14d waiting for the salts", "Put it off", understood), told
    )

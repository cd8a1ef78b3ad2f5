"""The blocks of words on a tank's screen: anodes and balance, what was learned and what is only assumed."""

from __future__ import annotations

from textual.content import Content

from bathkeeper.estimate.balance import Balance
from bathkeeper.estimate.learned import Learned
from bathkeeper.estimate.state import Jump
from bathkeeper.estimate.view import TankView
from bathkeeper.findings import Estimate
from bathkeeper.tui.plain import clean, join, pad, rows, say
from bathkeeper.tui.widgets.bar import between, left_bar, ranged, told
from bathkeeper.units.door import figures


def anodes(view: TankView, width: int) -> Content:
    """Each anode with what is left of it, then what 100 Ah of the present habits do."""
    lines: list[Content] = []
    for name, anode in view.anodes.items():
        where = "retired" if anode.retired else "hangs" if anode.hung else "lifted"
        drawn = left_bar(anode.left_fraction, max(width - 66, 6))
        lines.append(join([
            (pad(name, 10), "bold"), " ", pad(anode.metal, 7), " ", pad(told(anode.mass_g), 15), " ", *drawn,
            f" {anode.left_fraction:4.0%} of {anode.start_mass_g:.0f} g left, {where}",
        ]))  # fmt: skip
    if not lines:
        lines.append(say("No anode is on record in this tank. Press n to log one that is hung."))
    if view.balance is not None:
        lines += [say(""), *_balance(view.balance)]
    elif view.anodes:
        lines += [
            say(""),
            say("No balance yet: it needs charge passed through a bath that lays metal down.", "$foreground-muted"),
        ]
    return rows(lines)


def _balance(balance: Balance) -> list[Content]:
    lines = [say("100 Ah of the present habits, drag-out included", "bold")]
    for metal, net in balance.net_g.items():
        lines.append(join([pad(metal, 14), " ", pad(_signed(net), 22), " ", _meaning(net)]))
    acid = balance.acid_mol
    lines.append(
        join(
            [
                pad("acid used", 14),
                " ",
                pad(_signed(acid), 22),
                " ",
                "the pH rises by it" if acid.value > 0 else "the pH falls by it",
            ]
        )
    )
    if balance.holding_share:
        lines += [say(""), say("Share of the anode current", "bold")]
        for metal, share in balance.share.items():
            holding = balance.holding_share.get(metal)
            wanted = f"would hold at {told(holding)}" if holding is not None else ""
            lines.append(join([pad(metal, 14), " ", pad(f"now {told(share)}", 22), " ", wanted]))
        total = balance.sum_of_holding
        note = (
            "both can be held"
            if abs(total - 1) < 0.01
            else "more is needed than there is current"
            if total > 1
            else "more metal dissolves than leaves"
        )
        lines.append(join([pad("together", 14), " ", pad(f"{total:.0%}", 22), " ", note]))
    return lines


def _meaning(net: Estimate) -> str:
    if net.low > 0:
        return "builds up"
    return "has to be fed as salt" if net.high < 0 else "about in balance"


def _signed(estimate: Estimate) -> str:
    half = estimate.spread
    sign = "+" if estimate.value > 0 else "−" if estimate.value < 0 else ""
    return f"{sign}{figures(abs(estimate.value), half)} ±{figures(half, half)} {estimate.unit}"


def learned(view: TankView, width: int) -> Content:
    """Two lists: what the entries have taught of this bath, and what is only assumed with the experiment that would tell."""
    taught = [item for item in view.learned.values() if not item.assumed]
    assumed = [item for item in view.learned.values() if item.assumed]
    if not taught and not assumed:
        return say("There is nothing to be learned of this tank: its recipe has no parameters.")
    lines = [say("Learned from this bath's own entries", "bold")]
    lines += [_one(item, width) for item in taught] or [say("nothing yet", "$foreground-muted")]
    if view.instruments:
        lines += [say(""), say("Instruments and habits (how far they read off)", "bold")]
        lines += [
            join([pad(item.title.replace("gain: ", "gain of ").replace("bias: ", "offset of "), 40), "  ", told_percent(item)])
            for item in view.instruments.values()
        ]
    lines += [say(""), say("Only assumed; what would tell", "bold")]
    for item in assumed:
        lines += [_one(item, width), say(f"     → {clean(item.experiment)}", "$foreground-muted")]
    return rows(lines)


def _one(item: Learned, width: int) -> Content:
    """Title, value with its interval, and what was believed before; on two lines where there is no room."""
    value = ranged(item.value, item.low, item.high, item.unit)
    by = 100.0 if item.unit == "fraction" else 1.0
    before = (
        f"before: {between(item.prior['low'] * by, item.prior['high'] * by)}" if not item.assumed else f"from {item.status}"
    )
    if width < 100:
        return join([(item.title, ""), "\n     ", (pad(value, 36), "bold"), " ", (before, "$foreground-muted")])
    return join([pad(item.title, width - 70), " ", (pad(value, 38), "bold"), " ", (before, "$foreground-muted")])


def told_percent(item: Learned) -> str:
    """A relative error in percent, with its sign."""
    half = (item.high - item.low) / 2 * 100
    return f"{item.value * 100:+.1f} ±{figures(half, half)} %"


def jump(step: Jump) -> str:
    """A step in a content that no entry explains."""
    size = f"{step.amount:+.3g} {step.unit}"
    return f"! {step.of} stepped by {size} about {step.at:%d %b}, and no entry explains it: a missed entry?"

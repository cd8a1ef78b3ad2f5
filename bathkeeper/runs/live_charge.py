"""How much charge a live step passed through one supply: from a logger, a counter, or the current as set."""

from __future__ import annotations

import hashlib
import math
from dataclasses import dataclass, field, replace
from itertools import pairwise
from typing import Any, NamedTuple

from bathkeeper.chemistry.charge import trapezoid
from bathkeeper.runs.live_events import When

FROM_THE_START_S = 60.0  # a current told this soon after the parts went in is the one they went in with [practice]
SOON_S = 120.0  # a counter read later than this after the start, or before the end, has missed something worth telling
DISAGREE = 0.2  # counter or logger and current as set differ by more: one of them is wrong
CLOCK_TIME_S = 1e8  # a logger's seconds beyond this count from 1970, those below from the start of its log
IDLE = 0.01  # less than this part of a logger's largest current is none: the supply is off
LOST_BY_RESET = 0.25  # relative 95 % half-width of a counter that was reset on the way, as for one read twice


class Point(NamedTuple):
    """A current told at a second of the step's own clock."""

    clock_s: float
    current_a: float
    drifted: bool


class Read(NamedTuple):
    """A counter read at a second of the step's own clock."""

    clock_s: float
    ah: float
    when: When


class Row(NamedTuple):
    """A logger's line: seconds on its own clock, A, V."""

    time_s: float
    current_a: float
    volts: float | None


@dataclass(frozen=True)
class Feed:
    """Consecutive lines of one logger. Two rows further apart than ``longest_gap_s`` are a gap."""

    source: str
    longest_gap_s: float
    rows: tuple[Row, ...]


@dataclass(frozen=True)
class Channel:
    """One supply of a step, with all that was told of it. ``anodes``: those that hang on it alone."""

    supply: str | None
    anodes: tuple[str, ...] = ()
    planned_a: float | None = None
    points: tuple[Point, ...] = ()
    reads: tuple[Read, ...] = ()
    volts: tuple[float, ...] = ()
    feeds: tuple[tuple[str, Feed], ...] = ()

    @property
    def told(self) -> bool:
        """Whether anything of a charge is known."""
        return bool(self.points or self.reads or self.feeds) or self.planned_a is not None

    @property
    def last_a(self) -> float | None:
        """The current as it was last told, else as planned, A."""
        rows = [feed.rows[-1] for _, feed in self.feeds if feed.rows]
        if rows:
            return rows[-1].current_a
        return self.points[-1].current_a if self.points else self.planned_a

    @property
    def mean_volts(self) -> float | None:
        """Mean of the voltages that were told; of a logger's only those under current."""
        logged = [r.volts for _, f in self.feeds for r in f.rows if r.volts is not None and r.current_a > 0]
        every = [*self.volts, *([sum(logged) / len(logged)] if logged else [])]
        return round(sum(every) / len(every), 2) if every else None

    def fed(self, name: str, source: str, longest_gap_s: float, rows: tuple[Row, ...]) -> Channel:
        """With further lines of a logger."""
        feeds = dict(self.feeds)
        before = feeds.get(name)
        old = before.rows if before is not None else ()
        feeds[name] = Feed(source, longest_gap_s, (*old, *rows))
        return replace(self, feeds=tuple(feeds.items()))


@dataclass(frozen=True)
class Told:
    """A channel's charge: as an entry keeps it (None: nothing is known), in Ah, and what was doubtful about it."""

    charge: dict[str, Any] | None
    ah: float
    problems: tuple[str, ...] = ()
    gap_minutes: float = 0.0


@dataclass(frozen=True)
class Piece:
    """A stretch of even current on the step's clock: from ``from_a`` at ``start_s`` to ``to_a`` at ``end_s``."""

    start_s: float
    end_s: float
    from_a: float
    to_a: float

    @property
    def ah(self) -> float:
        return (self.from_a + self.to_a) / 2 * (self.end_s - self.start_s) / 3600


@dataclass
class _Doubts:
    where: str
    said: list[str] = field(default_factory=list)

    def say(self, text: str) -> None:
        self.said.append(f"{self.where}: {text}")


def pieces(channel: Channel, total_s: float) -> list[Piece]:
    """The current over the first ``total_s`` of the step's clock as even pieces; nothing when no current is known.

    A current told within :data:`FROM_THE_START_S` of the start, or the first one where none was planned, holds from the
    start. Before a later first one the planned current holds.
    """
    points = [p for p in channel.points if p.clock_s <= total_s]
    now = channel.planned_a
    if points and (now is None or (points[0].clock_s <= FROM_THE_START_S and not points[0].drifted)):
        now = points.pop(0).current_a
    if now is None:
        return []
    if points and points[-1].drifted and total_s - points[-1].clock_s <= min(SOON_S, 0.05 * total_s):
        points[-1] = points[-1]._replace(clock_s=total_s)  # the end of a ramp is read just before the parts come out
    made: list[Piece] = []
    clock = 0.0
    for point in points:
        if point.clock_s > clock:
            made.append(Piece(clock, point.clock_s, now, point.current_a if point.drifted else now))
            clock = point.clock_s
        now = point.current_a
    if total_s > clock or not made:
        made.append(Piece(clock, max(total_s, clock), now, now))
    return _joined(made)


def tell(channel: Channel, total_s: float, minutes: float, where: str, *, sealed: bool = False) -> Told:
    """The charge of a channel over a step's clock of ``total_s`` seconds, written for a stay of ``minutes`` as rounded.

    A logger counts before a counter, a counter before the current as set. ``sealed``: with the SHA-256 of a logger's lines, as
    an entry wants it.
    """
    doubts = _Doubts(where)
    currents = pieces(channel, total_s)
    if total_s <= 0 and currents:  # the clocks know nothing of this stay, but its minutes may have been said
        currents, total_s = [replace(currents[-1], start_s=0.0, end_s=minutes * 60)], minutes * 60
    scale = minutes * 60 / total_s if total_s > 0 else 1.0
    set_ah = sum(p.ah for p in currents) * scale
    if channel.feeds:
        made = _trace(channel, doubts, sealed, minutes * 60, set_ah)
        if made is not None:
            return replace(made, problems=tuple(doubts.said))
    if channel.reads:
        counted = _counter(channel, currents, scale, total_s, set_ah, doubts)
        if counted is not None:
            return Told(counted[0], counted[1], tuple(doubts.said))
    if not currents:
        if channel.told and not channel.feeds and not channel.reads and total_s > 0:
            doubts.say("no current was told")
        return Told(None, 0.0, tuple(doubts.said))
    if channel.planned_a is None and channel.points and channel.points[0].clock_s > SOON_S:
        late = channel.points[0]
        doubts.say(
            f"the first current was told after {late.clock_s / 60:.3g} min; {late.current_a:.4g} A is taken from the start"
        )
    return Told(as_told(currents, minutes), set_ah, tuple(doubts.said))


def as_told(currents: list[Piece], minutes: float) -> dict[str, Any]:
    """Pieces of even current as an entry keeps them: a current, a ramp, or stretches whose minutes add up to ``minutes``."""
    if len(currents) == 1:
        only = currents[0]
        if only.from_a == only.to_a:
            return {"current_a": only.from_a}
        return {"ramp": {"from_a": only.from_a, "to_a": only.to_a, "minutes": minutes}}
    total = currents[-1].end_s
    scale = minutes * 60 / total if total > 0 else 1.0
    stretches: list[dict[str, float]] = []
    for piece in currents:
        start, end = (round(s * scale / 60, 1) for s in (piece.start_s, piece.end_s))
        end = minutes if piece is currents[-1] else min(end, minutes)
        took = round(end - min(start, minutes), 4)
        mean = (piece.from_a + piece.to_a) / 2
        if took > 0:
            stretches.append({"current_a": float(f"{mean:.6g}"), "minutes": took})
    if not stretches:
        return {"current_a": currents[-1].to_a}
    if len(stretches) == 1:
        return {"current_a": stretches[0]["current_a"]}
    return {"stretches": stretches}


def _joined(made: list[Piece]) -> list[Piece]:
    """Neighbours of one steady current as one piece."""
    joined: list[Piece] = []
    for piece in made:
        if joined and joined[-1].from_a == joined[-1].to_a == piece.from_a == piece.to_a:
            joined[-1] = replace(joined[-1], end_s=piece.end_s)
        else:
            joined.append(piece)
    return joined


def _trace(channel: Channel, doubts: _Doubts, sealed: bool, stay_s: float, set_ah: float) -> Told | None:
    """What a logger's lines tell of a stay of ``stay_s`` seconds; ``set_ah`` is what the current as set would have passed."""
    charge_ah = gap_s = bridged_ah = span_s = under_s = 0.0
    counted = 0
    feeds = _once(channel, doubts)
    for feed in feeds:
        rows = [r for n, r in enumerate(feed.rows) if n == 0 or r.time_s >= feed.rows[n - 1].time_s]
        if len(rows) < 2:
            continue
        if any(b.time_s < a.time_s for a, b in pairwise(rows)):
            doubts.say("lines of the logger whose time runs back are left out")
            rows = sorted(rows, key=lambda r: r.time_s)
        found = trapezoid([r.time_s for r in rows], [r.current_a for r in rows], feed.longest_gap_s)
        charge_ah, gap_s, bridged_ah = charge_ah + found.charge_ah, gap_s + found.gap_s, bridged_ah + found.bridged_ah
        counted += len(rows)
        span_s += rows[-1].time_s - rows[0].time_s
        idle_a = IDLE * max(abs(r.current_a) for r in rows)
        steps = [(b.time_s - a.time_s, max(abs(a.current_a), abs(b.current_a))) for a, b in pairwise(rows)]
        under_s += sum(took_s for took_s, largest in steps if took_s <= feed.longest_gap_s and largest > idle_a)
    if counted < 2:
        doubts.say("fewer than two lines of the logger came; they make no charge")
        return None
    if charge_ah < 0:
        doubts.say(f"the logger's charge comes to {charge_ah:.4g} Ah, below zero: its leads are reversed; it is not counted")
        return None
    gap_minutes, bridged = round(gap_s / 60, 2), max(0.0, bridged_ah)
    if gap_s > 0:
        doubts.say(f"the logger was silent for {gap_minutes:g} min, not counted; bridged they would add {bridged:.4g} Ah")
    if len(feeds) > 1:
        doubts.say(f"the logger's lines came in {len(feeds)} pieces; the time between them is not counted")
    whole_ah = charge_ah + bridged
    if 0 < stay_s - SOON_S > span_s:
        doubts.say(f"the logger's lines tell of {span_s / 60:.3g} of {stay_s / 60:.3g} min; the rest is not counted")
    elif under_s > stay_s + SOON_S:
        took = f"for {under_s / 60:.3g} min, parts were in for {stay_s / 60:.3g}"
        doubts.say(f"the logger tells of current {took}; all of it counts")
    elif set_ah > 0 and abs(whole_ah - set_ah) > DISAGREE * max(whole_ah, set_ah):
        doubts.say(f"the logger tells {whole_ah:.4g} Ah, the current as set {set_ah:.4g} Ah: one is wrong; the logger counts")
    names = list(dict.fromkeys(feed.source for _, feed in channel.feeds))
    seal = _digest(channel) if sealed else ""
    trace: dict[str, Any] = {"file": ", ".join(names), "sha256": seal, "charge_ah": round(charge_ah, 6)}
    if gap_s > 0:
        trace |= {"gap_minutes": gap_minutes, "gap_charge_ah": round(bridged, 6)}
    return Told({"trace": trace}, charge_ah, gap_minutes=gap_minutes)


def _once(channel: Channel, doubts: _Doubts) -> list[Feed]:
    """The feeds of a channel without what came twice, as when a log that has grown is fed in again.

    Feeds told by clock time are one log, in which each moment counts once. Of feeds that count from their own start, one whose
    lines are all at the beginning of another is left out.
    """
    clocked = [f for _, f in channel.feeds if f.rows and f.rows[0].time_s >= CLOCK_TIME_S]
    others = [f for _, f in channel.feeds if f.rows and f.rows[0].time_s < CLOCK_TIME_S]
    kept: list[Feed] = []
    for feed in sorted(others, key=lambda f: -len(f.rows)):
        if not any(longer.rows[: len(feed.rows)] == feed.rows for longer in kept):
            kept.append(feed)
    twice = len(kept) < len(others)
    if clocked:
        rows: list[Row] = []
        for feed in sorted(clocked, key=lambda f: -len(f.rows)):
            known_s = {r.time_s for r in rows}
            new = [r for r in feed.rows if r.time_s not in known_s]
            twice = twice or len(new) < len(feed.rows)
            rows += new
        rows.sort(key=lambda r: r.time_s)
        kept.append(replace(clocked[0], longest_gap_s=min(f.longest_gap_s for f in clocked), rows=tuple(rows)))
    if twice:
        doubts.say("lines of the logger came twice; they count once")
    return kept


def _digest(channel: Channel) -> str:
    """SHA-256 of a logger's lines, written as ``time,current[,voltage]`` in shortest decimals."""
    digest = hashlib.sha256()
    for row in (r for _, feed in channel.feeds for r in feed.rows):
        volts = "" if row.volts is None else f",{row.volts!r}"
        digest.update(f"{row.time_s!r},{row.current_a!r}{volts}\n".encode())
    return digest.hexdigest()


def _counter(
    channel: Channel, currents: list[Piece], scale: float, total_s: float, set_ah: float, doubts: _Doubts
) -> tuple[dict[str, Any], float] | None:
    """(charge as told, Ah) from the counter's readings; what passed after the last is filled up from the current as set."""
    reads = list(channel.reads)
    if len(reads) < 2:
        only = reads[0]
        doubts.say(
            f"the counter was read once only ({only.ah:g} Ah at the {only.when}); "
            + ("the charge is counted by the current as set" if currents else "no charge can be told from it")
        )
        return None
    first, last = reads[0], reads[-1]
    if first.clock_s > SOON_S:
        doubts.say(f"the counter was first read after {first.clock_s / 60:.3g} min; what passed before is not in it")
    total, resets, apart = 0.0, 0, False
    for before, after in pairwise(reads):
        if after.when == "start":  # between two stays, or a start told anew: nothing passed here
            apart = apart or after.ah != before.ah
        elif after.ah >= before.ah:
            total += after.ah - before.ah
        else:
            resets += 1
            total += after.ah
            doubts.say(f"the counter went from {before.ah:g} back to {after.ah:g} Ah, taken as reset: at least {total:.4g} Ah")
    rest = 0.0
    if last.when == "middle" and total_s - last.clock_s > SOON_S:
        rest = sum(_after(p, last.clock_s) for p in currents) * scale
        doubts.say(
            f"the counter was not read at the end, last after {last.clock_s / 60:.3g} of {total_s / 60:.3g} min; "
            + (f"{rest:.4g} Ah are added by the current as set" if currents else "what passed afterwards is not counted")
        )
    ah = total + rest
    if set_ah > 0 and not resets and abs(ah - set_ah) > DISAGREE * max(ah, set_ah):
        doubts.say(
            f"the counter tells {ah:.4g} Ah, the current as set {set_ah:.4g} Ah: one is wrong; the counter counts"
        )
    if rest == 0.0 and not apart and (len(reads) == 2 or not resets):
        return {"counter": {"start_ah": first.ah, "end_ah": last.ah}}, ah
    charge: dict[str, Any] = {"charge_ah": float(f"{ah:.6g}")}
    if resets:
        charge["spread"] = float(f"{LOST_BY_RESET * ah:.6g}")
    return charge, ah


def _after(piece: Piece, clock_s: float) -> float:
    """Ah of a piece behind a second of the step's clock."""
    start = min(max(piece.start_s, clock_s), piece.end_s)
    if piece.end_s <= piece.start_s or math.isclose(start, piece.end_s):
        return 0.0
    share = (start - piece.start_s) / (piece.end_s - piece.start_s)
    at_start = piece.from_a + (piece.to_a - piece.from_a) * share
    return (at_start + piece.to_a) / 2 * (piece.end_s - start) / 3600

"""Half a year of a whole small plating line at Lantern Sluice Bench, an invented place that does up old ironwork.

The people, the place and the jobs are invented. What the keeper gets wrong in writing it
down is in ``mistakes.py``.
"""

from __future__ import annotations

from dataclasses import asdict, replace
from datetime import UTC, date, datetime, time, timedelta

import numpy as np

from tests.truth import jobs, mistakes, waste_yard
from tests.truth.chores import FULL_L, MINUTE, Chores
from tests.truth.diary import Diary, Plain
from tests.truth.instruments import Instruments, draw_biases
from tests.truth.keeper import STATED_G_L, SUPPLY, TANK, WORKING_L, Keeper
from tests.truth.mistakes import HOLIDAY, ON_RETURN
from tests.truth.side_tanks import SideHidden, SideTank
from tests.truth.vessel import Film
from tests.truth.zinc_nickel import SPECIES, ZincNickelBath, draw_hidden

PLACE, SEED = "Lantern Sluice Bench", 20260525
FIRST, LAST = date(2026, 5, 25), date(2026, 11, 24)
PICKLE_DUMP_DAY = date(2026, 9, 15)
PASSIVATE_CHANGE_DAY = date(2026, 9, 21)
ANODE_CHANGE_DAY = date(2026, 9, 28)
CALIBRATION_DAY = date(2026, 7, 6)
SURFACE_DM2 = {"electrolyte": 12.0, "degreaser": 8.0}
ANALYSED_RUN = 64
RUST_A, RUST_MIN = 6.0, 30.0
BRIGHTENER_ML_AH, BRIGHTENER_DOSE_ML = 0.19, 20.0

PLACES: tuple[tuple[str, str, str], ...] = (
    ("degreaser", "degrease", "alkaline-degreaser"),
    ("rust-removal", "rust removal", "electrolytic-rust-removal"),
    ("rinse-1", "rinse", "running-rinse"),
    ("pickle", "pickle", "bisulfate-pickle"),
    ("rinse-2", "rinse", "running-rinse"),
    ("electrolyte", "plate", "zinc-nickel-chloride-potassium"),
    ("rinse-3", "rinse", "still-rinse"),
    ("acid-dip", "acid dip", "nitric-dip"),
    ("passivate", "passivate", "trivalent-passivate-coloured"),
    ("rinse-4", "rinse", "running-rinse"),
    ("dry", "dry", "drying"),
)
RUNNING = tuple(name for name, _, recipe in PLACES if recipe == "running-rinse")
MINUTES = {"rinse-1": 1.0, "rinse-2": 1.0, "rinse-3": 1.0, "acid-dip": 0.2, "passivate": 1.0, "rinse-4": 1.0}


class Line:
    """The true workshop and its keeper, lived through day by day."""

    def __init__(self, seed: int = SEED) -> None:
        rng = np.random.default_rng([1, seed])
        start = datetime.combine(FIRST, time(8), UTC)
        # idle loss, share and drag-out are fixed so that the half-year shows each of its stories; the rest is drawn
        hidden = replace(draw_hidden(rng), anode_share_nickel=0.035, idle_zinc=0.36, drag_out=1.7)
        biases = draw_biases(rng)
        self.rng = rng
        self.bath = ZincNickelBath(hidden, start, SURFACE_DM2[TANK], np.random.default_rng([2, seed]))
        self.side_hidden = SideHidden()
        names = [name for name, role, _ in PLACES if role not in ("plate", "dry")]
        self.side = {name: SideTank(name, self.side_hidden, SURFACE_DM2.get(name, 6.0)) for name in names}
        self.diary = Diary(seed, self.bath.snapshot)
        tools = Instruments(biases, np.random.default_rng([3, seed]))
        self.keeper = Keeper(self.bath, tools, self.diary, rng, lifts=True)
        self.chores = Chores(self.side, tools, self.diary, rng)
        self.steel_g = {"steel-1": 2400.0, "steel-2": 2400.0}
        self.runs = 0
        self._ah_at_dose = 0.0
        self._last_deposit_g = self._last_nickel_part = 0.0
        self._job_bag: list[jobs.Job] = []

    def live(self) -> None:
        self._open()
        day = FIRST
        while day <= LAST:
            if not HOLIDAY[0] <= day <= HOLIDAY[1]:
                self._live_a_day(day, (day - FIRST).days)
            day += timedelta(days=1)
        end = datetime.combine(LAST, time(20), UTC)
        self.bath.rest_until(end)
        for tank in self.side.values():
            tank.rest_until(end)
        self.diary.mark(end)

    # -- the first day ------------------------------------------------------------------------------------------------

    def _open(self) -> None:
        at = datetime.combine(FIRST, time(8), UTC)
        self.diary.write(
            at, "workshop", name=PLACE, keeper="household", scale_resolution_g=1.0, date_order="dmy", decimal_comma=False,
            note="Invented. Boat-shed fittings, garden ironwork and loom parts, done up one basket at a time.",
        )  # fmt: skip
        for order, (name, role, recipe) in enumerate(PLACES, start=1):
            at += MINUTE
            litres = {} if role == "dry" else {"working_volume_l": WORKING_L if name == TANK else FULL_L}
            if litres:
                litres |= {"full_volume_l": 46.0 if name == TANK else 24.0, "surface_dm2": SURFACE_DM2.get(name, 6.0)}
            self.diary.write(at, "tank", tank=name, role=role, order=order, recipe=recipe, **litres)
        at += MINUTE
        self.keeper.make_up(at, {**STATED_G_L, "brightener": 1.0, "carrier": 30.0})
        self.keeper.hang(at + MINUTE, "zinc-1", "zinc", 1180.0, 2.5, "started on another bath")
        self.keeper.hang(at + 2 * MINUTE, "zinc-2", "zinc", 2040.0, 2.5)
        self.keeper.hang(at + 3 * MINUTE, "nickel-1", "nickel", 1500.0, 2.5)
        at = self.keeper.set_zinc(at + 4 * MINUTE, hung=False, note="zinc is lifted after every run")
        for name in self.side:
            at = self.chores.make_up(at, name)
        for name, mass in self.steel_g.items():
            self.diary.write(
                at, "anode", tank="rust-removal", anode=name, action="hung", metal="steel", mass_g=mass, area_dm2=4.0,
                note="plain mild steel, no stainless",
            )  # fmt: skip
            at += MINUTE
        self.diary.write(at, "remark", text="Whole line filled fresh today. First basket tomorrow.")

    # -- a day --------------------------------------------------------------------------------------------------------

    def _live_a_day(self, day: date, number: int) -> None:
        morning = datetime.combine(day, time(7, 30), UTC)
        if number == 0:
            return
        self._at_the_electrolyte(day, number, morning)
        self._at_the_side_tanks(day, number, morning + timedelta(minutes=90))
        if day.weekday() != 6 and self.rng.random() < 0.88:
            self._run(datetime.combine(day, time(11, int(self.rng.integers(0, 50))), UTC))
            if self.rng.random() < 0.24:
                self._run(datetime.combine(day, time(15, int(self.rng.integers(0, 50))), UTC))
        self._evening(day, number, datetime.combine(day, time(19), UTC))

    def _at_the_electrolyte(self, day: date, number: int, at: datetime) -> None:
        keeper = self.keeper
        if day == HOLIDAY[1] + timedelta(days=1):
            self._back_from_holiday(at)
            return
        if day.weekday() == 0:
            keeper.level_and_water(at)
        if number % 21 == 4 and number > 4:
            read = keeper.titrate(at + 15 * MINUTE, min(2, number // 61))
            keeper.correct_metals(at + 30 * MINUTE, read)
        if number % 63 == 40:
            self._slow_salts(at + 40 * MINUTE)
            keeper.salts(at + 45 * MINUTE, [("potassium chloride", 110.0), ("boric acid", 15.0)])
        if number % 9 == 3:
            keeper.strip_and_acid(at + 50 * MINUTE)
        if number in (58, 119, 177):
            keeper.weigh_anodes(at + 70 * MINUTE)
        if day == ANODE_CHANGE_DAY:
            keeper.retire(at + 70 * MINUTE, "zinc-1")
            keeper.hang(at + 72 * MINUTE, "zinc-3", "zinc", 2010.0, 2.5)
            self.bath.anodes["zinc-3"].hung = False
            self.diary.write(at + 73 * MINUTE, "anode", tank=TANK, anode="zinc-3", action="lifted")
        if self.bath.charge_ah - self._ah_at_dose > 100:
            self._ah_at_dose = self.bath.charge_ah
            self.bath.rest_until(at + 88 * MINUTE)
            self.diary.mark(at + 88 * MINUTE)
            self.bath.gain("brightener", keeper.tools.put_in(BRIGHTENER_DOSE_ML), "salts")
            keeper.add(at + 88 * MINUTE, [{"reagent": "brightener", "amount": BRIGHTENER_DOSE_ML, "unit": "mL"}])

    def _slow_salts(self, at: datetime) -> None:
        """Chloride and boric acid, titrated three times in the half-year."""
        self.bath.rest_until(at)
        true = {s: self.bath.concentration_g_l(s) for s in ("chloride", "boric acid")}
        read = {s: round(c * (1 + float(self.rng.normal(0.0, 0.012))), 1) for s, c in true.items()}
        method = {"chloride": "chloride by silver nitrate", "boric acid": "boric acid with mannitol"}
        values = [{"of": s, "value": v, "unit": "g/L", "method": method[s]} for s, v in read.items()]
        reading = self.diary.write(at, "reading", tank=TANK, values=values)
        self.chores.analyses.append({"id": reading, "at": at.isoformat(), "tank": TANK, "g_l": true})

    def _back_from_holiday(self, at: datetime) -> None:
        text = "Back after three weeks: both zinc anodes were left hanging the whole time. Lifted now."
        self.diary.write(at, "remark", tank=TANK, text=text)
        at = self.keeper.set_zinc(at + MINUTE, hung=False, note="had been hanging since the last day before the holiday")
        self.keeper.level_and_water(at)
        self.keeper.weigh_anodes(at + 15 * MINUTE)
        read = self.keeper.titrate(at + 40 * MINUTE, 1)
        self.keeper.correct_metals(at + 45 * MINUTE, read)
        self.keeper.strip_and_acid(at + 60 * MINUTE)

    def _at_the_side_tanks(self, day: date, number: int, at: datetime) -> None:
        chores = self.chores
        if day.weekday() == 2:
            at = chores.top_up(at, "degreaser")
        if number % 14 == 9:
            at = chores.alkali(at)
        if number % 14 == 11:
            at, _ = chores.pickle(at)
        if day == PICKLE_DUMP_DAY:
            at = chores.change(at, "pickle", "drum-1", "slow and brown: half of the acid gone")
        if number % 28 == 15:
            for name in ("rust-removal", "pickle"):
                at = chores.top_up(at, name)
        if day == PASSIVATE_CHANGE_DAY:
            at = chores.change(at, "passivate", "drum-4", "colour thin and streaky however long the dip")
        elif number % 14 == 5:
            at = chores.passivate(chores.top_up(at, "passivate"))
        if number % 23 == 12:
            at = chores.change(at, "acid-dip", "drum-2")
        if number % 28 == 20:
            for name in ("rinse-1", "rinse-2", "rinse-4"):
                at = chores.change(at, name, "tote-1")
        if number % 42 == 30:
            at = chores.change(at, "rinse-3", "drum-3", "drag-out rinse: holds nickel, kept apart")
        if day.weekday() == 4:
            chores.conductivity(at, "rinse-3" if number % 2 else "rinse-4")

    def _evening(self, day: date, number: int, at: datetime) -> None:
        if day == HOLIDAY[0] - timedelta(days=1):
            # nobody notices: the zinc stays in after the last run, and the entry is written on return, back-dated
            self.keeper.set_zinc(at, hung=True, note=ON_RETURN)
            at += 10 * MINUTE
        if day == CALIBRATION_DAY:
            gain = 1 / self.keeper.tools.biases.supply_gain
            result = round(gain * (1 + float(self.rng.normal(0.0, 0.004))), 3)
            against = "borrowed clamp meter at 6 A"
            self.diary.write(at, "calibration", what="supply", name=SUPPLY, against=against, result=result, spread=0.015)
            share = round(100 * self.bath.nickel_share * (1 + float(self.rng.normal(0.0, 0.03))), 1)
            value = {"of": "nickel_share", "value": share, "unit": "%", "method": "anode share by clamp meter"}
            self.diary.write(at + MINUTE, "reading", tank=TANK, values=[value], note="same clamp meter, one leg at a time")
            at += 2 * MINUTE
        if number % 35 == 24:
            word = "good" if number != 129 else "dull at the low end"
            self.diary.write(at, "reading", tank=TANK, values=[{"of": "panel", "unit": "verdict", "word": word}])
            at += MINUTE
        if number % 28 == 17:
            self.diary.write(at, "reading", tank="degreaser", values=[{"of": "water break", "unit": "verdict", "word": "good"}])
            at += MINUTE
        for text, fields in jobs.REMARKS.get(number, ()):
            self.diary.write(at, "remark", text=text, **fields)
            at += MINUTE

    # -- a run --------------------------------------------------------------------------------------------------------

    def _run(self, at: datetime) -> None:
        self.runs += 1
        if not self._job_bag:
            self._job_bag = [jobs.JOBS[i] for i in self.rng.permutation(len(jobs.JOBS))]
        job = self._job_bag.pop()
        true_dm2 = job.area_dm2 * float(np.exp(self.rng.normal(0.0, 0.12)))
        written_dm2 = round(self.keeper.tools.guessed_area(true_dm2), 1)
        stripped_g = 5.5 if self.runs in jobs.STRIPPED_RUNS else 0.0
        steps: list[Plain] = []
        film: Film = (0.0, {})
        for name, role, _ in PLACES:
            if role == "dry" or (name == "rust-removal" and not job.rusty):
                continue
            if name == TANK:
                step, film = self._plate(at, true_dm2, written_dm2, film)
            else:
                step, film = self._side_step(at, name, job, true_dm2, stripped_g, film)
            steps.append(step)
        part: Plain = {"description": job.description, "count": job.count, "area_dm2": written_dm2, **job.fields}
        if stripped_g:
            part["coating_stripped_g"] = stripped_g
        charge = next(s for s in steps if s["tank"] == TANK)
        typed = {"area": f"{written_dm2:g}dm2", TANK: f"{charge['charge']['current_a']:g}A*{charge['minutes']:g}min"}
        weighed: Plain = {}
        if self.runs % 20 == 7:
            before = float(round(330 * written_dm2))
            gained = self._last_deposit_g + float(self.rng.normal(0.0, self.keeper.tools.biases.scale_sd_g))
            weighed = {"mass_before_g": before, "mass_after_g": float(round(before + gained))}
            weighed["note"] = "first weighed dry after the pickle"
        result = jobs.RESULTS.get(self.runs)
        run = self.diary.write(at, "run", parts=[part], steps=steps, typed=typed, result=result, **weighed)
        self.diary.mark(at + charge["minutes"] * MINUTE)
        if self.runs == ANALYSED_RUN:
            percent = round(100 * self._last_nickel_part * (1 + float(self.rng.normal(0.0, 0.025))), 1)
            value = {"of": "deposit_nickel", "value": percent, "unit": "%", "method": "deposit analysis XRF"}
            self.diary.write(at + 100 * MINUTE, "reading", run=run, values=[value], note="one washer, sent away")

    def _plate(self, at: datetime, true_dm2: float, written_dm2: float, film: Film) -> tuple[Plain, Film]:
        current_a = round(written_dm2 * 1.55, 1)
        minutes = float(5 * round(45 * float(np.exp(self.rng.normal(0.0, 0.1))) / 5))
        charge_before = self.bath.charge_ah
        before = self._deposit_g()
        step, out = self.keeper.plate(at, true_dm2, current_a, minutes, film)
        self.bath.gain("brightener", -BRIGHTENER_ML_AH * (self.bath.charge_ah - charge_before), "used")
        after = self._deposit_g()
        self._last_deposit_g = sum(after) - sum(before)
        self._last_nickel_part = (after[1] - before[1]) / self._last_deposit_g
        return step, out

    def _deposit_g(self) -> tuple[float, float]:
        """Zinc and nickel laid down so far."""
        return -self.bath.ledger["zinc"]["deposit"], -self.bath.ledger["nickel"]["deposit"]

    def _side_step(
        self, at: datetime, name: str, job: jobs.Job, true_dm2: float, stripped_g: float, film: Film
    ) -> tuple[Plain, Film]:
        tank = self.side[name]
        tank.rest_until(at)
        tank.pour(*film, "drag-in")
        step: Plain = {"tank": name, "minutes": MINUTES.get(name, 0.0)}
        if name == "degreaser":
            step |= {"minutes": 12.0, "temperature_c": 60.0}
        elif name == "rust-removal":
            step |= {"minutes": RUST_MIN, "charge": {"current_a": RUST_A}, "supply": "charger"}
            lost_g = RUST_A * RUST_MIN / 60 * self.side_hidden.steel_anode_g_ah
            tank.gain("iron", lost_g, "anodes")
            for bar in self.steel_g:
                self.steel_g[bar] -= lost_g / len(self.steel_g)
        elif name == "passivate":
            step["temperature_c"] = 38.0
        elif name == "pickle":
            step["minutes"] = float(round(job.pickle_min + 0.1 * min(self._pickle_weakness() * 100, 40)))
        tank.work(true_dm2, step["minutes"], stripped_g)
        scatter = float(np.exp(self.rng.normal(0.0, 0.15)))
        out = tank.take(self.side_hidden.drag_out[name] * true_dm2 / 1000 * scatter, "drag-out")
        if name in RUNNING:
            tank.run_water_through()
        return step, out

    def _pickle_weakness(self) -> float:
        tank = self.side["pickle"]
        return 1 - tank.concentration_g_l("bisulfate") / tank.fresh_g_l["bisulfate"]


def sample(seed: int = SEED) -> tuple[list[Plain], Plain]:
    """The invented book's entries in the order of writing down, and the truth behind them."""
    line = Line(seed)
    line.live()
    entries = waste_yard.kept(mistakes.made(line.diary.entries, seed), seed)
    truth = {
        "invented": f"{PLACE} is invented; these are the hidden numbers of the simulation that wrote its book.",
        "as_of": datetime.combine(LAST, time(20), UTC).isoformat(),
        "parameters": {"electrolyte": asdict(line.bath.hidden), "other tanks": asdict(line.side_hidden)},
        "biases": asdict(line.keeper.tools.biases),
        "charge_ah": line.bath.charge_ah,
        "end": {
            TANK: {
                "volume_l": line.bath.volume_l,
                "ph": line.bath.ph,
                "g_l": {s: line.bath.concentration_g_l(s) for s in (*SPECIES, "iron")},
                "ml_l": {s: line.bath.concentration_g_l(s) for s in ("brightener", "carrier")},
                "anodes_g": line.bath.snapshot()["anodes"],
                "nickel_share": line.bath.nickel_share,
            },
            **{name: tank.state() for name, tank in line.side.items()},
            "passivate_ph": line.side["passivate"].ph,
            "steel_anodes_g": line.steel_g,
        },
        "analyses": [
            *(
                {"id": i, "at": t.isoformat(), "tank": TANK, "g_l": {"zinc": zinc, "nickel": nickel}}
                for i, t, zinc, nickel, _, _ in line.keeper.analyses
            ),
            *line.chores.analyses,
        ],
        "ledger": {
            TANK: _plain_ledger(line.bath.ledger),
            **{name: _plain_ledger(tank.ledger) for name, tank in line.side.items()},
        },
    }
    return entries, truth


def _plain_ledger(ledger: dict[str, dict[str, float]]) -> dict[str, dict[str, float]]:
    return {species: dict(accounts) for species, accounts in ledger.items()}

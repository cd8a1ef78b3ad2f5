"""Waste from the command line: every verb in words and as JSON, unknown and hostile names, moments, each country."""

from __future__ import annotations

import json
import shutil
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

import pytest

from bathkeeper.waste.treatment_data import treatment_notes
from bathkeeper.workshop import Workshop
from tests.cli.conftest import Run

ROOT = Path(__file__).parents[2]
SAMPLE = next((ROOT / "sample_data").glob("*.logbook.jsonl"))
OF_ONE = ("show", "plan", "codes", "compare")
OF_ALL = ("status", "account", "apart", "rules", "handed")
STATUS_KEYS = {"container", "volume_l", "contents", "opened", "storage_days_left", "candidate_codes"}
ACCOUNT_KEYS = {
    "into_tanks_l", "in_tanks_l", "in_containers_l", "evaporated_l", "on_parts_l", "handed_over_l", "lost_l", "unaccounted_l",
}  # fmt: skip
ENDS = ("licensed waste contractor", "licensed contractor", "licensed hazardous waste contractor")
HOSTILE = "\u202e\x1b[31m[b]drum[/b] 🧪"


@pytest.fixture(scope="module")
def shelf(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("shelf")
    return Path(shutil.copyfile(SAMPLE, folder / SAMPLE.name))


@pytest.fixture
def kept(shelf: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """The sample workshop to ask and never to write in: folded once, then kept as between two starts."""
    monkeypatch.setenv("BATHKEEPER_CACHE", str(shelf.parent / "cache"))
    return shelf


@pytest.fixture
def sample(tmp_path: Path) -> Path:
    """A copy of the sample workshop to write in."""
    return Path(shutil.copyfile(SAMPLE, tmp_path / SAMPLE.name))


def told(run: Run, book: Path, *words: object) -> Any:
    result = run("waste", *words, "--json", book=book)
    assert result.exit_code == 0, result.output
    return json.loads(result.stdout)


def said(run: Run, book: Path, *words: object) -> str:
    """The answer on one line, as a person would read it on."""
    result = run("waste", *words, book=book)
    assert result.exit_code == 0, result.output
    return " ".join(result.stdout.split())


def test_status_has_the_promised_shape(run: Run, kept: Path) -> None:
    answer = told(run, kept, "status")
    assert answer["containers"] and all(set(c) >= STATUS_KEYS for c in answer["containers"])
    assert set(answer["account"]) >= ACCOUNT_KEYS
    missing = answer["account"]["unaccounted_l"]
    assert missing["low"] <= missing["value"] <= missing["high"]
    drum = next(c for c in answer["containers"] if c["container"] == "drum-1")
    assert drum["volume_l"]["value"] == pytest.approx(19.4, abs=0.1) and drum["storage_days_left"] < 365
    assert "11 01 05*" in drum["candidate_codes"]


def test_an_empty_container_has_nothing_to_store(run: Run, kept: Path) -> None:
    empty = next(c for c in told(run, kept, "status")["containers"] if c["container"] == "drum-4")
    assert empty["storage"]["text"] == "" and empty["storage_days_left"] is None and empty["candidate_codes"] == []
    assert "the container is empty" in said(run, kept, "plan", "drum-4")
    assert "Nothing is in it" in said(run, kept, "codes", "drum-4")
    assert "how long it may stand" not in said(run, kept, "show", "drum-4")


@pytest.mark.parametrize("words", [*((v,) for v in OF_ALL), *((v, "drum-1") for v in OF_ONE)])
def test_every_answer_comes_both_ways_and_ends_with_whom_to_ask(run: Run, kept: Path, words: tuple[str, ...]) -> None:
    answer = told(run, kept, *words)
    assert isinstance(answer, dict)
    text = said(run, kept, *words)
    if words != ("account",):
        assert any(e in text[-700:] for e in ENDS), text[-700:]
        assert "2 June 2026" in text  # the rule set's date
    if words not in (("account",), ("plan", "drum-1")):
        assert answer["ask_first"]


def test_the_plan_reads_as_sentences_with_what_the_book_knows(run: Run, sample: Path) -> None:
    assert (
        run("settings", "address=5 Tern Lane", "phone=555 0199", "site_code=S-17", "industry_code=25.61", book=sample).exit_code
        == 0
    )
    text = said(run, sample, "plan", "drum-1")
    assert "pH 1 (0.5 to 1.5)" in text and "pH 1 pH" not in text
    assert "5 Tern Lane; 555 0199; trade code 25.61; household" in text and "where one is needed: S-17" in text
    assert "11 01 05* (as labelled); in question: 11 01 06*" in text and "HP 8 (as labelled)" in text
    assert "1 drum of 60 L, called drum-1, lid closed on" in text
    assert "bath 19.41 L from pickle, 2026-09-15" in text
    assert "…" not in text


def test_the_plan_takes_a_ph_and_a_tank(run: Run, kept: Path) -> None:
    low, high = (told(run, kept, "plan", "drum-1", "--ph", ph)["need"]["equivalents"]["value"] for ph in ("8", "11"))
    assert low <= high
    tank = told(run, kept, "plan", "pickle")
    assert tank["container"] == "pickle" and tank["candidates"]


def test_the_account_leaves_nothing_over(run: Run, kept: Path) -> None:
    for words in ((), ("--since", "2026-09-01"), ("--since", "2026-07-01", "--until", "2026-09-01")):
        answer = told(run, kept, "account", "--grams", *words)
        assert answer["left_over_l"] == pytest.approx(0.0, abs=1e-6)
        assert answer["grams"]["zinc"]["put_in_g"] >= 0
    found = [f["at"] for a in told(run, kept, "account", "--since", "2026-09-01")["account"]["arose"] for f in a["found"]]
    assert found and min(found) >= "2026-09-01"
    whole = told(run, kept, "account")["account"]["handed_over_l"]
    assert whole == pytest.approx(19.84, abs=0.05)
    assert told(run, kept, "account", "--until", "2026-10-01")["account"]["handed_over_l"] == 0
    text = said(run, kept, "account")
    assert "where it arose" in text and "grams unaccounted for (95 % interval" in text


def test_apart_grades_a_trace(run: Run, kept: Path) -> None:
    pairs = {(p["a"], p["b"], p["gives"]): p["verdict"] for p in told(run, kept, "apart")["must_not_meet"]}
    assert pairs["drum-2", "tote-1", "carbon dioxide"] == "with care"
    assert "never" in pairs.values()
    assert "no leave to mix" in said(run, kept, "apart")


def test_hand_overs_bear_their_papers(run: Run, sample: Path) -> None:
    (one,) = told(run, sample, "handed")["handed_over"]
    assert one["reference"] == "LS-2026-01" and one["receipt"]
    assert [(k["paper"]["name"], k["until"][:4]) for k in one["retention"]] == [("record", "2029")]
    run("settings", "keeper=business", book=sample)
    papers = {k["paper"]["name"] for k in told(run, sample, "handed")["handed_over"][0]["retention"]}
    assert {"consignment note", "record"} <= papers and "digital record of the receiver" not in papers


@pytest.mark.parametrize(
    ("country", "title", "system"),
    [("US", "United States", "us"), ("Germany", "Germany", "list of waste"), ("Scotland", "Scotland", "list of waste"),
     ("Utopia", "no rule set for this place", "")],
)  # fmt: skip
def test_each_country(run: Run, sample: Path, country: str, title: str, system: str) -> None:
    assert run("settings", f"country={country}", "--yes", book=sample).exit_code == 0
    rules = told(run, sample, "rules")
    assert rules["title"].startswith(title) and rules["system"] == system and country in rules["chosen"]
    assert {"routes", "thresholds", "storage", "papers", "discharge", "ask", "mixing", "notes", "allowances"} <= set(rules)
    text = said(run, sample, "rules")
    for part in ("routes", "how long it may stand", "papers", "discharge limits", "whom to ask", "mixing"):
        assert part in text
    for line in [w for part in ("routes", "notes", "papers") for w in rules[part] if w["status"] in ("memory", "practice")]:
        mark = {"memory": "(from memory: check)", "practice": "(common practice, no source)"}[line["status"]]
        if not line.get("keeper") or line["keeper"] == "household":
            assert f"{line['text'].split('. ')[-1].rstrip('.')}" in text and mark in text
    codes = [c["code"] for c in told(run, sample, "codes", "drum-1")["candidates"]]
    assert {"us": "D002", "list of waste": "11 01 05*", "": ""}[system] in codes
    assert not any(c.startswith("11 ") for c in codes) or system == "list of waste"
    rows = {r["of"]: r for r in told(run, sample, "compare", "drum-1")["compared"]}
    assert (rows["zinc"]["above"] is True) if country in ("US", "Germany") else not rows
    for verb in OF_ALL:
        said(run, sample, verb)
    for verb in OF_ONE:
        assert f"{title.split()[0]}" in said(run, sample, verb, "drum-2")


MARKS = {"seen": "[", "derived": "[", "memory": "(from memory: check)", "practice": "(common practice, no source)"}
COUNTRIES = ("England", "Scotland", "Wales", "Northern Ireland", "US", "Germany", "France", "Utopia")


@pytest.mark.parametrize("country", COUNTRIES)
def test_every_line_of_the_rules_bears_its_mark(run: Run, sample: Path, country: str) -> None:
    """A remembered line looks other than one that was read: times, thresholds, discharge limits and everything else."""
    assert run("settings", f"country={country}", "keeper=", "--yes", book=sample).exit_code == 0
    rules, text = told(run, sample, "rules"), said(run, sample, "rules")
    for part in ("routes", "thresholds", "papers", "ask", "mixing", "notes"):
        for line in rules[part]:
            if line.get("keep_years") is None:
                assert f"{line['text']} {MARKS[line['status']]}" in text, line
    for line in rules["storage"]:
        assert f"{line['text']}; counted from {line['starts']} {MARKS[line['status']]}" in text, line
    for line in (p for p in rules["papers"] if p["keep_years"] is not None):
        assert f"{line['text']}; keep {line['keep_years']:g} years from {line['since']} {MARKS[line['status']]}" in text, line
    remembered = [d for d in rules["discharge"] if d["status"] == "memory"]
    assert bool(remembered) == (country == "US")
    for line in remembered:
        assert f"{line['average_mg_l']:g} mg/L; {line['about']}; (from memory: check)" in text, line


@pytest.mark.parametrize("country", COUNTRIES)
def test_the_plan_marks_why_treating_may_be_unlawful(run: Run, sample: Path, country: str) -> None:
    assert run("settings", f"country={country}", "--yes", book=sample).exit_code == 0
    name = told(run, sample, "rules")["rule_set"]
    text, plain = said(run, sample, "plan", "drum-1"), told(run, sample, "plan", "drum-1")["home_treatment"]
    for note in treatment_notes(name):
        line = f"{note.text} {MARKS[note.status]}"
        assert line in text and any(p.startswith(line) for p in plain), note
        assert not note.source or f"[{note.source}]" in text
    assert bool({"memory", "practice"} & {n.status for n in treatment_notes(name)}) == (country != "US")


def test_how_long_a_container_may_stand_bears_its_mark(run: Run, sample: Path) -> None:
    for country, marked in (("England", False), ("Scotland", True), ("France", True), ("Utopia", True)):
        assert run("settings", f"country={country}", "--yes", book=sample).exit_code == 0
        part = said(run, sample, "show", "drum-1").partition("how long it may stand")[2].partition("label")[0]
        assert ("(from memory: check)" in part or "(common practice, no source)" in part) == marked, part


def test_where_a_container_stands_and_how_far_it_goes_are_told_and_shown(run: Run, sample: Path) -> None:
    shed = ("definition", "waste limit", "lock-up", 'what = "elsewhere"', 'containers = ["drum-1"]', 'since = "2026-11-01"')
    for words in (shed, ("definition", "waste limit", "the road", 'what = "far"')):
        result = run("log", *words, book=sample)
        assert result.exit_code == 0, result.output
    text = said(run, sample, "rules")
    assert "elsewhere: at another place of yours, since 2026-11-01 (of drum-1)" in text
    assert "far: whoever takes it lies 200 miles (322 km) or more away" in text
    drum = next(c for c in told(run, sample, "status")["containers"] if c["container"] == "drum-1")
    assert drum["storage"]["by"].startswith("2027-02-01") and "3 months" in drum["storage"]["text"]
    assert "2026-11-01" in said(run, sample, "show", "drum-1")
    run("settings", "country=US", "keeper=business", book=sample)
    help_text = " ".join(run("waste", "rules", "--help").stdout.split())
    assert '"elsewhere"' in help_text and '"far"' in help_text
    refused = run("log", *shed[:4], 'since = "soon"', book=sample)
    assert refused.exit_code == 2 and "2027-05-01" in refused.stderr


def test_ones_own_limits_are_shown_and_win(run: Run, sample: Path) -> None:
    body = {"what": "discharge", "of": "Zn", "mg_l": 1.5, "reference": "consent 12", "authority": "Sluice Water"}
    Workshop.open(sample).log(
        {"at": datetime.now(UTC), "kind": "definition", "of": "waste limit", "name": "zinc", "body": body}
    )
    assert "Sluice Water" in said(run, sample, "rules")
    (row,) = told(run, sample, "compare", "drum-1")["compared"]
    assert row["own"] and row["above"] and row["limit"] == 1.5
    assert "Sluice Water" in said(run, sample, "compare", "drum-1")


def test_a_moment_in_the_past_knows_only_what_was_then(run: Run, kept: Path) -> None:
    then = told(run, kept, "status", "--at", "2026-06-10")
    assert [c["container"] for c in then["containers"]] == ["drum-2"] and not then["handed_over"]
    refused = run("waste", "show", "drum-1", "--at", "2026-06-10", book=kept)
    assert refused.exit_code == 2 and "drum-2" in refused.stderr


@pytest.mark.parametrize("verb", OF_ONE)
@pytest.mark.parametrize("name", ["nowhere", HOSTILE, "x" * 5000])
def test_a_name_that_nothing_has_is_one_sentence(run: Run, kept: Path, verb: str, name: str) -> None:
    result = run("waste", verb, name, book=kept)
    assert result.exit_code == 2 and result.stdout == ""
    assert "no container is called" in result.stderr and "drum-1" in result.stderr
    assert len(result.stderr) < 400 and "\x1b" not in result.stderr and "\u202e" not in result.stderr


@pytest.mark.parametrize(
    ("words", "says"),
    [
        (("plan", "drum-1", "--ph", "15"), "0 to 14"), (("plan", "drum-1", "--ph", "nan"), "not a number"),
        (("plan", "drum-1", "--ph", "sour"), "not a number"), (("account", "--since", "2999-01-01"), "--since"),
        (("account", "--until", "2026-09-01", "--at", "2026-09-01"), "give one of them"), (("show",), "CONTAINER"),
        (("pour",), "pour"), (("plan", "rinse-9"), "rinse-9"),
    ],
)  # fmt: skip
def test_wrong_usage_is_told(run: Run, kept: Path, words: tuple[str, ...], says: str) -> None:
    result = run("waste", *words, book=kept)
    assert result.exit_code == 2, result.output
    assert says in result.stderr and "Traceback" not in result.output


def test_an_empty_book_answers_everything(run: Run, tmp_path: Path) -> None:
    book = tmp_path / "bare.logbook.jsonl"
    assert run("new", "Bare", "--book", book).exit_code == 0
    for verb in OF_ALL:
        assert run("waste", verb, book=book).exit_code == 0, verb
        assert told(run, book, verb)
    status = run("waste", "status", book=book)
    assert "No container is on record" in status.stderr and "no country is told" in " ".join(status.stdout.split())
    assert "Nothing was handed over" in run("waste", "handed", book=book).stderr
    for verb in OF_ONE:
        assert run("waste", verb, "drum-1", book=book).exit_code == 2


def test_hostile_words_in_the_book_stay_words(run: Run, book: Path) -> None:
    workshop, at = Workshop.open(book), datetime.now(UTC) - timedelta(hours=2)
    name = "[red]x[/red]🧪 \u05d0"
    for minute, raw in enumerate((
        {"kind": "container", "container": name, "action": "opened", "form": "\u202edrum", "place": "a\x1b[2J" + "p" * 80},
        {"kind": "removal", "tank": "pickle", "all": True, "to": name},
        {"kind": "container", "container": name, "action": "labelled", "codes": ["\x07" + "c" * 40], "hazards": ["\u202eHP 8"]},
        {"kind": "container", "container": name, "action": "handed over", "volume_l": 2.0, "to": "\x1b]0;t\x07desk",
         "reference": "\u202eR", "papers": {"carrier": "y" * 400}},
    )):  # fmt: skip
        workshop.log({"at": at + timedelta(minutes=minute), **raw})
    run("settings", "address=\x1b[31m5 Tern Lane", book=book)
    for words in (*((v,) for v in OF_ALL), *((v, name) for v in OF_ONE)):
        result = run("waste", *words, book=book)
        assert result.exit_code == 0, result.output
        assert not set(result.output) & set("\x1b\x07\u202e"), words
        json.loads(run("waste", *words, "--json", book=book).stdout)
    assert "[red]x[/red]" in run("waste", "status", book=book).stdout


def test_grams_unaccounted_for_have_their_interval_and_vessel(run: Run, kept: Path) -> None:
    for words in ((), ("--since", "2026-09-01")):
        found = told(run, kept, "account", *words)["unaccounted_g"]
        nickel = next(f for f in found if f["species"] == "nickel")
        assert nickel["grams"]["unit"] == "g" and nickel["grams"]["low"] < nickel["grams"]["value"] < nickel["grams"]["high"]
        assert nickel["arose"][0]["vessel"] == "electrolyte" and nickel["arose"][0]["found"]
        assert "boric acid" not in [f["species"] for f in found]
    every = told(run, kept, "account", "--grams")
    assert "boric acid" in [f["species"] for f in every["unaccounted_g"]]
    assert set(every["grams"]["nickel"]["unaccounted_g"]) == {"value", "low", "high", "unit"}
    assert told(run, kept, "status")["unaccounted_g"][0]["species"] in ("zinc", "nickel", "iron", "chromium")
    assert max(len(line) for line in run("waste", "account", "--grams", book=kept).stdout.splitlines()) <= 80
    assert "g nickel (" in said(run, kept, "account") and "unaccounted for: " in said(run, kept, "status")


def test_a_damaged_book_still_answers_and_says_so(run: Run, sample: Path) -> None:
    from tests.cli.conftest import hurt

    hurt(sample, 200)
    result = run("waste", "status", book=sample)
    assert result.exit_code == 4 and "damaged" in result.stderr and result.stdout

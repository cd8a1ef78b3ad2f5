"""What no string that a person can see ever says, and that nothing proposes dilution: data, literals, help, and answers."""

from __future__ import annotations

import ast
import re
import shutil
import tomllib
from collections.abc import Iterator
from pathlib import Path

import click
import pytest
from click.testing import CliRunner

from bathkeeper.cli.program import program

ROOT = Path(__file__).parents[2]
PACKAGE = ROOT / "bathkeeper"
SAMPLE = next((ROOT / "sample_data").glob("*.logbook.jsonl"))
NEVER = re.compile(r"\b(optimal(ly)?|guaranteed|safe[\s-]to[\s-]pour|compliant|non-?hazardous)\b", re.IGNORECASE)
WATERED = re.compile(
    r"\b(dilut\w*|water(ed|ing)? (it|them|that|this) down|add (more )?water|thin(ned)? with water)\b", re.IGNORECASE
)
LIMIT = re.compile(r"\b(limit|discharge|sewer|drain|consent|effluent|hazardous)\b", re.IGNORECASE)
REFUSED = re.compile(
    r"counts? as mixing|\b(?:not|never|nor|no) (?:\w+ ){0,8}(?:count|water|dilut|mix|treat|allow)"
    r"|dilution (?:\w+ ){0,6}(?:not|never|forbidden)|dilution included|not to be mixed",
    re.IGNORECASE,
)
TEXTS = sorted(PACKAGE.rglob("*.toml"))
MODULES = sorted(PACKAGE.rglob("*.py"))
CONTAINERS = ("drum-1", "drum-2", "drum-3", "drum-4", "tote-1", "rag-bin")
ANSWERS = (
    ("due",), ("status",), ("safety",), ("stock", "list"), ("stock", "reorder"), ("lay-up", "--days", "21"), ("wake-up",),
    ("forecast",), ("signs",), ("check",),
    ("causes", "dull"), ("anodes", "electrolyte"), ("status", "electrolyte"), ("status", "pickle"),
    ("dose", "electrolyte"), ("dose", "electrolyte", "--make-up"), ("dose", "pickle", "--refresh"),
    *(("waste", v) for v in ("status", "account", "apart", "rules", "handed")),
    *(("waste", v, c) for v in ("show", "plan", "codes", "compare") for c in CONTAINERS),
    *(("waste", v, "electrolyte") for v in ("plan", "codes", "compare")),
    ("calc", "neutralise", "--volume", "25L", "--acid", "hydrochloric acid 80g/L", "--metal", "iron(II) 60g/L", "--base",
     "calcium hydroxide", "--why"),
)  # fmt: skip
COUNTRIES = ("US", "Germany", "Scotland", "Utopia")


def strings(value: object) -> Iterator[str]:
    if isinstance(value, str):
        yield value
    elif isinstance(value, dict):
        for key, inner in value.items():
            yield str(key)
            yield from strings(inner)
    elif isinstance(value, list):
        for inner in value:
            yield from strings(inner)


def literals(path: Path) -> Iterator[str]:
    """Every string of a module, those inside f-strings too; docstrings are left out."""
    tree = ast.parse(path.read_text(encoding="utf-8"))
    bare = {id(n.value) for n in ast.walk(tree) if isinstance(n, ast.Expr)}
    for node in ast.walk(tree):
        if isinstance(node, ast.Constant) and isinstance(node.value, str) and id(node) not in bare:
            yield node.value


def helps(command: click.Command, names: tuple[str, ...] = ()) -> Iterator[tuple[tuple[str, ...], click.Command]]:
    yield names, command
    if isinstance(command, click.Group):
        context = click.Context(command)
        for name in command.list_commands(context):
            inner = command.get_command(context, name)
            assert inner is not None
            yield from helps(inner, (*names, name))


def faults(text: str) -> list[str]:
    """Sentences that say what nobody may say, or that speak of watering down with a limit near and do not refuse it."""
    flat = " ".join(text.split())
    found = [m.group() for m in NEVER.finditer(flat)]
    for sentence in re.split(r"(?<=[.;?!])\s", flat):
        if WATERED.search(sentence) and LIMIT.search(sentence) and not REFUSED.search(sentence):
            found.append(sentence)
    return found


@pytest.mark.parametrize(
    ("text", "bad"),
    [
        ("This is Non-Hazardous.", True), ("a suboptimal bath", False), ("the optimal pH", True), ("Safe to\n  pour", True),
        ("noncompliant", False), ("fully COMPLIANT", True), ("nothing is guaranteed", True),
        ("Dilute it until it meets the limit.", True), ("Add water to reach the discharge limit.", True),
        ("Hazardous waste: dilution counts as mixing.", False), ("Diluted acid is how it is neutralised.", False),
        ("Dilute it so that it never exceeds the limit.", True),
        ("Dilution does not count as treatment, whatever the limit.", False),
    ],
)  # fmt: skip
def test_the_net_catches_what_it_should(text: str, bad: bool) -> None:
    assert bool(faults(text)) == bad


@pytest.mark.parametrize("path", TEXTS, ids=lambda p: str(p.relative_to(PACKAGE)))
def test_no_data_says_it(path: Path) -> None:
    told = [f for text in strings(tomllib.loads(path.read_text(encoding="utf-8"))) for f in faults(text)]
    assert not told


def test_no_literal_says_it() -> None:
    told = {str(p.relative_to(PACKAGE)): found for p in MODULES if (found := [f for t in literals(p) for f in faults(t)])}
    assert not told


def test_no_help_says_it() -> None:
    for names, command in helps(program):
        result = CliRunner().invoke(program, [*names, "--help"])
        assert result.exit_code == 0, names
        assert not faults(result.output), names
        assert command.help or not names


@pytest.fixture(scope="module")
def books(tmp_path_factory: pytest.TempPathFactory) -> dict[str, Path]:
    """The sample workshop as it is, and under the rules of other places."""
    folder = tmp_path_factory.mktemp("never")
    made = {}
    for country in ("", *COUNTRIES):
        made[country] = Path(shutil.copyfile(SAMPLE, folder / f"{country or 'own'}.logbook.jsonl"))
        if country:
            told = CliRunner().invoke(program, ["settings", f"country={country}", "--yes", "--book", str(made[country])])
            assert told.exit_code == 0, told.output
    return made


def answered(words: tuple[str, ...], book: Path | None) -> None:
    """Asks in words and as JSON; nothing that comes back says what nobody may say."""
    for more in ([], ["--json"]):
        result = CliRunner().invoke(program, [*words, *more, *(["--book", str(book)] if book is not None else [])])
        assert result.exit_code in (0, 1, 3), (words, result.output)
        assert len(result.output) > 2, words
        assert not faults(result.output), (words, more)


@pytest.mark.parametrize("words", ANSWERS, ids=" ".join)
def test_no_answer_on_the_sample_says_it(words: tuple[str, ...], books: dict[str, Path]) -> None:
    answered(words, None if words[0] == "calc" else books[""])


@pytest.mark.parametrize("country", COUNTRIES)
def test_no_answer_elsewhere_says_it(country: str, books: dict[str, Path]) -> None:
    for words in (
        ("waste", "rules"),
        ("waste", "status"),
        *(("waste", v, "drum-1") for v in ("show", "plan", "codes", "compare")),
    ):
        answered(words, books[country])


def test_no_recipe_shown_in_full_says_it() -> None:
    for path in sorted((PACKAGE / "catalogue" / "recipes").glob("*.toml")):
        answered(("recipe", "show", path.stem), None)

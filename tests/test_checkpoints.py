"""A kept world changes nothing but the time that a start takes."""

from __future__ import annotations

import pickle
from pathlib import Path

import numpy as np
import pytest

from bathkeeper import checkpoints
from bathkeeper.workshop import Workshop
from tests.truth.electrolyte import simulate


@pytest.fixture
def book(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.setenv("BATHKEEPER_CACHE", str(tmp_path / "cache"))
    path = tmp_path / "shed.logbook.jsonl"
    entries = simulate(7).entries
    Workshop.open(path, create=True).log_all(entries[:-40])
    return path


def same(a: Workshop, b: Workshop) -> bool:
    return all(
        np.array_equal(a.world.tanks[n].gauss.mean, b.world.tanks[n].gauss.mean)
        and np.array_equal(a.world.tanks[n].gauss.cov, b.world.tanks[n].gauss.cov)
        and a.world.tanks[n].flows == b.world.tanks[n].flows
        and a.world.tanks[n].doubts == b.world.tanks[n].doubts
        for n in {*a.world.tanks, *b.world.tanks}
    )


def without_cache(path: Path, monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> Workshop:
    with monkeypatch.context() as patch:
        patch.setenv("BATHKEEPER_CACHE", str(tmp_path / "empty"))
        return Workshop.open(path)


def test_a_second_start_uses_it_and_says_the_same(book, monkeypatch, tmp_path):
    second = Workshop.open(book)
    assert second._covered > 100
    assert same(second, without_cache(book, monkeypatch, tmp_path))


def test_what_comes_after_and_what_comes_late(book, monkeypatch, tmp_path):
    second = Workshop.open(book)
    late = simulate(7).entries[-40:]
    second.log_all([*late[20:], *late[:20]])
    value = {"of": "zinc", "value": 33.0, "unit": "g/L"}
    second.log({"kind": "reading", "at": late[0]["at"], "tank": "electrolyte", "values": [value]})
    assert same(second, without_cache(book, monkeypatch, tmp_path))


@pytest.mark.parametrize("harm", [b"", b"not a pickle", pickle.dumps((10, "other key", None, []))])
def test_a_spoilt_cache_is_not_used(book, harm, monkeypatch, tmp_path):
    place = checkpoints._place(book)
    assert place.exists()
    place.write_bytes(harm)
    second = Workshop.open(book)
    assert same(second, without_cache(book, monkeypatch, tmp_path))


def test_a_changed_book_is_read_anew(book, monkeypatch, tmp_path):
    first = Workshop.open(book)
    run = next(e for e in first.entries("electrolyte") if e.kind == "run")
    first.correct(run.id, "logged twice", None)
    assert same(Workshop.open(book), without_cache(book, monkeypatch, tmp_path))

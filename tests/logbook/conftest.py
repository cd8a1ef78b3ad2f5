"""Each test has a memory of its own of how far books reached, and a path for a book."""

from __future__ import annotations

from pathlib import Path

import pytest


@pytest.fixture(autouse=True)
def own_cache(tmp_path_factory: pytest.TempPathFactory, monkeypatch: pytest.MonkeyPatch) -> Path:
    folder = tmp_path_factory.mktemp("cache")
    monkeypatch.setenv("BATHKEEPER_CACHE", str(folder))
    return folder


@pytest.fixture
def place(tmp_path: Path) -> Path:
    return tmp_path / "shed.logbook.jsonl"

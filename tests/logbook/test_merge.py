"""Merging copies: its laws, what comes along verbatim, and what is refused."""

from __future__ import annotations

import itertools
import shutil
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from bathkeeper.entries import AnyEntry, Unknown
from bathkeeper.logbook.book import Book
from bathkeeper.logbook.corrections import resolve
from bathkeeper.logbook.errors import BookError, MergeConflict, ReadOnlyBook
from bathkeeper.logbook.merge import merge

from .helpers import book_of, correction, remark, unknown

POOL: list[AnyEntry | Unknown] = [remark(f"é {n}", 10 - n, id=f"pool-{n:04d}") for n in range(6)]
POOL += [correction("pool-0001", 20, id="pool-fix-1"), correction("pool-0002", 21, id="pool-fix-2", text="right")]
POOL += [unknown("pool-odd-1", 3, shape="cube"), correction("pool-fix-1", 30, id="pool-fix-3")]
SHARES = st.lists(st.lists(st.sampled_from(POOL), unique_by=lambda entry: entry.id), min_size=3, max_size=3)
_folders = itertools.count()


@settings(max_examples=40, deadline=None)
@given(SHARES)
def test_laws(tmp_path_factory: pytest.TempPathFactory, shares: list[list[AnyEntry | Unknown]]) -> None:
    """Any order, any grouping, any repetition of merging gives the same entries, the same bytes each, the same effect."""
    folder = tmp_path_factory.getbasetemp() / f"merge-{next(_folders)}"
    folder.mkdir()
    places = [folder / name for name in "abc"]
    for place, share in zip(places, shares, strict=True):
        book_of(place, *share)
    results = []
    for order in itertools.permutations(range(3)):
        target = folder / ("into" + "".join(map(str, order)))
        shutil.copy(places[order[0]], target)
        book = Book.open(target)
        for n in order[1:]:
            merge(book, places[n])
        results.append(book)
    grouped = folder / "grouped"
    shutil.copy(places[1], grouped)
    merge(Book.open(grouped), places[2])
    whole = folder / "whole"
    shutil.copy(places[0], whole)
    book = Book.open(whole)
    merge(book, grouped)
    again = merge(book, grouped)
    assert again.added == 0 and again.same == len(Book.open(grouped).entries())
    assert merge(book, whole).added == 0
    results.append(book)
    expected = {entry.id for share in shares for entry in share}
    for result in results:
        assert dict(result.contents()) == dict(results[0].contents())
        assert {entry.id for entry in result.entries()} == expected
        assert resolve(result.entries()) == resolve(results[0].entries())
        fresh = Book.open(result.path)
        assert not fresh.damage and fresh.entries() == result.entries()


def test_counts_and_verbatim(tmp_path: Path) -> None:
    odd = unknown(shape="cube", much=1e2)
    here = book_of(tmp_path / "here", POOL[0], POOL[1])
    there = book_of(tmp_path / "there", POOL[1], odd, POOL[2])
    done = merge(here, there.path)
    assert (done.added, done.same) == (2, 1)
    assert dict(there.contents()).items() <= dict(here.contents()).items()
    assert len(done.problems) == 1 and "kept and skipped" in done.problems[0].what


def test_the_same_id_with_other_content_is_refused_and_both_are_shown(tmp_path: Path) -> None:
    here = book_of(tmp_path / "here", remark("one thing", 1, id="same-id-01"))
    there = book_of(tmp_path / "there", remark("new", 2), remark("another thing", 1, id="same-id-01"))
    before = here.path.read_bytes()
    with pytest.raises(MergeConflict) as refused:
        merge(here, there.path)
    assert "one thing" in refused.value.message and "another thing" in refused.value.message
    assert "line 1" in refused.value.message and "line 2" in refused.value.message
    assert [id for id, _, _ in refused.value.conflicts] == ["same-id-01"]
    assert here.path.read_bytes() == before


def test_a_damaged_or_missing_book_is_not_merged(tmp_path: Path) -> None:
    here = book_of(tmp_path / "here", remark("one"))
    there = book_of(tmp_path / "there", remark("two"), remark("three", 1))
    there.path.write_bytes(there.path.read_bytes().replace(b"two", b"owt"))
    with pytest.raises(ReadOnlyBook, match=r"line 1[\s\S]*Salvage"):
        merge(here, there.path)
    with pytest.raises(BookError, match="no file"):
        merge(here, tmp_path / "nowhere")
    assert len(Book.open(here.path).entries()) == 1

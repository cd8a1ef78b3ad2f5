"""What is due of a hand-over without a reference names the container and the day, never a bare id."""

from __future__ import annotations

from tests.due.test_waste import dumped, found


def test_a_hand_over_without_a_reference_goes_by_container_and_day():
    book = dumped()
    book.log("container", container="drum-1", action="handed over", all=True, to="the county point")
    told = found(book, 40)
    (receipt,) = [f for id, f in told.items() if ".receipt." in id]
    assert receipt.what == "ask the county point for the receipt of drum-1, handed over 05 Jan 2026"
    assert "keep the papers of drum-1, handed over 05 Jan 2026, until" in told["workshop.retention.papers"].what

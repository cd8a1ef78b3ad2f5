"""Findings in the order in which a person should read them."""

from __future__ import annotations

from collections.abc import Iterable

from bathkeeper.findings import Finding

LEVELS = ("now", "soon", "later")


def by_tank(findings: Iterable[Finding]) -> list[tuple[str, list[Finding]]]:
    """Tanks with their findings, the urgent first; the tank with the most urgent one first."""
    grouped: dict[str, list[Finding]] = {}
    for finding in sorted(findings, key=lambda f: LEVELS.index(f.level)):
        grouped.setdefault(finding.tank, []).append(finding)
    return list(grouped.items())

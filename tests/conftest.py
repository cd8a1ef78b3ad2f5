"""Tests keep their caches and states to themselves."""

from __future__ import annotations

import os
import tempfile

_OWN = tempfile.mkdtemp(prefix="bathkeeper-tests-")
os.environ["BATHKEEPER_CACHE"] = os.path.join(_OWN, "cache")
os.environ.setdefault("XDG_STATE_HOME", os.path.join(_OWN, "state"))
os.environ.pop("BATHKEEPER_BOOK", None)

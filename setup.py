"""Puts the sample book into the package when it is built; everything else is in pyproject.toml."""

from __future__ import annotations

import shutil
from pathlib import Path

from setuptools import setup
from setuptools.command.build_py import build_py

HERE = Path(__file__).resolve().parent


class WithSample(build_py):
    """The sample lies beside the package in a checkout, so that people find it; an installed program needs its own copy."""

    def run(self) -> None:
        super().run()
        if self.editable_mode:
            return
        data = Path(self.build_lib) / "bathkeeper" / "data"
        data.mkdir(parents=True, exist_ok=True)
        for book in sorted((HERE / "sample_data").glob("*.logbook.jsonl")):
            shutil.copyfile(book, data / book.name)


setup(cmdclass={"build_py": WithSample})

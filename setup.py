"""What a package index shows of growcells: the README without what leads to files that the index does not have."""

from __future__ import annotations

import re
from pathlib import Path

from setuptools import setup

HERE = r"(?!https?:)[^)]*"
"""A link to a file of this project."""


def long_description(readme: str) -> str:
    """The README without its pictures, and of its links to other files the words alone."""
    without_pictures = re.sub(rf"!\[[^\]]*\]\({HERE}\)\n*", "", readme)
    return re.sub(rf"\[([^\]]*)\]\({HERE}\)", r"\1", without_pictures)


setup(
    long_description=long_description(Path(__file__).with_name("README.md").read_text("utf-8")),
    long_description_content_type="text/markdown",
)

"""The version of growcells; pyproject.toml reads it from here."""

from __future__ import annotations

VERSION = "0.1.0"

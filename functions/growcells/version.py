"""The version of growcells; pyproject.toml reads it from here."""

VERSION = "0.1.0"

"""Sheets of new workbooks: how they look, how tables and texts are laid out on them, how their files are written."""

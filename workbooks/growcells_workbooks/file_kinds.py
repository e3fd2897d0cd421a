"""The kinds of files that a log may be, by the endings of their names."""

OPENDOCUMENT = ".ods"
DELIMITED = (".csv", ".tsv", ".txt")
"""Text files with a row in a line."""

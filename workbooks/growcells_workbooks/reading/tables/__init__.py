"""Where a table is on its sheet, whichever way it lies, and what its columns are."""

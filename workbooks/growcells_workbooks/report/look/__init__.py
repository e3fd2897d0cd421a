"""How the pages of the report are drawn: as sheets of a workbook, and as a PDF."""

"""The bridge to Excel, through xlwings: ``functions`` for the cells, ``install`` for the settings."""

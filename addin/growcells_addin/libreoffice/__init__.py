"""The bridge to LibreOffice Calc: an extension built from the registry, put into LibreOffice and taken out again."""

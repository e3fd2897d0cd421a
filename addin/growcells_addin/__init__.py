"""The live bridges: the functions of growcells in the cells of Excel and LibreOffice Calc."""

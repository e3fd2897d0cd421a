"""Which number, which date? Decimals, units and orders of dates by columns as a whole, and what is plausible."""

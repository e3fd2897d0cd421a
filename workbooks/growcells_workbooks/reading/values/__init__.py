"""What a cell holds: numbers in units and dates, by columns as a whole, and whether it is plausible."""

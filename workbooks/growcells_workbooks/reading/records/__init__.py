"""Which cells belong together? The records of a table, read one by one into the model; what becomes of all others."""

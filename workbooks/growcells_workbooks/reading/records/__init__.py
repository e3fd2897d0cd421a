"""Which cells belong together, and what they make: the records of a table, read one by one into the model."""

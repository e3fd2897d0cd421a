"""What may a text say? A heading, a unit, a date, the name of a bed, several values."""

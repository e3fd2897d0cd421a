"""What a text of a log may say: a heading, a unit, a date, the name of a bed, several values."""

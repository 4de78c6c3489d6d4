"""Random search, led by coverage, for inputs that break a reader: ``make fuzz``."""

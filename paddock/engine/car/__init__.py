"""The car: bars, balance, gears, and what each value of it is."""

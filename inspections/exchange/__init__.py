"""Taking clients, houses and visits over from a table, and giving the whole firm out as tables."""

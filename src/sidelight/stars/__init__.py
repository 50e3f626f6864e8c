"""Stars: the embedded catalogue, cone look-ups, fetched and imported tables."""

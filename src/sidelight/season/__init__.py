"""Season: dark hours of any number of targets over a year."""

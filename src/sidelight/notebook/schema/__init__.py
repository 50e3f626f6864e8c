"""The notebook's files, described once: checking, templates and the reference page are drawn from these tables."""

"""The journal: what was weighed and said, kept so that it can be trusted and defended."""

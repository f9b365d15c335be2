"""Finds out how an unknown scale speaks, from its bytes and what was done to it meanwhile."""

"""Descriptions of text formats, one a file; the name of a file is the name of its format."""

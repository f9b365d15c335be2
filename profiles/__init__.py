"""Invented build profiles of the demo kitchen (Quillmere Kitchens), as data."""

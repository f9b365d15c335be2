"""Simulated scales and cooks; they share no code with what they test."""

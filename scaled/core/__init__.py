"""The weighing brain: pure functions of readings, profile and commands."""

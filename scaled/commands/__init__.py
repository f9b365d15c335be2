"""One module a command: its options, and the thin code that runs it.

``add(commands)`` declares the options and must stay cheap, since every ``--help`` calls all of
them; whatever is slow to import is imported inside the function that runs.
"""

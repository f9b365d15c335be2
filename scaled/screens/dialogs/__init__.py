"""What the cook's screen asks on top of itself; each can be answered by key, touch or pointer."""

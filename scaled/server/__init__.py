"""The station's door for screens and tools: HTTP and WebSocket, on this machine only."""

"""One scale, live: its line opened, followed, watched, reopened; its readings fed to the core."""

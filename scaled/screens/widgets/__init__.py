"""The parts of the cook's screen, one a module; each draws one value of the view."""

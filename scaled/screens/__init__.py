"""Terminal screens: clients of the station's API that draw, and decide nothing."""

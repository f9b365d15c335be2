"""Links and wire formats; each driver enters through the ``scaled.drivers`` entry points."""

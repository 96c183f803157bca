"""The figures that calc ships: curves and refrigerants, with the generator of the curves."""

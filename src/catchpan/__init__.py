"""catchpan: guided fault finding for residential heating and cooling."""

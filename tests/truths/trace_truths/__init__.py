"""Synthetic chromatograms of column-stability studies whose every peak measure is known exactly."""

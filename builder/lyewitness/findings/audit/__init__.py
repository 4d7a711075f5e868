"""Was the comparison fair? A table of points, each a small function of the evidence."""

"""Which peak is which marker, with a column's whole sequence of injections in view."""

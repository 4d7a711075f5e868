"""Traces to one row of peak metrics for each injection and marker. Alone may use scipy.signal."""

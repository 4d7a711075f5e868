"""One export file, read into traces: time in minutes, signal, units. Alone may use scipy.io and XML."""

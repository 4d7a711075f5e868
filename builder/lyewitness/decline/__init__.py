"""Rows against exposure: decline, life and comparison. Alone may use scipy.stats."""

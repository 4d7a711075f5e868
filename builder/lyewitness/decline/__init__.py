"""Rows against exposure: decline, life and comparison. It never loads scipy.stats."""

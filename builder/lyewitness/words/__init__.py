"""The one way to say each thing: numbers, units, metrics, phrases, lives and ids; imports nothing."""

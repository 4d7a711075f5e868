"""A seeded simulator of study folders with known truth: the example study, and material for tests."""

"""The answer to each question: its claims, how sure they are, what to do and what to try next."""

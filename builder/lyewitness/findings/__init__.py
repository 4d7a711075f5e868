"""All measured and computed records to audit, failure signs, claims, cautions: the answer."""

"""From named peaks to rows: local fits, outlines, metrics with their errors, flags."""

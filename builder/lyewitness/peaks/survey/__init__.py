"""From traces to all that stands on them: tops, fitted curves, baseline, named or not."""

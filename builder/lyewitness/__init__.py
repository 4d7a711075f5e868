"""Turn a folder of column-stability measurements into an answer that can be checked.

The stages, in the order data goes through them, are described in DEVELOPERS.md;
`lyewitness.pipeline` is the only module that knows that order.
"""

__version__ = "0.1.0"

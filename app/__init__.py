"""Recoup: legal, well-degrading jump layouts for single skaters, and the best trained answer to a miss."""

__version__ = "0.1.0"

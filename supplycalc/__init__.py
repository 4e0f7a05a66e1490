"""Well-to-fixture water supply sizing and pressure-loss calculator."""

__version__ = "0.1.0"

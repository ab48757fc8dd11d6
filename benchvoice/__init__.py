"""benchvoice: the voice at a potter's glaze bench."""

__version__ = "0.1.0"

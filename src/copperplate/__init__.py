"""Copperplate: a plain-text language and compiler for small electrical systems."""

__version__ = "0.1.0"

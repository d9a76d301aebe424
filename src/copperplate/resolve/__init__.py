"""Resolve: names, kinds, ports and topology; from the tree of a plate to the resolved system. Floor 4."""

from copperplate.resolve.plate import resolve

__all__ = ["resolve"]

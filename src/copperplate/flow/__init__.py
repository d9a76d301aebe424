"""Lasting overload: what may flow for ever, as maximum flows between supplies and consumers. Floor 5.

Pure reckoning: numbers in, numbers out. `lasting` answers for live conductors and bars, `returns` for the way back.
"""

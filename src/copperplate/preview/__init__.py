"""A page on the loopback address that follows a plate as it is written. Floor 9."""

from copperplate.preview.page import page
from copperplate.preview.server import Shown, serving
from copperplate.preview.watching import lacking, saved, stamp

__all__ = ["Shown", "lacking", "page", "saved", "serving", "stamp"]
"""`page` is what is shown, `Shown` holds the latest, `serving` gives it to browsers, `saved` waits for the next."""

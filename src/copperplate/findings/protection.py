"""Codes 4xx: protection. Each entry: code -> (severity, title of its page)."""

from __future__ import annotations

from copperplate.findings.model import Severity

CODES: dict[str, tuple[Severity, str]] = {
    "CP401": ("error", "an ungrounded conductor has no device against a source that can feed a fault"),
    "CP402": ("error", "the device stands too far from the source"),
    "CP403": ("error", "a conductor gets smaller and has no device of its own"),
    "CP404": ("error", "the device is rated above what its conductor carries"),
    "CP405": ("error", "the device is rated below the current that it must carry"),
    "CP406": ("error", "no device of the family is large enough"),
    "CP407": ("error", "the device is larger than the maker of the equipment allows"),
    "CP408": ("error", "the device is larger than the way of its panel takes"),
    "CP409": ("warning", "the maker advises a smaller device than the current needs"),
    "CP410": ("warning", "the device may open while the motor starts"),
    "CP411": ("error", "the device nearest to a battery cannot break its fault current"),
    "CP412": ("warning", "a fault at the far end may not open the device in time"),
    "CP413": ("error", "the device is for a lower voltage"),
    "CP414": ("error", "the conductor overheats before the device opens"),
    "CP415": ("warning", "a branch device cannot break the fault current that can reach it"),
    "CP416": ("error", "the fault current of a battery is not known"),
    "CP417": ("warning", "a small far-end fault on a device without a published curve"),
    "CP418": ("advice", "opening at the far end is not proven"),
    "CP419": ("warning", "a branch fault may open the device above it"),
    "CP420": ("error", "a bar or panel carries more than its rating"),
    "CP421": ("warning", "a bar or panel is protected above its rating"),
    "CP422": ("error", "a switch, relay, selector or shunt carries more than its rating"),
    "CP423": ("warning", "a switch, relay, selector or shunt is protected above its rating"),
    "CP424": ("warning", "more conductors than a stud takes"),
    "CP425": ("error", "a floating negative needs a device in both poles"),
    "CP426": ("warning", "three or more strings in parallel without a fuse each"),
    "CP427": ("error", "the voltage falls too far while a motor starts"),
    "CP428": ("error", "the device is too large for a source that does not limit itself"),
    "CP429": ("error", "a device breaks a conductor that must stay whole"),
    "CP430": ("advice", "a switch, relay, selector or shunt without a rating"),
    "CP431": ("warning", "the DC voltage of a device is not stated"),
    "CP432": ("error", "a conductor without a device carries less than its source gives"),
    "CP433": ("error", "the device is larger than a small conductor may have"),
    "CP434": ("warning", "two devices in parallel"),
}

"""One simulated device: events or contacts in, screens and effects out, every past state kept."""

from knobmenu.device.device import Device, Step

__all__ = ["Device", "Step"]

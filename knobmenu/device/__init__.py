"""One simulated device: events or contacts in, screens and effects out, every past state kept."""

from knobmenu.device.device import Device
from knobmenu.device.history import History
from knobmenu.device.moment import Moment, power_on, step

__all__ = ["Device", "History", "Moment", "power_on", "step"]

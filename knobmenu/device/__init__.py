"""One simulated device: events or contacts in, screens and effects out, every past state kept.

==========  ===========================================================================
`moment`    `Moment`, a device immediately after an event; `apply_event` makes the next
`history`   `History`, every moment on its branch
`pages`     how a history keeps millions of moments
`device`    `Device`, a device that is turned and pressed at a desk
==========  ===========================================================================
"""

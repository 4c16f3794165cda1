"""The screens of a participant's sitting: pages to read and to answer, and the device."""

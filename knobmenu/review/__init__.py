"""Usability studies: sittings with participants, measures, and reports."""

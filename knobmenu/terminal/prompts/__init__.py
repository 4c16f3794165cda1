"""Screens in front of the desk and the bench: a question, and the page of keys."""

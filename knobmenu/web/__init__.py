"""The app in a web page: one-time links, a guard before every request, and one process for each page."""

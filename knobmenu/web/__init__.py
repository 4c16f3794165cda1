"""The app in a web page: one-time links, a check of every request, and one process for each page."""

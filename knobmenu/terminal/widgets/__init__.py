"""The widgets of the app, one a file: each shows rows that a pure function beside it makes from the session."""

"""The command line: thin, and light until a command is chosen."""

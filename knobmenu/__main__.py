"""``python -m knobmenu`` is the command line."""

from knobmenu.cli.main import main

if __name__ == "__main__":
    raise SystemExit(main())

"""``python -m brakedata``: the command, where no script stands on the path."""

from brakedata.cli import main

if __name__ == "__main__":
    raise SystemExit(main())

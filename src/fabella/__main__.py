"""``python -m fabella``: the command line, where the command itself is not on the path."""

from fabella.cli import main

if __name__ == "__main__":
    main()

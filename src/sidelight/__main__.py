"""Run the command as ``python -m sidelight``."""

from sidelight.cli.main import main

if __name__ == "__main__":
    main()
